"""The row frame of one way of laying, and the passage between it and the plan.

Plan: mm, x right, y up. Row frame: s along `u`, t along ``v = (u.y, -u.x)``; its origin is placed so that the cover's
least s and least t are both 0. The passage mirrors (t runs down the page), so a ring that runs anticlockwise in the
plan runs clockwise in (s, t).
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Point = tuple[float, float]
Shape = TypeVar("Shape", bound=BaseGeometry)


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A row frame: heading `u`, its clockwise quarter turn `v`, and the plan point where s = t = 0."""

    u: Point
    v: Point
    start_mm: Point

    def to_row(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(k, 2) plan points to (k, 2) (s, t)."""
        moved = np.asarray(points, dtype=np.float64) - np.asarray(self.start_mm)
        return np.stack([moved[:, 0] * self.u[0] + moved[:, 1] * self.u[1],
                         moved[:, 0] * self.v[0] + moved[:, 1] * self.v[1]], axis=1)

    def to_plan(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(k, 2) (s, t) to (k, 2) plan points."""
        s, t = points[:, :1], points[:, 1:]
        return np.asarray(self.start_mm) + s * np.asarray(self.u) + t * np.asarray(self.v)

    def shape_to_row(self, shape: Shape) -> Shape:
        """A plan shape in the row frame."""
        return shapely.transform(shape, self.to_row)

    def shapes_to_row(self, shapes: Sequence[Polygon]) -> list[Polygon]:
        """Plan shapes in the row frame, all at once: one by one takes several times as long."""
        moved: list[Polygon] = shapely.transform(np.array(shapes, dtype=object), self.to_row).tolist()
        return moved


def heading(angle_rad: float) -> Point:
    """Unit vector of an angle, anticlockwise from x; exact at quarter turns so that square rooms stay square."""
    quarter = angle_rad / (pi / 2)
    if abs(quarter - round(quarter)) < 1e-12:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    return cos(angle_rad), sin(angle_rad)


def frame_over(cover: list[Polygon], u: Point) -> Frame:
    """The row frame with heading `u` whose origin is the near left corner of the cover's bounding box."""
    v = (u[1], -u[0])
    loose = Frame(u=u, v=v, start_mm=(0.0, 0.0))
    corners = loose.to_row(np.concatenate([shapely.get_coordinates(part) for part in cover]))
    s, t = corners.min(axis=0)
    return Frame(u=u, v=v, start_mm=(float(s * u[0] + t * v[0]), float(s * u[1] + t * v[1])))
