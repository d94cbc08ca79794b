"""Plain triangle meshes in the room's millimetres. A mesh is (vertices (n, 3), faces (m, 3), uv (n, 2)).

Most shapes are swept: a list of rings of equal length, joined ring to ring by quads. uv defaults to zero where no
picture is laid on a shape.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from demo_photos.render.textures import layered, noise


class Mesh(NamedTuple):
    """Vertices (mm), triangles and texture coordinates."""

    vertices: NDArray[np.float64]
    faces: NDArray[np.int64]
    uv: NDArray[np.float64]


def quad(corners: ArrayLike, uv: ArrayLike | None = None) -> Mesh:
    """A four-cornered face, corners in order round it."""
    flat = np.zeros((4, 2)) if uv is None else np.asarray(uv, dtype=float)
    return Mesh(np.asarray(corners, dtype=float), np.array([[0, 1, 2], [0, 2, 3]]), flat)


def joined(meshes: Sequence[Mesh]) -> Mesh:
    """Several meshes as one."""
    starts = np.cumsum([0] + [len(m.vertices) for m in meshes[:-1]])
    return Mesh(np.concatenate([m.vertices for m in meshes]),
                np.concatenate([m.faces + k for m, k in zip(meshes, starts)]),
                np.concatenate([m.uv for m in meshes]))


def swept(rings: ArrayLike, *, closed: bool = False, capped: bool = False) -> Mesh:
    """(r, n, 3) rings joined by quads; `closed` joins each ring's ends, `capped` fills first and last ring as fans."""
    rings = np.asarray(rings, dtype=float)
    count, size = rings.shape[:2]
    faces = []
    for r in range(count - 1):
        for k in range(size if closed else size - 1):
            a, b = r * size + k, r * size + (k + 1) % size
            faces += [[a, b, b + size], [a, b + size, a + size]]
    if capped:
        for first in (0, (count - 1) * size):
            faces += [[first, first + k, first + k + 1] for k in range(1, size - 1)]
    return Mesh(rings.reshape(-1, 3), np.array(faces), np.zeros((count * size, 2)))


def prism(footprint: ArrayLike, bottom_mm: float, top_mm: float) -> Mesh:
    """A footprint (k, 2) pulled up from `bottom_mm` to `top_mm`, closed above and below."""
    plan = np.asarray(footprint, dtype=float)
    rings = [np.column_stack([plan, np.full(len(plan), z)]) for z in (bottom_mm, top_mm)]
    return swept(rings, closed=True, capped=True)


def turned(centre: ArrayLike, outline: Sequence[tuple[float, float]], sides: int = 48) -> Mesh:
    """A body of revolution about an upright axis: `outline` lists (radius, height) from bottom to top."""
    angle = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rings = [np.column_stack([np.asarray(centre) + r * circle, np.full(sides, z)]) for r, z in outline]
    return swept(rings, closed=True)


def rod(start: ArrayLike, end: ArrayLike, radius_mm: float, sides: int = 20) -> Mesh:
    """A capped cylinder between two points."""
    start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    axis = (end - start) / np.linalg.norm(end - start)
    side = np.cross(axis, [0.0, 0.0, 1.0] if abs(axis[2]) < 0.9 else [1.0, 0.0, 0.0])
    side /= np.linalg.norm(side)
    angle = np.linspace(0, 2 * np.pi, sides, endpoint=False)[:, None]
    circle = radius_mm * (np.cos(angle) * side + np.sin(angle) * np.cross(axis, side))
    return swept([start + circle, end + circle], closed=True, capped=True)


def cloth(centre: ArrayLike, radius_mm: float, height_mm: float, seed: int, cells: int = 220) -> Mesh:
    """A dust sheet dropped on the floor: roughly four-sided, within `radius_mm`, its folds at most `height_mm` high."""
    step = np.linspace(-1, 1, cells, dtype=np.float32)
    u, v = np.meshgrid(step, step)
    far = radius_mm * np.array([0.74, 0.52])
    x, y = far[0] * u + 0.16 * radius_mm * v, far[1] * v - 0.10 * radius_mm * u
    x = x + 70 * (layered(u * 400, v * 400, 310.0, seed, 2) - 0.5)
    y = y + 70 * (layered(u * 400, v * 400 + 5000, 310.0, seed + 1, 2) - 0.5)
    bend = 90 * (layered(x, y, 260.0, seed + 7, 2) - 0.5)
    fold = 1 - np.abs(2 * noise(x + bend + 0.5 * y, y + bend, (420.0, 84.0), seed + 3) - 1)
    small = 1 - np.abs(2 * noise(x - 0.4 * y, y + 0.6 * x - bend, (190.0, 52.0), seed + 4) - 1)
    bunch = 0.22 + 0.78 * np.clip(1.25 - np.hypot(u + 0.35, v - 0.2), 0, 1) ** 1.5
    z = 1.5 + height_mm * bunch * (0.72 * fold ** 4 + 0.28 * small ** 3)
    vertices = np.column_stack([np.asarray(centre)[0] + x.ravel(), np.asarray(centre)[1] + y.ravel(), z.ravel()])
    k = np.arange(cells * cells).reshape(cells, cells)
    a, b, c, d = (part.ravel() for part in (k[:-1, :-1], k[:-1, 1:], k[1:, 1:], k[1:, :-1]))
    return Mesh(vertices, np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)]),
                np.zeros((len(vertices), 2)))
