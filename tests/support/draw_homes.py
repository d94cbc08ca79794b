"""Rooms with as many corners as homes have, drawn from a seed: a rectangle or an L with chimney breasts and alcoves
in its walls. All invented."""
from __future__ import annotations

import numpy as np

from capture.adjustment.floor_prior import is_simple
from tests.support.simulate import OUT_OF_SQUARE_MM


def draw_home(rng: np.random.Generator, corners: int) -> np.ndarray:
    """(corners, 2) an anticlockwise outline in mm of 8, 10, 12, 14 or 16 corners: 4 or 6 and four for each breast
    (inwards) or alcove (outwards)."""
    while True:
        ring = [np.array(p, dtype=float) for p in _shell(rng, 4 if corners % 4 == 0 else 6)]
        for _ in range((corners - len(ring)) // 4):
            ring = _with_niche(rng, ring)
        found = np.array(ring) + rng.normal(0, OUT_OF_SQUARE_MM, (len(ring), 2))
        if len(found) == corners and is_simple(found) and _roomy(found):
            return found


def _shell(rng: np.random.Generator, corners: int) -> list[tuple[float, float]]:
    w, d = rng.uniform(3500, 7500), rng.uniform(3000, 6000)
    if corners == 4:
        return [(0, 0), (w, 0), (w, d), (0, d)]
    a, b = rng.uniform(0.4, 0.6, 2)
    return [(0, 0), (w, 0), (w, d * a), (w * b, d * a), (w * b, d), (0, d)]


def _with_niche(rng: np.random.Generator, ring: list[np.ndarray]) -> list[np.ndarray]:
    """The ring with a breast or an alcove, 800 to 1600 mm wide and 250 to 600 deep, in one wall with room for it, if
    one has."""
    walls = [k for k in range(len(ring)) if np.hypot(*(ring[(k + 1) % len(ring)] - ring[k])) > 2000]
    if not walls:
        return ring
    k = int(rng.choice(walls))
    start, step = ring[k], ring[(k + 1) % len(ring)] - ring[k]
    length = float(np.hypot(*step))
    along = step / length
    inwards = np.array([-along[1], along[0]])
    width, depth = rng.uniform(800, min(1600, length - 1000)), rng.uniform(250, 600) * rng.choice([-1, 1])
    begin = rng.uniform(400, length - 400 - width)
    near, far = start + begin * along, start + (begin + width) * along
    return ring[:k + 1] + [near, near + depth * inwards, far + depth * inwards, far] + ring[k + 1:]


def _roomy(ring: np.ndarray) -> bool:
    """Whether no corner comes nearer than 240 mm to a wall that is not its own."""
    size = len(ring)
    for i in range(size):
        for k in range(size):
            if i not in (k, (k + 1) % size):
                p, step = ring[k], ring[(k + 1) % size] - ring[k]
                share = np.clip((ring[i] - p) @ step / (step @ step), 0.0, 1.0)
                if np.hypot(*(ring[i] - p - share * step)) < 240:
                    return False
    return True
