"""Plane geometry of the equations. Shapes are told for one floor; any axes before them are alternatives."""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


def across(points: Array, ends: Ints) -> tuple[Array, Array]:
    """Signed distance of points from lines (left of a -> b positive), (k,), and derivatives (k, 3, 2) by point, a,
    b."""
    p, a, b = (points[..., ends[:, i], :] for i in range(3))
    wall = b - a
    length = np.maximum(np.hypot(wall[..., 0], wall[..., 1]), 1e-9)
    unit = wall / length[..., None]
    left = np.stack([-unit[..., 1], unit[..., 0]], axis=-1)
    share = np.sum((p - a) * unit, axis=-1) / length
    derivatives = np.stack([left, -(1.0 - share)[..., None] * left, -share[..., None] * left], axis=-2)
    return np.sum((p - a) * left, axis=-1), derivatives


def ring_area_mm2(ring: Array) -> Array:
    """Signed area of a (k, 2) ring, anticlockwise positive."""
    ahead = np.roll(ring, -1, axis=-2)
    return 0.5 * np.sum(ring[..., 0] * ahead[..., 1] - ahead[..., 0] * ring[..., 1], axis=-1)


def floor_points(rays: Array, rotation: Array, shift_mm: Array) -> Array:
    """(k, 2) floor points, mm, where camera-frame rays (k, 3) meet the floor of poses (k, 3, 3), (k, 3).

    A ray along or above the horizon gives a far point in its direction rather than one behind the camera.
    """
    back = np.einsum("...ji,...j->...i", rotation, rays)
    centre = -np.einsum("...ji,...j->...i", rotation, shift_mm)
    side = np.where(centre[..., 2] < 0, -1.0, 1.0)
    down = np.minimum(back[..., 2] * side, -1e-3) * side
    return centre[..., :2] - back[..., :2] * (centre[..., 2] / down)[..., None]
