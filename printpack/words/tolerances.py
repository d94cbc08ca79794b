"""How far a length on the floor may be off: from the survey's covariance and the boards' own tolerances.

Frame: the row frame (s, t), mm. The rows hang on the start wall: when the survey moves that wall, the rows move with
it. So a distance from a place in the rows to a wall is a function of the corners alone and the same in every gauge. Its
variance is J C J', J worked out by hand from the plane geometry of a ray and an edge (first order). Boards: EN 13329 as
quoted by trade handbooks (length +-0.5 mm, mean width +-0.1 mm), taken as uniform; marking and sawing by hand 1 mm
(common practice, no source).
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.floor import Z95
from layout.replan.floor_estimation import estimate
from layout.plan import Point
from layout.region.baseline import edges_of, rings_of, start_line
from printpack.job import PackJob
from printpack.drawing.frames import within

BOARD_LENGTH_SD_MM = 0.5 / 3 ** 0.5
ROW_WIDTH_SD_MM = 0.1 / 3 ** 0.5
HAND_SD_MM = 1.0

_Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """A distance to a wall or island edge: mm, its standard deviation from the survey, and the edge's corner names.

    squarely: whether the edge is met at 45 degrees or more; along an edge it grazes a distance says nothing.
    """

    length_mm: float
    sd_mm: float
    edge: tuple[str, str]
    squarely: bool


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Hit:
    distance: float
    slope: _Vector
    edge: tuple[str, str]
    squarely: bool


class Fit:
    """Distances in one job's floor. Holds the edges in the row frame; asks nothing of the plan's rows. drift: what
    the day would expect."""

    def __init__(self, job: PackJob) -> None:
        self.plan, self.floor, self.fallback_sd = job.plan, job.floor, job.room.length_sd_mm
        self.turn = np.array([job.plan.u, job.plan.v])
        self.places = (job.floor.points_mm - np.array(job.plan.start_mm)) @ self.turn.T
        self.edges = edges_of(job.floor)
        self.start = start_line(job.plan, job.floor)
        self.drift = job.drift or estimate(job.plan, job.floor, ())

    def to_far_wall(self, s: float, t: float) -> Reach | None:
        """From (s, t) straight away from the start wall to the first edge met; None off the floor."""
        if not self._on_floor((s, t)):
            return None
        hit = self._cast((s, t), (0.0, 1.0))
        return self._reach(hit.distance, hit.slope, hit.edge, hit.squarely) if hit else None

    def to_near_wall(self, s: float, t: float) -> Reach | None:
        """From (s, t) straight towards the start wall to the first edge met; None off the floor."""
        if not self._on_floor((s, t)):
            return None
        hit = self._cast((s, t), (0.0, -1.0))
        return self._reach(hit.distance, hit.slope, hit.edge, hit.squarely) if hit else None

    def across(self, s: float, t: float) -> Reach | None:
        """Along the row through (s, t), from the edge met on the left to the one met on the right; None off the
        floor."""
        if not self._on_floor((s, t)):
            return None
        left, right = self._cast((s, t), (-1.0, 0.0)), self._cast((s, t), (1.0, 0.0))
        if left is None or right is None:
            return None
        return self._reach(left.distance + right.distance, left.slope + right.slope, right.edge,
                           left.squarely and right.squarely)

    def to_end_wall(self, s: float, t: float, side: str) -> Reach | None:
        """Along the row from (s, t) to the first edge met on its "left" or "right"; None off the floor."""
        if not self._on_floor((s, t)):
            return None
        hit = self._cast((s, t), (-1.0 if side == "left" else 1.0, 0.0))
        return self._reach(hit.distance, hit.slope, hit.edge, hit.squarely) if hit else None

    def point_sd_mm(self, name: str, begins: str) -> float:
        """How sure a surveyed point's place in the rows is, mm: the larger of its sd off the wall the row begins at
        ("left" or "right") and of its sd off the start wall. A point the survey does not know has the survey's usual
        sd.
        """
        if name not in self.floor.names or not self.floor.cov_mm2.any():
            return self.fallback_sd
        at = self.floor.index(name)
        place = (float(self.places[at, 0]), float(self.places[at, 1]))
        way = -1.0 if begins == "left" else 1.0
        off_start = self._point_slope(at, (0.0, 1.0))
        off_begin = self._point_slope(at, (-way, 0.0))
        hit = self._cast(place, (way, 0.0))
        if hit:
            step = np.subtract(*(self.places[self.floor.index(name)] for name in hit.edge))
            off_begin = off_begin + hit.slope + way * step[0] / step[1] * off_start
        return max(float(slope @ self.floor.cov_mm2 @ slope) for slope in (off_begin, off_start)) ** 0.5

    def _point_slope(self, at: int, towards: Point) -> _Vector:
        """How a point's distance in one direction, from a place that moves with the start wall, changes with every
        floor coordinate."""
        slope, d = np.zeros_like(self.floor.points_mm), np.array(towards)
        slope[at] += d
        self._ride_along(slope, self.places[at], d, 0.0, d, 1.0)
        return np.asarray((slope @ self.turn).ravel())

    def _on_floor(self, place: Point) -> bool:
        """Within the surveyed walls: a doorway that is laid has none of its own to measure to."""
        outline, *holes = (tuple(map(tuple, self.places[[self.floor.index(name) for name in ring]].tolist()))
                           for ring in rings_of(self.floor))
        return within(place, outline) and not any(within(place, hole) for hole in holes)

    def _reach(self, length: float, slope: _Vector, edge: tuple[str, str], squarely: bool) -> Reach:
        variance = float(slope @ self.floor.cov_mm2 @ slope)
        exact = not self.floor.cov_mm2.any()
        return Reach(length_mm=length, sd_mm=self.fallback_sd if exact else max(variance, 0.0) ** 0.5, edge=edge,
                     squarely=squarely)

    def _cast(self, origin: Point, towards: Point) -> _Hit | None:
        best: _Hit | None = None
        o, d = np.array(origin), np.array(towards)
        for edge in self.edges:
            hit = self._meet(o, d, edge)
            if hit and (best is None or hit.distance < best.distance):
                best = hit
        return best

    def _meet(self, o: _Vector, d: _Vector, edge: tuple[int, int]) -> _Hit | None:
        """Where the ray o + r d meets an edge, and how r changes with every floor coordinate."""
        a, b = self.places[edge[0]], self.places[edge[1]]
        normal = np.array([-(b - a)[1], (b - a)[0]])
        slant = float(normal @ d)
        if abs(slant) < 1e-9 * float(np.hypot(*normal)):
            return None
        r = float(normal @ (a - o)) / slant
        share = float((o + r * d - a) @ (b - a)) / float((b - a) @ (b - a))
        if r < 0 or not -1e-9 <= share <= 1 + 1e-9:
            return None
        slope = np.zeros_like(self.floor.points_mm)
        slope[edge[0]] += (1 - share) * normal / slant
        slope[edge[1]] += share * normal / slant
        self._ride_along(slope, o, d, r, normal, slant)
        names = self.floor.names
        return _Hit(distance=r, slope=(slope @ self.turn).ravel(), edge=(names[edge[0]], names[edge[1]]),
                    squarely=abs(slant) >= 0.7 * float(np.hypot(*normal)))

    def _ride_along(self, slope: _Vector, o: _Vector, d: _Vector, r: float, normal: _Vector, slant: float) -> None:
        """Subtract how the ray's own origin and heading move with the start wall (rigid, first order)."""
        i, j = self.start
        wall = self.places[j] - self.places[i]
        long2 = float(wall @ wall)
        arm = o + r * d - self.places[i]
        turned = np.array([-arm[1], arm[0]])
        swing = float(normal @ turned) / slant
        across = np.array([-wall[1], wall[0]]) / long2
        slope[i] += -normal / slant + swing * across
        slope[j] += -swing * across


def end_pm95_mm(sd_mm: float, boards: int) -> float:
    """Half width of the 95 % interval of a row's last piece: survey (its sd), whole boards before it, and hand work."""
    return Z95 * (sd_mm ** 2 + boards * BOARD_LENGTH_SD_MM ** 2 + HAND_SD_MM ** 2) ** 0.5


def far_pm95_mm(sd_mm: float, rows: int) -> float:
    """Half width of the 95 % interval of the distance left to the far wall after so many rows.

    Board widths of one batch err together, so their share grows with the number of rows, not with its root.
    """
    return Z95 * (sd_mm ** 2 + (rows * ROW_WIDTH_SD_MM) ** 2 + HAND_SD_MM ** 2) ** 0.5


def cut_out_pm95_mm(sd_mm: float, rows: int, boards: int) -> float:
    """Half width of the 95 % interval of a cut-out's place, after so many rows and so many boards of its row."""
    return Z95 * (sd_mm ** 2 + boards * BOARD_LENGTH_SD_MM ** 2 + (rows * ROW_WIDTH_SD_MM) ** 2
                  + HAND_SD_MM ** 2) ** 0.5
