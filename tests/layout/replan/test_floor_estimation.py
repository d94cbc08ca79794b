"""What readings on the day tell: against a batch adjustment by another route, against drawn truths, and against
plain arithmetic."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from capture.floor import Z95, Floor
from layout.region.slivers import CHIP_MM
from layout.replan.floor_estimation import (
    BOW_SD_MM, SETTING_SD_MM, TAPE_SD_MM, WALL_SD_MM, WIDTH_SD_MM, Push, Reading, estimate, floor_now, middles)
from layout.replan.updated_room import corrected
from layout.replan.forecast import outlook_of
from layout.planning.planner import plan_floor
from layout.room import Room, Wishes

CORNER_SD = 3.0


def floor_of(room: Room, sd: float = CORNER_SD) -> Floor:
    """The room's floor with every corner known to `sd`."""
    n = len(room.names)
    return Floor(names=room.names, points_mm=room.outline_mm, cov_mm2=np.eye(2 * n) * sd ** 2, outline=room.names)


@pytest.fixture(scope="module")
def plan(box_3x4, board):
    """Rows along the 4 m wall, starting there."""
    return plan_floor(box_3x4, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)


def test_the_prior_expects_what_the_plan_says(plan, box_3x4):
    drift = estimate(plan, floor_of(box_3x4), [])
    left, right = middles(plan, 5)
    assert drift.ahead(5, left)[0] == pytest.approx(3000 - 10 - plan.rows[4].far_mm)
    assert drift.last_width(right)[0] == pytest.approx(plan.rows[-1].far_mm - plan.rows[-1].near_mm)
    assert drift.cover_width == pytest.approx((192.0, WIDTH_SD_MM)) and drift.turn_rad()[0] == 0.0


def test_one_reading_after_another_is_the_batch_adjustment(plan, box_3x4):
    """Sequential and simultaneous least squares agree (Mikhail & Ackermann 1976, ch. 12, from memory); here the batch
    is solved by numpy's lstsq on whitened lines, with parameters of its own: how far the far wall's ends stand off, its
    bow, and the width."""
    left, right = middles(plan, 3)
    readings = [Reading(row=3, s_mm=left, distance_mm=2400.0, entry=1),
                Reading(row=3, s_mm=right, distance_mm=2405.0, entry=1),
                Reading(row=9, s_mm=left, distance_mm=1250.0, entry=2)]
    readings = [replace(r, distance_mm=2990 - plan.rows[r.row - 1].far_mm + off)
                for r, off in zip(readings, (-4.0, 3.0, -5.0))]
    drift = estimate(plan, floor_of(box_3x4), readings)
    # Distance of a far corner from the start wall: its own t, less the start wall's two corners carried to it (here
    # right above them).
    corner_sd = (2 * CORNER_SD ** 2 + WALL_SD_MM ** 2 + SETTING_SD_MM ** 2) ** 0.5
    lines, sides = [], []
    for r, off in zip(readings, (-4.0, 3.0, -5.0)):
        share = (r.s_mm + 10.0) / 4000.0
        lines.append(np.array([1 - share, share, 4 * share * (1 - share), -(r.row - 1.0)]) / TAPE_SD_MM)
        sides.append(off / TAPE_SD_MM)
    prior = np.diag([1 / corner_sd, 1 / corner_sd, 1 / BOW_SD_MM, 1 / WIDTH_SD_MM])
    batch = np.linalg.lstsq(np.vstack([lines, prior]), np.concatenate([sides, np.zeros(4)]), rcond=None)[0]
    cov = np.linalg.inv(np.vstack([lines, prior]).T @ np.vstack([lines, prior]))
    assert drift.cover_width[0] - 192.0 == pytest.approx(batch[3], abs=2e-3)
    assert drift.cover_width[1] == pytest.approx(cov[3, 3] ** 0.5, rel=2e-2)
    share = (left + 10.0) / 4000.0
    rows = len(plan.rows)
    slope = np.array([1 - share, share, 4 * share * (1 - share), -(rows - 2.0)])
    had = plan.rows[-1].far_mm - plan.rows[-1].near_mm
    assert drift.last_width(left)[0] == pytest.approx(had + slope @ batch, abs=0.1)
    assert drift.last_width(left)[1] == pytest.approx((slope @ cov @ slope) ** 0.5, rel=0.05)


