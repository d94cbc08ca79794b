"""A piece alone on its board is put where an end of the board is its own; by `cuts_for`, which knows nothing of it."""
from __future__ import annotations

import pytest
import shapely
from shapely.geometry import Polygon

from layout.planning.cuts import cuts_for
from layout.planning.fitting.against_ends import against_ends
from layout.planning.pieces import Placement
from layout.room import Board

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
#: Slanted at its left end, square at its right, ripped: it lies 8 mm from the board's left end and 13 from its right.
SLANTED = Polygon([(5.8, 0.0), (1263.8, 0.0), (1263.8, 149.0), (0.0, 140.0)])


def placed(shape: Polygon, at: float, fixed: tuple[int, ...] = (),
           uses: int = 1) -> tuple[list[Placement], list[tuple[float, float]]]:
    """(the placements of a piece that lies `at` mm from its board's left end, the crosscuts of the first)."""
    placement = Placement(run=0, lo_mm=shape.bounds[0], hi_mm=shape.bounds[2], s0_mm=shape.bounds[0] - at, board=1)
    found = against_ends([placement] * uses, [[shape]] * uses, [0.0] * uses, lambda _: BOARD, fixed)
    in_board = shapely.transform(shape, lambda corners: corners - (found[0].s0_mm, 0.0))
    return found, [cut.at for cut in cuts_for(in_board, (0.0, BOARD.length_mm), BOARD) if cut.kind == "cross"]


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_square_end_is_the_board_s_own(mirrored):
    """A saw holds no strip of a few millimetres (the project's sheet of a fitter's numbers: at least 15)."""
    shape = shapely.transform(SLANTED, lambda corners: corners * (-1.0, 1.0) + (1263.8, 0.0)) if mirrored else SLANTED
    (found,), crosses = placed(shape, 8.0)
    assert found.taken == pytest.approx((0.0, 1263.8) if mirrored else (21.2, 1285.0))
    (at,) = crosses
    assert BOARD.length_mm - max(at) >= 15.0


@pytest.mark.parametrize("shape", [Polygon([(5.0, 0.0), (1000.0, 0.0), (993.0, 192.0), (0.0, 192.0)]), SLANTED])
def test_where_no_end_saves_a_cut_or_the_board_has_other_uses_it_stays(shape):
    assert placed(shape, 9.0, fixed=(1,))[0][0].taken[0] == pytest.approx(9.0)
    assert placed(shape, 9.0, uses=2)[0][0].taken[0] == pytest.approx(9.0)
    if shape is not SLANTED:
        assert placed(shape, 9.0)[0][0].taken[0] == pytest.approx(9.0)
