"""The cuts that turn stock into a piece, as marks a person can set with a tape.

Board frame, mm: (0, 0) the board's left end at its near edge. The convex hull of the piece tells the straight saw
lines: every hull edge that does not lie on the stock's own outline is one, "cross" or "rip" by its slope, if both its
marks fall on the stock. What is still too much after those is taken out as notches, so cross, rip, notch and hole
together give the piece exactly. A cross cut is measured from an end the stock still has: a new board has both, an
offcut one; a middle slice has none, and is measured from its left sawn end.
"""
from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from layout.region.inset import polygons_of
from layout.plan import Cut, Point
from layout.room import Board

#: Wood within this of the stock's outline lies on it: no saw takes off less, mm.
ON_MM = 1e-3
#: Wood within this of it lies on it but for rounding, mm.
TRULY_MM = 1e-6
CRUMB_MM2 = 0.02
#: Stock that is larger than a piece by less than this is the piece but for rounding, mm2.
WHOLE_MM2 = 1e-7
FAR_MM = 1e5


def cuts_for(shape: Polygon, stock: tuple[float, float], board: Board) -> tuple[Cut, ...]:
    """Straight cuts and notches that make `shape` (board frame) of the stock between two s of the board, full width."""
    rough: BaseGeometry = shapely.box(stock[0], 0.0, stock[1], board.width_mm)
    if rough.area - shape.area < WHOLE_MM2:
        return ()
    lines = [(line, _straight_cut(*line, shape, stock, board)) for line in _saw_lines(shape, rough)]
    straight = sorted((cut for _, cut in lines if cut is not None), key=lambda cut: (cut.kind, cut.at))
    if len(straight) == len(lines) and _is_sawn_out(shape, rough):
        return tuple(straight)
    for line, cut in lines:
        if cut is not None:
            rough = rough.intersection(_kept_side(*line, shape))
    waste = [part for part in polygons_of(rough.difference(shape)) if part.area > CRUMB_MM2]
    return (*straight, *(Cut(kind="notch", shape=_ring(part)) for part in sorted(waste, key=lambda part: part.bounds)))


def _is_sawn_out(shape: Polygon, rough: BaseGeometry) -> bool:
    """Whether straight cuts along its edges leave nothing to notch: it has no recess, and reaches the stock's
    outline truly or not at all."""
    off = np.abs(np.subtract(shape.bounds, rough.bounds))
    return (
        not shape.interiors
        and shape.convex_hull.area - shape.area < CRUMB_MM2
        and not bool(((off > TRULY_MM) & (off < ON_MM)).any())
    )


def keeps_of(shape: Polygon, board: Board) -> tuple[str, ...]:
    """Which factory ends and edges a piece still has: those with more than 1 mm of its outline on them."""
    corners = shapely.get_coordinates(shape.exterior)
    # (corners, 2, 2): distance from the left and right end, from the near and far edge; the same for a side's whole
    # length.
    off = np.abs(corners[:, :, None] - np.array([[0.0, board.length_mm], [0.0, board.width_mm]]))
    on = (off[:-1] < ON_MM) & (off[1:] < ON_MM)
    lengths = (np.abs(np.diff(corners[:, ::-1], axis=0))[:, :, None] * on).sum(axis=0)
    return tuple(name for name, length in zip(("left", "right", "near", "far"), lengths.ravel().tolist())
                 if length > 1.0)


def _saw_lines(shape: Polygon, rough: BaseGeometry) -> list[tuple[Point, Point]]:
    """Edges of the shape's hull that do not lie on the stock's outline."""
    ring = shapely.get_coordinates(shape.convex_hull.simplify(1e-6))
    left, near, right, far = rough.bounds
    lines = []
    for p, q in zip(ring[:-1], ring[1:]):
        on_end = any(abs(p[0] - s) < ON_MM and abs(q[0] - s) < ON_MM for s in (left, right))
        on_edge = any(abs(p[1] - t) < ON_MM and abs(q[1] - t) < ON_MM for t in (near, far))
        if not on_end and not on_edge:
            lines.append(((float(p[0]), float(p[1])), (float(q[0]), float(q[1]))))
    return lines


def _straight_cut(p: Point, q: Point, shape: Polygon, stock: tuple[float, float], board: Board) -> Cut | None:
    """The cut along the line p-q, or None if a mark would fall off the stock."""
    extent = shape.bounds[0], shape.bounds[2]
    ds, dt = q[0] - p[0], q[1] - p[1]
    if abs(dt) > abs(ds):
        marks = tuple(p[0] + ds / dt * (t - p[1]) for t in (0.0, board.width_mm))
        if not all(stock[0] - ON_MM <= s <= stock[1] + ON_MM for s in marks):
            return None
        kept = _end_to_measure_from(sum(marks) / 2, stock, extent, board)
        return Cut(kind="cross", kept=kept, at=_from_end(marks, kept, stock))
    marks = tuple(p[1] + dt / ds * (s - p[0]) for s in extent)
    if not all(-ON_MM <= t <= board.width_mm + ON_MM for t in marks):
        return None
    wood_is_near = shape.convex_hull.centroid.y < (p[1] + q[1]) / 2
    return Cut(kind="rip", kept="near" if wood_is_near else "far",
               at=(marks[0], marks[1]) if wood_is_near else (board.width_mm - marks[0], board.width_mm - marks[1]))


def _end_to_measure_from(s: float, stock: tuple[float, float], extent: tuple[float, float], board: Board) -> str:
    """An end the stock still has; if it has both, one the piece keeps, else the nearer."""
    has_left, has_right = stock[0] < ON_MM, stock[1] > board.length_mm - ON_MM
    if has_left != has_right:
        return "left" if has_left else "right"
    if not has_left:
        return "left"
    keeps_left, keeps_right = extent[0] < ON_MM, extent[1] > board.length_mm - ON_MM
    if keeps_left != keeps_right:
        return "left" if keeps_left else "right"
    return "left" if s <= board.length_mm / 2 else "right"


def _from_end(marks: tuple[float, ...], kept: str, stock: tuple[float, float]) -> tuple[float, float]:
    near, far = ((s - stock[0] if kept == "left" else stock[1] - s) for s in marks)
    return near, far


def _kept_side(p: Point, q: Point, shape: Polygon) -> Polygon:
    """A half plane (a very large box) bounded by the line p-q that holds the piece."""
    a, b = np.array(p), np.array(q)
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]])
    if (np.array(shape.convex_hull.centroid.coords[0]) - a) @ across < 0:
        across = -across
    corners = [a - FAR_MM * along, a + FAR_MM * along, a + FAR_MM * (along + across), a + FAR_MM * (across - along)]
    return Polygon(corners)


def _ring(part: Polygon) -> tuple[Point, ...]:
    return tuple((float(s), float(t)) for s, t in part.exterior.coords[:-1])
