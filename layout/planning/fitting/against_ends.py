"""A piece that is alone on its board moved along it, so that an end of the board is an end of the piece where that
saves a cut.

A run of one piece is put into its board where its slanted ends were thought to begin. Sawn along, or trimmed within
the window, it may lie a few millimetres from both ends of the board, and both would be sawn off as strips. Row frame,
mm.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Container
from dataclasses import replace

from shapely.geometry import Polygon

from layout.planning.cuts import SAME_MM, cuts_for
from layout.planning.pieces import Placement
from layout.room import Board


def against_ends(placements: list[Placement], parts: list[list[Polygon]], nears_mm: list[float],
                 board_of: Callable[[int], Board], fixed: Container[int]) -> list[Placement]:
    """The placements, each that is alone on its board at the end where it needs fewest cuts; as it lies if no end saves
    one. nears_mm: t of each placement's board's near edge; fixed: boards in which nothing moves."""
    uses = Counter(placement.board for placement in placements)
    found = []
    for placement, shapes, near in zip(placements, parts, nears_mm):
        board = board_of(placement.board)
        (lo, hi), free = placement.taken, uses[placement.board] == 1 and placement.board not in fixed
        if free and len(shapes) == 1 and lo > SAME_MM and hi < board.length_mm - SAME_MM:
            placement = min((replace(placement, s0_mm=placement.s0_mm + move)
                             for move in (0.0, lo, hi - board.length_mm)),
                            key=lambda moved: _cuts(shapes[0], moved, near, board))
        found.append(placement)
    return found


def _cuts(shape: Polygon, placement: Placement, near: float, board: Board) -> tuple[int, int]:
    """How many cuts make the piece of its board, and how many of them are crosscuts."""
    cuts = cuts_for(placement.in_board(shape, near), (0.0, board.length_mm), board)
    return len(cuts), sum(cut.kind == "cross" for cut in cuts)
