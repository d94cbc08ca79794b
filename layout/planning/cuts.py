"""The cuts that turn stock into a piece, in the order they are sawn: to length, along, notches, what only a template
tells, holes.

Board frame, mm: (0, 0) the board's left end at its near edge. On each side of the piece at most one straight saw line
goes right across or along the stock: an edge of the piece that has all of the piece on one side, or a square line at
its outermost point. What is still too much is taken out: a *notch* if one square box out of a side of the board does
it, else a *line*. Together they give the piece exactly. A crosscut is measured from an end the stock still has: a new
board has both, an offcut one; a middle slice has none, and is measured from its left sawn end.
"""
from __future__ import annotations

from math import dist

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from layout.region.inset import polygons_of
from layout.plan import Cut, Point
from layout.room import Board

#: Wood within this of the stock's outline lies on it: no saw takes off less, mm.
ON_MM = 1e-3
CRUMB_MM2 = 0.02
#: Stock that is larger than a piece by less than this is the piece but for rounding, mm2.
WHOLE_MM2 = 1e-7
#: Two lengths that differ by less are the same but for rounding, mm.
SAME_MM = 1e-6
FAR_MM = 1e5
GRID_MM = 1e-5
#: An end of which so much of the board's width is square is cut square; what is slanted beside that is taken off by
#: itself.
UPRIGHT_SHARE = 0.25
#: An edge across so much of the board's width may be an end, however flat it runs.
MOST_OF_WIDTH = 0.5

Line = tuple[Point, Point]


def cuts_for(shape: Polygon, stock: tuple[float, float], board: Board) -> tuple[Cut, ...]:
    """The cuts that make `shape` (board frame) of the stock between two s of the board, full width; holes for pipes
    come later."""
    rough: BaseGeometry = shapely.box(stock[0], 0.0, stock[1], board.width_mm)
    if rough.area - shape.area < WHOLE_MM2:
        return ()
    straight, edges = [], [edge for edge in _hull_edges(shape) if not _lies_on(edge, stock, board)]
    for side in ("left", "right", "near", "far"):
        line = _saw_line(side, edges, shape, stock, board)
        cut = None if line is None else _straight_cut(side, line, shape, stock, board)
        if line is not None and cut is not None:
            straight.append(cut)
            rough = rough.intersection(_kept_side(*line, shape))
    # On a grid, so that a saw line which all but meets an edge leaves no spike without area.
    waste = [part for part in polygons_of(shapely.difference(rough, shape, grid_size=GRID_MM)) if part.area > CRUMB_MM2]
    shaped = [_cut_out(part, shape, stock, board) for part in sorted(waste, key=lambda part: part.bounds)]
    return (*straight, *sorted(shaped, key=lambda cut: cut.kind == "line"))


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


def _saw_line(side: str, outer: list[Line], shape: Polygon, stock: tuple[float, float], board: Board) -> Line | None:
    """The one straight saw line on a side of the piece; None if the stock's own side is its side. outer: edges of its
    hull that are not the stock's."""
    left, near, right, far = shape.bounds
    own = {"left": left - stock[0], "right": stock[1] - right, "near": near, "far": board.width_mm - far}[side]
    edges = [edge for edge in outer if _faces(side, edge, stock, board)]
    if edges:
        return max(edges, key=lambda edge: (_is_upright(edge) and dist(*edge) > UPRIGHT_SHARE * board.width_mm,
                                            dist(*edge)))
    if own < ON_MM or not _has_side(side, shape):
        return None
    return {"left": ((left, 0.0), (left, board.width_mm)), "right": ((right, 0.0), (right, board.width_mm)),
            "near": ((left, near), (right, near)), "far": ((left, far), (right, far))}[side]


def _is_upright(edge: Line) -> bool:
    return abs(edge[0][0] - edge[1][0]) < ON_MM


def _has_side(side: str, shape: Polygon) -> bool:
    """Whether some of the piece's outline lies along its outermost place on that side; a mere tip needs no cut of
    its own."""
    axis, place = {"left": (0, shape.bounds[0]), "near": (1, shape.bounds[1]), "right": (0, shape.bounds[2]),
                   "far": (1, shape.bounds[3])}[side]
    corners = shapely.get_coordinates(shape.exterior)
    on = np.abs(corners[:, axis] - place) < ON_MM
    return float(np.abs(np.diff(corners[:, 1 - axis]))[on[:-1] & on[1:]].sum()) > 1.0


def _hull_edges(shape: Polygon) -> list[Line]:
    """Edges of the piece that have all of it on one side."""
    outline = shape.convex_hull
    hull, centre = shapely.get_coordinates(outline), outline.centroid
    lines = shapely.linestrings(np.stack([hull[:-1], hull[1:]], axis=1))
    is_own = np.asarray(shapely.contains(shape.exterior.buffer(ON_MM), lines) & (shapely.length(lines) > 2 * ON_MM))
    found = []
    for (x0, y0), (x1, y1), own in zip(hull[:-1].tolist(), hull[1:].tolist(), is_own.tolist()):
        if own:
            turned = (x1 - x0) * (centre.y - y0) - (y1 - y0) * (centre.x - x0) > 0
            found.append(((x0, y0), (x1, y1)) if turned else ((x1, y1), (x0, y0)))
    return found


