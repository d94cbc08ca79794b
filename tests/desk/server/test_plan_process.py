"""Plans made apart: dropped at once when nobody wants them any more, and the next one is made all the same."""
from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from desk.jobfile.files import parse_job, with_keys
from desk.actions.pipeline import plan_job, survey_job
from desk.server.plan_process import Planning
from desk.server.cache import Solver
from desk.server.worker import Replaced
from layout.errors import LayoutError
from tests.support.patience import PATIENCE_S


@pytest.fixture(scope="module")
def planning():
    made = Planning()
    yield made
    made.close()


def refuse():
    """Work that ends as a room of ours ends it."""
    raise LayoutError("needle", "Two walls meet at less than 3 degrees.", where="outline")


@contextmanager
def dropping(planning: Planning) -> Iterator[None]:
    """Somebody drops the work again and again, from before it has begun."""
    over = threading.Event()

    def drop() -> None:
        while not over.wait(0.05):
            planning.drop()
    thread = threading.Thread(target=drop)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def test_a_drop_ends_the_work_and_the_next_is_done(planning):
    with dropping(planning), pytest.raises(Replaced):
        planning.run(time.sleep, PATIENCE_S)  # done, it would return
    assert planning.run(sum, (1, 2)) == 3


def test_work_that_somebody_prints_from_is_not_dropped(planning):
    with dropping(planning):
        assert planning.run(time.sleep, 0.6, droppable=False) is None


def test_what_a_room_refuses_arrives_as_it_was_said(planning):
    with pytest.raises(LayoutError, match="less than 3 degrees") as refused:
        planning.run(refuse)
    assert (refused.value.slug, refused.value.where) == ("needle", "outline")
    with pytest.raises(RuntimeError, match="ZeroDivisionError"):
        planning.run(divmod, 1, 0)


def test_a_process_that_is_gone_is_replaced(planning):
    planning.run(sum, (1,))
    planning._process.kill()
    planning._process.join()
    assert planning.run(sum, (2, 3)) == 5


def test_a_plan_made_apart_is_the_plan_made_here_and_is_made_once(closet, monkeypatch):
    job = parse_job(closet)
    solver = Solver()
    try:
        survey = solver.survey(job, {})
        plan = solver.plan(job, survey, effort="preview")
        assert plan == plan_job(job, survey_job(job, {}), effort="preview")
        monkeypatch.setattr(solver.planning, "run", None)
        assert solver.plan(with_keys(job, title="Renamed"), solver.survey(job, {}), effort="preview") is plan
    finally:
        solver.planning.close()
