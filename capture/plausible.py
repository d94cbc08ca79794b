"""What makes a floor the inside of a room: tells apart floors that fit the readings alike (mirror images, folded corners).

The units are those of the adjustment's cost, so that a floor is believed against these hints only when the readings insist.
"""
from __future__ import annotations

import numpy as np

from capture.camera import px_to_rays
from capture.equations import State, floor_points, ring_area_mm2
from capture.indexed import Indexed

_CROSSED = 60.0
_TOUCHING_MM = 0.01
_PINCHED = 10.0
_CLICK_OFF_WALL = 8.0
_CAMERA_OUTSIDE = 6.0
_UNSQUARE = 12.0
_CLOCKWISE = 2.0
#: A photo may be taken through the door from the next room: this far outside the outline still counts as inside, mm.
_DOORWAY_MM = 1500.0


def implausibility(ix: Indexed, state: State) -> float:
    """What speaks against a floor besides its readings: crossing walls; corners that nearly touch another wall; clicks and points on a wall's
    line that are not on the wall; cameras far outside; walls in no common square frame; an outline named clockwise (where nothing else tells)."""
    ring = state.points_mm[ix.outline]
    return (_CROSSED * (not is_simple(ring)) + _PINCHED * _pinched(ring)
            + _CLICK_OFF_WALL * (_clicks_off_wall(ix, state) + _points_off_wall(ix, state))
            + _CAMERA_OUTSIDE * _cameras_outside(ring, state) + _UNSQUARE * unsquareness(ring)
            + _CLOCKWISE * (ring_area_mm2(ring) < 0))


def is_simple(ring: np.ndarray) -> bool:
    """Whether a (k, 2) ring has no two walls that cross or touch."""
    size = len(ring)
    for i in range(size):
        for j in range(i + 2, size):
            if (j + 1) % size != i and _meet(ring[i], ring[(i + 1) % size], ring[j], ring[(j + 1) % size]):
                return False
    return True


def _pinched(ring: np.ndarray) -> int:
    """How many corners lie within 150 mm of a wall that is not their own."""
    size = len(ring)
    return sum(_gap(ring[k], ring[j], ring[(j + 1) % size]) < 150.0
               for k in range(size) for j in range(size) if k not in (j, (j + 1) % size) and size > 3)


def unsquareness(ring: np.ndarray) -> float:
    """0 when all walls lie in one square frame, towards 1 when they do not."""
    step = np.roll(ring, -1, axis=0) - ring
    way = (step[:, 0] + 1j * step[:, 1]) / np.maximum(np.hypot(*step.T), 1e-9)
    return float(1.0 - abs(np.mean(way**4)))


def _clicks_off_wall(ix: Indexed, state: State) -> int:
    if not len(ix.click_photo):
        return 0
    camera = ix.photo_camera[ix.click_photo]
    rays = px_to_rays(ix.click_px, np.exp(state.log_focal[camera]), state.bend[camera], state.centres_px[ix.click_photo])
    spots = floor_points(rays, state.rotations[ix.click_photo], state.shifts_mm[ix.click_photo])
    start, end = state.points_mm[ix.click_wall[:, 0]], state.points_mm[ix.click_wall[:, 1]]
    wall = end - start
    share = np.sum((spots - start) * wall, axis=1) / np.maximum(np.sum(wall**2, axis=1), 1.0)
    return int(np.sum((share < -0.15) | (share > 1.15)))


def _points_off_wall(ix: Indexed, state: State) -> int:
    """How many points that lie on a wall lie beyond its ends."""
    return sum(_gap(state.points_mm[p], state.points_mm[a], state.points_mm[b]) > 100.0 for p, a, b in ix.on_ends.tolist())


def _cameras_outside(ring: np.ndarray, state: State) -> int:
    eyes = -np.einsum("kji,kj->ki", state.rotations, state.shifts_mm)[:, :2]
    return sum(not inside(ring, eye) and _distance(ring, eye) > _DOORWAY_MM for eye in eyes)


def inside(ring: np.ndarray, point: np.ndarray) -> bool:
    """Whether a point lies in a (k, 2) ring (even-odd rule)."""
    ahead = np.roll(ring, -1, axis=0)
    spans = (ring[:, 1] > point[1]) != (ahead[:, 1] > point[1])
    rise = np.where(spans, ahead[:, 1] - ring[:, 1], 1.0)
    x = ring[:, 0] + (point[1] - ring[:, 1]) * (ahead[:, 0] - ring[:, 0]) / rise
    return bool(np.sum(spans & (point[0] < x)) % 2)


def crosses(p: np.ndarray, q: np.ndarray, a: np.ndarray, b: np.ndarray) -> bool:
    """Whether two stretches cross at a point inside both."""
    return _side(p, q, a) * _side(p, q, b) < 0 and _side(a, b, p) * _side(a, b, q) < 0


def _distance(ring: np.ndarray, point: np.ndarray) -> float:
    """Distance of a point from the nearest wall, mm."""
    return min(_gap(point, a, b) for a, b in zip(ring, np.roll(ring, -1, axis=0)))


def _gap(point: np.ndarray, a: np.ndarray, b: np.ndarray) -> float:
    """Distance of a point from the stretch a-b, mm."""
    wall = b - a
    share = min(max(float((point - a) @ wall) / max(float(wall @ wall), 1e-9), 0.0), 1.0)
    return float(np.hypot(*(a + share * wall - point)))


def _side(origin: np.ndarray, end: np.ndarray, point: np.ndarray) -> float:
    return float((end[0] - origin[0]) * (point[1] - origin[1]) - (end[1] - origin[1]) * (point[0] - origin[0]))


def _meet(p: np.ndarray, q: np.ndarray, a: np.ndarray, b: np.ndarray) -> bool:
    """Whether two stretches cross or one ends on the other; two stretches of one line with a gap between them do not meet."""
    return crosses(p, q, a, b) or any(_gap(end, *wall) < _TOUCHING_MM for end, wall in ((p, (a, b)), (q, (a, b)), (a, (p, q)), (b, (p, q))))
