"""Which way rows run: the walls that settle it."""
from __future__ import annotations

from math import cos, degrees, radians, sin

import pytest

from layout.direction import turn, ways_to_lay
from layout.room import Wishes


def bay(room_of, length: float):
    """A room of 5 by 4 m whose wall C-D faces A-B, 5 m long; it is `length` long and turned from it by half a degree."""
    c = (2500.0 + length / 2, 4600.0)
    d = (c[0] - length * cos(radians(0.5)), c[1] - length * sin(radians(0.5)))
    return room_of([(0, 0), (5000, 0), c, d])


@pytest.mark.parametrize(("length", "turned"), [(343.0, 0.0), (600.0, 0.0), (1500.0, 0.5), (2400.0, 0.5)])
def test_rows_that_start_at_a_short_wall_follow_the_long_one_opposite(length, turned, room_of):
    """3 mm of doubt at each end of 343 mm turn a row by up to a degree, those of 5 m by 0.07."""
    for way in ways_to_lay(bay(room_of, length), Wishes()):
        if way.start == "C-D":
            assert abs(degrees(turn(2 * way.angle_rad))) / 2 == pytest.approx(turned, abs=1e-6)
            break
    else:
        pytest.fail("no way starts at C-D")


def test_a_start_wall_that_is_asked_for_turns_the_rows_however_short(room_of):
    way, = ways_to_lay(bay(room_of, 343.0), Wishes(start=("C", "D")))
    assert abs(degrees(turn(2 * way.angle_rad))) / 2 == pytest.approx(0.5, abs=1e-6)
