"""The planner's view of the floor with the widths taken out: runs, seams, and where end joints may fall.

All s in mm of the row frame. A piece between two joints has a factory end at both, so it is a whole board; a run is
therefore fixed by its first piece alone: `first` in (0, board], joints at ``left + first + m * board``. A run of one
piece has ``first = length``. This is what makes the search one number a run.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

#: Two lengths of wood nearer than this are the same, mm.
SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One run as a stretch of its row (row counted from 0): from its furthest left point to its furthest right.

    shortest_mm: what an end piece must at least measure here (the rule, unless it had to give way).
    square_left, square_right: whether the wall end is square, so that a board's own end can face it uncut.
    """

    row: int
    left_mm: float
    right_mm: float
    shortest_mm: float
    square_left: bool = True
    square_right: bool = True

    @property
    def length_mm(self) -> float:
        """From end to end, along the longest edge."""
        return self.right_mm - self.left_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """A stretch of seam that two runs (by index) share, from lo to hi; their joints on it keep `stagger_mm` apart."""

    upper: int
    lower: int
    lo_mm: float
    hi_mm: float
    stagger_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What the search is given: runs in row order, the seams between them, board length and saw width."""

    board_mm: float
    kerf_mm: float
    spans: tuple[Span, ...]
    seams: tuple[Seam, ...]

    @property
    def shared_mm(self) -> float:
        """Greatest sum of an end piece and a start piece that come out of one board."""
        return self.board_mm - self.kerf_mm


def split_run(length_mm: float, first_mm: float, board_mm: float) -> tuple[int, float]:
    """(number of pieces, length of the last) of a run whose first piece is `first_mm`; (1, length) if it is the whole run."""
    rest = length_mm - first_mm
    if rest <= SAME_MM:
        return 1, length_mm
    count = 1 + max(1, ceil((rest - SAME_MM) / board_mm))
    return count, rest - (count - 2) * board_mm


def joints_of(span: Span, first_mm: float, board_mm: float) -> list[float]:
    """Where the run's end joints lie, s in mm, from left to right."""
    count, _ = split_run(span.length_mm, first_mm, board_mm)
    return [span.left_mm + first_mm + m * board_mm for m in range(count - 1)]


def first_pieces(span: Span, board_mm: float) -> list[tuple[float, float]]:
    """Closed intervals of first-piece lengths that leave no end piece shorter than the span's rule, in order.

    The single value ``length`` (no joint) is one of them when the run fits on one board.
    """
    length, least = span.length_mm, span.shortest_mm
    intervals = []
    top = min(board_mm, length - least)
    barred = [(length - m * board_mm - least, length - m * board_mm) for m in range(int(length // board_mm) + 1)]
    lo = least
    for bar_lo, bar_hi in sorted(barred):
        if bar_hi <= lo or bar_lo >= top:
            continue
        if bar_lo >= lo - SAME_MM:
            intervals.append((lo, max(lo, bar_lo)))
        lo = max(lo, bar_hi)
    if lo <= top + SAME_MM:
        intervals.append((lo, max(lo, top)))
    if length <= board_mm + SAME_MM:
        intervals.append((length, length))
    return intervals
