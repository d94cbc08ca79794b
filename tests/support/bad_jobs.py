"""Jobs that hang, eat memory or die, for the tests and the bench of many jobs: a planner that does to its process what
the job's title says.

It is given in place of the real one (`Asked.planner`) and runs where that would run, in real processes. A job is quick
otherwise: its plan is made up. Every beginning is noted in a file beside the job, so that tests see what was planned,
how often and by whom.
"""
from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

from desk.batch.outcome import Outcome
from desk.batch.parcel import Parcel, plan_parcel


def write_job(place: Path, title: str, **more) -> Path:
    """A small room; the title says "hang", "eat" (bit by bit), "gulp" (at once), "die", "die once" or "wait for go",
    else it is planned.
    """
    place.mkdir(parents=True)
    job = {"format": "tapegroove-job", "version": 1, "title": title, "notes": str(place),
           "floor": {"outline": [[0, 0], [900, 0], [900, 700], [0, 700]]},
           "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}}
    (place / "job.json").write_text(json.dumps(job | more), "utf-8")
    return place


def begun(place: Path, what: str = "begun") -> list[int]:
    """The processes' parents by which a job was begun, in order; the processes by which it was "planned"."""
    noted = place / what
    return [int(line) for line in noted.read_text().split()] if noted.exists() else []


def plan_as_told(parcel: Parcel, effort: str) -> Outcome:
    """Plans by `plan_parcel` what misbehaves in no way, and notes that it has."""
    misbehave(parcel)
    outcome = plan_parcel(parcel, effort)
    with open(Path(parcel.job.tree()["notes"]) / "planned", "a") as noted:
        noted.write(f"{os.getpid()}\n")
    return outcome


def pretend(parcel: Parcel, effort: str) -> Outcome:
    """The same without planning."""
    misbehave(parcel)
    return Outcome(name=parcel.name, title=parcel.job.title, planned=True, area_m2=0.63, rows=4, boards=3, bound=3,
                   proven=True, packs=1)


def misbehave(parcel: Parcel) -> None:
    tree = parcel.job.tree()
    place = Path(tree["notes"])
    with open(place / "begun", "a") as noted:
        noted.write(f"{os.getppid()}\n")
    match parcel.job.title:
        case "hang":
            threading.Event().wait()
        case "eat":
            held = []
            while True:
                held.append(bytearray(50_000_000))
        case "gulp":
            bytearray(20_000_000_000)
        case "die":
            _die()
        case "die once" if len(begun(place)) == 1:
            _die()
        case "wait for go":
            while not (place / "go").exists():
                time.sleep(0.02)


def _die() -> None:
    if hasattr(signal, "SIGKILL"):
        os.kill(os.getpid(), signal.SIGKILL)
    os._exit(9)


def main(planner: str, arguments: list[str]) -> int:
    """The command with a planner of this module."""
    import desk.cli
    import desk.commands.many_command
    from tests.support import bad_jobs
    plan = desk.commands.many_command.plan_many
    desk.commands.many_command.plan_many = lambda asked, **more: plan(replace(asked,
                                                                              planner=getattr(bad_jobs, planner)),
                                                                      **more)
    return desk.cli.main(arguments)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
