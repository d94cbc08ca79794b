"""Colour of floor and walls as functions of millimetres, so that a close-up shows the same boards as the room.

All results are linear-light reflectances, 0 to 1. Noise is value noise on an integer lattice hashed by coordinate:
the same place gives the same value whatever part of the room is drawn.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from demo_photos.render.room import floor_points

Array = NDArray[np.float32]

BOARD_MM = 148.0
BOARD_SHIFT_MM = 61.0
GAP_MM = 2.6


def noise(x: Array, y: Array, period_mm: float | tuple[float, float], seed: int) -> Array:
    """Smooth noise, 0 to 1, with the given lattice period along x and y."""
    px, py = period_mm if isinstance(period_mm, tuple) else (period_mm, period_mm)
    fx, fy = x / px, y / py
    ix, iy = np.floor(fx), np.floor(fy)
    tx, ty = fx - ix, fy - iy
    tx, ty = tx * tx * (3 - 2 * tx), ty * ty * (3 - 2 * ty)
    ix, iy = ix.astype(np.int64), iy.astype(np.int64)
    near = _hash(ix, iy, seed) * (1 - tx) + _hash(ix + 1, iy, seed) * tx
    far = _hash(ix, iy + 1, seed) * (1 - tx) + _hash(ix + 1, iy + 1, seed) * tx
    return (near * (1 - ty) + far * ty).astype(np.float32)


def layered(x: Array, y: Array, period_mm: float | tuple[float, float], seed: int, layers: int = 4) -> Array:
    """Sum of `layers` octaves of noise, about 0 to 1."""
    px, py = period_mm if isinstance(period_mm, tuple) else (period_mm, period_mm)
    weights = 0.55 ** np.arange(layers)
    total = sum(w * noise(x, y, (px / 2 ** k, py / 2 ** k), seed + 101 * k) for k, w in enumerate(weights))
    return (total / weights.sum()).astype(np.float32)


def floor_colour(x: Array, y: Array) -> Array:
    """(..., 3) bare softwood boards along x with gaps, nails, a worn stained border, paint drips and damp stains."""
    board = np.floor((y + BOARD_SHIFT_MM) / BOARD_MM)
    across = (y + BOARD_SHIFT_MM) - board * BOARD_MM
    number = board.astype(np.int64)
    tone = _hash(number, number * 0 + 3, 11)
    colour = _mix((0.34, 0.205, 0.105), (0.52, 0.345, 0.185), tone)
    colour *= (0.66 + 0.62 * _grain(x, y, number))[..., None]
    colour = _toward(colour, (0.30, 0.27, 0.23), 0.45 * layered(x, y, 900.0, 21) ** 1.5)
    colour = _toward(colour, (0.085, 0.048, 0.026), _border(x, y))
    colour = _toward(colour, (0.16, 0.12, 0.085), _knots(x, across, number) * 0.75)
    colour = _toward(colour, (0.13, 0.10, 0.075), 0.42 * _step(layered(x, y, 520.0, 33), 0.62, 0.80))
    colour = _toward(colour, (0.70, 0.69, 0.65), 0.85 * _drips(x, y))
    colour = _toward(colour, (0.06, 0.05, 0.045), _nails(x, across, number))
    return np.clip(colour * (1 - 0.9 * _gaps(x, across, number))[..., None], 0.01, 0.9)


def wall_colour(s: Array, z: Array, seed: int) -> Array:
    """(..., 3) old matt paint on plaster, `s` along the wall and `z` up, with filler spots and scuffs near the
    floor."""
    colour = _mix((0.575, 0.60, 0.535), (0.62, 0.645, 0.575), layered(s, z, 700.0, seed))
    colour = _toward(colour, (0.50, 0.50, 0.44), 0.4 * _step(layered(s, z, (900.0, 420.0), seed + 5), 0.60, 0.75))
    scuff = np.clip(1 - (z - 100) / 260, 0, 1) * _step(layered(s, z, (160.0, 60.0), seed + 9), 0.55, 0.8)
    colour = _toward(colour, (0.33, 0.30, 0.26), 0.4 * scuff)
    return np.clip(_toward(colour, (0.80, 0.795, 0.78), 0.9 * _filler(s, z, seed)), 0, 1).astype(np.float32)


def _grain(x: Array, y: Array, number: NDArray[np.int64]) -> Array:
    """Streaks along the board, each board its own."""
    moved = x + 7919.0 * _hash(number, number * 0, 7)
    wave = y + 9.0 * layered(moved, y, (520.0, 260.0), 41, 2)
    coarse = noise(moved, wave, (1500.0, 17.0), 43)
    fine = noise(moved, wave, (240.0, 2.2), 47)
    rough = noise(moved, wave, (38.0, 1.6), 49)
    share = 0.30 * coarse + 0.40 * fine + 0.30 * rough
    return np.clip(0.5 + 1.15 * (share - 0.5), 0, 1)


def _border(x: Array, y: Array) -> Array:
    """Old dark stain that once ran round a carpet: strong near the walls, worn through in places."""
    edge = np.minimum(np.minimum(x, 4290.0 - x), np.minimum(y, 3360.0 - y))
    wobble = edge + 26.0 * (layered(x, y, 160.0, 51) - 0.5)
    worn = 0.5 + 0.5 * _step(layered(x, y, (330.0, 70.0), 53), 0.30, 0.62)
    return 0.80 * worn * (1 - _step(wobble, 330.0, 356.0))


def _knots(x: Array, across: Array, number: NDArray[np.int64]) -> Array:
    """A few dark knots on every board."""
    cell = np.floor(x / 640.0).astype(np.int64)
    along = (cell + 0.2 + 0.6 * _hash(cell, number, 61)) * 640.0
    middle = BOARD_MM * (0.25 + 0.5 * _hash(cell, number, 62))
    radius = 6.0 + 9.0 * _hash(cell, number, 63)
    present = _hash(cell, number, 64) > 0.45
    far = np.hypot((x - along) / 1.25, across - middle) / radius
    return present * (1 - _step(far, 0.75, 1.25))


def _nails(x: Array, across: Array, number: NDArray[np.int64]) -> Array:
    """Two nail heads a board over every joist (joists 410 mm apart)."""
    joist = np.round((x - 210.0) / 410.0).astype(np.int64)
    at = joist * 410.0 + 210.0 + 14.0 * (_hash(joist, number, 71) - 0.5)
    low = np.abs(across - 30.0 - 8.0 * _hash(joist, number, 72))
    high = np.abs(across - 116.0 + 8.0 * _hash(joist, number, 73))
    far = np.hypot(x - at, np.minimum(low, high))
    return 0.8 * (1 - _step(far, 2.6, 4.0)) + 0.25 * (1 - _step(far, 3.5, 11.0))


def _gaps(x: Array, across: Array, number: NDArray[np.int64]) -> Array:
    """Dark lines between boards, of changing width, and one end joint on some boards (over a joist)."""
    width = GAP_MM * (0.45 + 1.1 * noise(x, number * 150.0, (700.0, 150.0), 81))
    along = np.minimum(across, BOARD_MM - across)
    joint = (3 + np.floor(6 * _hash(number, number * 0, 82))) * 410.0 + 210.0
    end = np.where(_hash(number, number * 0, 83) > 0.55, np.abs(x - joint), 1e4)
    return np.maximum(1 - _step(along, width / 2, width / 2 + 0.9), 1 - _step(end, 0.6, 1.4))


def _drips(x: Array, y: Array) -> Array:
    """Drops and dribbles of old wall paint, thick along the walls and few in the middle."""
    edge = np.minimum(np.minimum(x, 4290.0 - x), np.minimum(y, 3360.0 - y))
    total = np.zeros_like(x)
    for seed, size in ((91, 70.0), (92, 170.0)):
        ix, iy = np.floor(x / size).astype(np.int64), np.floor(y / size).astype(np.int64)
        cx, cy = (ix + 0.3 + 0.4 * _hash(ix, iy, seed)) * size, (iy + 0.3 + 0.4 * _hash(ix, iy, seed + 10)) * size
        radius = 1.0 + (size / 22.0) * _hash(ix, iy, seed + 20) ** 3
        present = (_hash(ix, iy, seed + 30) > 0.72 + 0.24 * np.clip(edge / 700.0, 0, 1)) & _clear_of_marks(cx, cy)
        far = np.hypot(x - cx, y - cy) + 1.5 * (noise(x, y, 3.0, seed) - 0.5)
        total = np.maximum(total, present * (1 - _step(far, radius, radius + 0.7)))
    return total


def _clear_of_marks(x: Array, y: Array) -> NDArray[np.bool_]:
    """Whether a drip is well away from every named floor point: one in a corner would pass for the skirting."""
    clear = np.ones(x.shape, bool)
    for place in floor_points().values():
        clear &= np.hypot(x - place[0], y - place[1]) > 60.0
    return clear


def _filler(s: Array, z: Array, seed: int) -> Array:
    """Smeared patches of filler over old fixings."""
    ix, iz = np.floor(s / 530.0).astype(np.int64), np.floor(z / 480.0).astype(np.int64)
    cx, cz = (ix + 0.3 + 0.4 * _hash(ix, iz, seed)) * 530.0, (iz + 0.3 + 0.4 * _hash(ix, iz, seed + 1)) * 480.0
    radius = 10.0 + 62.0 * _hash(ix, iz, seed + 2) ** 2
    present = _hash(ix, iz, seed + 3) > 0.62
    far = np.hypot(s - cx, (z - cz) * 1.35) + 40.0 * (layered(s, z, (90.0, 30.0), seed + 4, 3) - 0.5)
    return present * (1 - _step(far, radius * 0.8, radius))


def _hash(ix: NDArray, iy: NDArray, seed: int) -> Array:
    """Uniform pseudo-random numbers, 0 to 1, of integer lattice places (a multiply-and-shift integer hash)."""
    h = ix.astype(np.uint32) * np.uint32(374761393) + iy.astype(np.uint32) * np.uint32(668265263)
    h = h + np.uint32((seed * 2246822519) & 0xFFFFFFFF)
    h = (h ^ (h >> np.uint32(13))) * np.uint32(1274126177)
    h = (h ^ (h >> np.uint32(16))) * np.uint32(2654435761)
    return ((h ^ (h >> np.uint32(15))) >> np.uint32(8)).astype(np.float32) / np.float32(1 << 24)


def _step(value: Array, low: float | Array, high: float | Array) -> Array:
    """Smooth step from 0 at `low` to 1 at `high`."""
    t = np.clip((value - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


def _mix(one: tuple, two: tuple, share: Array) -> Array:
    """(..., 3) blend of two colours."""
    return np.array(one, np.float32) + share[..., None] * (np.array(two, np.float32) - np.array(one, np.float32))


def _toward(colour: Array, other: tuple, share: Array) -> Array:
    """(..., 3) colour blended towards another where `share` says."""
    return colour + share[..., None].astype(np.float32) * (np.array(other, np.float32) - colour)
