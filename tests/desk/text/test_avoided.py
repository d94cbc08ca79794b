"""What a plan avoids, for a room whose rest is arithmetic: 2354 mm between the walls less two gaps of 10 mm are 12
boards of 192 mm and 30 mm."""
from __future__ import annotations

import pytest

from desk.actions.pipeline import plan_job, survey_job
from desk.jobfile.parse import parse_job
from desk.text.avoided import avoided, show_avoided


def planned(deep_mm: float, **wishes):
    job = parse_job({"floor": {"outline": [[0, 0], [4600, 0], [4600, deep_mm], [0, deep_mm]]}, "flooring": {
        "board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}, **wishes}})
    survey = survey_job(job, {})
    return survey.floor, plan_job(job, survey, effort="preview")


def test_a_strip_that_a_whole_first_row_would_leave():
    floor, plan = planned(2354.0, direction=["A", "B"], start=["A", "B"])
    found = avoided(plan)
    assert found.choice is None and found.sliver_mm == pytest.approx(30.0, abs=0.5)
    shown = show_avoided(plan, floor, "metric")
    assert "a strip of only 30" in shown["says"] and "30" in shown["avoided"]["says"]
    low, high = shown["avoided"]["strip"]
    assert high - low == pytest.approx(30.0 + 10.0, abs=0.5)  # the strip and its gap, to the wall
    assert shown["taken"]["strip"] == [0.0, 0.0]
    assert len(shown["avoided"]["rows"]) == 12


def test_another_way_that_takes_more():
    floor, plan = planned(2500.0)
    found = avoided(plan)
    assert found.choice is not None and found.sliver_mm == 0.0
    taken = plan.choices[0]
    assert (found.choice.boards, found.choice.cuts) > (taken.boards, taken.cuts)
    shown = show_avoided(plan, floor, "metric")
    assert "would take" in shown["says"] and "more" in shown["avoided"]["says"]


def test_nothing_is_said_where_nothing_worse_was_near():
    floor, plan = planned(2324.0, direction=["A", "B"], start=["A", "B"])  # 12 whole boards
    assert show_avoided(plan, floor, "metric") is None
