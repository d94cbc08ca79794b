"""Work in the background, and saves at the same moment."""
from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from capture.progress import Doing, tell
from desk.store.job_store import JobKeeper, Overtaken
from desk.problem import JobFileError
from desk.server.worker import Replaced, Worker
from tests.support.patience import PATIENCE_S


@pytest.fixture
def worker():
    made = Worker()
    yield made
    made.close()


def test_quick_work_is_done_when_asked(worker):
    assert worker.find_result(worker.start("survey", lambda: 42), wait_s=PATIENCE_S) == (True, 42)


def test_long_work_is_said_to_be_running(worker):
    go = threading.Event()
    task = worker.start("survey", lambda: go.wait(PATIENCE_S))
    assert worker.find_result(task, wait_s=0.01) == (False, None)
    go.set()
    assert worker.find_result(task, wait_s=PATIENCE_S) == (True, True)


def test_what_the_work_raises_reaches_the_one_who_asks(worker):
    with pytest.raises(ZeroDivisionError):
        worker.find_result(worker.start("plan", lambda: 1 // 0), wait_s=PATIENCE_S)


def test_a_newer_survey_replaces_one_that_has_not_begun_but_no_plan(worker):
    go = threading.Event()
    running = worker.start("survey", lambda: go.wait(PATIENCE_S))
    plan = worker.start("plan", lambda: "plan")
    first = worker.start("survey", lambda: "first")
    second = worker.start("survey", lambda: "second")
    go.set()
    assert worker.find_result(running, wait_s=PATIENCE_S) == (True, True)
    assert worker.find_result(second, wait_s=PATIENCE_S) == (True, "second")
    assert worker.find_result(plan, wait_s=PATIENCE_S) == (True, "plan")
    with pytest.raises(Replaced):
        worker.find_result(first, wait_s=0.1)


def test_old_results_are_forgotten_in_the_end(worker):
    first = worker.start("survey", lambda: 1)
    for number in range(40):
        last = worker.start(f"kind {number}", lambda: 2)
    assert worker.find_result(last, wait_s=PATIENCE_S) == (True, 2)
    with pytest.raises(Replaced):
        worker.find_result(first, wait_s=0.1)


def test_of_saves_at_the_same_moment_from_one_revision_exactly_one_is_kept(tmp_path: Path):
    keeper = JobKeeper(tmp_path / "job")
    keeper.open_or_start()
    job, revision = keeper.load()

    def save(number: int) -> str:
        try:
            return keeper.save(job | {"title": f"window {number}"}, revision=revision)
        except Overtaken:
            return ""
    with ThreadPoolExecutor(8) as windows:
        told = list(windows.map(save, range(24)))
    kept = [number for number, answer in enumerate(told) if answer]
    assert len(kept) == 1 and keeper.load() == (job | {"title": f"window {kept[0]}"}, told[kept[0]])
    assert [p.name for p in keeper.folder.iterdir()] == ["job.json"]


def test_a_save_to_a_folder_that_is_gone_makes_no_new_one(tmp_path):
    """The plan and the day's log in the folder that was moved must not be lost to a job without them."""
    keeper = JobKeeper(tmp_path / "job")
    keeper.open_or_start()
    tree, revision = keeper.load()
    moved = (tmp_path / "job").rename(tmp_path / "elsewhere")
    with pytest.raises(JobFileError) as error:
        keeper.save(tree | {"title": "Later"}, revision=revision)
    assert error.value.slug == "job-gone" and "Put the folder back" in str(error.value)
    assert not (tmp_path / "job").exists()
    moved.rename(tmp_path / "job")
    keeper.save(tree | {"title": "Later"}, revision=revision)
    assert keeper.load()[0]["title"] == "Later"


def _solve_until(over: threading.Event, begun: threading.Event, doing: Doing | None = None) -> str:
    """As a long solve goes on: it is heard at every step."""
    begun.set()
    tell(doing)
    while not over.wait(0.001):
        tell()
    return "solved"


def test_a_solve_under_way_ends_when_a_newer_one_is_asked_for(worker):
    begun = threading.Event()
    first = worker.start("survey", lambda: _solve_until(threading.Event(), begun))
    assert begun.wait(PATIENCE_S)
    second = worker.start("survey", lambda: 2)
    assert worker.find_result(second, wait_s=PATIENCE_S) == (True, 2)
    with pytest.raises(Replaced):
        worker.find_result(first, wait_s=PATIENCE_S)


def test_what_a_person_waits_for_goes_on(worker):
    over, begun = threading.Event(), threading.Event()
    first = worker.start("pack", lambda: _solve_until(over, begun), droppable=False)
    assert begun.wait(PATIENCE_S)
    second = worker.start("pack", lambda: 2, droppable=False)
    over.set()
    assert worker.find_result(first, wait_s=PATIENCE_S) == (True, "solved")
    assert worker.find_result(second, wait_s=PATIENCE_S) == (True, 2)


def test_a_long_solve_says_what_it_does(worker):
    over, begun = threading.Event(), threading.Event()
    task = worker.start("survey", lambda: _solve_until(over, begun, "wide-search"))
    assert begun.wait(PATIENCE_S)
    while worker.doing(task) is None:
        over.wait(0.001)
    assert worker.doing(task) == "wide-search" and worker.doing("another") is None
    over.set()
    worker.find_result(task, wait_s=PATIENCE_S)
