"""What is cut from the middle of a board, set apart from what lies beside it there: a saw needs a strip it can hold.

Board frame, mm. A piece sawn at both ends may lie anywhere in the wood that is left, so where its slanted ends would
leave a strip thinner than `SLIVER_MM` where it is widest, it moves on towards the board's right end as far as that
takes, and what comes after it too. Where the wood does not reach, all stays.
"""
from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from math import ceil

from shapely.geometry import Polygon

from layout.planning.cuts import cuts_for
from layout.planning.pieces import Placement
from layout.room import SLIVER_MM, Board

SAME_MM = 1e-6

#: Where a saw line meets the board's near and far edge.
Marks = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Use:
    """A piece in its board: which placement, its two ends, whether both are sawn."""

    index: int
    left: Marks
    right: Marks
    is_middle: bool

    def moved(self, by_mm: float) -> _Use:
        """The piece further to the right."""
        left, right = ((near + by_mm, far + by_mm) for near, far in (self.left, self.right))
        return replace(self, left=left, right=right)


def set_apart(placements: list[Placement], parts: list[list[Polygon]], nears_mm: list[float],
              board_of: Callable[[int], Board], kerf_mm: float, fixed: Collection[int]) -> list[Placement]:
    """The placements with pieces from the middle of a board moved in it. nears_mm: t of each placement's board's near
    edge; fixed: boards in which nothing moves."""
    found = list(placements)
    for number in {placement.board for placement in placements} - set(fixed):
        board = board_of(number)
        uses = sorted((_use(i, placement, parts[i], nears_mm[i], board) for i, placement in enumerate(placements)
                       if placement.board == number), key=lambda use: use.left)
        if any(use.is_middle for use in uses):
            for before, use in zip(uses, _apart(uses, board.length_mm, kerf_mm)):
                by = use.left[0] - before.left[0]
                found[use.index] = replace(found[use.index], s0_mm=found[use.index].s0_mm - by)
    return found


def _use(index: int, placement: Placement, parts: list[Polygon], near_mm: float, board: Board) -> _Use:
    lo, hi = placement.taken
    left, right = (lo, lo), (hi, hi)
    for part in parts:
        shape = placement.in_board(part, near_mm)
        for cut in cuts_for(shape, (0.0, board.length_mm), board):
            if cut.kind == "cross":
                marks = cut.at if cut.kept == "left" else (board.length_mm - cut.at[0], board.length_mm - cut.at[1])
                left, right = (marks, right) if sum(marks) < shape.bounds[0] + shape.bounds[2] else (left, marks)
    return _Use(index=index, left=left, right=right,
                is_middle=len(parts) == 1 and lo > -SAME_MM and hi < board.length_mm - SAME_MM)


def _apart(uses: list[_Use], board_mm: float, kerf_mm: float) -> list[_Use]:
    """The pieces of a board, moved; as they were if they cannot all be."""
    made: list[_Use] = []
    begins = 0.0
    for use in uses:
        # An offcut is told as long as it is where it is shortest, and so is what comes off it.
        by = float(max(0, ceil(begins - min(use.left) - SAME_MM)))
        off = max(use.left) + by - begins
        if SAME_MM < off < SLIVER_MM - SAME_MM:
            by += float(ceil(SLIVER_MM - off - SAME_MM))
        if by and not use.is_middle:
            return uses
        made.append(use.moved(by))
        begins = max(made[-1].right) + kerf_mm
    right = made[-1].right
    holds = max(right) <= board_mm + SAME_MM and not SAME_MM < board_mm - min(right) < SLIVER_MM - SAME_MM
    return made if holds else uses
