"""The phone's camera: pose, lens and projection.

World frame: mm, x right and y up in plan, z up. Camera frame: x right, y down, z forward, mm.
Photo frame: px of the upright picture, x right, y down, (0, 0) the centre of the top-left pixel.
x_cam = rotation @ (x, y, z) + shift. Distortion is OpenCV's radial model with its first coefficient alone:
(u, v) = (x, y) / z; r2 = u^2 + v^2; px = f * u * (1 + k1 * r2) + cx, likewise v (documentation of cv2.projectPoints).
With k1 < 0 the model folds back beyond r2 = 1 / (-3 * k1); points out there are refused.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Lens:
    """Focal length (px) and first radial coefficient; the principal point is the middle of the picture."""

    focal_px: float
    k1: float


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Where a picture was taken from and how the phone was held.

    eye_mm: (x, y, z); heading_deg: anticlockwise from plan x; pitch_deg: down from the horizon; roll_deg: clockwise
    turn of the phone; size_px: (width, height) upright; orientation: the EXIF value the stored picture carries.
    """

    file: str
    eye_mm: tuple[float, float, float]
    heading_deg: float
    pitch_deg: float
    roll_deg: float
    size_px: tuple[int, int]
    orientation: int
    lens: Lens

    @property
    def centre_px(self) -> tuple[float, float]:
        """Principal point, px."""
        return (self.size_px[0] - 1) / 2, (self.size_px[1] - 1) / 2


def rotation(view: View) -> NDArray[np.float64]:
    """(3, 3) rotation from world to camera."""
    heading, pitch, roll = np.radians([view.heading_deg, view.pitch_deg, view.roll_deg])
    forward = np.array([np.cos(heading) * np.cos(pitch), np.sin(heading) * np.cos(pitch), -np.sin(pitch)])
    right = np.array([np.sin(heading), -np.cos(heading), 0.0])
    down = np.cross(forward, right)
    turned = np.cos(roll) * right + np.sin(roll) * down
    return np.stack([turned, np.cross(forward, turned), forward])


def shift(view: View) -> NDArray[np.float64]:
    """(3,) shift from world to camera, mm."""
    return -rotation(view) @ np.array(view.eye_mm)


def distort(plane: NDArray[np.float64], k1: float) -> NDArray[np.float64]:
    """(k, 2) points on the plane z = 1 after the lens; NaN beyond the range in which the model is one-to-one."""
    r2 = np.sum(plane * plane, axis=-1, keepdims=True)
    bent = plane * (1 + k1 * r2)
    return bent if k1 >= 0 else np.where(r2 < 1 / (-3 * k1), bent, np.nan)


def undistort(bent: NDArray[np.float64], k1: float) -> NDArray[np.float64]:
    """(k, 2) inverse of `distort` by fixed-point steps; converges for the mild k1 of a phone."""
    plane = bent.copy()
    for _ in range(60):
        plane = bent / (1 + k1 * np.sum(plane * plane, axis=-1, keepdims=True))
    return plane


def project(view: View, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """(k, 2) px of (k, 3) world points; NaN behind the camera and beyond the lens model. May lie outside the
    picture."""
    seen = points_mm @ rotation(view).T + shift(view)
    depth = np.where(seen[:, 2:] > 1.0, seen[:, 2:], np.nan)
    return view.lens.focal_px * distort(seen[:, :2] / depth, view.lens.k1) + np.array(view.centre_px)


def in_picture(view: View, px: NDArray[np.float64], border: float = 0.0) -> NDArray[np.bool_]:
    """(k,) whether each of (k, 2) px lies in the picture, at least `border` px inside."""
    low, high = border, np.array(view.size_px) - 1 - border
    return np.all((px >= low) & (px <= high), axis=1)
