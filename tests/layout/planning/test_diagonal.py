"""Rows that run along no wall. Common practice, no source: ends are sawn at an angle told with its short and long
point, no chip under 100 mm is laid, and the first rows are held to a chalk line that a tape can set out."""
from __future__ import annotations

from math import radians, tan

import numpy as np
import pytest
from shapely.geometry import LineString, Point

from layout.judge.check import find_faults
from layout.planfile.codec import from_answer, to_answer
from layout.planning.planner import plan_floor
from layout.planning.recount import recounted
from layout.region.gap import edge_window
from layout.words.plan import plan_words
from layout.room import Board, Room, Wishes, settle

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
ROOM = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4300, 0), (4300, 3400), (0, 3400)], dtype=float))


@pytest.fixture(scope="module", params=[20.0, 33.0, 45.0, 60.0])
def diagonal(request):
    return request.param, plan_floor(ROOM, BOARD, Wishes(direction_rad=radians(request.param)), moves=60)


def test_an_end_is_sawn_at_the_angle_of_the_wall(diagonal):
    """Against walls at right angles to one another an end is slanted by the rows' angle or by what it lacks of 90."""
    angle, plan = diagonal
    told = [cut for piece in plan.pieces for cut in piece.cuts if cut.kind == "cross"]
    ends = [cut for cut in told if cut.mitre_deg(BOARD.width_mm)]
    assert len(ends) > 30
    for cut in ends:
        assert min(abs(cut.mitre_deg(BOARD.width_mm) - want) for want in (angle, 90.0 - angle)) < 0.5
        assert abs(cut.at[1] - cut.at[0]) == pytest.approx(
            BOARD.width_mm * tan(radians(cut.mitre_deg(BOARD.width_mm))))
    # A template is for corners of the room, not for ends.
    assert sum(cut.kind == "line" for piece in plan.pieces for cut in piece.cuts) <= 8
    answer = to_answer(plan)
    mitres = [cut["mitre"] for row in answer["rows"] for run in row["runs"] for piece in run["pieces"]
              for cut in piece["cuts"] if "mitre" in cut]
    assert len(mitres) == len(ends) and from_answer(answer) == plan


def test_no_chip_is_laid(diagonal):
    _, plan = diagonal
    assert min(piece.to_mm - piece.from_mm for piece in plan.pieces) >= 100.0
    assert find_faults(plan, ROOM) == ()


def test_the_chalk_line_is_the_far_edge_of_its_row(diagonal):
    _, plan = diagonal
    assert plan.chalk is not None and "chalk line" in plan_words(plan, "metric").reasons[-1]
    ends = []
    for end in plan.chalk.ends:
        i = ROOM.names.index(end.wall[0])
        a, b = ROOM.outline_mm[i], ROOM.outline_mm[(i + 1) % 4]
        assert ROOM.names[(i + 1) % 4] == end.wall[1]
        ends.append(a + (b - a) / np.hypot(*(b - a)) * end.from_mm)
    row = plan.rows[plan.chalk.row - 1]
    line = LineString(ends)
    corners = [point for piece in row.pieces for point in piece.outline_mm
               if abs(plan.to_row_frame(point)[1] - row.far_mm) < 1e-6]
    assert corners and max(line.distance(Point(point)) for point in corners) < 1.5
    assert recounted(plan, ROOM, settle(Wishes(), 10.0, edge_window(10.0, Wishes()))).chalk == plan.chalk


def test_rows_along_a_wall_need_no_chalk_line():
    assert plan_floor(ROOM, BOARD, Wishes(), moves=0).chalk is None
