"""Random days by the thousand: no laid piece moved, no fault of the judge, no entry lost, and how often the plan could
follow.

Usage: python -m tests.bench.desk.run_day_logs [logs] [first seed] [events a log] [lengths]

With the word "lengths" the boards come in several lengths a pack.

Each log is one random small room with a kept plan and random events told one after the other (`day_logs.random_event`).
After each: pieces of the rows that were down, and still are, lie where they lay and come from what they came from; the
judge finds nothing in the plan in force; the log is the old one and one entry more, and reads back as it was. Anything
else is counted and its seed shown.
"""
from __future__ import annotations

import json
import random
import sys
from collections import Counter
from time import process_time

from tests.support.day_logs import DAY, kept_job, random_event, small_room, with_lengths

from desk.actions.day import day_of, tell
from desk.jobfile.parse import parse_job
from layout.judge.check import find_faults
from layout.errors import LayoutError


def run_log(seed: int, events: int, count: Counter, lengths: bool = False) -> None:
    """One random day; what happens is counted, what must not happen is shown."""
    rng = random.Random(seed)
    tree = small_room(rng)
    job = kept_job(with_lengths(tree, rng) if lengths else tree)
    for _ in range(events):
        day = day_of(job)
        event = random_event(rng, day)
        count["events"] += 1
        try:
            told = tell(job, event, "said", on=DAY)
        except LayoutError as error:
            count[f"refused: {error.slug}"] += 1
            continue
        count["revisions"] += bool(told.changed)
        count["could not follow"] += bool(told.trouble)
        if told.trouble and not lengths:
            print(seed, type(event).__name__, told.trouble[:110])
        held = min(day.now.down, told.after.now.down)  # a row whose entry is taken back no longer lies
        lying, still = ([(p.id, p.outline_mm, p.takes, p.leaves) for row in plan.rows[:held] for p in row.pieces]
                        for plan in (day.plan, told.after.plan))
        faults = find_faults(told.after.plan,
                             told.after.room) if told.changed or day.plan.pieces != told.after.plan.pieces else []
        whole = told.job.tree()["day"][:-1] == job.tree().get("day",
                                                              []) and parse_job(json.loads(told.job.text)) == told.job
        for name, wrong in (("PIECE MOVED", lying != still), ("FAULT", bool(faults)), ("ENTRY LOST", not whole)):
            if wrong:
                count[name] += 1
                print(name, "seed", seed, event, faults[:1])
        job = told.job


def main() -> None:
    """Run the logs and print what was counted."""
    words = [word for word in sys.argv[1:] if word != "lengths"]
    logs, first, events = (int(word) for word in (words + ["200", "0", "8"][len(words):]))
    count: Counter = Counter()
    begun = process_time()
    for seed in range(first, first + logs):
        try:
            run_log(seed, events, count, "lengths" in sys.argv)
        except Exception as error:  # a fault of ours: shown with its seed, and the run goes on
            count["CRASH"] += 1
            print("CRASH seed", seed, type(error).__name__, error)
        if (seed - first + 1) % 50 == 0:
            print(seed - first + 1, dict(count), flush=True)
    print(f"{logs} logs, {process_time() - begun:.0f} s CPU:", dict(count))


if __name__ == "__main__":
    main()
