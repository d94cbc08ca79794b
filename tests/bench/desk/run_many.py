"""A folder of drawn jobs planned in parallel processes: jobs a minute, beside the code before, and what trouble costs.

Usage: python -m tests.bench.desk.run_many speed [jobs] [--effort preview|usual|long] [--before FOLDER] [--rounds N], or
python -m tests.bench.desk.run_many trouble [jobs] [--effort ...] [--seconds S]

speed: the command on a folder of floors given as coordinates, drawn as in `draw_rooms` (seed stored here). The baseline
is the command of another checkout (`--before`), run in turn with this one, since machines change from hour to hour;
without it, one process instead of all. trouble: of that many jobs one hangs and one takes all the memory it gets, and
three processes are killed at random moments; then the jobs again, stopped by Ctrl+C half way and begun again. All but
two should be planned, and none twice. Times are not looked at.
"""
from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path
from typing import Any

from desk.limited_pool import Limits
from desk.batch.engine import Asked
from desk.batch.many import Ended, TriedAgain, plan_many
from tests.support.draw_rooms import KINDS, draw_room
from tests.support.bad_jobs import begun, plan_as_told

SEED = 20261126
HOUSE = Path(__file__).parents[1].parent.parent


def write_jobs(folder: Path, count: int, titles: dict[int, str] | None = None) -> None:
    """Drawn rooms as jobs, one a folder; some with a title."""
    rng = random.Random(SEED)
    for number in range(count):
        place = folder / f"room-{number:04d}"
        place.mkdir(parents=True)
        more = {"title": (titles or {}).get(number, ""), "notes": str(place)}
        job = job_of(draw_room(rng, KINDS[number % len(KINDS)])) | more
        (place / "job.json").write_text(json.dumps(job))


def job_of(room: dict[str, Any]) -> dict[str, Any]:
    length, width = room["board"]
    return {"format": "tapegroove-job", "version": 1, "floor": {"outline": room["outline"], "holes": room["holes"]},
            "pipes": [{"name": f"P{k}", "diameter": 15, "at": place} for k, place in enumerate(room["pipes"], start=1)],
            "flooring": {"board": {"length": length, "width": width, "thickness": 8, "pack": 8}}}


def speed(folder: Path, options: argparse.Namespace) -> None:
    """The command here and there, in turn."""
    write_jobs(folder / "jobs", options.jobs)
    one = {"one process": (HOUSE, ["--afresh", "--processes", "1"])}
    ways = {"now": (HOUSE, ["--afresh"])} | ({"before": (options.before, [])} if options.before else one)
    command = [sys.executable, "-m", "desk.cli", "many", str(folder / "jobs"), "--json", "--effort", options.effort]
    answers: dict[str, list[Any]] = {}
    for number in range(options.rounds):
        for name, (tree, words) in ways.items():
            begun_s = time.perf_counter()
            done = subprocess.run([*command, *words], cwd=tree, env=environment(folder), stdout=subprocess.PIPE,
                                  stderr=subprocess.DEVNULL, check=False)
            rate = options.jobs / (time.perf_counter() - begun_s) * 60
            answers.setdefault(name, []).append(answer := json.loads(done.stdout))
            print(f"round {number + 1}, {name}: {answer['planned']} of {options.jobs} planned, {answer['boards']} "
                  f"boards, {rate:.0f} jobs a minute, load {os.getloadavg()[0]:.1f}", flush=True)
    times = sorted(job["seconds"] for job in answers["now"][-1]["jobs"])
    print(f"A job takes {times[len(times) // 2]:.2f} s median, {times[-1]:.1f} s at most; "
          f"plans agree: {len({figures(answer) for each in answers.values() for answer in each}) == 1}")


def figures(answer: dict[str, Any]) -> str:
    """What every run must agree on."""
    keys = ("name", "planned", "rows", "boards", "bound", "packs", "waste_percent")
    return json.dumps([[job[key] for key in keys] for job in answer["jobs"]])


