"""The planner's view of the floor with the widths taken out: runs, seams, and where end joints may fall.

All s in mm of the row frame. A piece between two joints has a factory end at both, so it is a whole board; a run is
therefore fixed by its first piece alone: `first` in (0, board], joints at ``left + first + m * board``. A run of one
piece has ``first = length``. This is what makes the search one number a run.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil

#: Two lengths of wood nearer than this are the same, mm.
SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A stretch of s where no end joint may fall, its ends allowed; at `spot_mm` inside it one is welcome (None:
    nowhere)."""

    lo_mm: float
    hi_mm: float
    spot_mm: float | None = None

    def stops(self, s_mm: float) -> bool:
        """Whether a joint at s breaks it."""
        inside = self.lo_mm + SAME_MM < s_mm < self.hi_mm - SAME_MM
        return inside and (self.spot_mm is None or abs(s_mm - self.spot_mm) > SAME_MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One run as a stretch of its row (row counted from 0): from its furthest left point to its furthest right.

    shortest_mm: what an end piece must at least measure here (the rule, unless it had to give way). square_left,
    square_right: whether the wall end is square, so that a board's own end can face it uncut. bars: where no joint may
    fall; wary: stretches of s where one is better avoided. pinned_mm: the only first piece it may have. place_mm: where
    in a board the run is to be cut if it is one piece, as `circular_arcs` says (None: wherever it fits). left_give_mm,
    right_give_mm: how much longer than here the end pieces may be, within the edge window. left_over_mm, right_over_mm:
    what is added to the run at a slanted end, so that enough comes off where most does; left_taper_mm,
    right_taper_mm: how far such an end falls back over the row. sliver_mm: less than this (but nothing at all) may not
    come off where most does. undivided: laid in one piece if a board is long enough. least_end_mm: what an end piece
    takes of its board at least, where the run may be laid longer than it is here.
    """

    row: int
    left_mm: float
    right_mm: float
    shortest_mm: float
    square_left: bool = True
    square_right: bool = True
    bars: tuple[Bar, ...] = ()
    wary: tuple[tuple[float, float], ...] = ()
    pinned_mm: float | None = None
    place_mm: float | None = None
    left_give_mm: float = 0.0
    right_give_mm: float = 0.0
    left_over_mm: float = 0.0
    right_over_mm: float = 0.0
    left_taper_mm: float = 0.0
    right_taper_mm: float = 0.0
    sliver_mm: float = 0.0
    undivided: bool = False
    least_end_mm: float = 0.0

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
    """(number of pieces, length of the last) of a run whose first piece is `first_mm`; (1, length) if it is the
    whole run."""
    rest = length_mm - first_mm
    if rest <= SAME_MM:
        return 1, length_mm
    count = 1 + max(1, ceil((rest - SAME_MM) / board_mm))
    return count, rest - (count - 2) * board_mm


def joints_of(span: Span, first_mm: float, board_mm: float) -> list[float]:
    """Where the run's end joints lie, s in mm, from left to right."""
    count, _ = split_run(span.length_mm, first_mm, board_mm)
    return [span.left_mm + first_mm + m * board_mm for m in range(count - 1)]


@lru_cache(maxsize=4096)
def first_pieces(span: Span, board_mm: float) -> tuple[tuple[float, float], ...]:
    """Closed intervals of first-piece lengths that leave no end piece shorter than the span's rule and no joint on a
    bar, in order.

    A bar's welcome spot is an interval of one value; so is ``length`` (no joint) when the run fits on one board.
    """
    if span.pinned_mm is not None:
        return ((span.pinned_mm, span.pinned_mm),)
    if span.undivided and span.length_mm <= board_mm + SAME_MM:
        return ((span.length_mm, span.length_mm),)
    intervals = _long_enough(span, board_mm)
    if span.sliver_mm:
        intervals = _without(intervals, _slivers(span, board_mm))
    for bar in span.bars:
        intervals = _without(intervals, _barred(span, bar, board_mm))
    intervals = sorted(intervals + [(first, first) for first in welcome_firsts(span, board_mm)])
    if span.length_mm <= board_mm + SAME_MM:
        intervals.append((span.length_mm, span.length_mm))
    return tuple(intervals)


def welcome_firsts(span: Span, board_mm: float) -> list[float]:
    """First pieces that put a joint on a bar's spot and break nothing else."""
    found = []
    for spot in (bar.spot_mm for bar in span.bars if bar.spot_mm is not None):
        first = (spot - span.left_mm) % board_mm or board_mm
        legal = any(lo - SAME_MM <= first <= hi + SAME_MM for lo, hi in _long_enough(span, board_mm))
        if legal and span.left_mm < spot < span.right_mm and not any(bar.stops(s) for bar in span.bars
                                                                     for s in joints_of(span, first, board_mm)):
            found.append(first)
    return found


def _long_enough(span: Span, board_mm: float) -> list[tuple[float, float]]:
    """First pieces of runs with a joint that leave both ends long enough."""
    length, least = span.length_mm, span.shortest_mm + span.right_over_mm
    intervals = []
    top = min(board_mm, length - least)
    barred = [(length - m * board_mm - least, length - m * board_mm) for m in range(int(length // board_mm) + 1)]
    lo = span.shortest_mm + span.left_over_mm
    for bar_lo, bar_hi in sorted(barred):
        if bar_hi <= lo or bar_lo >= top:
            continue
        if bar_lo >= lo - SAME_MM:
            intervals.append((lo, max(lo, bar_lo)))
        lo = max(lo, bar_hi)
    if lo <= top + SAME_MM:
        intervals.append((lo, max(lo, top)))
    return intervals


def _slivers(span: Span, board_mm: float) -> list[tuple[float, float]]:
    """Open intervals of first pieces that leave a strip to saw off a board's end which no saw can hold. At a slanted
    end something is always sawn off."""
    left = (span.sliver_mm, span.left_give_mm) if span.square_left else (
        span.sliver_mm - span.left_taper_mm - span.left_over_mm, -SAME_MM)
    right = (span.sliver_mm, span.right_give_mm) if span.square_right else (
        span.sliver_mm - span.right_taper_mm - span.right_over_mm, -SAME_MM)
    firsts = [(board_mm - left[0], board_mm - left[1])]
    lasts = [(span.length_mm - m * board_mm + right[1], span.length_mm - m * board_mm + right[0])
             for m in range(1, int(span.length_mm // board_mm) + 1)]
    return [(lo, hi) for lo, hi in (*firsts, *lasts) if hi > lo]


def _barred(span: Span, bar: Bar, board_mm: float) -> list[tuple[float, float]]:
    """Open intervals of first pieces whose joints fall on a bar."""
    lo, hi = max(bar.lo_mm, span.left_mm) - span.left_mm, min(bar.hi_mm, span.right_mm) - span.left_mm
    if hi <= lo:
        return []
    return [(lo - m * board_mm, hi - m * board_mm) for m in range(int(hi // board_mm) + 1)]


def _without(intervals: list[tuple[float, float]], barred: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Closed intervals less open ones."""
    for bar_lo, bar_hi in barred:
        left = [(lo, min(hi, bar_lo)) for lo, hi in intervals if lo <= bar_lo]
        intervals = left + [(max(lo, bar_hi), hi) for lo, hi in intervals if hi >= bar_hi]
    return sorted(intervals)
