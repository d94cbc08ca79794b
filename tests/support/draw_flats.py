"""Flats drawn from a seed: rooms on both sides of a hall, a door to it from each, some with a corner missing, corners a
few mm out of square. All invented."""
from __future__ import annotations

from typing import Any

import numpy as np

#: Corners away from the hall are out of square by this, one standard deviation, mm.
OUT_OF_SQUARE_MM = 4.0
#: Boards drawn from: length, width, mm, and boards in a pack.
BOARDS = ((1285, 192, 8), (1380, 193, 8), (1200, 190, 9), (2050, 240, 5), (1000, 140, 12))
NAMES = ("kitchen", "bedroom", "parlour", "study", "bath", "store")


def draw_flat(rng: np.random.Generator, rooms: int) -> dict[str, Any]:
    """A flat of so many rooms, the hall last, as plain data: boards, rooms with outlines and doors (mm, one frame for
    all), and the doorways with their walls' thickness."""
    names = [str(name) for name in rng.permutation(NAMES)[:rooms - 1]]
    width, thick = float(round(rng.uniform(1100, 1900))), float(rng.choice([80.0, 100.0, 120.0]))
    reach = [0.0, 0.0]
    flat: dict[str, Any] = {"board": [int(mm) for mm in BOARDS[int(rng.integers(len(BOARDS)))]], "rooms": [],
                            "doorways": []}
    for k, name in enumerate(names):
        side = int(np.argmin(reach))
        flat["rooms"].append(_room(rng, name, side, reach[side], width, thick))
        reach[side] += flat["rooms"][-1].pop("wide") + thick
        flat["doorways"].append({"rooms": [name, "hall"], "doors": ["D1", f"D{k + 1}"], "thickness": thick})
    length = max(2200.0, *reach)
    doors = [_hall_door(f"D{k + 1}", room.pop("opening"), length) for k, room in enumerate(flat["rooms"])]
    outline = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]]
    doors.append({"name": "D0", "wall": ["D", "A"], "from": round((width - 900) / 2, 1), "width": 900.0, "reveal": 0.0})
    flat["rooms"].append({"name": "hall", "outline": outline, "doors": doors})
    return flat


def _room(rng: np.random.Generator, name: str, side: int, at: float, hall: float, thick: float) -> dict[str, Any]:
    """A room above (0) or below (1) the hall, from `at` on; opening: where its door is."""
    wide, deep = float(round(rng.uniform(1900, 4800))), float(round(rng.uniform(2000, 4600)))
    corners = [(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)]
    if rng.random() < 0.25:
        a, b = float(round(rng.uniform(500, wide / 2))), float(round(rng.uniform(400, deep / 2)))
        corners = [(0.0, 0.0), (wide, 0.0), (wide, deep - b), (wide - a, deep - b), (wide - a, deep), (0.0, deep)]
    moved = [np.array(corner) + (rng.normal(0, OUT_OF_SQUARE_MM, 2) if corner[1] > 0.0 else 0.0) for corner in corners]
    door, begins = float(rng.choice([735.0, 860.0])), 0.0
    begins = float(round(rng.uniform(150, wide - door - 150)))
    from_a = begins if side == 0 else wide - begins - door
    ring = [(at + x, hall + thick + y) if side == 0 else (at + wide - x, -thick - y) for x, y in moved]
    return {"name": name, "outline": [[round(float(x), 2), round(float(y), 2)] for x, y in ring], "wide": wide,
            "opening": (side, at + begins, door, thick / 2),
            "doors": [{"name": "D1", "wall": ["A", "B"], "from": from_a, "width": door, "reveal": thick / 2}]}


def _hall_door(name: str, opening: tuple[int, float, float, float], length: float) -> dict[str, Any]:
    side, begins, wide, reveal = opening
    if side == 0:
        return {"name": name, "wall": ["C", "D"], "from": length - begins - wide, "width": wide, "reveal": reveal}
    return {"name": name, "wall": ["A", "B"], "from": begins, "width": wide, "reveal": reveal}