def environment(folder: Path) -> dict[str, str]:
    """Records of what is done lie in the bench's own folder."""
    return os.environ | {name: str(folder / "state") for name in ("XDG_STATE_HOME", "LOCALAPPDATA", "HOME")}


def trouble(folder: Path, options: argparse.Namespace) -> None:
    """Jobs that misbehave, processes killed; then a run stopped and gone on with."""
    rng = random.Random(SEED)
    bad = rng.sample(range(options.jobs), 2)
    write_jobs(folder / "jobs", options.jobs, dict(zip(bad, ("hang", "eat"))))
    moments = rng.sample(range(2, options.jobs - 2), 3)
    limits = Limits(seconds=options.seconds, memory_mb=2000.0)
    asked = Asked(folder=folder / "jobs", effort=options.effort, limits=limits, planner=plan_as_told)
    ended, again = [], []
    for event in plan_many(asked):
        match event:
            case TriedAgain():
                again.append(event)
            case Ended():
                ended.append(event.outcome)
                if event.done in moments:
                    threading.Timer(rng.uniform(0.0, 0.5), kill_one, [rng]).start()
    print(f"{options.jobs} jobs, one hangs, one takes all memory, three processes killed: "
          f"{sum(o.planned for o in ended)} planned, {sum(not o.planned for o in ended)} told of; "
          f"begun again: {dict(Counter(event.death.value for event in again))}", flush=True)
    for outcome in ended:
        if not outcome.planned:
            print(f"  {outcome.name}: {' '.join(outcome.says)}")
    shutil.rmtree(folder / "jobs")
    stopped(folder, options)


def kill_one(rng: random.Random) -> None:
    """Kill one of the processes that plan, whatever it is at."""
    os.kill(rng.choice(multiprocessing.active_children()).pid, signal.SIGKILL)


def stopped(folder: Path, options: argparse.Namespace) -> None:
    """The command stopped by Ctrl+C when half of the jobs are done, and begun again."""
    write_jobs(folder / "jobs", options.jobs)
    command = [sys.executable, "-m", "tests.support.bad_jobs", "plan_as_told", "many", str(folder / "jobs"), "--json",
               "--effort", options.effort]
    first = subprocess.Popen(command, cwd=HOUSE, env=environment(folder), text=True, stdout=subprocess.PIPE,
                             stderr=subprocess.PIPE, start_new_session=True)
    while next(first.stderr).split()[0] != str(options.jobs // 2):
        pass
    os.killpg(first.pid, signal.SIGINT)
    told, complaint = first.communicate()
    half = json.loads(told)
    second = subprocess.run(command, cwd=HOUSE, env=environment(folder), capture_output=True, text=True, check=False)
    whole = json.loads(second.stdout)
    counts = Counter(len(begun(place, "planned")) for place in (folder / "jobs").iterdir())
    print(f"Stopped half way: status {first.returncode}, {half['planned']} planned, {half['left']} left; "
          f"{complaint.splitlines()[-1]}")
    print(f"Begun again: status {second.returncode}, {whole['planned']} planned, "
          f"{sum(job['earlier'] for job in whole['jobs'])} of them before; jobs planned once {counts[1]}, "
          f"twice {sum(n for times, n in counts.items() if times > 1)}, never {counts[0]}")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("what", choices=("speed", "trouble"))
    asked.add_argument("jobs", type=int, nargs="?", default=200)
    asked.add_argument("--effort", choices=("preview", "usual", "long"), default="usual")
    asked.add_argument("--before", type=Path, help="a checkout of the code before")
    asked.add_argument("--rounds", type=int, default=2)
    asked.add_argument("--seconds", type=float, default=60.0, help="limit of time in trouble")
    options = asked.parse_args()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    with tempfile.TemporaryDirectory() as place:
        (speed if options.what == "speed" else trouble)(Path(place), options)


if __name__ == "__main__":
    main()
