"""How a drawn room is lit for the path tracers: windows, lamps under the ceiling, lamps that stand or hang, the sun.

Lamps (LAMPS, 14): kind (0 ball, 1 one-sided rectangle), middle 3, half side u 3 (a ball: its radius first), half side
v 3 (u x v points where it shines), radiance 3, share of the room's light. Metres, linear light. All invented; the same
seed, the same light.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.bench.seeing.rooms import _AWAY, Rng, Scene, inside

LAMPS = 6
BALL, RECTANGLE = 0.0, 1.0
Array = NDArray[np.float64]


def lighted(rng: Rng, scene: Scene) -> Scene:
    """The scene with lamps, a fill of light for what no path reached, the sun through its window, and grain."""
    ring = scene["walls"][scene["walls"][:, 0] < _AWAY][:, :2].astype(float)
    top = float(scene["ceiling"])
    mood = rng.choice(["day", "overcast", "night", "lit day", "odd"], p=[0.32, 0.23, 0.24, 0.13, 0.08])
    rows: list[list[float]] = []
    sun = scene["sun"].astype(float).copy()
    if mood in ("day", "overcast", "lit day"):
        for k in range(int(rng.integers(1, 4))):
            row, wall = _window(rng, ring, top)
            rows.append(row)
            if k == 0:
                sun = _sun(rng, row, wall, mood == "day")
    else:
        sun[3] = 0.0
    if mood in ("night", "lit day"):
        rows += [_ceiling_lamp(rng, ring, top) if rng.random() < 0.65 else _low_lamp(rng, ring)
                 for _ in range(int(rng.integers(1, 4)))]
    if mood == "odd":
        rows += [_panel(rng, ring, float(rng.uniform(0.5, top - 0.06))) for _ in range(2)]
    lamps = np.zeros((LAMPS, 14))
    lamps[:len(rows)] = rows[:LAMPS]
    power = np.array([_area(row) * sum(row[10:13]) for row in lamps])
    lamps[:, 13] = power / power.sum()
    level = float(power.sum()) / 3 / (4 * np.pi * 2.5) / max(np.ptp(ring, axis=0).prod(), 3.0) ** 0.5
    fill = level * rng.uniform(0.1, 0.6) * (1 + rng.normal(0, 0.05, 3))
    boxes = scene["boxes"].copy()
    grained = (rng.random(len(boxes)) < 0.25) & (boxes[:, 11] == 0)
    boxes[grained, 11] = -rng.uniform(0.1, 0.6, grained.sum())
    beyond = np.array([*scene["beyond"], level * np.exp(rng.uniform(np.log(0.15), np.log(3.0)))])
    decals = scene["decals"].copy()
    decals[decals[:, 8] == 2, 5:8] *= level * rng.uniform(1.0, 6.0) if mood != "night" else level * 0.1
    made = {"lamps": lamps, "fill": fill, "sun": sun, "boxes": boxes, "beyond": beyond, "decals": decals,
            "grain": float(rng.random() < 0.35), "seed": rng.uniform(0, 1000)}
    return scene | {name: np.asarray(value, dtype=np.float32) for name, value in made.items()}


def _area(row: Array) -> float:
    if row[0] == BALL:
        return float(4 * np.pi * row[4] ** 2)
    return float(4 * np.linalg.norm(np.cross(row[4:7], row[7:10])))


def _lamp(kind: float, at, u, v, colour, bright: float) -> list[float]:
    return [kind, *at, *u, *v, *(np.asarray(colour) * bright), 0.0]


def _warm(rng: Rng) -> Array:
    return np.array([1.25, 1.0, rng.uniform(0.4, 0.95)]) * (1 + rng.normal(0, 0.03, 3))


def _window(rng: Rng, ring: Array, top: float) -> tuple[list[float], Array]:
    """A window in one wall, and that wall's (normal, direction)."""
    lengths = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    wall = int(rng.choice(len(ring), p=lengths / lengths.sum()))
    a, b = ring[wall], ring[(wall + 1) % len(ring)]
    u = (b - a) / lengths[wall]
    n = np.array([-u[1], u[0]])
    half = min(rng.uniform(0.3, 1.3), 0.42 * lengths[wall])
    sill = rng.uniform(0.35, 1.1) if rng.random() < 0.8 else 0.05
    tall = min(rng.uniform(0.4, 0.8), (top - 0.15 - sill) / 2)
    middle = a + u * lengths[wall] * rng.uniform(0.5 * 2 * half / lengths[wall], 1 - half / lengths[wall]) + 0.012 * n
    colour = np.array([rng.uniform(0.8, 1.05), 1.0, rng.uniform(1.0, 1.25)])
    # u x v points into the room: along the wall, then up, gives its left.
    row = _lamp(RECTANGLE, [*middle, sill + tall], [-half * u[0], -half * u[1], 0.0], [0.0, 0.0, tall], colour,
                np.exp(rng.uniform(np.log(1.5), np.log(12.0))))
    return row, np.array([*n, *u])


def _sun(rng: Rng, row: list[float], wall: Array, bright: bool) -> Array:
    n, u = wall[:2], wall[2:]
    way = n + rng.normal(0, 0.6) * u
    down = np.array([*(way / np.hypot(*way)), -rng.uniform(0.3, 1.6)])
    strength = rng.uniform(1.0, 9.0) if bright and rng.random() < 0.75 else 0.0
    return np.array([*(down / np.linalg.norm(down)), strength, *row[1:4], *u, abs(np.hypot(row[4], row[5])), row[9],
                     rng.choice([0.0, 2.0, 3.0])])


def _within(rng: Rng, ring: Array) -> Array:
    low, high = ring.min(axis=0), ring.max(axis=0)
    for _ in range(30):
        at = rng.uniform(low, high)
        if inside(ring, at):
            return np.asarray(0.8 * at + 0.2 * ring.mean(axis=0) if inside(ring, ring.mean(axis=0)) else at)
    return np.asarray(ring.mean(axis=0))


def _ceiling_lamp(rng: Rng, ring: Array, top: float) -> list[float]:
    if rng.random() < 0.5:
        return _panel(rng, ring, top - 0.03)
    r = rng.uniform(0.06, 0.22)
    return _lamp(BALL, [*_within(rng, ring), top - r - rng.uniform(0.03, 0.6)], [r, 0, 0], [0, 0, 0], _warm(rng),
                 np.exp(rng.uniform(np.log(4.0), np.log(25.0))) * (0.15 / r) ** 1.5)


def _low_lamp(rng: Rng, ring: Array) -> list[float]:
    r = rng.uniform(0.07, 0.18)
    return _lamp(BALL, [*_within(rng, ring), rng.uniform(0.4, 1.7)], [r, 0, 0], [0, 0, 0], _warm(rng),
                 np.exp(rng.uniform(np.log(3.0), np.log(15.0))))


def _panel(rng: Rng, ring: Array, height: float) -> list[float]:
    turn, a, b = rng.uniform(0, np.pi), rng.uniform(0.1, 0.35), rng.uniform(0.1, 0.6)
    u = np.array([np.cos(turn), np.sin(turn), 0.0])
    return _lamp(RECTANGLE, [*_within(rng, ring), height], a * u, b * np.array([u[1], -u[0], 0.0]), _warm(rng),
                 np.exp(rng.uniform(np.log(4.0), np.log(20.0))))
