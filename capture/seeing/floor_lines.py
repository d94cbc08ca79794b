"""Floor lines in a photo: straight edges that run where the network sees floor and wall touch.

In: the picture's straight segments and the network's maps. Out: lines with their ends, how far the edge was seen, and
how well the maps agree. All in px of a picture 1600 px long. A line is one wall's: segments of one line that something
stands between are joined.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.seeing.segmentation import Seen

Array = NDArray[np.float64]

#: A segment counts whose cells say "floor line" so strongly on average, and that is as long as this.
_LEAST_SUPPORT, _LEAST_PX = 0.3, 16.0
#: Segments are of one line within this angle, and this far off it (px; more for a longer line, which a lens bends).
_SAME_ANGLE_RAD, _OFF_PX, _OFF_SHARE = 0.03, 2.5, 0.003
#: A joined line must have been seen for so much, px.
_LEAST_SEEN_PX = 40.0
_STEP_PX = 4.0
#: How far to either side of a line its sides are looked at, and how long it may be out of sight within one stroke.
_SIDE_PX, _GAP_PX = 8.0, 70.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorLine:
    """ends (2, 2) px, leftmost first; seen_px: length with an edge; support: mean of the map's floor line under it;
    off_px: scatter."""

    ends: Array
    seen_px: float
    support: float
    off_px: float

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
    """The floor lines among segments (n, 2, 2), the best supported first."""
    support = np.array([_support(segment, seen) for segment in segments])
    length = np.hypot(*(segments[:, 1] - segments[:, 0]).T) if len(segments) else np.empty(0)
    good = (support >= _LEAST_SUPPORT) & (length >= _LEAST_PX)
    left, weight = segments[good], (support * length)[good]
    lines: list[FloorLine] = []
    while len(left):
        mine = _of_one_line(left, int(np.argmax(weight)), weight)
        for piece in _pieces(left[mine]):
            line = _line_of(piece, seen)
            if line.seen_px >= _LEAST_SEEN_PX and not any(_same(line, other) for other in lines):
                lines.append(line)
        left, weight = left[~mine], weight[~mine]
    return sorted(lines, key=lambda line: -line.support * line.seen_px)


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


def _of_one_line(segments: Array, first: int, weight: Array) -> NDArray[np.bool_]:
    """Which segments lie on the line of the first, fitted again as it grows."""
    mine = np.arange(len(segments)) == first
    for _ in range(4):
        at, way = _fitted(segments[mine], weight[mine])
        across = np.array([-way[1], way[0]])
        off = np.abs((segments - at) @ across).max(axis=1)
        reach = np.abs((segments - at) @ way).max(axis=1)
        unit = (segments[:, 1] - segments[:, 0]) / np.hypot(*(segments[:, 1] - segments[:, 0]).T)[:, None]
        grown = (off <= _OFF_PX + _OFF_SHARE * reach) & (np.abs(unit @ across) <= 2.0 * _SAME_ANGLE_RAD)
        grown[first] = True
        if np.array_equal(grown, mine):
            break
        mine = grown
    return mine


def _pieces(segments: Array) -> list[Array]:
    """Segments of one line, parted where it is out of sight for long: a chimney breast may stand between two parts
    of one wall."""
    at, way = _fitted(segments, np.hypot(*(segments[:, 1] - segments[:, 0]).T))
    place = np.sort((segments - at) @ way, axis=1)
    order = np.argsort(place[:, 0])
    reach = np.maximum.accumulate(place[order, 1])
    cuts = np.flatnonzero(place[order][1:, 0] > reach[:-1] + _GAP_PX) + 1
    return [segments[part] for part in np.split(order, cuts)]


def _fitted(segments: Array, weight: Array) -> tuple[Array, Array]:
    """A place on the line of least squares through segments' ends, and its unit vector."""
    ends, w = segments.reshape(-1, 2), np.repeat(weight, 2)
    at = w @ ends / w.sum()
    values, vectors = np.linalg.eigh((ends - at).T @ ((ends - at) * w[:, None]))
    return at, vectors[:, int(np.argmax(values))]


def _line_of(segments: Array, seen: Seen) -> FloorLine:
    length = np.hypot(*(segments[:, 1] - segments[:, 0]).T)
    at, way = _fitted(segments, length)
    way = way if way[0] >= 0 else -way
    place = np.sort((segments - at) @ way, axis=1)
    ends = at + np.array([[place.min()], [place.max()]]) * way
    off = (segments - at) @ np.array([-way[1], way[0]])
    covered = _union(place)
    return FloorLine(ends=ends, seen_px=covered, support=_support(ends, seen), off_px=float(np.sqrt(np.mean(off**2))))


def _union(spans: Array) -> float:
    """Length covered by spans (k, 2) together."""
    total, reach = 0.0, -np.inf
    for low, high in spans[np.argsort(spans[:, 0])]:
        total += max(0.0, high - max(low, reach))
        reach = max(reach, high)
    return float(total)


def _same(line: FloorLine, other: FloorLine) -> bool:
    """Whether a line is another one again: an edge beside it, such as the dark gap under a skirting."""
    near = np.abs(other.off(_samples(line.ends))) <= 2.0 * _OFF_PX
    along = other.along(_samples(line.ends))
    return bool(np.mean(near & (along >= -10.0) & (along <= other.length_px + 10.0)) > 0.5)
