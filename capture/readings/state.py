"""Values of all parameters of the adjustment, and a step in them.

Shapes are told for one floor; any axes before them are alternatives worked out together, much faster than one by one.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.camera import rotation_matrix

Array = NDArray[np.float64]
#: Parameters of one photo: rotation, translation, lens centre; of one lens: log f, k1, k2.
POSE, LENS = 8, 3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class State:
    """Values of all parameters: points (n, 2) mm, rotations (m, 3, 3), shifts (m, 3) mm, lens centres (m, 2) px, log
    focal (c,), distortion (c, 2) with k1 and k2, and the tape's own scale and hook error (2,), mm for the hook; (0,)
    where these are no unknowns."""

    points_mm: Array
    rotations: Array
    shifts_mm: Array
    centres_px: Array
    log_focal: Array
    distortion: Array
    tape_error: Array

    def moved(self, step: Array) -> State:
        """The state after a step in all parameters (see `camera.project_with_jacobian` for the pose step)."""
        many, m, c = step.shape[:-1], self.rotations.shape[-3], self.log_focal.shape[-1]
        n = 2 * self.points_mm.shape[-2]
        end = n + POSE * m + LENS * c
        pose, lens = (
            step[..., n : n + POSE * m].reshape(*many, m, POSE),
            step[..., n + POSE * m : end].reshape(*many, c, LENS),
        )
        rotation = rotation_matrix(pose[..., :3])
        return State(
            points_mm=self.points_mm + step[..., :n].reshape(*many, -1, 2), rotations=rotation @ self.rotations,
            shifts_mm=np.einsum("...ij,...j->...i", rotation, self.shifts_mm) + pose[..., 3:6],
            centres_px=self.centres_px + pose[..., 6:], log_focal=self.log_focal + lens[..., 0],
            distortion=self.distortion + lens[..., 1:], tape_error=self.tape_error + step[..., end:])

    def camera_heights(self) -> Array:
        """(m,) height of each camera above the floor, mm; negative below it."""
        return -np.einsum("...i,...i->...", self.rotations[..., 2], self.shifts_mm)

    def seen_from_above(self) -> State:
        """The mirror image: a floor seen from below looks the same as its mirror image seen from above."""
        turned = self.rotations * np.array([1.0, -1.0, -1.0])
        return replace(self, points_mm=self.points_mm * np.array([1.0, -1.0]), rotations=turned)

    def in_gauge(self, origin: int, along: int) -> State:
        """The same floor rotated and translated: point `origin` at (0, 0), point `along` on +x."""
        base = self.points_mm[..., origin, :]
        dx, dy = np.moveaxis(self.points_mm[..., along, :] - base, -1, 0)
        size = np.hypot(dx, dy)
        whole = np.zeros((*size.shape, 3, 3))
        whole[..., 0, 0] = whole[..., 1, 1] = np.where(size > 0, dx / np.where(size > 0, size, 1.0), 1.0)
        whole[..., 0, 1] = dy / np.where(size > 0, size, 1.0)
        whole[..., 1, 0], whole[..., 2, 2] = -whole[..., 0, 1], 1.0
        back = np.swapaxes(whole, -1, -2)
        return replace(self, points_mm=(self.points_mm - base[..., None, :]) @ back[..., :2, :2],
                       rotations=self.rotations @ back[..., None, :, :], shifts_mm=self.shifts_mm
                       + np.einsum("...mij,...j->...mi", self.rotations[..., :2], base))
