"""A piece made such that a saw and a tape can make it: its edges along walls moved within the edge window onto lines
that are easily set out.

Board frame, mm. An edge along a wall becomes, in this order: the board's own edge, where that keeps to the window; one
square or parallel line at a whole distance (also for several edges in a row that one line can stand for); a tapered
line through two whole distances; else its corners are put on whole mm and a template tells it. Ends that
`layout.planning.fitting.settled_ends` has placed, joints and seams stay. What does not come out sound stays as it was.
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, floor, hypot

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from layout.region.inset import polygons_of
from layout.region.run_ends import Window
from layout.room import SLIVER_MM
from layout.planning.fitting.settled_ends import HALVINGS, whole_length

Point = tuple[float, float]
#: A line is two of its points.
Line = tuple[Point, Point]

#: A rip whose two ends agree this well is sawn parallel, mm (common practice, no source).
PARALLEL_MM = 2.0
#: An edge along less than this share of the board's width, or of the piece's length, is told by its corners.
LEAST_SHARE = 0.5
#: A flatter edge (rise over run) is along the board, not an end of it.
FLAT = 0.1
#: A corner that would move further than this shows that lines meet at too flat an angle, mm.
MOST_MOVE_MM = 12.0
SAME_MM = 1e-6
#: Metric lengths are whole millimetres; those in eighths of an inch may be sixteenths and so on where the window asks
#: for it.
WHOLE_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """What a piece is sawn from, and where its settled ends lie: board length and width, the two ends, and how far
    its wall edges may move."""

    length_mm: float
    width_mm: float
    ends_mm: tuple[float, float]
    window: Window
    step_mm: float

    @property
    def from_right(self) -> bool:
        """Whether lengths are measured from the board's right end."""
        return abs(self.ends_mm[1] - self.length_mm) < SAME_MM < self.ends_mm[0]

    def across(self, lo: float, hi: float, want: float) -> float | None:
        """x of a square line from lo to hi at a whole distance; None if there is none."""
        return self._at(lo, hi, want, self.length_mm if self.from_right else 0.0, self.from_right)

    def along(self, lo: float, hi: float, want: float, near: bool) -> float | None:
        """y of a parallel line from lo to hi at a whole distance from the edge that stays; None if there is none."""
        return self._at(lo, hi, want, self.width_mm if near else 0.0, near)

    def _at(self, lo: float, hi: float, want: float, base: float, turned: bool) -> float | None:
        least, most, wanted = (base - hi, base - lo, base - want) if turned else (lo, hi, want)
        step = self.step_mm / 2 ** (0 if self.step_mm == WHOLE_MM else HALVINGS)
        if floor((most + SAME_MM) / step) < ceil((least - SAME_MM) / step):
            return None
        found = whole_length(least, most, wanted, self.step_mm)
        return base - found if turned else found


def trimmed(piece: Polygon, blank: Blank) -> Polygon:
    """The piece as it is to be sawn; itself where none of its edges lies along a wall."""
    ring = shapely.get_coordinates(piece.exterior)[:-1]
    ring = ring if _turns_left(ring) else ring[::-1]
    fixed = [_is_fixed(ring[i], ring[(i + 1) % len(ring)], blank) for i in range(len(ring))]
    if all(fixed):
        return piece
    corners = _corners(_lines(ring, fixed, blank))
    made = None if corners is None else Polygon(corners, [hole.coords for hole in piece.interiors])
    if made is None or not made.is_valid or not _is_near(made, piece) or not _fits(made, blank):
        return untrimmed(piece, blank)
    return made


def untrimmed(piece: Polygon, blank: Blank) -> Polygon:
    """The piece as the walls cut it, but no longer than was settled."""
    if _fits(piece, blank):
        return piece
    parts = polygons_of(piece.intersection(shapely.box(blank.ends_mm[0], 0.0, blank.ends_mm[1], blank.width_mm)))
    return max(parts, key=lambda part: part.area)


def _fits(piece: Polygon, blank: Blank) -> bool:
    left, near, right, far = piece.bounds
    return bool(left >= blank.ends_mm[0] - SAME_MM and right <= blank.ends_mm[1] + SAME_MM and near >= -SAME_MM
                and far <= blank.width_mm + SAME_MM)


