"""Floor lines in a photo: where the network sees floor and wall touch along a straight line, placed by the picture's
edges.

In: the picture's straight segments and the network's maps. Out: lines with their ends, how far the edge was seen, and
how well the maps agree. All in px of a picture 1600 px long. Method: straight runs of cells are picked out of the map
one after the other, each by the pair of cells whose line passes through most (random sample consensus, Fischler and
Bolles, 1981; fixed seed); where edges of the picture run along one, it is fitted to them.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.seeing.segmentation import Seen

Array = NDArray[np.float64]

#: Cells that say "floor line" so strongly are looked through; a line passes this near them, cells.
_LEAST_CELL, _NEAR_CELLS = 0.35, 1.1
#: Pairs of cells tried for each line, and lines looked for at most.
_PAIRS, _MOST_LINES = 300, 16
#: A line is as long as this, and out of sight for this long at most, px.
_LEAST_PX, _GAP_PX = 40.0, 70.0
#: An edge of the picture is of a line within this angle and this far off it; together edges cover this share of it.
_SAME_ANGLE_RAD, _OFF_PX, _LEAST_COVERED = 0.03, 5.0, 0.25
_STEP_PX = 4.0
#: How far to either side of a line its sides are looked at.
_SIDE_PX = 8.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorLine:
    """ends (2, 2) px, leftmost first; seen_px: length; support: mean of the map's floor line under it; covered: share
    of it along which the picture has an edge."""

    ends: Array
    seen_px: float
    support: float
    covered: float

    @property
    def way(self) -> Array:
        """(2,) unit vector from the first end to the second."""
        return (self.ends[1] - self.ends[0]) / np.hypot(*(self.ends[1] - self.ends[0]))

    @property
    def length_px(self) -> float:
        """From end to end."""
        return float(np.hypot(*(self.ends[1] - self.ends[0])))

    def off(self, px: Array) -> Array:
        """(k,) signed distances of px (k, 2) from the line."""
        x, y = self.way
        return (px - self.ends[0]) @ np.array([-y, x])

    def along(self, px: Array) -> Array:
        """(k,) places of px (k, 2) along the line, from its first end."""
        return (px - self.ends[0]) @ self.way


def find_floor_lines(segments: Array, seen: Seen) -> list[FloorLine]:
    """The floor lines of a picture with segments (n, 2, 2), the best supported first."""
    lines = sorted((_placed(run, segments, seen) for run in _runs(seen)),
                   key=lambda line: -line.support * line.seen_px)
    return [line for k, line in enumerate(lines) if not any(_same(line, other) for other in lines[:k])]


def _runs(seen: Seen) -> list[Array]:
    """Straight runs of the map's cells, each (2, 2) px."""
    y, x = np.nonzero(seen.line > _LEAST_CELL)
    cells, weight = np.stack([x, y], axis=1).astype(float), seen.line[y, x].astype(float)
    px_a_cell = float(np.mean(np.array(seen.size_px) / seen.line.shape[::-1]))
    random = np.random.default_rng(0)
    runs: list[Array] = []
    for _ in range(2 * _MOST_LINES):
        if len(cells) * px_a_cell < _LEAST_PX or len(runs) == _MOST_LINES:
            break
        at, way = _through_most(cells, weight, random)
        mine = np.flatnonzero(np.abs((cells - at) @ np.array([-way[1], way[0]])) <= 2.0 * _NEAR_CELLS)
        along = (cells[mine] - at) @ way
        low, high = _longest(np.sort(along), _GAP_PX / px_a_cell)
        if (high - low) * px_a_cell >= _LEAST_PX:
            runs.append(seen.to_picture(at + np.array([[low], [high]]) * way))
        gone = mine[(along >= low) & (along <= high)]
        cells, weight = np.delete(cells, gone, axis=0), np.delete(weight, gone)
    return runs


