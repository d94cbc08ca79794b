"""Draws the random rooms kept in instances/rooms.json; run it only to make a new file (old results then no longer
compare).

Rooms of 2 to 7 m: rectangles, L and U shapes, chimney breasts, skewed quadrilaterals, rooms with an island, rooms with
a slanted wall; most with corners some 25 mm out of true, a third turned by any angle. All invented.
"""
from __future__ import annotations

import json
import random
from math import cos, pi, sin
from pathlib import Path

KINDS = ("rectangle", "ell", "chimney", "skew", "island", "slant", "ewe")
BOARDS = ((1285, 192), (1380, 193), (1200, 190), (2050, 240), (800, 130))
FILE = Path(__file__).parents[1] / "bench" / "instances" / "rooms.json"


def draw_room(rng: random.Random, kind: str) -> dict:
    """One room as JSON data: kind, outline, holes, pipes, board."""
    w, h = rng.uniform(2000, 7000), rng.uniform(2000, 6000)
    outline = _outline(rng, kind, w, h)
    spread = {"rectangle": 0.0, "skew": 150.0}.get(kind, 25.0 if rng.random() < 0.6 else 0.0)
    outline = [(x + rng.uniform(-spread, spread), y + rng.uniform(-spread, spread)) for x, y in outline]
    holes = []
    if kind == "island":
        x, y, a, b = w * rng.uniform(0.3, 0.6), h * rng.uniform(0.3, 0.6), rng.uniform(100, 900), rng.uniform(60, 700)
        holes = [[(x, y), (x + a, y), (x + a, y + b), (x, y + b)]]
    pipes = [(w * rng.uniform(0.05, 0.25), rng.uniform(40, 120)) for _ in range(rng.choice((0, 0, 2)))]
    angle = rng.uniform(0, 2 * pi) if rng.random() < 0.3 else 0.0
    length, width = rng.choice(BOARDS)
    return {"kind": kind, "outline": _turned(outline, angle), "holes": [_turned(hole, angle) for hole in holes],
            "pipes": _turned(pipes, angle), "board": [length, width]}


def _outline(rng: random.Random, kind: str, w: float, h: float) -> list[tuple[float, float]]:
    if kind == "ell":
        a, b = w * rng.uniform(0.3, 0.7), h * rng.uniform(0.3, 0.7)
        return [(0, 0), (w, 0), (w, b), (a, b), (a, h), (0, h)]
    if kind in ("chimney", "ewe"):
        a, b = w * rng.uniform(0.2, 0.4), w * rng.uniform(0.6, 0.8)
        d = rng.uniform(150, 500) if kind == "chimney" else h * rng.uniform(0.4, 0.7)
        return [(0, 0), (w, 0), (w, h), (b, h), (b, h - d), (a, h - d), (a, h), (0, h)]
    if kind == "slant":
        return [(0, 0), (w, 0), (w, h * rng.uniform(0.4, 0.8)), (w * rng.uniform(0.4, 0.8), h), (0, h)]
    return [(0, 0), (w, 0), (w, h), (0, h)]


def _turned(points: list[tuple[float, float]], angle: float) -> list[list[float]]:
    return [[round(x * cos(angle) - y * sin(angle), 3), round(x * sin(angle) + y * cos(angle), 3)] for x, y in points]


if __name__ == "__main__":
    rng = random.Random(20240611)
    rooms = [draw_room(rng, KINDS[i % len(KINDS)]) for i in range(210)]
    FILE.write_text(json.dumps({"origin": "drawn by draw_rooms.py, seed 20240611; invented", "rooms": rooms},
                               separators=(",", ":")) + "\n")
