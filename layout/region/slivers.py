"""Strips of the cover too thin to saw, which are left to the gap and its beading.

Row frame, mm. A board cannot be ripped to a few millimetres: it splinters, and no tongue is left. Where a wall crosses
a seam at a flat angle, or a seam falls just short of a wall, the part of a run thinner than a *chip* is left out: the
gap is wider there by at most that much, and the beading must cover it. The same goes for a run nowhere wider than that.
The short tip of a slanted end stays: the one saw line that makes it is the easier cut.

A chip is 5 mm wide (ours; no source), or as wide as the beading leaves covered, up to the 30 mm a piece must have to be
sawn and clicked (common practice, no source).
"""
from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from layout.region.inset import LEAST_PART_MM2, polygons_of
from layout.region.rows import LEAST_STRETCH_MM, LONG_EDGE_SLOPE, RunShape, edges_of
from layout.rules import LEAST_WIDTH_MM

CHIP_MM = 5.0
#: A tip shorter than this stays, mm.
LEAST_TIP_MM = 100.0
#: Chips are taken off on this grid, so that no hair stays behind where edges all but coincide, mm.
GRID_MM = 1e-6


def without(parts_rf: list[Polygon], chips: list[Polygon]) -> list[Polygon]:
    """The parts of a cover without its chips."""
    if not chips:
        return parts_rf
    left = [shapely.difference(part, shapely.union_all(chips), grid_size=GRID_MM) for part in parts_rf]
    return [part for shape in left for part in polygons_of(shape) if part.area > LEAST_PART_MM2]


def chip_width(covered_mm: float) -> float:
    """How wide a strip may be that is left out, where the beading covers so much beyond the gap, mm."""
    return min(max(CHIP_MM, covered_mm), LEAST_WIDTH_MM)


def chips_of(runs: list[RunShape], chip_mm: float = CHIP_MM) -> list[Polygon]:
    """Everything of the runs that is too thin to lay."""
    found = []
    nowhere_wider = shapely.is_empty(shapely.buffer([run.shape for run in runs], -chip_mm / 2))
    for run, thin in zip(runs, nowhere_wider.tolist()):
        if thin:
            found.append(run.shape)
        elif run.narrow_mm < chip_mm:
            found += _thin_parts(run.shape, chip_mm)
    return found


def _thin_parts(shape: Polygon, chip_mm: float) -> list[Polygon]:
    """Slab by slab between corners, the stretches between two long edges less than `chip_mm` apart."""
    edges = edges_of(shape)
    stops = np.unique(np.round(edges[:, [0, 2]], 6))
    return [chip for lo, hi in zip(stops[:-1], stops[1:]) if hi - lo >= LEAST_STRETCH_MM
            for chip in _thin_in_slab(edges, lo, hi, chip_mm)]


def _thin_in_slab(edges: np.ndarray, lo: float, hi: float, chip_mm: float) -> list[Polygon]:
    across = edges[(edges[:, 0] <= lo + 1e-5) & (edges[:, 2] >= hi - 1e-5)]
    slope = (across[:, 3] - across[:, 1]) / (across[:, 2] - across[:, 0])
    at_lo = across[:, 1] + slope * (lo - across[:, 0])
    order = np.argsort(at_lo + slope * (hi - lo) / 2, kind="stable")
    found = []
    for near, far in zip(order[::2], order[1::2]):
        if abs(slope[near]) < LONG_EDGE_SLOPE and abs(slope[far]) < LONG_EDGE_SLOPE:
            a, b = _thin_stretch(at_lo[far] - at_lo[near], slope[far] - slope[near], hi - lo, chip_mm)
            if b - a >= (LEAST_STRETCH_MM if b - a >= hi - lo - 1e-6 else LEAST_TIP_MM):
                t0, t1 = (at_lo[near] + slope[near] * x for x in (a, b))
                t2, t3 = (max(t, at_lo[far] + slope[far] * x) for x, t in ((b, t1), (a, t0)))
                found.append(Polygon([(lo + a, t0), (lo + b, t1), (lo + b, t2), (lo + a, t3)]))
    return found


def _thin_stretch(width: float, growth: float, length: float, chip_mm: float) -> tuple[float, float]:
    """Where on 0..length a width that grows linearly stays below `chip_mm`."""
    if abs(growth) < 1e-12:
        return (0.0, length) if width < chip_mm else (0.0, 0.0)
    crossing = (chip_mm - width) / growth
    lo, hi = (0.0, crossing) if growth > 0 else (crossing, length)
    return max(0.0, lo), min(length, hi)
