"""The first row is the one at the start wall, wherever the page tells its width."""
from __future__ import annotations

from dataclasses import replace

import pytest

from desk.text.page_view import show_plan, show_ways
from layout.plan import Choice
from tests.support.plans import LONG, job_of


def begun_in_a_doorway(deep_mm: float):
    """A plan whose rows begin so deep in a doorway of the start wall C-D (mm before the wall's own gap), and its
    floor."""
    job = job_of(LONG)
    x, y = job.plan.frame.start_mm
    choice = Choice(u_deg=0.0, first_row_mm=192.0, last_row_mm=100.0, boards=40, cuts=20, narrowest_mm=80.0,
                    along=("C", "D"), start=("C", "D"))
    frame = replace(job.plan.frame, start_mm=(x, y + deep_mm))
    return replace(job.plan, frame=frame, choices=(choice,)), job.floor


@pytest.mark.parametrize(("deep_mm", "width_mm", "far_mm"), [
    (0.0, 192.0, 192.0),  # no doorway
    (47.0, 145.0, 192.0),  # row 1 reaches out of the doorway
    (180.0, 192.0, 384.0),  # what of row 1 is at the wall could not be sawn: row 2 is meant
])
def test_figures_ways_and_grip_tell_the_width_at_the_wall(deep_mm, width_mm, far_mm):
    plan, floor = begun_in_a_doorway(deep_mm)
    shown = show_plan(plan, floor, "metric")
    figure = next(figure["value"] for figure in shown["figures"] if figure["name"] == "First row")
    assert figure == show_ways(plan, floor, "metric")[0]["first"] == f"{width_mm:.0f}\u00a0mm"
    assert shown["first"] == {"far": pytest.approx(far_mm), "width": pytest.approx(width_mm)}
