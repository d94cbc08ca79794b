"""Floor points to pixels and back, with derivatives.

Frames: floor mm (x right, y up in plan, z = 0); camera mm (x right, y down, z forward); photo px (x right, y down, (0,
0) the centre of the top-left pixel, the lens centred on the picture). Pinhole with two radial coefficients, OpenCV's
model: x = X/Z, y = Y/Z, r2 = x2 + y2, u = f x (1 + k1 r2 + k2 r2^2) + cx, likewise v. `distortion` is (k1, k2). A photo
sees the floor from above, so in the camera frame the floor's up direction (z, out of the plan) is the rotation's third
column. Shapes are told for one floor; any axes before them are alternatives worked out together.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def project(points_mm: Array, rotation: Array, shift_mm: Array, focal_px: Array, distortion: Array,
            centre_px: Array) -> Array:
    """(k, 2) px of (k, 2) floor points; camera arguments broadcast over k: rotation (k, 3, 3), shift (k, 3), focal
    (k,), distortion (k, 2).

    Points behind the camera or past the distortion's turning point come back as inf; callers must refuse them.
    """
    body = np.einsum("...ij,...j->...i", rotation[..., :2], points_mm) + shift_mm
    return camera_to_px(body, focal_px, distortion, centre_px)


def camera_to_px(body: Array, focal_px: Array, distortion: Array, centre_px: Array) -> Array:
    """(k, 2) px of (k, 3) camera-frame points; inf where the camera cannot see."""
    depth = body[..., 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        flat = body[..., :2] / depth[..., None]
        r2 = np.sum(flat**2, axis=-1)
        k1, k2 = distortion[..., 0], distortion[..., 1]
        px = (focal_px * (1.0 + r2 * (k1 + k2 * r2)))[..., None] * flat + centre_px
        px[~((depth > 1e-9) & rising(r2, k1, k2))] = np.inf
    return px


def rising(r2: Array, k1: Array, k2: Array) -> NDArray[np.bool_]:
    """Whether the distorted radius still grows at r2; beyond its turning point pixels mean nothing."""
    return 1.0 + r2 * (3.0 * k1 + 5.0 * k2 * r2) > 0.0


def project_with_jacobian(points_mm: Array, rotation: Array, shift_mm: Array, focal_px: Array, distortion: Array,
                        centre_px: Array) -> tuple[Array, Array, Array, Array]:
    """Pixels with derivatives: (k, 2) px, (k, 2, 2) by floor point, (k, 2, 6) by pose, (k, 2, 3) by (log f, k1, k2).

    A pose step is (w, t): rotation <- exp([w]x) rotation, shift <- exp([w]x) shift + t, a rotation about the camera
    centre and a translation, which keeps the two nearly independent. Derived by hand; checked against finite
    differences. Pixels are inf where the camera cannot see, as in `project`; the derivatives there mean nothing.
    """
    body = np.einsum("...ij,...j->...i", rotation[..., :2], points_mm) + shift_mm
    z = body[..., 2]
    ahead = z > 1e-9
    inverse = 1.0 / np.where(ahead, z, 1.0)
    flat = body[..., :2] * inverse[..., None]
    r2 = np.einsum("...i,...i->...", flat, flat)
    k1, k2 = distortion[..., 0], distortion[..., 1]
    stretch = focal_px * (1.0 + r2 * (k1 + k2 * r2))
    by_flat = (2.0 * focal_px * (k1 + 2.0 * k2 * r2))[..., None, None] * flat[..., :, None] * flat[..., None, :]
    by_flat[..., 0, 0] += stretch
    by_flat[..., 1, 1] += stretch
    by_body = np.empty((*z.shape, 2, 3))
    by_body[..., :2] = by_flat * inverse[..., None, None]
    by_body[..., 2] = -np.einsum("...ij,...j->...i", by_flat, flat) * inverse[..., None]
    by_pose = np.empty((*z.shape, 2, 6))
    by_pose[..., :3] = by_body @ -_cross_matrices(body)
    by_pose[..., 3:] = by_body
    span = stretch[..., None] * flat
    by_k1 = (focal_px * r2)[..., None] * flat
    by_lens = np.stack([span, by_k1, r2[..., None] * by_k1], axis=-1)
    px = np.where((ahead & rising(r2, k1, k2))[..., None], span + centre_px, np.inf)
    return px, by_body @ rotation[..., :2], by_pose, by_lens


def px_to_rays(px: Array, focal_px: Array | float, distortion: Array, centre_px: Array) -> Array:
    """(k, 3) camera-frame directions (z = 1) of (k, 2) px, distortion removed by Newton's method on the radius."""
    k1, k2 = distortion[..., 0], distortion[..., 1]
    distorted = (px - centre_px) / np.asarray(focal_px)[..., None]
    target = np.hypot(distorted[..., 0], distorted[..., 1])
    radius = target
    for _ in range(6):
        r2 = radius**2
        slope = np.maximum(1.0 + r2 * (3.0 * k1 + 5.0 * k2 * r2), 0.2)
        # The bounds only matter far outside any picture, where a trial distortion has the wrong sign.
        radius = np.minimum(np.abs(radius - (radius * (1.0 + r2 * (k1 + k2 * r2)) - target) / slope), 8.0)
    factor = np.where(target > 1e-12, radius / np.maximum(target, 1e-12), 1.0)
    return np.concatenate([distorted * factor[..., None], np.ones((*factor.shape, 1))], axis=-1)


def rotation_matrix(vector: Array) -> Array:
    """(..., 3, 3) rotation matrices of (..., 3) rotation vectors, rad (Rodrigues' formula)."""
    angle = np.linalg.norm(vector, axis=-1)[..., None, None]
    cross = _cross_matrices(vector)
    small = angle < 1e-8
    safe = np.where(small, 1.0, angle)
    first = np.where(small, 1.0, np.sin(safe) / safe)
    second = np.where(small, 0.5, (1.0 - np.cos(safe)) / safe**2)
    return np.eye(3) + first * cross + second * (cross @ cross)


def _cross_matrices(vectors: Array) -> Array:
    """(..., 3, 3) matrices M with M @ b = v x b."""
    out = np.zeros((*vectors.shape[:-1], 3, 3))
    x, y, z = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    out[..., 0, 1], out[..., 0, 2], out[..., 1, 2] = -z, y, -x
    out[..., 1, 0], out[..., 2, 0], out[..., 2, 1] = z, -y, x
    return out
