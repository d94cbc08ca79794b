"""Poses of a camera over a plane from places on it and the rays they are seen along, by closed forms.

From four places or more: Collins and Bartoli, "Infinitesimal plane-based pose estimation" (2014); from three: Grunert's
problem as solved by Gao et al. (2003); both as OpenCV has them.
"""
from __future__ import annotations

from itertools import combinations, islice

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Threes of places whose poses are tried besides those of all: corners along one wall tell a plane badly.
_THREES = 4


def plane_poses(spots: Array, rays: Array) -> list[tuple[Array, Array]]:
    """(rotation (3, 3), shift (3,)) that may show places (k, 2) along rays (k, 2) at depth 1, three at least: from all
    of them and from some threes. Empty where they lie in one line."""
    flat, rays = np.column_stack([spots, np.zeros(len(spots))]), np.ascontiguousarray(rays)
    found = _of_all(flat, rays) if len(spots) > 3 else []
    for three in islice(combinations(range(len(spots)), 3), _THREES):
        found += _of_three(flat[list(three)], rays[list(three)])
    return [_pose(turn, shift) for turn, shift in found if np.all(np.isfinite(turn)) and np.all(np.isfinite(shift))]


def refined_pose(pose: tuple[Array, Array], spots: Array, rays: Array) -> tuple[Array, Array]:
    """The pose with the least gaps at all places, from one nearby."""
    # In metres, so that turns and shifts weigh alike in the steps.
    flat, rays = np.column_stack([spots / 1000.0, np.zeros(len(spots))]), np.ascontiguousarray(rays)
    turn, shift = cv2.solvePnPRefineVVS(flat, rays, np.eye(3), np.zeros(4), cv2.Rodrigues(pose[0])[0],
                                        pose[1].reshape(3, 1) / 1000.0)
    if not (np.all(np.isfinite(turn)) and np.all(np.isfinite(shift))):
        return pose
    return _pose(np.asarray(turn, np.float64), 1000.0 * np.asarray(shift, np.float64))


def _pose(turn: Array, shift: Array) -> tuple[Array, Array]:
    """A rotation vector as a matrix, with its shift (3,)."""
    return np.asarray(cv2.Rodrigues(turn)[0], dtype=np.float64), np.asarray(shift, dtype=np.float64).ravel()


def _of_all(flat: Array, rays: Array) -> list[tuple[Array, Array]]:
    try:
        _, turns, shifts, _ = cv2.solvePnPGeneric(flat, rays, np.eye(3), np.zeros(4), flags=cv2.SOLVEPNP_IPPE)
    except cv2.error:
        return []
    return [(np.asarray(turn, np.float64), np.asarray(shift, np.float64)) for turn, shift in zip(turns, shifts)]


def _of_three(flat: Array, rays: Array) -> list[tuple[Array, Array]]:
    try:
        _, turns, shifts = cv2.solveP3P(flat, rays, np.eye(3), np.zeros(4), flags=cv2.SOLVEPNP_P3P)
    except cv2.error:
        return []
    return [(np.asarray(turn, np.float64), np.asarray(shift, np.float64)) for turn, shift in zip(turns, shifts)]
