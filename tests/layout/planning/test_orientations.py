"""Which way rows run: the walls that settle it."""
from __future__ import annotations

from math import cos, degrees, radians, sin

import numpy as np
import pytest

from layout.planning.orientations import turn, ways_to_lay
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Wishes


def bay(room_of, length: float):
    """A room of 5 by 4 m whose wall C-D faces A-B, 5 m long; it is `length` long and turned from it by half a
    degree."""
    c = (2500.0 + length / 2, 4600.0)
    d = (c[0] - length * cos(radians(0.5)), c[1] - length * sin(radians(0.5)))
    return room_of([(0, 0), (5000, 0), c, d])


@pytest.mark.parametrize(("length", "turned"), [(343.0, 0.0), (600.0, 0.0), (1500.0, 0.5), (2400.0, 0.5)])
def test_rows_that_start_at_a_short_wall_follow_the_long_one_opposite(length, turned, room_of):
    """3 mm of doubt at each end of 343 mm turn a row by up to a degree, those of 5 m by 0.07."""
    for way in ways_to_lay(bay(room_of, length), Wishes()):
        if way.start == ("C", "D"):
            assert abs(degrees(turn(2 * way.angle_rad))) / 2 == pytest.approx(turned, abs=1e-6)
            break
    else:
        pytest.fail("no way starts at C-D")


def test_a_start_wall_that_is_asked_for_turns_the_rows_however_short(room_of):
    way, = ways_to_lay(bay(room_of, 343.0), Wishes(start=("C", "D")))
    assert abs(degrees(turn(2 * way.angle_rad))) / 2 == pytest.approx(0.5, abs=1e-6)


def test_a_bay_is_no_place_to_start_where_another_wall_needs_no_more_boards():
    """Row 1 in a bay of 343 mm is no line for rows of four metres; the long wall over against it takes as many
    boards."""
    outline = [(-10, 2766), (4209, 2829), (4285, 452), (2508, 452), (2096, -10), (1753, 1), (1480, 405), (40, 388)]
    room = Room(names=tuple("ABCDEFGH"), outline_mm=np.array([(x, -y) for x, y in outline], dtype=float))
    plan = plan_floor(room, Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8), Wishes(), moves=400)
    level = [choice for choice in plan.choices if choice.boards == plan.choices[0].boards]
    first = sum(max(p[0] for p in ring) - min(p[0] for p in ring) for piece in plan.rows[0].pieces
                for ring in [[plan.to_row_frame(p) for p in piece.outline_mm]])
    assert len(level) > 1 and first > 0.9 * 4200
