"""A folder of drawn jobs planned in parallel processes: jobs a minute, beside one process planning them one after
another.

Usage: python -m tests.bench.desk.run_many [jobs] [--effort preview|usual|long] [--first N]. Floors are given as
coordinates, drawn as in `draw_rooms` (seed stored here); the baseline is the same work on the first N jobs in this
process alone.
"""
from __future__ import annotations

import argparse
import json
import os
import random
import tempfile
import time
from pathlib import Path
from typing import Any

from desk.work.batch import find_jobs, plan_many, plan_one
from tests.support.draw_rooms import KINDS, draw_room

SEED = 20261126


def write_jobs(folder: Path, count: int) -> None:
    """Drawn rooms as jobs, one a folder."""
    rng = random.Random(SEED)
    for number in range(count):
        place = folder / f"room-{number:04d}"
        place.mkdir()
        (place / "job.json").write_text(json.dumps(job_of(draw_room(rng, KINDS[number % len(KINDS)]))))


def job_of(room: dict[str, Any]) -> dict[str, Any]:
    length, width = room["board"]
    return {"format": "tapegroove-job", "version": 1, "floor": {"outline": room["outline"], "holes": room["holes"]},
            "pipes": [{"name": f"P{k}", "diameter": 15, "at": place} for k, place in enumerate(room["pipes"], start=1)],
            "flooring": {"board": {"length": length, "width": width, "thickness": 8, "pack": 8}}}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("jobs", type=int, nargs="?", default=1000)
    asked.add_argument("--effort", choices=("preview", "usual", "long"), default="usual")
    asked.add_argument("--first", type=int, default=50, help="jobs of the baseline")
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_jobs(folder, options.jobs)
        begun = time.perf_counter()
        outcomes = [outcome for outcome, _, _ in plan_many(folder, effort=options.effort)]
        together = time.perf_counter() - begun
        begun = time.perf_counter()
        for one in find_jobs(folder)[:options.first]:
            plan_one(one, folder, options.effort)
        alone = (time.perf_counter() - begun) / min(options.first, options.jobs) * options.jobs
    planned = [outcome for outcome in outcomes if outcome.planned]
    times = sorted(outcome.seconds for outcome in planned)
    boards, bound, proven = (sum(getattr(o, what) for o in planned) for what in ("boards", "bound", "proven"))
    print(f"{len(planned)} of {options.jobs} jobs planned ({options.effort}), {proven} proven, {boards} boards against "
          f"a bound of {bound}")
    print(f"{options.jobs / together * 60:.0f} jobs a minute in {os.cpu_count()} processes; "
          f"{options.jobs / alone * 60:.0f} in one; "
          f"a job takes {times[len(times) // 2]:.2f} s median, {times[-1]:.1f} s at most")
    for outcome in outcomes:
        if not outcome.planned:
            print(f"{outcome.name}: {' '.join(outcome.says)}")


if __name__ == "__main__":
    main()
