"""Floors nobody draws on purpose: planned so that the judge finds nothing, or refused in one sentence."""
from __future__ import annotations

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from layout.errors import LayoutError
from layout.judge.check import find_faults
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Wishes

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
BOX = [(0, 0), (4300, 0), (4300, 3400), (0, 3400)]
SPIRAL = [(0, 0), (7000, 0), (7000, 7000), (1500, 7000), (1500, 3000), (4300, 3000), (4300, 4400), (2900, 4400),
          (2900, 5600), (5600, 5600), (5600, 1400), (0, 1400)]
STAR = [(3000 * cos(pi * k / 5) * (1 if k % 2 else 0.4), 3000 * sin(pi * k / 5) * (1 if k % 2 else 0.4))
        for k in range(10)]


def wedge(degrees: float) -> list[tuple[float, float]]:
    return [(0, 0), (6000, 0), (6000, 6000 * tan(radians(degrees)))]


def room_of_corners(corners) -> Room:
    return Room(names=tuple(f"N{k}" for k in range(len(corners))), outline_mm=np.array(corners, float))


FLOORS = {
    "a wedge of 1 degree": wedge(1.05), "a wedge of 2 degrees": wedge(2.0), "a wedge of 3 degrees": wedge(3.0),
    "a wedge of 5 degrees": wedge(5.0),
    "a wedge cut short": [(0, 0), (6000, 0), (6000, 420), (0, 100)],
    "a tip under a flat wall": [(0, 0), (6000, 0), (6000, 2500), (3000, 2500), (3000, 3000 * tan(radians(3)))],
    "a thin spur of wall": [(0, 0), (5000, 0), (5000, 3000), (2565, 3000), (2500, 500), (2435, 3000), (0, 3000)],
    "a splayed corner": [(0, 0), (5000, 0), (5000, 3000), (4700, 3000), (2500, 150), (0, 400)],
    "shorter than a board": [(0, 0), (900, 0), (900, 700), (0, 700)],
    "smaller than a board's width": [(0, 0), (150, 0), (150, 120), (0, 120)],
    "a spiral": SPIRAL, "a star": STAR,
    "sixty walls": [(2500 * cos(pi * k / 30), 2500 * sin(pi * k / 30)) for k in range(60)],
    "a long corridor": [(0, 0), (12500, 0), (12500, 900), (0, 900)],
}


@pytest.mark.parametrize("turned_deg", [None, 33.0, 90.0])
@pytest.mark.parametrize("name", FLOORS)
def test_a_nasty_floor_is_planned(name, turned_deg):
    """The judge has looked at the plan already; here the pieces are held against the two shrunken floors by shapely."""
    room = room_of_corners(FLOORS[name])
    plan = plan_floor(room, BOARD, Wishes(direction_rad=None if turned_deg is None else radians(turned_deg)), moves=60)
    assert find_faults(plan, room) == ()
    laid = shapely.union_all([Polygon(piece.outline_mm, piece.holes_mm).buffer(0.01, join_style="mitre")
                              for piece in plan.pieces])
    floor = Polygon(room.outline_mm)
    # Round about the tip of a spur the gap is held as a person would, not out to where its two lines meet.
    most, least = (floor.buffer(-gap, join_style=style, mitre_limit=50.0)
                   for gap, style in ((plan.gap_least_mm - 0.05, "round"), (plan.gap_most_mm + 0.05, "mitre")))
    chips = shapely.union_all([Polygon(strip.outline).buffer(2.0) for strip in plan.left_out])
    assert laid.difference(most).area < 50.0
    # The tip of a wedge that holds no piece is told as lost, not laid.
    parts = [part for part in shapely.get_parts(least) if part.area > 0.5 * least.area]
    free = shapely.union_all([LineString(profile.ends).buffer(profile.clear_mm + 6.0, cap_style="square")
                              for profile in plan.profiles])
    bare = shapely.union_all(parts).difference(laid).difference(chips).difference(free).buffer(-0.5)
    assert bare.area < 100.0


def test_a_needle_of_wall_is_refused_in_one_sentence():
    spur = [(0, 0), (5000, 0), (5000, 3000), (2515, 3000), (2500, 200), (2485, 3000), (0, 3000)]
    for corners in (spur, wedge(0.6)):
        with pytest.raises(LayoutError) as refused:
            plan_floor(room_of_corners(corners), BOARD, Wishes(), moves=0)
        assert refused.value.slug == "needle" and str(refused.value).count(".") <= 3