def test_intervals_of_the_last_row_hold_the_truth(plan, box_3x4):
    """300 drawn rooms, two readings after row 8: the 95 % interval holds 91.5 to 98 % of the true widths (binomial,
    99.9 %)."""
    rng = np.random.default_rng(5)
    left, right = middles(plan, 8)
    held = 0
    for _ in range(300):
        far = rng.normal(0, (2 * CORNER_SD ** 2 + WALL_SD_MM ** 2 + SETTING_SD_MM ** 2) ** 0.5, 2)
        bow, wide = rng.normal(0, BOW_SD_MM), rng.normal(0, WIDTH_SD_MM)

        def wall(s, far=far, bow=bow):
            share = (s + 10.0) / 4000.0
            return 2990 + (1 - share) * far[0] + share * far[1] + 4 * share * (1 - share) * bow

        readings = [Reading(row=8, s_mm=s, distance_mm=wall(s) - plan.rows[7].far_mm - 7 * wide
                            + rng.normal(0, TAPE_SD_MM)) for s in (left, right)]
        drift = estimate(plan, floor_of(box_3x4), readings)
        mean, sd = drift.last_width(left)
        near = plan.rows[-2].far_mm + (len(plan.rows) - 2) * wide
        held += abs(wall(left) - near - plan.gap_mm - mean) < Z95 * sd
    assert 0.915 < held / 300 < 0.98


def test_a_wider_board_is_a_nearer_wall(plan, box_3x4):
    """Row after row 0.1 mm short: the boards cover more than planned, and the wall itself stays where it was."""
    left, right = middles(plan, 1)
    readings = [Reading(row=k, s_mm=s, distance_mm=2990 - plan.rows[k - 1].far_mm - 0.25 * (k - 1), entry=k)
                for k in range(1, 14) for s in (left, right)]
    drift = estimate(plan, floor_of(box_3x4), readings)
    width, sd = drift.cover_width
    assert width == pytest.approx(192.25, abs=2.5 * sd) and width > 192.1 and sd < 0.06
    room = corrected(plan, box_3x4, drift, 13)
    assert room.outline_mm[2, 1] == pytest.approx(3000 - 0.25 * 14, abs=1.5)


