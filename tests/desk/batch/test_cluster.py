"""Many jobs on a cluster: a scheduler and two workers on loopback, each a process with a nanny, as `dask scheduler` and
`dask worker` start them."""
from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from desk.limited_pool import MEMORY_IS_LIMITED, Death, Limits
from desk.cli import main
from desk.batch.engine import Asked
from desk.batch.many import Ended, TriedAgain, plan_many
from desk.batch.parcel import plan_one
from desk.batch.record import Record
from tests.support.bad_jobs import begun, pretend, write_job

pytestmark = pytest.mark.usefixtures("own_record")
HOUSE = Path(__file__).parents[3]
LIMITS = Limits(seconds=6.0, memory_mb=1200.0)


class Grid:
    """The processes of a cluster, each leader of a group of its own so that it can be killed with all it has begun."""

    def __init__(self, place: Path) -> None:
        self.is_whole = True
        self._place = place
        self._processes: list[subprocess.Popen] = []
        file = place / "scheduler.json"
        self._start("scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(file))
        for number in (1, 2):
            self._start("worker", "--scheduler-file", str(file), "--host", "127.0.0.1", "--nthreads", "1",
                        "--name", f"w{number}", "--local-directory", str(place))
        from distributed import Client
        with Client(scheduler_file=str(file), timeout=120, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=120)
            self.address = client.scheduler.address

    def _start(self, what: str, *words: str) -> None:
        environment = {**os.environ, "PYTHONPATH": str(HOUSE), "OPENBLAS_NUM_THREADS": "1"}
        with open(self._place / f"{len(self._processes)}.log", "wb") as log:
            self._processes.append(subprocess.Popen(
                [sys.executable, "-m", "dask", what, "--no-dashboard", *words], cwd=self._place, env=environment,
                stdout=log, stderr=log, start_new_session=True))

    def kill_worker_of(self, process: int) -> None:
        """Kill a worker, its nanny and what it has begun, as if its machine had lost power."""
        self.is_whole = False
        os.killpg(os.getpgid(process), signal.SIGKILL)

    def kill_scheduler(self) -> None:
        self.is_whole = False
        self._processes[0].kill()

    def end(self) -> None:
        for process in reversed(self._processes):
            process.terminate()
        for process in self._processes:
            process.wait()


@pytest.fixture(scope="module")
def whole_grids() -> Iterator[list[Grid]]:
    """Clusters of which nothing was killed."""
    grids: list[Grid] = []
    yield grids
    for grid in grids:
        grid.end()


@pytest.fixture
def grid(whole_grids: list[Grid], tmp_path_factory) -> Iterator[Grid]:
    """A cluster; the next test has it if nothing of it was killed: what was interrupted here ends before its test."""
    grid = whole_grids.pop() if whole_grids else Grid(tmp_path_factory.mktemp("grid"))
    yield grid
    whole_grids.append(grid) if grid.is_whole else grid.end()


@pytest.fixture
def folder(three_jobs: Path) -> Path:
    return three_jobs


def test_the_cluster_answers_as_one_machine_does_keeps_the_limits_and_goes_on(folder, grid):
    for title in ("die", "die once", "hang") + (("gulp",) if MEMORY_IS_LIMITED else ()):
        write_job(folder / title, title)
    record = Record()
    asked = Asked(folder=folder, effort="preview", limits=LIMITS, planner=pretend)
    events = list(plan_many(asked, processes=1, scheduler=grid.address, record=record))
    ended = {event.outcome.name: event.outcome for event in events if isinstance(event, Ended)}
    assert {name for name, outcome in ended.items() if outcome.planned} == {"attic", "bath", "cellar", "die once"}
    again = {event.name: event.death for event in events if isinstance(event, TriedAgain)}
    assert {"die": Death.ENDED, "die once": Death.ENDED, "hang": Death.TIME}.items() <= again.items()
    assert not MEMORY_IS_LIMITED or (again["gulp"] == Death.MEMORY and "1200 MB" in ended["gulp"].says[0])
    assert "more than 6 s" in ended["hang"].says[0] and ended["die once"].tries == 2

    for name in ("die", "hang", "gulp"):
        (folder / name / "job.json").unlink(missing_ok=True)
    events = list(plan_many(asked, processes=1, scheduler=grid.address, record=record))
    assert all(event.outcome.earlier for event in events) and len(events) == 4 and len(begun(folder / "attic")) == 1

    (really,) = plan_many(Asked(folder=folder / "attic", effort="preview"), processes=1, scheduler=grid.address)
    alone = plan_one(folder / "attic", folder / "attic", "preview")
    assert really.outcome.planned and replace(really.outcome, seconds=0.0) == replace(alone, seconds=0.0)


def started(folder: Path, address: str, *words: str) -> subprocess.Popen:
    """The command on the cluster, in a group of its own as a terminal starts it."""
    return subprocess.Popen([sys.executable, "-m", "tests.support.bad_jobs", "pretend", "many", str(folder),
                             "--scheduler", address, *words], cwd=HOUSE, text=True, stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, start_new_session=True)


def test_interrupted_half_way_it_sums_up_and_the_same_command_goes_on(folder, grid):
    """Ctrl+C while a worker has a job: what ended is summed up, and nothing that was planned is planned twice."""
    waits = write_job(folder / "waits", "wait for go")
    command = started(folder, grid.address)
    for _ in range(3):
        assert " of 4  " in command.stderr.readline()
    while not begun(waits):
        assert command.poll() is None
        time.sleep(0.05)
    os.killpg(command.pid, signal.SIGINT)
    told, complaint = command.communicate()
    assert command.returncode == 130 and "3 of 3 jobs planned" in told
    assert complaint == "Stopped. 3 of 4 jobs are done; the same command goes on from there.\n"

    (waits / "go").write_text("")
    told, progress = started(folder, grid.address, "--json").communicate()
    answer = json.loads(told)
    assert (answer["planned"], answer["left"]) == (4, 0) and progress.count("as planned before") == 3
    assert [job["name"] for job in answer["jobs"] if not job["earlier"]] == ["waits"]
    assert [len(begun(folder / name)) for name in ("attic", "bath", "cellar")] == [1, 1, 1]


def test_a_worker_that_is_killed_costs_no_job(folder, grid):
    waits = write_job(folder / "waits", "wait for go")
    events = plan_many(Asked(folder=folder, effort="preview", planner=pretend), processes=1, scheduler=grid.address)
    ended = [next(events).outcome]  # the others are planned by the second worker
    while not begun(waits):
        time.sleep(0.05)
    grid.kill_worker_of(begun(waits)[0])
    (waits / "go").write_text("")
    ended += [event.outcome for event in events if isinstance(event, Ended)]
    assert sorted(outcome.name for outcome in ended) == ["attic", "bath", "cellar", "waits"]
    assert all(outcome.planned for outcome in ended)
    assert len(set(begun(waits))) == 2, "begun by one worker, then by the other"


def test_a_scheduler_that_is_lost_leaves_the_summary_so_far(folder, grid):
    waits = write_job(folder / "waits", "wait for go")
    command = started(folder, grid.address)
    for _ in range(3):
        assert " of 4  " in command.stderr.readline()
    while not begun(waits):
        time.sleep(0.05)
    grid.kill_scheduler()
    told, complaint = command.communicate()
    assert command.returncode == 1 and "3 of 3 jobs planned" in told
    assert complaint == (f"The scheduler at {grid.address} cannot be reached any more. 3 of 4 jobs are done; "
                         "the same command goes on from there.\n")
    (waits / "go").write_text("")


def refusal(folder: Path, address: str, capsys) -> str:
    """The one sentence the command refuses with."""
    assert main(["many", str(folder), "--scheduler", address]) == 2
    told, complaint = capsys.readouterr()
    assert told == "" and complaint.count("\n") == 1
    return complaint


def test_an_address_where_no_scheduler_answers_is_one_sentence(folder, capsys):
    with socket.socket() as free, socket.socket() as mute:
        free.bind(("127.0.0.1", 0))
        mute.bind(("127.0.0.1", 0))
        mute.listen()
        for listener in (free, mute):
            address = f"127.0.0.1:{listener.getsockname()[1]}"
            assert f"No scheduler answers at {address}" in refusal(folder, address, capsys)
    assert "is no address of a scheduler" in refusal(folder, "nonsense://x", capsys)


@pytest.mark.parametrize("missing", ["dask", "distributed"])
def test_without_the_extra_one_sentence_says_what_to_install(folder, missing, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, missing, None)
    assert 'pip install "tapegroove[cluster]"' in refusal(folder, "127.0.0.1:8786", capsys)
