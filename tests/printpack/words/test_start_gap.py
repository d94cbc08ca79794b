"""A first row that is laid unsawn at another gap than the usual one needs spacers of its own, and the picture names
them."""
from __future__ import annotations

from dataclasses import replace

import pytest

from printpack.drawing.inline_svg import inline_svg
from printpack.strip.row_picture import row_facts, row_picture
from printpack.strip.spoken import picture_words
from printpack.words.in_place import start_gap_mm
from printpack.words.tolerances import Fit
from tests.support.plans import LONG, job_of
from tests.support.strip_reader import read_picture


def moved_up(by_mm: float):
    """The job with all its rows nearer to the start wall: 10 mm less `by_mm` stay before row 1."""
    job = job_of(LONG)
    vx, vy = job.plan.frame.v
    rows = tuple(replace(row, near_mm=row.near_mm - by_mm, far_mm=row.far_mm - by_mm, runs=tuple(
        replace(run, pieces=tuple(replace(piece, outline_mm=tuple((x - by_mm * vx, y - by_mm * vy)
                                                                  for x, y in piece.outline_mm))
                                  for piece in run.pieces)) for run in row.runs)) for row in job.plan.rows)
    return replace(job, plan=replace(job.plan, rows=rows))


@pytest.mark.parametrize(("by_mm", "gap_mm"), [(0.0, 0.0), (0.4, 0.0), (2.0, 8.0), (-3.0, 13.0)])
def test_the_gap_at_the_start_wall_is_told_where_it_differs(by_mm, gap_mm):
    job = moved_up(by_mm)
    fit = Fit(job)
    assert start_gap_mm(job, job.plan.rows[0], fit) == pytest.approx(gap_mm, abs=1e-6)
    assert start_gap_mm(job, job.plan.rows[1], fit) == 0.0


@pytest.mark.parametrize("width", [82.0, 186.0, 273.0])
def test_the_picture_names_the_spacers_on_any_width(width):
    job = moved_up(2.0)
    picture = row_picture(row_facts(job, job.plan.rows[0], Fit(job), {}), job.units, width)
    read = read_picture(inline_svg(picture.items, picture.width_mm, picture.height_mm, label=""))
    assert read.start_gap == 8.0 and read.rightwards
    assert picture_words(picture, job.units).startswith("Spacers at the start wall: 8 mm. ")
