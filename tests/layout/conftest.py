"""Named rooms a fitter would know, and the stored random ones."""
from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from layout.judge.check import find_faults
from layout.plan import Plan
from layout.planning.planner import plan_floor
from layout.room import Board, Casing, Door, Pipe, Room, Wishes

STORED = Path(__file__).parents[1] / "bench" / "instances" / "rooms.json"


def make_room(corners, **more) -> Room:
    """A room with corners named A, B, C, ..."""
    return Room(names=tuple("ABCDEFGHIJKLMNOP"[:len(corners)]), outline_mm=np.array(corners, dtype=np.float64), **more)


@pytest.fixture(scope="session")
def board() -> Board:
    """The common board: 1285 x 192 x 8, eight in a pack."""
    return Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)


@pytest.fixture(scope="session")
def box_3x4() -> Room:
    """A true rectangle, 4 m along x, 3 m along y."""
    return make_room([(0, 0), (4000, 0), (4000, 3000), (0, 3000)])


@pytest.fixture(scope="session")
def plan(board) -> Plan:
    """4000 x 2650 mm with a gap of 10 mm, rows along x from the lower wall: every seam is one stretch from s = 0 to
    3980 mm; no rule gives way."""
    room = make_room([(0, 0), (4000, 0), (4000, 2650), (0, 2650)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B"), start=("A", "B")),
                      moves=100)
    assert find_faults(plan, room) == () and plan.relaxed == ()
    return plan


@pytest.fixture(scope="session")
def l_shape() -> Room:
    """An L: 4.2 by 3.6 m with the upper right 1.6 by 1.5 m missing."""
    return make_room([(0, 0), (4200, 0), (4200, 2100), (2600, 2100), (2600, 3600), (0, 3600)])


@pytest.fixture(scope="session")
def chimney() -> Room:
    """A slightly crooked room with a chimney breast, a door with casing, two radiator pipes."""
    return make_room([(0, 0), (4310, 0), (4300, 3205), (2800, 3210), (2800, 2860), (1500, 2860), (1500, 3212),
                      (0, 3205)], pipes=(Pipe(name="P1", centre_mm=(600.0, 60.0), diameter_mm=15.0),
                                         Pipe(name="P2", centre_mm=(650.0, 60.0), diameter_mm=15.0)),
                     doors=(Door(name="D1", wall=("A", "B"), from_mm=1640.0, width_mm=762.0, reveal_mm=110.0,
                                 casing=Casing(width_mm=57.0, thickness_mm=15.0)),))


@pytest.fixture(scope="session")
def hearth() -> Room:
    """A room with a hearth standing free in it."""
    return make_room([(0, 0), (5310, 0), (5310, 4205), (0, 4205)],
                     islands=(("hearth", np.array([(2000.0, 2000.0), (2600.0, 2000.0), (2600.0, 2300.0),
                                                   (2000.0, 2300.0)])),))


@pytest.fixture(scope="session")
def skewed_hall() -> Room:
    """Five corners, no two walls parallel."""
    return make_room([(0, 0), (4310, -100), (4250, 3205), (1000, 3400), (50, 2300)])


def stored_rooms(count: int) -> list[tuple[str, Room, Board]]:
    """The first rooms of the bench's file (drawn by tests/support/draw_rooms.py; invented)."""
    rooms = []
    for data in json.loads(STORED.read_text())["rooms"][:count]:
        room = make_room(data["outline"], islands=tuple((f"island {i + 1}", np.array(hole))
                                                        for i, hole in enumerate(data["holes"])),
                         pipes=tuple(Pipe(name=f"P{i + 1}", centre_mm=tuple(spot), diameter_mm=15.0)
                                     for i, spot in enumerate(data["pipes"])))
        rooms.append((data["kind"], room, Board(length_mm=data["board"][0], width_mm=data["board"][1], thickness_mm=8.0,
                                                pack=8)))
    return rooms


@pytest.fixture(scope="session")
def rooms_60() -> list[tuple[str, Room, Board]]:
    """Sixty random rooms of every kind with five boards."""
    return stored_rooms(60)


@pytest.fixture(scope="session")
def room_of():
    """`make_room`, for rooms a test draws itself."""
    return make_room
