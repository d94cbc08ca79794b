"""Cutting the cover into rows, rows into runs, and measuring how narrow a run gets.

Row frame, mm. A *long edge* is an edge of the cover that runs within 20 degrees of the rows: along it a row has a width
worth the name. The width of a run at s is the t-distance between two bounding edges there, counted only where both are
seams or long edges; an end cut at a steeper angle is an angled end, not a narrow row. (The 20 degrees are ours; no
source.)
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from layout.region.inset import polygons_of

LONG_EDGE_SLOPE = tan(radians(20.0))
#: A corner of the cover nearer than this to a seam is put on it, so that rounding makes no hair-thin runs, mm.
SNAP_MM = 1e-4
#: Clippings smaller than this are rounding, mm2.
CRUMB_MM2 = 1e-3
#: Stretches along s shorter than this say nothing about a width, mm.
LEAST_STRETCH_MM = 1.0

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """Where a run's end may lie: at `short_mm` its piece takes least wood, at `long_mm` most (s on whole mm), best at
    `aim_mm`; no plan can do with less than at `surely_mm`. square: one upright line there keeps to the edge window;
    corners: which of the outline's corners it stands for. taper_mm: by how much the end falls back over a board's
    width, if it is not square."""

    corners: tuple[int, ...]
    square: bool
    short_mm: float
    long_mm: float
    aim_mm: float
    surely_mm: float
    taper_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunShape:
    """A connected part of a row: row from 0, its polygon (row frame), s extent, least width along long edges, its
    ends once looked at, whether it lies in a doorway."""

    row: int
    shape: Polygon
    left_mm: float
    right_mm: float
    narrow_mm: float
    square_left: bool
    square_right: bool
    left_end: End | None = None
    right_end: End | None = None
    in_doorway: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One row's strip: t from near to far; a board laid in it has its near edge at `board_near_mm`."""

    near_mm: float
    far_mm: float
    board_near_mm: float


def strips_of(depth_mm: float, first_mm: float, width_mm: float) -> list[Strip]:
    """The strips of a floor `depth_mm` deep whose first row is `first_mm` wide; the first row keeps its far edge."""
    first = min(first_mm, depth_mm)
    strips = [Strip(near_mm=0.0, far_mm=first, board_near_mm=first - width_mm)]
    while depth_mm - strips[-1].far_mm > SNAP_MM:
        near = first + (len(strips) - 1) * width_mm
        strips.append(Strip(near_mm=near, far_mm=min(near + width_mm, depth_mm), board_near_mm=near))
    return strips


def runs_of(cover_rf: list[Polygon], strips: list[Strip]) -> list[RunShape]:
    """Every run of every strip, row by row, from left to right. cover_rf: the cover's parts in the row frame."""
    levels = np.array([strip.near_mm for strip in strips] + [strips[-1].far_mm])
    snapped = shapely.union_all([shapely.transform(part, lambda c: _snap(c, levels)) for part in cover_rf])
    left, _, right, _ = snapped.bounds
    windows = shapely.box([left - 1.0], [strip.near_mm for strip in strips], [right + 1.0],
                          [strip.far_mm for strip in strips])
    runs = []
    for row, (strip, laid) in enumerate(zip(strips, shapely.intersection(snapped, windows))):
        shapes = [shape for shape in polygons_of(laid) if shape.area > CRUMB_MM2]
        runs += [measured(row, shape, strip) for shape in sorted(shapes, key=lambda shape: shape.bounds)]
    return runs


def seams_between(runs: list[RunShape], strips: Sequence[Strip],
                  off_mm: float = 1e-9) -> list[tuple[int, int, float, float]]:
    """(upper run, lower run, lo, hi): every stretch of seam with cover on both sides, by run index. off_mm: how far off
    its seam an edge may lie from rounding."""
    in_row: list[list[int]] = [[] for _ in strips]
    for i, run in enumerate(runs):
        in_row[run.row].append(i)
    touching = []
    for strip, *beside in zip(strips, in_row[:-1], in_row[1:]):
        above, below = ([(i, edge_on(runs[i].shape, strip.far_mm, off_mm)) for i in side] for side in beside)
        touching += [(i, j, lo, hi) for i, upper in above for j, lower in below for lo, hi in overlaps(upper, lower)]
    return touching


