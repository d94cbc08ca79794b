"""Where the two ends of a run may lie, so that one square cut does: the edge window, seen along the rows.

Row frame, mm. The run's shape is cut from the floor less the gap aimed for. Its boundary at an end may be moved
outwards by `out_mm` and inwards by `in_mm`. Where a wall is so little out of square over the row that one upright line
keeps to the window everywhere, the end is *square*: the fitter sets one number, and a board's own end may face the
wall. Steps in a wall that the window hides are no steps. Ends lie on whole mm of the row frame, so that with joints on
whole mm every length to saw is one.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from layout.region.rows import LONG_EDGE_SLOPE, End, RunShape

#: A slanted end is rounded to whole mm by so much, inwards.
LEAST_WINDOW_MM = 1.0
#: The upright part of an end is at least so long, mm; a shorter one is a tip.
LEAST_UPRIGHT_MM = 20.0
#: Rounding, mm.
SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """How far the edges of the cover may move: out towards the wall, in from it, mm. reserve_mm: what lengths need more
    to be whole mm, where the board itself is none."""

    out_mm: float
    in_mm: float
    reserve_mm: float = 0.0


def with_ends(run: RunShape, window: Window, width_mm: float) -> RunShape:
    """The run, of boards so wide, with its two ends looked at."""
    corners = shapely.get_coordinates(run.shape.exterior)[:-1]
    mirrored = corners * np.array([-1.0, 1.0])
    left = _left_end(corners, window, width_mm)
    right = _left_end(mirrored, window, width_mm)
    right = replace(right, short_mm=-right.short_mm, long_mm=-right.long_mm, aim_mm=-right.aim_mm,
                    surely_mm=-right.surely_mm)
    return replace(run, left_end=left, right_end=right)


def at_ends(run: RunShape, left_mm: float, right_mm: float) -> RunShape:
    """The run with its square ends at these places; an end that is not square stays."""
    if run.left_end is None or run.right_end is None:
        return run
    corners = shapely.get_coordinates(run.shape.exterior)[:-1]
    for end, s in ((run.left_end, left_mm), (run.right_end, right_mm)):
        if end.square:
            ends = _along_walls(corners, end.corners, s)
            corners[list(end.corners), 0] = s
            corners[[end.corners[0], end.corners[-1]], 1] = ends
    shape = Polygon(corners, [ring.coords for ring in run.shape.interiors])
    left, _, right, _ = shape.bounds
    return replace(run, shape=shape, left_mm=left, right_mm=right)


def _along_walls(corners: NDArray[np.float64], chain: tuple[int, ...], s: float) -> tuple[float, float]:
    """t of the two outer corners of an end moved to s: each slides along the edge beside it, within the run's depth, or
    it would leave a wall that runs aslant there on the wrong side."""
    near, far = float(corners[:, 1].min()), float(corners[:, 1].max())
    found = []
    for corner, beside in ((chain[0], chain[0] - 1), (chain[-1], (chain[-1] + 1) % len(corners))):
        (s0, t0), (s1, t1) = corners[corner].tolist(), corners[beside].tolist()
        slid = t0 + (t1 - t0) * (s - s0) / (s1 - s0) if abs(s1 - s0) > LEAST_UPRIGHT_MM else t0
        found.append(min(max(slid, near), far))
    return found[0], found[1]


def _left_end(corners: NDArray[np.float64], window: Window, width_mm: float) -> End:
    """The end of least s of a ring (first corner not repeated)."""
    chain = _chain(corners, window.out_mm + window.in_mm)
    s = corners[chain, 0]
    outmost = float(corners[:, 0].min())
    if chain and np.ptp(corners[chain, 1]) >= LEAST_UPRIGHT_MM:
        long, short = float(s.max()) - window.out_mm, float(s.min()) + window.in_mm
        placed = floor(short - window.reserve_mm + SAME_MM)
        if placed >= long - SAME_MM:
            return End(corners=tuple(chain), square=True, short_mm=float(placed),
                       long_mm=float(min(ceil(long - SAME_MM), placed)),
                       aim_mm=min(max((float(s.max()) + float(s.min())) / 2, long), short), surely_mm=short)
    long, short = (float(floor(outmost + inwards + SAME_MM)) for inwards in (0.0,
                                                                             max(0.0, window.in_mm - LEAST_WINDOW_MM)))
    return End(corners=(), square=False, short_mm=short, long_mm=long, aim_mm=long, surely_mm=outmost + window.in_mm,
               taper_mm=_taper(corners, width_mm))


def _taper(corners: NDArray[np.float64], width_mm: float) -> float:
    """How far a slanted end falls back over the width of a board, which is sawn right across before it is ripped: along
    the edge at the outmost corner that reaches furthest across the row. A tip between edges that run along the row is
    sawn square."""
    start, n = int(np.argmin(corners[:, 0])), len(corners)
    steps = [corners[(start + k) % n] - corners[start] for k in (-1, 1)]
    back, across = max(steps, key=lambda step: abs(step[1])).tolist()
    if abs(across) < LONG_EDGE_SLOPE * back:
        return 0.0
    return float(back * max(1.0, width_mm / abs(across))) if abs(across) > LEAST_UPRIGHT_MM else float(back)


def _chain(corners: NDArray[np.float64], widest: float) -> list[int]:
    """Corners one after another, the leftmost among them, that differ by so little in s that one upright line can
    stand for all."""
    n = len(corners)
    start = int(np.argmin(corners[:, 0]))
    lo, hi = corners[start, 0], corners[start, 0] + widest
    before = after = 0
    while before + after < n - 1 and lo <= corners[(start + after + 1) % n, 0] <= hi:
        after += 1
    while before + after < n - 1 and lo <= corners[(start - before - 1) % n, 0] <= hi:
        before += 1
    return [(start + k) % n for k in range(-before, after + 1)]
