"""Rows, runs, seams, widths and the first row."""
from __future__ import annotations

import pytest
from shapely.geometry import Polygon, box

from layout.region.first_row import choose_first_row, last_row
from layout.region.rows import narrowest_of, runs_of, seams_between, strips_of


@pytest.mark.parametrize(("depth", "first", "last", "rows"),
                         [(3185.0, 192.0, 113.0, 17), (3080.0, 100.0, 100.0, 17), (3072.0, 192.0, 192.0, 16)])
def test_first_and_last_row_are_balanced_as_in_the_worked_examples(depth, first, last, rows):
    """Usable width 3185 and 3080 with boards 192: the row-balance figures of the trade fact sheet, section 3."""
    chosen = choose_first_row([box(0, 0, 4000, depth)], depth, 192.0, 60.0)
    assert (chosen.width_mm, chosen.last_mm) == (pytest.approx(first), pytest.approx(last))
    assert len(strips_of(depth, chosen.width_mm, 192.0)) == rows


def test_a_tapered_wall_keeps_its_narrow_end_wide_enough():
    tapered = Polygon([(0, 0), (4000, 0), (4000, 3100), (0, 3040)])
    chosen = choose_first_row([tapered], 3100.0, 192.0, 60.0)
    runs = runs_of([tapered], strips_of(3100.0, chosen.width_mm, 192.0))
    assert min(run.narrow_mm for run in runs) >= 60.0 - 1e-6
    assert chosen.narrow_mm == pytest.approx(min(run.narrow_mm for run in runs), abs=1e-6)


def test_the_first_row_avoids_a_sliver_at_a_chimney_face():
    cover = Polygon([(0, 0), (4000, 0), (4000, 3000), (2800, 3000), (2800, 2690), (1500, 2690), (1500, 3000),
                     (0, 3000)])
    runs = runs_of([cover], strips_of(3000.0, 192.0, 192.0))
    assert min(run.narrow_mm for run in runs) < 60.0
    chosen = choose_first_row([cover], 3000.0, 192.0, 60.0)
    runs = runs_of([cover], strips_of(3000.0, chosen.width_mm, 192.0))
    assert min(run.narrow_mm for run in runs) >= 60.0 - 1e-6


@pytest.mark.parametrize(("depth", "first", "expected"),
                         [(500.0, 100.0, 16.0), (400.0, 16.0, 192.0), (150.0, 150.0, 150.0)])
def test_last_row(depth, first, expected):
    assert last_row(depth, first, 192.0) == pytest.approx(expected)


def test_rows_split_into_runs_at_a_chimney_and_areas_add_up():
    cover = Polygon([(0, 0), (4000, 0), (4000, 1000), (2800, 1000), (2800, 600), (1500, 600), (1500, 1000), (0, 1000)])
    runs = runs_of([cover], strips_of(1000.0, 200.0, 200.0))
    assert [sum(run.row == row for run in runs) for row in range(5)] == [1, 1, 1, 2, 2]
    assert sum(run.shape.area for run in runs) == pytest.approx(cover.area)


def test_a_seam_is_shared_only_where_there_is_cover_on_both_sides():
    cover = Polygon([(0, 0), (4000, 0), (4000, 400), (2800, 400), (2800, 200), (1500, 200), (1500, 400), (0, 400)])
    runs = runs_of([cover], strips_of(400.0, 200.0, 200.0))
    assert seams_between(runs, strips_of(400.0, 200.0, 200.0)) == [(0, 1, 0.0, 1500.0), (0, 2, 2800.0, 4000.0)]


def test_a_corner_a_hair_from_a_seam_makes_no_hair_thin_run():
    cover = Polygon([(0, 0), (4000, 0), (4000, 400), (2800, 400), (2800, 200 + 2e-6), (1500, 200 + 2e-6), (1500, 400),
                     (0, 400)])
    assert len(runs_of([cover], strips_of(400.0, 200.0, 200.0))) == 3


@pytest.mark.parametrize(("shape", "width"), [
    (box(0, 0, 1000, 192), 192.0),
    (Polygon([(0, 0), (1000, 0), (1000, 100), (0, 60)]), 60.0),
    (Polygon([(0, 0), (1000, 0), (900, 192), (100, 192)]), 192.0),
    (Polygon([(0, 0), (1000, 0), (1000, 192), (600, 192), (600, 50), (400, 50), (400, 192), (0, 192)]), 50.0),
])
def test_width_counts_along_long_edges_and_not_at_angled_ends(shape, width):
    assert narrowest_of(shape) == pytest.approx(width)