def _turns_left(ring: NDArray[np.float64]) -> bool:
    x, y = ring.T
    return bool((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() > 0)


def _is_near(made: Polygon, piece: Polygon) -> bool:
    """Whether nothing has moved further than lines within a window can."""
    return all(abs(a - b) < MOST_MOVE_MM for a, b in zip(made.bounds, piece.bounds))


def _is_fixed(a: NDArray[np.float64], b: NDArray[np.float64], blank: Blank) -> bool:
    """Whether an edge is a joint, a settled end or a seam."""
    if abs(a[1] - b[1]) < SAME_MM:
        return bool(min(abs(a[1]), abs(a[1] - blank.width_mm)) < SAME_MM * 10)
    return bool(abs(a[0] - b[0]) < SAME_MM and min(abs(a[0] - end) for end in (0.0, blank.length_mm, *blank.ends_mm))
                < SAME_MM * 10)


def _facing(a: NDArray[np.float64], b: NDArray[np.float64], blank: Blank) -> str:
    """Which way the outside lies of an edge of a ring that turns left (y counted upwards). An end may run flatter than
    it is steep, as in diagonal laying, if it crosses most of the board and a crosscut can make it."""
    dx, dy = b - a
    if abs(dy) >= abs(dx) or (abs(dy) >= LEAST_SHARE * blank.width_mm
                              and all(0.0 <= a[0] + dx / dy * (y - a[1]) <= blank.length_mm
                                      for y in (0.0, blank.width_mm))):
        return "right" if dy > 0 else "left"
    return "near" if dx > 0 else "far"


def _lines(ring: NDArray[np.float64], fixed: list[bool], blank: Blank) -> list[tuple[Line, Point]]:
    """One line after another round the piece, each with the corner where its first edge begins."""
    n = len(ring)
    begin = fixed.index(True) if any(fixed) else 0
    order = [(begin + k) % n for k in range(n)]
    bounds = float(ring[:, 0].min()), float(ring[:, 0].max())
    found: list[tuple[Line, Point]] = []
    for group in _groups(ring, fixed, order, blank):
        corners = ring[[*group, (group[-1] + 1) % n]]
        if fixed[group[0]]:
            found.append((_line(corners[0], corners[-1]), _point(corners[0])))
            continue
        one = _axis(corners, _main_facing(corners, blank), blank)
        if one is not None:
            found.append((one, _point(corners[0])))
            continue
        for a, b in zip(corners[:-1], corners[1:]):
            pair = np.stack([a, b])
            facing = _facing(a, b, blank)
            side = _end_side(pair, facing, bounds)
            moved = pair + np.array([_inward_mm(pair, side, bounds, blank), 0.0])
            found.append((_axis(pair, facing, blank) or _taper(moved, facing, bounds, blank)
                          or _whole_corners(moved, side, blank), _point(a)))
    return found


def _groups(ring: NDArray[np.float64], fixed: list[bool], order: list[int], blank: Blank) -> Iterator[list[int]]:
    """Edges one after another: each fixed one by itself, wall edges that face one way (short ones whichever way)
    together."""
    n = len(ring)
    short = blank.window.out_mm + blank.window.in_mm
    group: list[int] = []
    facing = ""
    for i in order:
        a, b = ring[i], ring[(i + 1) % n]
        here = "" if hypot(*(b - a)) < short else _facing(a, b, blank)
        if group and (fixed[i] or fixed[group[-1]] or (here and facing and here != facing)):
            yield group
            group, facing = [], ""
        group.append(i)
        facing = facing or here
    yield group


def _main_facing(corners: NDArray[np.float64], blank: Blank) -> str:
    steps = [(hypot(*(b - a)), _facing(a, b, blank)) for a, b in zip(corners[:-1], corners[1:])]
    return max(steps)[1]


def _axis(corners: NDArray[np.float64], facing: str, blank: Blank) -> Line | None:
    """A square or parallel line that keeps to the window of all these corners; None if there is none."""
    out, in_ = blank.window.out_mm, blank.window.in_mm
    values = corners[:, 0] if facing in ("left", "right") else corners[:, 1]
    least, most = float(values.min()), float(values.max())
    lo, hi = (most - out, least + in_) if facing in ("left", "near") else (most - in_, least + out)
    if facing in ("left", "right"):
        x = blank.across(max(lo, 0.0), min(hi, blank.length_mm), (least + most) / 2)
        return None if x is None else ((x, 0.0), (x, blank.width_mm))
    own = 0.0 if facing == "near" else blank.width_mm
    if lo - SAME_MM <= own <= hi + SAME_MM:
        return (0.0, own), (blank.length_mm, own)
    if most - least > PARALLEL_MM:
        return None
    lo, hi = max(lo, 0.0), min(hi, blank.width_mm)
    # Where the window allows it, enough comes off for a saw to hold.
    enough = (max(lo, SLIVER_MM), hi) if facing == "near" else (lo, min(hi, blank.width_mm - SLIVER_MM))
    lo, hi = enough if enough[0] <= enough[1] else (lo, hi)
    y = blank.along(lo, hi, min(max((least + most) / 2, lo), hi), facing == "near")
    return None if y is None else ((0.0, y), (blank.length_mm, y))


def _taper(pair: NDArray[np.float64], facing: str, bounds: tuple[float, float], blank: Blank) -> Line | None:
    """A line through two whole distances: at the board's two edges, or at the piece's two ends; None if they fall
    off the board."""
    (x0, y0), (x1, y1) = pair.tolist()
    if facing in ("left", "right"):
        if abs(y1 - y0) < LEAST_SHARE * blank.width_mm:
            return None
        ends = [x0 + (x1 - x0) * (y - y0) / (y1 - y0) for y in (0.0, blank.width_mm)]
        if not all(0.0 <= x <= blank.length_mm for x in ends):
            return None
        near, far = (_inwards(x, facing, blank) for x in ends)
        return (near, 0.0), (far, blank.width_mm)
    if abs(x1 - x0) < LEAST_SHARE * (bounds[1] - bounds[0]):
        return None
    ends = [y0 + (y1 - y0) * (x - x0) / (x1 - x0) for x in bounds]
    if not all(0.0 <= y <= blank.width_mm for y in ends):
        return None
    left, right = (_whole(y, blank.width_mm if facing == "near" else 0.0, blank.step_mm) for y in ends)
    return (bounds[0], left), (bounds[1], right)


def _end_side(pair: NDArray[np.float64], facing: str, bounds: tuple[float, float]) -> str:
    """The end of the piece that an edge makes, however flat it runs; "" for an edge along the board."""
    if facing in ("left", "right"):
        return facing
    dx, dy = np.abs(pair[1] - pair[0]).tolist()
    at = [side for side, s, end in (("left", pair[:, 0].min(), bounds[0]), ("right", pair[:, 0].max(), bounds[1]))
          if abs(s - end) < 1.0]
    return at[0] if dy > FLAT * dx and len(at) == 1 else ""


def _inward_mm(pair: NDArray[np.float64], facing: str, bounds: tuple[float, float], blank: Blank) -> float:
    """How far a slanted edge at an end moves along x, so that the piece is no longer than was settled."""
    if facing == "left" and pair[:, 0].min() < blank.ends_mm[0]:
        return blank.ends_mm[0] - bounds[0]
    if facing == "right" and pair[:, 0].max() > blank.ends_mm[1]:
        return blank.ends_mm[1] - bounds[1]
    return 0.0


def _inwards(x: float, facing: str, blank: Blank) -> float:
    """x moved to the next whole distance that makes the piece no longer."""
    base, step = (blank.length_mm if blank.from_right else 0.0), blank.step_mm
    up = (facing == "left") != blank.from_right
    count = abs(x - base) / step
    return base + (-1.0 if blank.from_right else 1.0) * step * (ceil(count - SAME_MM) if up else floor(count + SAME_MM))


def _whole(value: float, base: float, step: float) -> float:
    return base + round((value - base) / step) * step


def _whole_corners(pair: NDArray[np.float64], facing: str, blank: Blank) -> Line:
    """The edge with its corners on whole distances, those on the board's own sides along them."""
    def put(corner: NDArray[np.float64]) -> Point:
        x, y = corner.tolist()
        own_x = min(abs(x - end) for end in (0.0, blank.length_mm, *blank.ends_mm)) < SAME_MM * 10
        own_y = min(abs(y), abs(y - blank.width_mm)) < SAME_MM * 10
        put_x = _inwards(x, facing, blank) if facing in ("left", "right") else _whole(x,
                                                                                      blank.length_mm
                                                                                      if blank.from_right else 0.0,
                                                                                      blank.step_mm)
        return x if own_x else put_x, y if own_y else _whole(y, 0.0, blank.step_mm)

    a, b = put(pair[0]), put(pair[1])
    return (a, b) if hypot(a[0] - b[0], a[1] - b[1]) > SAME_MM else (_point(pair[0]), _point(pair[1]))


def _corners(lines: list[tuple[Line, Point]]) -> list[Point] | None:
    """Where each line meets the next; None if two of them do not meet near the corner they had."""
    found = []
    for k, (line, begins) in enumerate(lines):
        met = _meeting(lines[k - 1][0], line)
        if met is None:
            # The same line twice: the corner between falls away.
            if _off(begins, line) < MOST_MOVE_MM and _off(lines[k - 1][0][0], line) < SAME_MM * 10:
                continue
            return None
        if hypot(met[0] - begins[0], met[1] - begins[1]) > MOST_MOVE_MM:
            return None
        found.append(met)
    return found if len(found) >= 3 else None


def _meeting(first: Line, second: Line) -> Point | None:
    (x0, y0), (x1, y1) = first
    (x2, y2), (x3, y3) = second
    dx, dy, ex, ey = x1 - x0, y1 - y0, x3 - x2, y3 - y2
    turn = dx * ey - dy * ex
    if abs(turn) <= 1e-9 * hypot(dx, dy) * hypot(ex, ey):
        return None
    k = ((x2 - x0) * ey - (y2 - y0) * ex) / turn
    x, y = x0 + k * dx, y0 + k * dy
    # Lines along the axes meet exactly.
    x = x0 if x0 == x1 else x2 if x2 == x3 else x
    y = y0 if y0 == y1 else y2 if y2 == y3 else y
    return x, y


def _off(point: Point, line: Line) -> float:
    (x0, y0), (x1, y1) = line
    long = hypot(x1 - x0, y1 - y0)
    # The tip of a needle is a line without length.
    if long < SAME_MM:
        return hypot(point[0] - x0, point[1] - y0)
    return abs((x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)) / long


def _line(a: NDArray[np.float64], b: NDArray[np.float64]) -> Line:
    return _point(a), _point(b)


def _point(corner: NDArray[np.float64]) -> Point:
    return float(corner[0]), float(corner[1])