def _faces(side: str, edge: Line, stock: tuple[float, float], board: Board) -> bool:
    """Whether an edge with the wood on its left (y counted upwards) is on that side of the piece. An end may run
    flatter than it is steep, as in diagonal laying, if it crosses most of the board and both its marks fall on the
    stock."""
    (x0, y0), (x1, y1) = edge
    dx, dy = x1 - x0, y1 - y0
    if abs(dy) > abs(dx) or (abs(dy) >= MOST_OF_WIDTH * board.width_mm and _marks_on(edge, stock, board)):
        return side == ("right" if dy > 0 else "left")
    return side == ("near" if dx > 0 else "far")


def _marks_on(edge: Line, stock: tuple[float, float], board: Board) -> bool:
    """Whether the line of an edge crosses both edges of the board within the stock."""
    (x0, y0), (x1, y1) = edge
    return all(stock[0] - ON_MM <= x0 + (x1 - x0) / (y1 - y0) * (t - y0) <= stock[1] + ON_MM
               for t in (0.0, board.width_mm))


def _lies_on(edge: Line, stock: tuple[float, float], board: Board) -> bool:
    (x0, y0), (x1, y1) = edge
    return (any(abs(x0 - s) < ON_MM and abs(x1 - s) < ON_MM for s in stock)
            or any(abs(y0 - t) < ON_MM and abs(y1 - t) < ON_MM for t in (0.0, board.width_mm)))


def _straight_cut(side: str, line: Line, shape: Polygon, stock: tuple[float, float], board: Board) -> Cut | None:
    """The cut along a line, or None if a mark would fall off the stock."""
    extent = shape.bounds[0], shape.bounds[2]
    (x0, y0), (x1, y1) = line
    if side in ("left", "right"):
        marks = tuple(x0 + (x1 - x0) / (y1 - y0) * (t - y0) for t in (0.0, board.width_mm))
        if not all(stock[0] - ON_MM <= s <= stock[1] + ON_MM for s in marks):
            return None
        kept = _end_to_measure_from(sum(marks) / 2, stock, extent, board)
        near, far = (_clean(s - stock[0] if kept == "left" else stock[1] - s) for s in marks)
        return Cut(kind="cross", kept=kept, at=_square(near, far))
    marks = tuple(y0 + (y1 - y0) / (x1 - x0) * (s - x0) for s in extent)
    if not all(-ON_MM <= t <= board.width_mm + ON_MM for t in marks):
        return None
    wood_is_near = side == "far"
    left, right = (_clean(t if wood_is_near else board.width_mm - t) for t in marks)
    return Cut(kind="rip", kept="near" if wood_is_near else "far", at=_square(left, right))


def _clean(length: float) -> float:
    """A length that is a whole number but for rounding is one."""
    return float(round(length)) if abs(length - round(length)) < SAME_MM else length


def _square(first: float, second: float) -> tuple[float, float]:
    """Two distances of one saw line, the same if they are but for rounding."""
    return (first, first) if abs(first - second) < SAME_MM else (first, second)


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


def _kept_side(p: Point, q: Point, shape: Polygon) -> Polygon:
    """A half plane (a very large box) bounded by the line p-q that holds the piece."""
    a, b = np.array(p), np.array(q)
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]])
    if (np.array(shape.convex_hull.centroid.coords[0]) - a) @ across < 0:
        across = -across
    corners = [a - FAR_MM * along, a + FAR_MM * along, a + FAR_MM * (along + across), a + FAR_MM * (across - along)]
    return Polygon(corners)


def _cut_out(part: Polygon, shape: Polygon, stock: tuple[float, float], board: Board) -> Cut:
    """A notch if a square box out of one side of the board takes this wood and nothing of the piece, else a line."""
    x0, y0, x1, y1 = map(_clean, part.bounds)
    ring = _distinct([(_clean(float(s)), _clean(float(t))) for s, t in part.exterior.coords[:-1]])
    boxes = (("near", (x0, x1), y1, shapely.box(x0, 0.0, x1, y1)),
             ("far", (x0, x1), board.width_mm - y0, shapely.box(x0, y0, x1, board.width_mm)),
             ("left", (y0, y1), x1 - stock[0], shapely.box(stock[0], y0, x1, y1)),
             ("right", (y0, y1), stock[1] - x0, shapely.box(x0, y0, stock[1], y1)))
    reaches = {"near": y1 < board.width_mm - ON_MM, "far": y0 > ON_MM, "left": True, "right": True}
    for edge, span, deep, box in boxes:
        if reaches[edge] and box.intersection(shape).area < CRUMB_MM2:
            return Cut(kind="notch", kept=edge, at=span, deep=_clean(deep), shape=ring)
    return Cut(kind="line", shape=ring)


def _distinct(ring: list[Point]) -> tuple[Point, ...]:
    """The corners without those that lie on the one before but for rounding."""
    return tuple(here for before, here in zip([ring[-1], *ring], ring)
                 if max(abs(here[0] - before[0]), abs(here[1] - before[1])) > ON_MM)
