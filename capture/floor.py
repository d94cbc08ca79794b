"""The solved floor: named points, their full covariance, and lengths and areas with their uncertainty.

Frame: mm, x right, y up; the outline runs anticlockwise and its last corner is not repeated.
A corner's covariance depends on the gauge (which corner is held where); lengths and areas do not, so
those are what is shown to people. First-order propagation: Mikhail & Ackermann, "Observations and
Least Squares" (1976), ch. 4 (book from memory; the formula is the usual J C J').
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

#: Half width of a two-sided 95 % interval of a normal variable, in standard deviations.
Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True, kw_only=True)
class Island:
    """A part of the floor that is not covered (a hearth, a column), by the names of its corners in order."""

    name: str
    corners: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A solved distance between two named points: mm, with the half width of its 95 % interval."""

    a: str
    b: str
    length_mm: float
    pm95_mm: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Floor:
    """Named floor points with their covariance.

    names: n point names; outline corners first, in solved (anticlockwise) order.
    points_mm: (n, 2) positions, read-only.
    cov_mm2: (2n, 2n) covariance in the order x0 y0 x1 y1 ..., read-only; all zero for a floor taken as exact.
    outline: names of the outline's corners, anticlockwise.
    gauge: the datum the covariance belongs to, in words.
    """

    names: tuple[str, ...]
    points_mm: NDArray[np.float64]
    cov_mm2: NDArray[np.float64]
    outline: tuple[str, ...]
    islands: tuple[Island, ...] = ()
    gauge: str = ""

    def __post_init__(self) -> None:
        for field in ("points_mm", "cov_mm2"):
            array = np.array(getattr(self, field), dtype=np.float64)
            array.setflags(write=False)
            object.__setattr__(self, field, array)

    def index(self, name: str) -> int:
        """Position of a point in `names`; raises KeyError if the floor has no such point."""
        try:
            return self.names.index(name)
        except ValueError:
            raise KeyError(name) from None

    def at(self, name: str) -> NDArray[np.float64]:
        """(2,) position of a named point, mm."""
        return self.points_mm[self.index(name)]

    def ring(self, names: tuple[str, ...] | None = None) -> NDArray[np.float64]:
        """(k, 2) positions of the named points, mm; of the outline if no names are given."""
        return self.points_mm[[self.index(n) for n in (self.outline if names is None else names)]]

    def covariance(self, names: tuple[str, ...]) -> NDArray[np.float64]:
        """(2k, 2k) covariance block of the named points, mm2."""
        lines = [2 * self.index(n) + c for n in names for c in (0, 1)]
        return self.cov_mm2[np.ix_(lines, lines)]

    def length(self, a: str, b: str) -> Length:
        """Distance between two named points with its 95 % half width; the same in every gauge."""
        step = self.at(b) - self.at(a)
        length = float(np.hypot(*step))
        unit = step / length if length > 0 else np.array([1.0, 0.0])
        jacobian = np.concatenate([-unit, unit])
        variance = float(jacobian @ self.covariance((a, b)) @ jacobian)
        return Length(a=a, b=b, length_mm=length, pm95_mm=Z95 * max(variance, 0.0) ** 0.5)

    def walls(self) -> tuple[Length, ...]:
        """Every wall of the outline, in order from its first corner."""
        following = self.outline[1:] + self.outline[:1]
        return tuple(self.length(a, b) for a, b in zip(self.outline, following))

    def area(self) -> tuple[float, float]:
        """(area, 95 % half width) of the outline less its islands, mm2. Shoelace formula and its gradient."""
        rings = [self.outline] + [island.corners for island in self.islands]
        total, gradient = 0.0, np.zeros(2 * len(self.names))
        for number, ring in enumerate(rings):
            area, slope = _ring_area(self.ring(ring))
            sign = 1.0 if number == 0 else -np.sign(area)
            total += sign * area
            for name, pair in zip(ring, slope):
                k = 2 * self.index(name)
                gradient[k:k + 2] += sign * pair
        variance = float(gradient @ self.cov_mm2 @ gradient)
        return total, Z95 * max(variance, 0.0) ** 0.5


def without_drift(points_mm: NDArray[np.float64], columns: NDArray[np.float64]) -> NDArray[np.float64]:
    """(2n, d) movements x0 y0 x1 y1 ... of (n, 2) points with the shift and turn of them all taken out: inner
    constraints.

    Applied to both sides of a covariance it is the S-transformation to the mean position and heading of the points
    (Baarda 1973, from memory).
    """
    off = points_mm - points_mm.mean(axis=0)
    drift = np.zeros((off.size, 3))
    drift[0::2, 0] = drift[1::2, 1] = 1.0
    drift[0::2, 2], drift[1::2, 2] = -off[:, 1], off[:, 0]
    ortho, _ = np.linalg.qr(drift)
    return columns - ortho @ (ortho.T @ columns)


def exact_floor(outline_mm: NDArray[np.float64], names: tuple[str, ...],
                holes: tuple[tuple[str, NDArray[np.float64]], ...] = ()) -> Floor:
    """A floor known beforehand, taken as exact: zero covariance, coordinates kept as given.

    outline_mm: (n, 2), either direction; `names` name its corners in the given order. holes: (name, (k, 2)) islands,
    whose corners are named after the island with a number.
    """
    corners = np.asarray(outline_mm, dtype=np.float64)
    if _ring_area(corners)[0] < 0:
        order = [0, *range(len(corners) - 1, 0, -1)]
        corners, names = corners[order], tuple(names[i] for i in order)
    islands, every, points = [], list(names), [corners]
    for hole_name, ring in holes:
        ring_names = tuple(f"{hole_name}{i + 1}" for i in range(len(ring)))
        islands.append(Island(name=hole_name, corners=ring_names))
        every += ring_names
        points.append(np.asarray(ring, dtype=np.float64))
    stacked = np.concatenate(points)
    return Floor(names=tuple(every), points_mm=stacked, cov_mm2=np.zeros((2 * len(stacked),) * 2),
                 outline=tuple(names), islands=tuple(islands), gauge="coordinates given, taken as exact")


def _ring_area(ring: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
    """Signed area (anticlockwise positive) of a (k, 2) ring and its (k, 2) gradient."""
    x, y = ring[:, 0], ring[:, 1]
    ahead, behind = np.roll(ring, -1, axis=0), np.roll(ring, 1, axis=0)
    area = 0.5 * float(np.sum(x * ahead[:, 1] - ahead[:, 0] * y))
    gradient = 0.5 * np.stack([ahead[:, 1] - behind[:, 1], behind[:, 0] - ahead[:, 0]], axis=1)
    return area, gradient
