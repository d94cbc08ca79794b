"""A day's log killed while it is written, again and again: the job is the old one or the new one, whole, and no entry
that was answered is lost.

Usage: python -m tests.bench.desk.run_day_kills [kills] [first seed]

A process tells random events (`day_logs.random_event`) and keeps the job after each, as the command does; at some
moment of some write it is killed (SIGKILL). Then the job must read back as the one last answered or the one being
written; its day must follow from its log; the judge finds nothing in its plan; and the next entry goes in. `inside`
counts kills that fell between the beginning of a write and its answer.
"""
from __future__ import annotations

import hashlib
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.support.day_logs import DAY, kept_job, random_event, small_room

from desk.actions.day import day_of, tell
from desk.jobfile.job import Job
from desk.jobfile.files import read_job, write_job
from desk.store.job_store import JobKeeper
from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.replan.events import BoardsSpoiled

#: The kill comes within so long after some write began, s; a write takes some milliseconds.
WITHIN_S = 0.006


def _mark(job: Job) -> bytes:
    return hashlib.sha256(job.text.encode()).hexdigest().encode()


def _tell_on(folder: Path, rng: random.Random, out: int) -> None:
    """Enter what happens without end; each write is announced before and answered after."""
    job, keeper = read_job(folder), JobKeeper(folder)
    while True:
        try:
            told = tell(job, random_event(rng, day_of(job)), "said", on=DAY)
        except LayoutError:
            continue
        os.write(out, b"begins " + _mark(told.job) + b"\n")
        keeper.keep(told.job, instead_of=job)
        os.write(out, b"answered " + _mark(told.job) + b"\n")
        job = told.job


def _killed(folder: Path, rng: random.Random) -> list[list[bytes]]:
    """What a process said before it was killed at some moment of one of its first writes."""
    heard, tell_ = os.pipe()
    child = os.fork()
    if not child:
        try:
            _tell_on(folder, rng, tell_)
        finally:
            os._exit(1)
    os.close(tell_)
    said, wanted = b"", rng.randint(1, 4)
    while said.count(b"begins") < wanted and (more := os.read(heard, 1 << 16)):
        said += more
    time.sleep(rng.uniform(0.0, WITHIN_S))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while more := os.read(heard, 1 << 16):
        said += more
    os.close(heard)
    return [line.split() for line in said.splitlines()]


def run_kill(seed: int, count: Counter) -> None:
    """One log killed once; what must not be is shown with its seed."""
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        first = kept_job(small_room(rng))
        write_job(folder, first)
        said = _killed(folder, rng)
        last = next((mark for word, mark in reversed(said) if word == b"answered"), _mark(first))
        inside = said[-1][0] == b"begins"
        job = read_job(folder)
        count["kills"] += 1
        count["inside"] += inside
        count["of those, already on disk"] += inside and _mark(job) == said[-1][1]
        day = day_of(job)
        further = tell(job, BoardsSpoiled(count=1), "said", on=DAY)
        for name, wrong in (("LOST", _mark(job) not in (last, said[-1][1])),
                            ("FAULT", bool(find_faults(day.plan, day.room))),
                            ("NOT FURTHER", len(further.job.day) != len(job.day) + 1)):
            if wrong:
                count[name] += 1
                print(name, "seed", seed)


def main() -> None:
    """Run the kills and print what was counted."""
    kills, first = (int(word) for word in (sys.argv[1:] + ["200", "0"][len(sys.argv) - 1:]))
    count: Counter = Counter()
    for seed in range(first, first + kills):
        run_kill(seed, count)
    print(dict(count))


if __name__ == "__main__":
    main()
