"""Floor lines in a photo: where the network sees floor and wall touch along a straight line, placed by the picture's
edges.

In: the picture and the network's maps. Out: lines with their ends and how well the maps agree. All in px of a picture
1600 px long. Method: straight runs of cells are picked out of the map one after the other, each by the pair of cells
whose line passes through most (random sample consensus, Fischler and Bolles, 1981; fixed seed); each is cut to the
stretch the map speaks for and moved onto the edge of the picture that runs along it (`capture.image.line_on_edge`).
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.image.line_on_edge import on_edge
from capture.seeing.segmentation import Seen

Array = NDArray[np.float64]

#: Cells that say "floor line" so strongly are looked through; a line passes this near them, cells.
_LEAST_CELL, _NEAR_CELLS = 0.35, 1.1
#: Pairs of cells tried for each line, and lines looked for at most.
_PAIRS, _MOST_LINES = 300, 16
#: A line is as long as this, and out of sight for this long at most, px.
_LEAST_PX, _GAP_PX = 40.0, 70.0
#: Two lines no farther apart than twice this are one.
_OFF_PX = 5.0
#: The part of a line that is looked at for its weakest, px.
_WEAK_PX = 40.0
#: A line ends where it meets another this near its end, px, unless the two cross too flat.
_NEAR_END_PX, _FLAT_SINE = 30.0, 0.15
_STEP_PX = 4.0
#: A line runs on where the map's support is more than this.
_LEAST_SUPPORT = 0.2
#: How far to either side of a line its sides are looked at.
_SIDE_PX = 8.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorLine:
    """ends (2, 2) px, leftmost first; support: mean of the map's floor line under it; weakest: its mean where it is
    least for some way; on_edge: placed by an edge of the picture."""

    ends: Array
    support: float
    weakest: float
    on_edge: bool

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


def find_floor_lines(pixels: NDArray[np.uint8], seen: Seen) -> list[FloorLine]:
    """The floor lines of a picture (h, w, 3), the best supported first."""
    lines = sorted((_placed(run, pixels, seen) for run in _runs(seen)),
                   key=lambda line: -line.support * line.length_px)
    return [line for k, line in enumerate(lines) if not any(_same(line, other) for other in lines[:k])]


def joined_lines(lines: Sequence[FloorLine]) -> list[FloorLine]:
    """The same lines, each ending where it meets another near its end."""
    return [replace(line, ends=np.stack([_end(line, k, [o for o in lines if o is not line]) for k in (0, 1)]))
            for line in lines]


def _end(line: FloorLine, which: int, others: Sequence[FloorLine]) -> Array:
    """(2,) an end, or the nearest place close by where the line meets another."""
    end = line.ends[which]
    met = [place for other in others if (place := _meeting(line, other)) is not None
           and -_NEAR_END_PX <= other.along(place[None])[0] <= other.length_px + _NEAR_END_PX]
    near = min(met, key=lambda place: float(np.hypot(*(place - end))), default=end)
    return near if np.hypot(*(near - end)) <= min(_NEAR_END_PX, 0.3 * line.length_px) else end


def _meeting(line: FloorLine, other: FloorLine) -> Array | None:
    """(2,) where two lines cross, or None where they are nearly parallel."""
    (ax, ay), (bx, by) = line.way, other.way
    sine = ax * by - ay * bx
    if abs(sine) < _FLAT_SINE:
        return None
    dx, dy = other.ends[0] - line.ends[0]
    return np.asarray(line.ends[0] + (dx * by - dy * bx) / sine * line.way)


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


def _placed(run: Array, pixels: NDArray[np.uint8], seen: Seen) -> FloorLine:
    """A run as a line, on the edge of the picture along it where there is one."""
    run = _trimmed(run if run[0, 0] <= run[1, 0] else run[::-1], seen)
    edge = on_edge(pixels, run)
    ends = run if edge is None else edge
    return FloorLine(ends=ends, support=_support(ends, seen), weakest=_weakest(ends, seen), on_edge=edge is not None)


def _trimmed(ends: Array, seen: Seen) -> Array:
    """The stretch of a line that the map speaks for most: the greatest sum of support less what is asked for, so that
    a line does not run on past its wall (Kadane's maximum subarray; Bentley, 1984)."""
    spots = _samples(ends)
    more = _more_floor(spots, seen)
    support = seen.at(seen.line, spots) * np.clip(more * np.sign(np.mean(more)), 0.0, 1.0)
    total = np.concatenate([[0.0], np.cumsum(support - _LEAST_SUPPORT)])
    lowest = np.minimum.accumulate(total)
    stop = int(np.argmax(total - lowest))
    start = int(np.argmin(total[:stop + 1]))
    return spots[[start, stop - 1]] if stop - start >= 2 else ends


def _weakest(ends: Array, seen: Seen) -> float:
    support = _support_along(_samples(ends), seen)
    span = max(1, min(len(support), round(_WEAK_PX / _STEP_PX)))
    return float(np.min(np.convolve(support, np.ones(span) / span, "valid")))


def _samples(ends: Array) -> Array:
    """(k, 2) places along a segment, some px apart."""
    count = max(2, int(np.hypot(*(ends[1] - ends[0])) / _STEP_PX) + 1)
    return ends[0] + np.linspace(0.0, 1.0, count)[:, None] * (ends[1] - ends[0])


def _support(ends: Array, seen: Seen) -> float:
    return float(np.mean(_support_along(_samples(ends), seen)))


def _support_along(spots: Array, seen: Seen) -> Array:
    """(k,) at places along a line: the map's floor line there, times how much more floor lies on one side of the whole
    line than on the other.

    The top of a skirting has skirting on its lower side, the edge of a rug floor on both.
    """
    return seen.at(seen.line, spots) * np.clip(np.abs(np.mean(_more_floor(spots, seen))), 0.0, 1.0)


def _more_floor(spots: Array, seen: Seen) -> Array:
    """(k,) how much more floor the map sees on one side of a line through spots (k, 2) than on the other."""
    way = spots[-1] - spots[0]
    across = _SIDE_PX * np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9)
    one, other = (seen.at(seen.floor, spots + sign * across) for sign in (1.0, -1.0))
    return np.asarray(one - other)


def _fitted_cells(cells: Array, weight: Array) -> tuple[Array, Array]:
    """A place on the line of least squares through weighted places, and its unit vector."""
    at = weight @ cells / weight.sum()
    values, vectors = np.linalg.eigh((cells - at).T @ ((cells - at) * weight[:, None]))
    return at, vectors[:, int(np.argmax(values))]


def _same(line: FloorLine, other: FloorLine) -> bool:
    """Whether a line is another one again, as where a lens bends a wall's foot."""
    spots = _samples(line.ends)
    along = other.along(spots)
    near = np.abs(other.off(spots)) <= 2.0 * _OFF_PX
    return bool(np.mean(near & (along >= -10.0) & (along <= other.length_px + 10.0)) > 0.5)
