"""Where a place lies on a piece's outline. No source: geometry."""
from __future__ import annotations

from dataclasses import replace

from printpack.words.piece_outline import in_board, on_outline
from tests.support.plans import RECTANGLE, plan_of


def test_corners_that_fall_on_one_place_are_no_side():
    plan = plan_of(RECTANGLE)
    piece = plan.pieces[0]
    twice = replace(piece, outline_mm=tuple(corner for corner in piece.outline_mm for _ in range(2)))
    for x, y in in_board(plan, piece)[0]:
        assert on_outline(plan, twice, (x, y))
        assert not any(on_outline(plan, one, (x + dx, y + dy)) for one in (piece, twice) for dx in (-9, 9)
                       for dy in (-9, 9))