def edge_on(shape: Polygon, level_mm: float, off_mm: float = 1e-9) -> list[Interval]:
    """Stretches of s along which the shape's boundary lies on t = level (within `off_mm`), joined where they touch."""
    found = []
    for ring in (shape.exterior, *shape.interiors):
        corners = shapely.get_coordinates(ring)
        on = np.abs(corners[:, 1] - level_mm) < off_mm
        for i in np.flatnonzero(on[:-1] & on[1:]).tolist():
            found.append(tuple(sorted(corners[i:i + 2, 0].tolist())))
    joined: list[Interval] = []
    for lo, hi in sorted(found):
        if joined and lo <= joined[-1][1] + 1e-9:
            joined[-1] = (joined[-1][0], max(joined[-1][1], hi))
        else:
            joined.append((lo, hi))
    return joined


def overlaps(first: list[Interval], second: list[Interval]) -> list[Interval]:
    """Where two lists of intervals overlap by more than a point."""
    return [(max(a, c), min(b, d)) for a, b in first for c, d in second if min(b, d) - max(a, c) > 1e-6]


def narrowest_of(shape: Polygon) -> float:
    """Least width (t) of a run along its seams and long edges, mm. Found exactly, slab by slab between its corners."""
    edges = edges_of(shape)
    stops = np.unique(np.round(edges[:, [0, 2]], 6))
    least = float("inf")
    for lo, hi in zip(stops[:-1], stops[1:]):
        if hi - lo >= LEAST_STRETCH_MM:
            least = min(least, _slab_width(edges, lo, hi))
    return least


def _slab_width(edges: NDArray[np.float64], lo: float, hi: float) -> float:
    """Least width between paired long edges over the slab lo..hi, which holds no corner inside; inf if there is
    none."""
    across = edges[(edges[:, 0] <= lo + 1e-5) & (edges[:, 2] >= hi - 1e-5)]
    slope = (across[:, 3] - across[:, 1]) / (across[:, 2] - across[:, 0])
    at_lo = across[:, 1] + slope * (lo - across[:, 0])
    at_hi = across[:, 1] + slope * (hi - across[:, 0])
    order = np.argsort(at_lo + at_hi, kind="stable")
    least = float("inf")
    for near, far in zip(order[::2], order[1::2]):
        if abs(slope[near]) < LONG_EDGE_SLOPE and abs(slope[far]) < LONG_EDGE_SLOPE:
            least = min(least, at_lo[far] - at_lo[near], at_hi[far] - at_hi[near])
    return max(float(least), 0.0)


def edges_of(shape: Polygon) -> NDArray[np.float64]:
    """(k, 4) edges s0 t0 s1 t1 with s0 <= s1, upright ones included."""
    rings = [shapely.get_coordinates(ring) for ring in (shape.exterior, *shape.interiors)]
    edges = np.concatenate([np.concatenate([ring[:-1], ring[1:]], axis=1) for ring in rings])
    swap = edges[:, 0] > edges[:, 2]
    edges[swap] = edges[swap][:, [2, 3, 0, 1]]
    return edges


def measured(row: int, shape: Polygon, strip: Strip) -> RunShape:
    """A connected part of a row with what is measured of it."""
    left, _, right, _ = shape.bounds
    depth = strip.far_mm - strip.near_mm
    corners = shapely.get_coordinates(shape.exterior)
    square_left, square_right = (_upright(corners, s) > depth - 1e-3 for s in (left, right))
    narrow = depth if not shape.interiors and _between_seams(corners, strip) else min(narrowest_of(shape), depth)
    return RunShape(row=row, shape=shape, left_mm=left, right_mm=right, narrow_mm=narrow, square_left=square_left,
                    square_right=square_right)


def _between_seams(corners: NDArray[np.float64], strip: Strip) -> bool:
    """Whether a ring's only long edges are the strip's own, so that it is as wide as the strip wherever it has a
    width."""
    (s0, t0), (s1, t1) = corners[:-1].T, corners[1:].T
    long = np.abs(t1 - t0) < LONG_EDGE_SLOPE * np.abs(s1 - s0)
    return bool(((t0[long] == t1[long]) & ((t0[long] == strip.near_mm) | (t0[long] == strip.far_mm))).all())


def _upright(corners: NDArray[np.float64], s: float) -> float:
    """How much of a ring lies upright at s, mm."""
    on = np.abs(corners[:, 0] - s) < 1e-3
    return float(np.abs(corners[1:, 1] - corners[:-1, 1])[on[:-1] & on[1:]].sum())


def _snap(corners: NDArray[np.float64], levels: NDArray[np.float64]) -> NDArray[np.float64]:
    """The corners with t put on a level where it is within SNAP_MM of one."""
    t = corners[:, 1]
    k = np.clip(np.searchsorted(levels, t), 1, len(levels) - 1)
    nearest = np.where(np.abs(levels[k - 1] - t) < np.abs(levels[k] - t), levels[k - 1], levels[k])
    return np.stack([corners[:, 0], np.where(np.abs(nearest - t) < SNAP_MM, nearest, t)], axis=1)
