"""What a page may send to have a floor sketched (`POST /api/sketch`): any JSON is answered, or refused in a sentence.

No outside source but where one is named: OWASP, "Input Validation" and "Denial of Service" (limits on what is worked
on).
"""
from __future__ import annotations

import json
import math
import random

import pytest

from capture.seeing.outline_order import settled, with_corner
from desk.problem import JobFileError, JobProblems
from desk.server.packs import Packs
from desk.server.pictures import Pictures
from desk.server.routes import REFUSALS
from desk.server.session import Session
from desk.store.job_store import JobKeeper
from tests.support.foreign_trees import closeup_job, drawn_job, small_job, stored
from tests.support.wrong_values import GONE, WRONG, Case, places

FRESH = ([], ["A"], ["D", "C"], ["A", "B", "C", "D"], ["nobody"], ["A", "A"], [""])


@pytest.fixture(scope="module")
def session(tmp_path_factory):
    folder = tmp_path_factory.mktemp("job")
    keeper = JobKeeper(folder)
    keeper.open_or_start()
    return Session(keeper, Pictures(folder, keeper), Packs())


def outcome(session, tree, fresh, *, free) -> str:
    try:
        json.dumps(session.sketch(tree, fresh, free=free), allow_nan=False)
    except REFUSALS as error:
        assert str(error).strip().endswith((".", "?")) and "\n" not in str(error)
        return "refused"
    return "sketched"


def test_wrong_values_are_refused_or_change_a_drawing(session):
    draws = random.Random(5)
    cases = [Case("sketch", tree, way, value) for tree in (drawn_job(), stored("photos"), closeup_job(), small_job())
             for way in places(tree) for value in (*WRONG, GONE, "Z", ["A", "Z"])]
    told = [outcome(session, case.made(), draws.choice(FRESH), free=draws.random() < 0.5)
            for case in draws.sample(cases, 150)]
    assert told.count("sketched") > 10 and told.count("refused") > 10


@pytest.mark.parametrize("tree", [None, [], "job", 3, {"outline": "A"}, {"version": 1e30}, {"outline": [["A"]]}])
def test_what_is_no_job_is_refused(session, tree):
    with pytest.raises(JobFileError):
        session.sketch(tree, [], free=True)


def test_more_corners_than_are_surveyed_are_refused_before_any_work(session):
    names = [f"P{k}" for k in range(5000)]
    with pytest.raises(JobProblems, match="60 can be surveyed"):
        session.sketch({"outline": names}, names, free=True)


def test_the_order_of_very_many_corners_is_left_as_it_is():
    def never(order):
        raise AssertionError("the order of so many corners takes minutes to seek")
    names = tuple(f"P{k}" for k in range(40))
    assert settled(names, never) == names
    assert with_corner(names, "last", never) == (*names, "last")


def test_sixty_drawn_corners_are_sketched(session):
    spots = {f"P{k}": [2000 * math.cos(k / 30 * math.pi), 2000 * math.sin(k / 30 * math.pi)] for k in range(60)}
    shown = session.sketch({"outline": list(spots), "sketch": spots}, list(spots)[-1:], free=True)
    assert shown["outline"] == list(spots) and shown["crossing"] == []
