"""Pieces from the middle of a board set apart from what lies beside them there: against the judge's own count of what
comes off (15 mm: the project's sheet of a fitter's numbers)."""
from __future__ import annotations

import pytest
from shapely.geometry import Polygon

from layout.planning.cuts import cuts_for
from layout.planning.fitting.set_apart import set_apart
from layout.planning.pieces import Placement
from layout.room import Board

BOARD = Board(length_mm=2000.0, width_mm=200.0, thickness_mm=8.0, pack=8)
KERF = 3.0


def slice_at(lo: float, long: float, slant: float, board: int = 1) -> tuple[Placement, list[Polygon]]:
    """A run of one piece from s = 0, both its ends slanted alike, cut where its board has `lo`."""
    shape = Polygon([(slant, 0), (slant + long, 0), (long, 200), (0, 200)])
    return Placement(run=0, lo_mm=0.0, hi_mm=long + slant, s0_mm=-lo, board=board), [shape]


def strips(placements: list[Placement], parts: list[list[Polygon]]) -> list[float]:
    """What comes off before each piece, where most does, and after the last one, by their saw lines (mm)."""
    marks = []
    for placement, (shape,) in zip(placements, parts):
        moved = Polygon([(x - placement.s0_mm, y) for x, y in shape.exterior.coords[:-1]])
        marks += [sorted(cut.at) if cut.kept == "left" else sorted(2000.0 - at for at in cut.at)
                  for cut in sorted(cuts_for(moved, (0.0, 2000.0), BOARD), key=lambda cut: (
                      min(cut.at) if cut.kept == "left" else 2000.0 - max(cut.at)))]
    ends = [-KERF, *(max(mark) for mark in marks)]
    return [max(mark) - before - KERF for before, mark in zip(ends[::2], marks[::2])] + [2000.0 - min(marks[-1])]


@pytest.mark.parametrize("slant", [4.0, 10.0, 14.0])
def test_slanted_pieces_of_one_board_get_strips_that_a_saw_can_hold(slant):
    laid = [slice_at(0.0, 700.0, slant), slice_at(700.0 + slant + KERF, 700.0, slant)]
    placements, parts = [place for place, _ in laid], [shapes for _, shapes in laid]
    assert any(0.0 < off < 15.0 for off in strips(placements, parts))
    made = set_apart(placements, parts, [0.0, 0.0], lambda _: BOARD, KERF, fixed=())
    assert all(off >= 15.0 for off in strips(made, parts))
    assert [place.lo_mm for place in made] == [0.0, 0.0] and [place.board for place in made] == [1, 1]


def test_nothing_moves_where_the_wood_does_not_reach_or_may_not_be_touched():
    for laid, fixed in (([slice_at(0.0, 1990.0, 4.0)], ()), ([slice_at(0.0, 700.0, 4.0)], (1,)),
                        ([slice_at(0.0, 700.0, 0.0)], ())):
        placements, parts = [place for place, _ in laid], [shapes for _, shapes in laid]
        assert set_apart(placements, parts, [0.0], lambda _: BOARD, KERF, fixed=fixed) == placements
