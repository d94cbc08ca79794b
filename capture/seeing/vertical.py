"""Which way is up in a photo of a room: the direction along which upright edges run and over which floor lines meet
square.

In: straight segments and floor lines, px; the lens. Out: (3,) unit vector in the camera frame (x right, y down, z
forward). Method: the plane through the lens and an edge holds the edge's direction; 'up' is square to the normals of
upright edges' planes, and floor lines, cut with it, run at multiples of 90 degrees in most rooms (both robust). Prior:
phones are held upright to 3 degrees and tilted down by 25 +- 12. Searched on a grid of tilt and roll, ever finer.
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from capture.seeing.floor_lines import FloorLine
from capture.initial.pose_hypotheses import up_direction

Array = NDArray[np.float64]

_TILT, _TILT_SD, _ROLL_SD = np.radians(25.0), np.radians(12.0), np.radians(3.0)
#: How well an edge's direction is known, and how square rooms are, rad.
_UPRIGHT_SD, _SQUARE_SD = np.radians(0.7), np.radians(2.0)
#: A line within this of upright is one: 7 cm from a wall under an eye at 1.5 m.
_UPRIGHT_LINE = np.radians(2.5)
#: A residual beyond so many sd says no more.
_CAP = 9.0


def find_up(segments: Array, lines: Sequence[FloorLine], focal_px: float, centre_px: Array) -> Array:
    """(3,) unit vector up, of segments (n, 2, 2) and floor lines in px."""
    normals, weight = _normals(segments, focal_px, centre_px)
    floor, pull = _normals(np.array([line.ends for line in lines]).reshape(-1, 2, 2), focal_px, centre_px)
    upright = weight > np.percentile(weight, 60) if len(weight) > 40 else weight > 0
    normals, weight = normals[upright], weight[upright]
    tilt, roll, span = _TILT, 0.0, np.radians([28.0, 9.0])
    for step in range(4):
        tilts, rolls = np.meshgrid(tilt + span[0] * np.linspace(-1, 1, 15), roll + span[1] * np.linspace(-1, 1, 13))
        ups = up_direction(tilts.ravel(), rolls.ravel())
        cost = _uprights(ups, normals, weight) + _squares(ups, floor, pull) + _prior(tilts.ravel(), rolls.ravel())
        best = int(np.argmin(cost))
        tilt, roll, span = tilts.ravel()[best], rolls.ravel()[best], span / (4.0 if step else 5.0)
    return up_direction(np.array([tilt]), np.array([roll]))[0]


def tilt_and_roll(up: Array) -> tuple[float, float]:
    """Tilt below the horizon and the phone's turn clockwise as its holder sees it, rad, of an up direction."""
    return float(np.arcsin(np.clip(-up[2], -1.0, 1.0))), float(np.arctan2(-up[0], -up[1]))


def on_floor(px: Array, up: Array, focal_px: float, centre_px: Array) -> NDArray[np.complex128]:
    """(k,) floor places of px (k, 2) as seen from above, the camera at the origin and one unit high; NaN at or over
    the horizon."""
    rays = np.concatenate([(px - centre_px) / focal_px, np.ones((len(px), 1))], axis=1)
    first = np.array([1.0, 0.0, 0.0]) - up * up[0]
    first /= np.linalg.norm(first)
    second = np.cross(up, first)
    depth = -(rays @ up)
    places = (rays @ first + 1j * (rays @ second)) / np.maximum(depth, 0.02)
    return np.where(depth > 0.02, places, np.nan)


def is_upright(line: FloorLine, up: Array, focal_px: float, centre_px: Array) -> bool:
    """Whether a line runs up and down in the room, as the edge of a wall before a floor farther away does: the plane
    through it and the lens holds 'up'. A wall's foot does so only where the lens is at the wall."""
    normals, _ = _normals(line.ends[None], focal_px, centre_px)
    return bool(abs(normals[0] @ up) < np.sin(_UPRIGHT_LINE))


def _normals(ends: Array, focal_px: float, centre_px: Array) -> tuple[Array, Array]:
    """(n, 3) unit normals of the planes through the lens and segments, and (n,) their lengths as weights, in
    hundreds of px at most 3."""
    if not len(ends):
        return np.empty((0, 3)), np.empty(0)
    rays = np.concatenate([(ends - centre_px) / focal_px, np.ones((*ends.shape[:2], 1))], axis=2)
    normals = np.cross(rays[:, 0], rays[:, 1])
    length = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    return normals / np.linalg.norm(normals, axis=1, keepdims=True), np.minimum(length / 100.0, 3.0)


def _uprights(ups: Array, normals: Array, weight: Array) -> Array:
    """(K,) cost of edges that should be upright; one that is far off upright says nothing."""
    if not len(normals):
        return np.zeros(len(ups))
    off = np.arcsin(np.clip(ups @ normals.T, -1.0, 1.0)) / _UPRIGHT_SD
    return (np.minimum(off**2, _CAP) - _CAP) @ weight


def _squares(ups: Array, normals: Array, weight: Array) -> Array:
    """(K,) cost of floor lines that should be parallel or square to one another."""
    if len(normals) < 2:
        return np.zeros(len(ups))
    ways = np.cross(ups[:, None, :], normals[None])
    ways /= np.maximum(np.linalg.norm(ways, axis=2, keepdims=True), 1e-9)
    cosine = np.einsum("kid,kjd->kij", ways, ways)
    one, other = np.triu_indices(len(normals), 1)
    angle = np.arccos(np.clip(np.abs(cosine[:, one, other]), 0.0, 1.0))
    off = np.minimum(angle, np.pi / 2 - angle) / _SQUARE_SD
    return (np.minimum(off**2, _CAP) - _CAP) @ np.sqrt(weight[one] * weight[other]) * 2.0


def _prior(tilts: Array, rolls: Array) -> Array:
    return ((tilts - _TILT) / _TILT_SD) ** 2 + (rolls / _ROLL_SD) ** 2
