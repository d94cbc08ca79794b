"""What makes a floor the inside of a room: tells apart floors that fit the readings alike (mirror images, folded
corners).

The units are those of the adjustment's cost, so that a floor is believed against these hints only when the readings
insist.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np

from capture.camera import px_to_rays
from capture.readings.state import State
from capture.readings.geometry import floor_points, ring_area_mm2
from capture.readings.indexed import Indexed
from capture.readings.beliefs import OnWalls
from capture.readings.photo import WallClicks
from capture.readings.tape import Tapes

#: A wall by the corners at its ends.
Wall = tuple[str, str]

_CROSSED = 60.0
_TOUCHING_MM = 0.01
_PINCHED = 10.0
_CLICK_OFF_WALL = 8.0
_CAMERA_OUTSIDE = 6.0
_UNSQUARE = 12.0
_CLOCKWISE = 2.0
_FOLDED = 8.0
#: A photo may be taken through the door from the next room: this far outside the outline still counts as inside, mm.
_DOORWAY_MM = 1500.0


def implausibility(ix: Indexed, state: State) -> float:
    """What speaks against a floor besides its readings: crossing walls; corners that nearly touch another wall; clicks
    and points on a wall's line that are not on the wall; taped triangles folded over; cameras far outside; walls in no
    common square frame; an outline named clockwise (where nothing else tells)."""
    ring = state.points_mm[ix.outline]
    return float(_CROSSED * (not is_simple(ring)) + _PINCHED * _pinched(ring)
            + _CLICK_OFF_WALL * (_clicks_off_wall(ix, state) + _points_off_wall(ix, state))
            + _FOLDED * _folded(ix, ring) + _CAMERA_OUTSIDE * _cameras_outside(ring, state)
            + _UNSQUARE * unsquareness(ring) + _CLOCKWISE * (ring_area_mm2(ring) < 0))


def is_simple(ring: np.ndarray) -> bool:
    """Whether a (k, 2) ring has no two walls that cross or touch; walls of one line with a gap between them do not."""
    first, second = _apart_walls(len(ring))
    ahead = np.roll(ring, -1, axis=0)
    p, q, a, b = ring[first], ahead[first], ring[second], ahead[second]
    crossing = (_side(p, q, a) * _side(p, q, b) < 0) & (_side(a, b, p) * _side(a, b, q) < 0)
    touching = np.minimum(np.minimum(_gap(p, a, b), _gap(q, a, b)),
                          np.minimum(_gap(a, p, q), _gap(b, p, q))) < _TOUCHING_MM
    return not bool(np.any(crossing | touching))


@lru_cache(maxsize=64)
def _apart_walls(size: int) -> tuple[np.ndarray, np.ndarray]:
    """Every pair of walls that are not neighbours."""
    pairs = [(i, j) for i in range(size) for j in range(i + 2, size) if (j + 1) % size != i]
    return np.array([i for i, _ in pairs], dtype=np.int64), np.array([j for _, j in pairs], dtype=np.int64)


def _pinched(ring: np.ndarray) -> int:
    """How many times a corner lies within 150 mm of a wall that is not its own."""
    size = len(ring)
    if size <= 3:
        return 0
    near = _gap(ring[:, None], ring, np.roll(ring, -1, axis=0)) < 150.0
    corners = np.arange(size)
    near[corners, corners] = near[corners, corners - 1] = False
    return int(np.sum(near))


def _folded(ix: Indexed, ring: np.ndarray) -> int:
    """How many taped triangles run round the other way than the outline, where no photo tells how they lie: a tape lies
    on the floor, so the triangle lies in the room and its corners run round as those of the outline do."""
    if ix.photo_names:
        return 0
    threes = ix.of(Tapes).triangles(len(ring))
    a, b, c = (ring[threes[:, k]] for k in range(3))
    return int(np.sum(_side(a, b, c) * ring_area_mm2(ring) < 0))


def unsquareness(ring: np.ndarray) -> float:
    """0 when all walls lie in one square frame, towards 1 when they do not."""
    step = np.roll(ring, -1, axis=0) - ring
    way = (step[:, 0] + 1j * step[:, 1]) / np.maximum(np.hypot(*step.T), 1e-9)
    return float(1.0 - abs(np.mean(way**4)))


def _clicks_off_wall(ix: Indexed, state: State) -> int:
    clicks = ix.of(WallClicks)
    if not len(clicks):
        return 0
    camera = ix.photo_camera[clicks.photo]
    rays = px_to_rays(clicks.px, np.exp(state.log_focal[camera]), state.distortion[camera],
                      state.centres_px[clicks.photo])
    spots = floor_points(rays, state.rotations[clicks.photo], state.shifts_mm[clicks.photo])
    start, end = state.points_mm[clicks.wall[:, 0]], state.points_mm[clicks.wall[:, 1]]
    wall = end - start
    share = np.sum((spots - start) * wall, axis=1) / np.maximum(np.sum(wall**2, axis=1), 1.0)
    return int(np.sum((share < -0.15) | (share > 1.15)))


def _points_off_wall(ix: Indexed, state: State) -> int:
    """How many points that lie on a wall lie beyond its ends."""
    p, a, b = (state.points_mm[ix.of(OnWalls).ends[:, i]] for i in range(3))
    return int(np.sum(_gap(p, a, b) > 100.0))


def _cameras_outside(ring: np.ndarray, state: State) -> int:
    centres = -np.einsum("kji,kj->ki", state.rotations, state.shifts_mm)[:, :2]
    return sum(not inside(ring, centre) and _distance(ring, centre) > _DOORWAY_MM for centre in centres)


def inside(ring: np.ndarray, point: np.ndarray) -> bool:
    """Whether a point lies in a (k, 2) ring (even-odd rule)."""
    ahead = np.roll(ring, -1, axis=0)
    spans = (ring[:, 1] > point[1]) != (ahead[:, 1] > point[1])
    rise = np.where(spans, ahead[:, 1] - ring[:, 1], 1.0)
    x = ring[:, 0] + (point[1] - ring[:, 1]) * (ahead[:, 0] - ring[:, 0]) / rise
    return bool(np.sum(spans & (point[0] < x)) % 2)


def crosses(p: np.ndarray, q: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Whether two stretches cross at a point inside both; a, b: one stretch or many, (..., 2)."""
    return (_side(p, q, a) * _side(p, q, b) < 0) & (_side(a, b, p) * _side(a, b, q) < 0)


def crossings(walls: Sequence[Wall], spots: Mapping[str, np.ndarray]) -> Iterator[tuple[Wall, Wall]]:
    """Every two walls that cross, by their corners; walls that share one do not. spots: (2,) by corner."""
    return ((one, other) for one, other in combinations(walls, 2) if not set(one) & set(other)
            and crosses(*(spots[name] for name in (*one, *other))))


def _distance(ring: np.ndarray, point: np.ndarray) -> float:
    """Distance of a point from the nearest wall, mm."""
    return float(np.min(_gap(point, ring, np.roll(ring, -1, axis=0))))


def _gap(point: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distances of points from stretches a-b, mm; (..., 2) arrays that broadcast."""
    wall, off = b - a, point - a
    share = np.clip(np.sum(off * wall, axis=-1) / np.maximum(np.sum(wall**2, axis=-1), 1e-9), 0.0, 1.0)
    gap = off - share[..., None] * wall
    return np.hypot(gap[..., 0], gap[..., 1])


def _side(origin: np.ndarray, end: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Positive where points lie left of the way from origin to end; (..., 2) arrays that broadcast."""
    way, off = end - origin, point - origin
    return way[..., 0] * off[..., 1] - way[..., 1] * off[..., 0]
