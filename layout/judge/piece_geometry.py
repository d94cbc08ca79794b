"""The judge's own reading of a plan: every piece in the row frame and in its board's frame, and the joints between
pieces.

Shares no code with the planner. Row frame: s along u, t along v, mm. A piece's board lies with its left near corner at
(s0, t0), found from where the piece lies and where it says it was in the board.
"""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from layout import plan as planned

#: Ends this near along s are the same joint, mm.
SAME_PLACE_MM = 1e-4
#: Contacts shorter than this are corners touching, mm.
LEAST_CONTACT_MM = 2.0
#: Overlays are computed on this grid, far below anything that matters on a floor, where a second look is needed.
GRID_MM = 1e-6
#: A row is looked at this much inside its seams, so that rounding at a seam makes no hair-thin part, mm.
INSIDE_MM = 1e-3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Laid:
    """A piece with its row number, shape in the row frame, the corners of that shape's rings, where its board's corner
    lies, and its shape in the board's frame."""

    piece: planned.Piece
    row: int
    shape: Polygon
    rings: tuple[NDArray[np.float64], ...]
    s0_mm: float
    t0_mm: float
    in_board: Polygon


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Joint:
    """Two pieces of a row end to end: at s, from t near to t far."""

    left: Laid
    right: Laid
    s_mm: float
    near_mm: float
    far_mm: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Reading:
    """A plan as the judge reads it: every piece, row by row as listed; every end joint; of each row, by its number,
    the parts of the cover in it."""

    laid: tuple[Laid, ...]
    joints: tuple[Joint, ...]
    parts: dict[int, list[Polygon]]


def read(plan: planned.Plan) -> Reading:
    """The judge's reading of a plan."""
    laid = lay_out(plan)
    return Reading(laid=laid, joints=joints_in(laid), parts=parts_of_rows(plan))


def lay_out(plan: planned.Plan) -> tuple[Laid, ...]:
    """Every piece of a plan, row by row as listed."""
    return tuple(_laid(plan, piece, row.number) for row in plan.rows for piece in row.pieces)


def to_row(plan: planned.Plan, ring: planned.Ring) -> NDArray[np.float64]:
    """(k, 2) (s, t) of a ring of plan points."""
    points = np.array(ring, dtype=np.float64) - np.array(plan.start_mm)
    return points @ np.array([[plan.u[0], plan.v[0]], [plan.u[1], plan.v[1]]])


def row_shape(plan: planned.Plan, outline: planned.Ring, holes: tuple[planned.Ring, ...]) -> Polygon:
    """A plan polygon in the row frame, turned anticlockwise in (s, t)."""
    return orient(Polygon(to_row(plan, outline), [to_row(plan, hole) for hole in holes]))


def parts_of_rows(plan: planned.Plan) -> dict[int, list[Polygon]]:
    """The connected parts of the cover (row frame) in each row's strip, `INSIDE_MM` inside its seams, by the row's
    number."""
    cover = shapely.union_all([row_shape(plan, part.outline, part.holes) for part in plan.cover])
    left, _, right, _ = cover.bounds
    windows = shapely.box([left - 1.0], [row.near_mm + INSIDE_MM for row in plan.rows], [right + 1.0],
                          [row.far_mm - INSIDE_MM for row in plan.rows])
    return {row.number: [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
            for row, shape in zip(plan.rows, shapely.intersection(cover, windows))}


def area_mm2(overlay: Callable[..., BaseGeometry], first: BaseGeometry, second: BaseGeometry, *, most: float) -> float:
    """Area of an overlay (`shapely.intersection` and its like), mm2. One above `most` is looked at again on a grid:
    without one, overlays of shapes whose edges all but coincide can return a whole shape, or nothing."""
    area = float(overlay(first, second).area)
    return area if area <= most else float(overlay(first, second, grid_size=GRID_MM).area)


def joints_in(laid: tuple[Laid, ...]) -> tuple[Joint, ...]:
    """Every end joint: an upright edge where one piece ends and another of the same row begins."""
    begins: dict[tuple[int, int], list[tuple[Laid, float, float, float]]] = {}
    ends: list[tuple[Laid, float, float, float]] = []
    for one in laid:
        for s, near, far, is_end in _upright_edges(one):
            if is_end:
                ends.append((one, s, near, far))
            else:
                begins.setdefault((one.row, round(s * 100)), []).append((one, s, near, far))
    joints = []
    for left, s, near, far in ends:
        for key in (round(s * 100) - 1, round(s * 100), round(s * 100) + 1):
            for right, other_s, other_near, other_far in begins.get((left.row, key), []):
                lo, hi = max(near, other_near), min(far, other_far)
                if abs(other_s - s) < SAME_PLACE_MM and hi - lo > SAME_PLACE_MM and right.piece.id != left.piece.id:
                    joints.append(Joint(left=left, right=right, s_mm=s, near_mm=lo, far_mm=hi))
    return tuple(joints)


def level_edges(one: Laid, level_mm: float) -> list[tuple[float, float]]:
    """Stretches of s where a piece's outline lies on t = level."""
    found = []
    for corners in one.rings:
        on = np.abs(corners[:, 1] - level_mm) < SAME_PLACE_MM
        found += [(min(corners[i, 0], corners[i + 1, 0]), max(corners[i, 0], corners[i + 1, 0]))
                  for i in np.flatnonzero(on[:-1] & on[1:])]
    return found


def _laid(plan: planned.Plan, piece: planned.Piece, row: int) -> Laid:
    shape = row_shape(plan, piece.outline_mm, piece.holes_mm)
    left, near, _, _ = shape.bounds
    corner = np.array([left - piece.from_mm, near - piece.near_mm])
    rings = tuple(shapely.get_coordinates(ring) for ring in (shape.exterior, *shape.interiors))
    return Laid(piece=piece, row=row, shape=shape, rings=rings, s0_mm=float(corner[0]), t0_mm=float(corner[1]),
                in_board=shapely.transform(shape, lambda c: c - corner))


def _upright_edges(one: Laid) -> list[tuple[float, float, float, bool]]:
    """(s, t near, t far, whether the wood lies to its left) of every upright edge."""
    found = []
    for corners in one.rings:
        for (s0, t0), (s1, t1) in zip(corners[:-1].tolist(), corners[1:].tolist()):
            if abs(s1 - s0) < SAME_PLACE_MM and abs(t1 - t0) > SAME_PLACE_MM:
                found.append((s0, min(t0, t1), max(t0, t1), t1 > t0))
    return found