def test_what_the_laid_rows_touch_stays_and_far_corners_slide_along_their_walls(board, room_of):
    room = room_of([(0, 0), (4000, 0), (4120, 3000), (-80, 3000)])
    plan = plan_floor(room, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
    left, right = middles(plan, 8)
    base = estimate(plan, floor_of(room), [])
    drift = estimate(plan, floor_of(room), [Reading(row=8, s_mm=s, distance_mm=base.ahead(8, s)[0] - 9)
                                            for s in (left, right)])
    moved = corrected(plan, room, drift, 8).outline_mm
    assert np.array_equal(moved[:2], room.outline_mm[:2]) and (moved[2:, 1] < 2996).all()
    for a, b in ((1, 2), (0, 3)):
        was, now = room.outline_mm[b] - room.outline_mm[a], moved[b] - moved[a]
        assert abs(was[0] * now[1] - was[1] * now[0]) < 1e-6 * np.hypot(*was) * np.hypot(*now)


def test_a_push_to_the_start_wall_widens_and_is_told_apart_from_a_slip(plan, box_3x4):
    left, _ = middles(plan, 6)
    base = estimate(plan, floor_of(box_3x4), [Reading(row=6, s_mm=left, distance_mm=2990 - plan.rows[5].far_mm)])
    pushed = estimate(plan, floor_of(box_3x4),
                      [Reading(row=6, s_mm=left, distance_mm=2990 - plan.rows[5].far_mm), Push(towards_start_mm=5.0),
                       Reading(row=6, s_mm=left, distance_mm=2995 - plan.rows[5].far_mm, entry=1)])
    assert not any(verdict.left_out for verdict in pushed.verdicts)
    assert pushed.last_width(left)[0] == pytest.approx(base.last_width(left)[0] + 5.0, abs=0.5)


def test_the_floor_as_now_known_keeps_its_start_wall_and_is_surer_than_the_survey(plan, box_3x4):
    left, right = middles(plan, 8)
    readings = [Reading(row=8, s_mm=s, distance_mm=2990 - plan.rows[7].far_mm - 3) for s in (left, right)]
    before, after = (floor_now(estimate(plan, floor_of(box_3x4), found), box_3x4) for found in ([], readings))
    assert not after.covariance(("A", "B")).any()
    assert after.length("B", "C").pm95_mm < before.length("B", "C").pm95_mm


def test_the_first_row_that_is_told_leaves_first_and_last_row_wide_enough(box_3x4, board, room_of):
    """Readings after row 1 that make the last row of some box too narrow: the first row told puts it right, by plain
    arithmetic."""
    for depth in (2955, 2960, 2963, 2966):
        room = room_of([(0, 0), (4000, 0), (4000, depth), (0, depth)])
        plan = plan_floor(room, board, Wishes(along=("A", "B"), start=("A", "B"), first_row_mm=192.0), moves=60)
        base = estimate(plan, floor_of(room), [])
        drift = estimate(plan, floor_of(room), [Reading(row=1, s_mm=s, distance_mm=base.ahead(1, s)[0] - 9)
                                                for s in middles(plan, 1)])
        look = outlook_of(drift, base, 1, (room, corrected(plan, room, drift, 1)))
        if look.fix == "first-row":
            last = (depth - 9 - 20 - look.fix_mm) % 192
            assert 60 <= look.fix_mm <= 192 and 60 <= last <= 192
        else:
            assert plan.relaxed or (depth - 20) % 192 - 9 >= 60


def test_a_new_first_row_leaves_three_standard_deviations_and_as_much_as_can_be_either_way(board, room_of):
    """By plain arithmetic on the far corners of the room as now known; any first row costs the same, so there is no
    reason to stop at 95 %."""
    for depth in (2960, 2963, 2966, 2970):
        room = room_of([(0, 0), (4000, 0), (4000, depth), (0, depth)])
        plan = plan_floor(room, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
        base = estimate(plan, floor_of(room), [])
        drift = estimate(plan, floor_of(room), [Reading(row=1, s_mm=s, distance_mm=base.ahead(1, s)[0] - 9)
                                                for s in middles(plan, 1)])
        now = corrected(plan, room, drift, 1)
        look = outlook_of(drift, base, 1, (room, now))
        assert look.fix == "first-row"
        spread = 3.0 * max(end.pm95_mm for end in look.ends) / Z95
        good = {first for first in range(60, 193)
                if all(60 <= (far + off - 2 * 10.0 - first) % 192 for far in now.outline_mm[2:, 1]
                       for off in (-spread, 0.0, spread))}
        low = high = look.fix_mm
        while low - 1 in good:
            low -= 1
        while high + 1 in good:
            high += 1
        # A strip too thin to saw is left to the gap, so the stretch may be that much longer on one side.
        assert look.fix_mm in good and abs((low + high) / 2 - look.fix_mm) <= CHIP_MM / 2 + 1


def test_a_row_that_will_be_too_narrow_is_told_with_its_remedy_and_until_when(board, room_of):
    room = room_of([(0, 0), (4000, 0), (4000, 2963), (0, 2963)])
    plan = plan_floor(room, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
    assert plan.rows[-1].far_mm - plan.rows[-1].near_mm == pytest.approx(63)
    floor, base = floor_of(room), estimate(plan, floor_of(room), [])
    for row, fix in ((1, "first-row"), (4, "push"), (12, "none")):
        readings = [Reading(row=row, s_mm=s, distance_mm=base.ahead(row, s)[0] - 7) for s in middles(plan, row)]
        drift = estimate(plan, floor, readings)
        look = outlook_of(drift, base, row, (room, corrected(plan, room, drift, row)))
        assert look.fix == fix and look.matters and (fix != "push" or row <= look.free_until < 12)
    look = outlook_of(base, base, 4, (room, room))
    assert look.fix == "" and look.ends[0].planned_mm == pytest.approx(63)


def test_a_push_is_told_only_where_it_helps(board, room_of):
    """Readings too far apart to believe either leave a last row that is wide enough as expected: a millimetre's push
    puts nothing right."""
    room = room_of([(0, 0), (4000, 0), (4000, 2966), (0, 2966)])
    plan = plan_floor(room, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
    floor, base = floor_of(room, 12.0), estimate(plan, floor_of(room, 12.0), [])
    drift = estimate(plan, floor, [Reading(row=4, s_mm=middles(plan, 4)[0],
                                           distance_mm=base.ahead(4, middles(plan, 4)[0])[0])])
    look = outlook_of(drift, base, 4, (room, corrected(plan, room, drift, 4)))
    assert min(end.mean_mm for end in look.ends) >= 60 > min(end.low_mm for end in look.ends)
    assert (look.fix, look.fix_mm) == ("measure", 0.0) and 4 <= look.free_until < 12
    assert outlook_of(drift, base, 12, (room, corrected(plan, room, drift, 12))).fix == "none"


def test_where_another_wall_stands_beside_the_start_wall_the_tape_begins_there(board, room_of):
    """The plain distance from wall to wall; a shorter reading brings the far wall nearer, if not by all of it:
    either wall may be off."""
    room = room_of([(0, 40), (1500, 40), (1500, 300), (2000, 300), (2000, 0), (4500, 0), (4500, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(along=("E", "F"), start=("E", "F"), first_row_mm=120.0), moves=60)
    base = estimate(plan, floor_of(room), [])
    left, right = middles(plan, 0)
    assert base.ahead(0, left)[0] == pytest.approx(3000.0) and base.ahead(0, right)[0] == pytest.approx(2960.0)
    told = estimate(plan, floor_of(room), [Reading(row=0, s_mm=right, distance_mm=2955.0)])
    assert not any(verdict.left_out for verdict in told.verdicts)
    assert base.ahead(9, right)[0] - 4.0 < told.ahead(9, right)[0] < base.ahead(9, right)[0] - 1.0