def _through_most(cells: Array, weight: Array, random: np.random.Generator) -> tuple[Array, Array]:
    """A place on the line that passes through most cells, and its unit vector."""
    one, other = random.choice(len(cells), (2, _PAIRS), p=weight / weight.sum())
    way = cells[other] - cells[one]
    size = np.hypot(*way.T)
    across = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.maximum(size, 1e-9)[:, None]
    near = np.abs(across @ cells.T - np.sum(across * cells[one], axis=1)[:, None]) <= _NEAR_CELLS
    best = int(np.argmax(np.where(size > 4.0, near @ weight, -1.0)))
    mine = near[best]
    for _ in range(2):
        at, direction = _fitted_cells(cells[mine], weight[mine])
        mine = np.abs((cells - at) @ np.array([-direction[1], direction[0]])) <= _NEAR_CELLS
    return at, direction


def _longest(along: Array, gap: float) -> tuple[float, float]:
    """From where to where the longest stretch of sorted places runs that has no gap."""
    parts = np.split(along, np.flatnonzero(np.diff(along) > gap) + 1)
    part = max(parts, key=lambda places: places[-1] - places[0])
    return float(part[0]), float(part[-1])


def _placed(run: Array, segments: Array, seen: Seen) -> FloorLine:
    """A run as a line, fitted to the picture's edges along it where they are."""
    run = run if run[0, 0] <= run[1, 0] else run[::-1]
    length = float(np.hypot(*(run[1] - run[0])))
    way = (run[1] - run[0]) / length
    across = np.array([-way[1], way[0]])
    sizes = np.maximum(np.hypot(*(segments[:, 1] - segments[:, 0]).T), 1e-9)
    slant = np.abs((segments[:, 1] - segments[:, 0]) @ across) / sizes
    place = np.sort((segments - run[0]) @ way, axis=1)
    mine = ((np.abs((segments - run[0]) @ across).max(axis=1) <= _OFF_PX) & (slant <= _SAME_ANGLE_RAD)
            & (place[:, 0] >= -10.0) & (place[:, 1] <= length + 10.0))
    covered = _union(place[mine]) if mine.any() else 0.0
    ends = run
    if covered >= _LEAST_COVERED * length:
        at, fitted = _fitted(segments[mine], sizes[mine])
        ends = at + ((run - at) @ fitted)[:, None] * fitted
    return FloorLine(ends=ends, seen_px=length, support=_support(ends, seen), covered=covered / length)


def _samples(ends: Array) -> Array:
    """(k, 2) places along a segment, some px apart."""
    count = max(2, int(np.hypot(*(ends[1] - ends[0])) / _STEP_PX) + 1)
    return ends[0] + np.linspace(0.0, 1.0, count)[:, None] * (ends[1] - ends[0])


def _support(ends: Array, seen: Seen) -> float:
    return float(np.mean(_support_along(_samples(ends), seen)))


def _support_along(spots: Array, seen: Seen) -> Array:
    """(k,) at places along a line: the map's floor line there, times how much more floor lies on one side of it than on
    the other.

    The top of a skirting has skirting on its lower side, the edge of a rug floor on both.
    """
    way = spots[-1] - spots[0]
    across = _SIDE_PX * np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9)
    one, other = (seen.at(seen.floor, spots + sign * across) for sign in (1.0, -1.0))
    return seen.at(seen.line, spots) * np.clip(np.abs(np.mean(one - other)), 0.0, 1.0)


def _fitted_cells(cells: Array, weight: Array) -> tuple[Array, Array]:
    """A place on the line of least squares through weighted places, and its unit vector."""
    at = weight @ cells / weight.sum()
    values, vectors = np.linalg.eigh((cells - at).T @ ((cells - at) * weight[:, None]))
    return at, vectors[:, int(np.argmax(values))]


def _fitted(segments: Array, weight: Array) -> tuple[Array, Array]:
    """The same through the ends of segments."""
    return _fitted_cells(segments.reshape(-1, 2), np.repeat(weight, 2))


def _union(spans: Array) -> float:
    """Length covered by spans (k, 2) together."""
    total, reach = 0.0, -np.inf
    for low, high in spans[np.argsort(spans[:, 0])]:
        total += max(0.0, high - max(low, reach))
        reach = max(reach, high)
    return float(total)


def _same(line: FloorLine, other: FloorLine) -> bool:
    """Whether a line is another one again, as where a lens bends a wall's foot."""
    spots = _samples(line.ends)
    along = other.along(spots)
    near = np.abs(other.off(spots)) <= 2.0 * _OFF_PX
    return bool(np.mean(near & (along >= -10.0) & (along <= other.length_px + 10.0)) > 0.5)
