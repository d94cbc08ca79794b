"""Islands that touch walls or one another, by rounding a hair too far, and such as overlap: a plan the judge
accepts, or a sentence."""
from __future__ import annotations

import numpy as np
import pytest

from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Wishes

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)


def room_with(*boxes: tuple[float, float, float, float]) -> Room:
    """4000 x 2650 mm with boxes: left, near, width, depth."""
    islands = tuple((f"box {k + 1}", np.array([(x, y), (x + w, y), (x + w, y + d), (x, y + d)], dtype=float))
                    for k, (x, y, w, d) in enumerate(boxes))
    return Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 2650), (0, 2650)], dtype=float),
                islands=islands)


@pytest.mark.parametrize("second", [(1300.0, 1000.0), (1300.0, 1100.0), (1300.0, 1300.0), (1299.999, 1000.0),
                                    (1299.9999999, 1050.0)])
@pytest.mark.parametrize("turn_rad", [0.0, 0.3])
def test_islands_that_touch(second, turn_rad):
    room = room_with((1000.0, 1000.0, 300.0, 300.0), (*second, 300.0, 300.0))
    plan = plan_floor(room, BOARD, Wishes(direction_rad=turn_rad), moves=0)
    assert find_faults(plan, room) == ()


@pytest.mark.parametrize("left", [0.0, 1e-9, -1e-9, -0.5])
@pytest.mark.parametrize("turn_rad", [0.0, 0.3])
def test_islands_that_touch_a_wall(left, turn_rad):
    room = room_with((left, 1000.0, 300.0, 300.0), (1100.0, 1100.0, 50.0, 50.0))
    plan = plan_floor(room, BOARD, Wishes(direction_rad=turn_rad), moves=0)
    assert find_faults(plan, room) == ()


@pytest.mark.parametrize("second", [(1280.0, 1000.0, 300.0, 300.0), (1299.5, 1000.0, 300.0, 300.0),
                                    (1100.0, 1100.0, 50.0, 50.0), (900.0, 900.0, 600.0, 600.0),
                                    (1260.0, 1200.0, 120.0, 40.0)])
def test_islands_that_overlap_are_refused_however_little(second):
    """The last is two boxes met on a floor being laid: some 5000 mm2 in common, less than a millimetre along the
    walls would be."""
    with pytest.raises(LayoutError, match="box 2 overlaps another island; make them one") as caught:
        plan_floor(room_with((1000.0, 1000.0, 300.0, 300.0), second), BOARD, Wishes(direction_rad=0.0), moves=0)
    assert caught.value.slug == "bad-island" and caught.value.where == "islands.box 2"
