"""What the judge makes of single joints and edges: joints laid before it one by one, at places and of heights no
plan of ours has."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from layout.judge.rules import AT_END_MM, SAID_MM, check_rules
from layout.judge.piece_geometry import LEAST_CONTACT_MM, Joint, Laid, Reading, read
from layout.plan import Plan, Relaxed
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Wishes

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
#: The two rows looked at, by number.
UPPER, LOWER = 4, 5
Told = dict[tuple[str, str], float]


@pytest.fixture(scope="module")
def hearth() -> Plan:
    """The floor of `plan` with a hearth in its middle, 600 mm along: the seam of the two rows is two stretches, to s
    = 1680 and from 2300 mm."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 2650), (0, 2650)], dtype=float),
                islands=(("hearth", np.array([(1700, 500), (2300, 500), (2300, 1900), (1700, 1900)], dtype=float)),))
    return plan_floor(room, BOARD, Wishes(along=("A", "B"), start=("A", "B"), gap_least_mm=10.0, gap_most_mm=10.0),
                      moves=100)


def reading_with(plan: Plan, above: float, below: float, *, reach_mm: float = 0.0) -> Reading:
    """The plan's reading with one joint in each of the two rows, at these s; they end `reach_mm` short of the seam
    between them."""
    reading = read(plan)
    level = plan.rows[UPPER - 1].far_mm
    return replace(reading, joints=(joint_in(reading, UPPER, above, level - 192.0, level - reach_mm),
                                    joint_in(reading, LOWER, below, level + reach_mm, level + 192.0)))


def joint_in(reading: Reading, row: int, s: float, near: float, far: float) -> Joint:
    """A joint of two pieces of the row whose factory ends lie at s."""
    one = next(one for one in reading.laid if one.row == row)
    return Joint(left=replace(one, s0_mm=s - BOARD.length_mm), right=replace(one, s0_mm=s), s_mm=s, near_mm=near,
                 far_mm=far)


def told(plan: Plan, reading: Reading) -> Told:
    return {(fault.slug, fault.where): fault.amount for fault in check_rules(plan, reading)}


STAGGER = ("stagger", f"row {LOWER}")


@pytest.mark.parametrize("above, below", [(700.0, 800.0), (800.0, 700.0), (3700.0, 3900.0)])
def test_two_joints_nearer_than_the_stagger_are_told(plan, above, below):
    assert told(plan, reading_with(plan, above, below)) == {STAGGER: pytest.approx(abs(above - below))}


def test_joints_as_far_apart_as_the_stagger_are_not(plan):
    assert told(plan, reading_with(plan, 700.0, 1000.0)) == told(plan, reading_with(plan, 700.0, 1000.0 - 5e-6)) == {}
    assert told(plan, reading_with(plan, 700.0, 1000.0 - 2e-5)) == {STAGGER: pytest.approx(300.0)}


@pytest.mark.parametrize("end, inward", [(0.0, 1.0), (3980.0, -1.0)])
def test_a_joint_at_the_very_end_of_a_seam_counts_or_not_as_the_plan_likes(plan, end, inward):
    """Within a hundredth of a millimetre of the end nobody can say on which side of it a joint lies."""
    assert AT_END_MM == 0.01
    for off, counts in ((0.005, False), (0.02, True)):
        at, other = end + inward * off, end + inward * 100.0
        for above, below in ((at, other), (other, at)):
            reading, had = reading_with(plan, above, below), abs(at - other)
            assert told(plan, reading) == ({STAGGER: pytest.approx(had)} if counts else {})
            owned_up = replace(plan, relaxed=(Relaxed(rule="stagger", where=STAGGER[1], asked_mm=300.0, had_mm=had),))
            assert told(owned_up, reading) == {}
            wrong = replace(owned_up, relaxed=(replace(owned_up.relaxed[0], had_mm=had - 3 * SAID_MM),))
            assert told(wrong, reading) == ({STAGGER: pytest.approx(had)} if counts else {})


def test_where_a_joint_lies_at_the_end_less_may_be_told_than_the_others_leave_but_not_more(plan):
    """Two joints in the row below: one at the end of the seam, 100 mm from the one above, and one that is 200 mm
    from it."""
    reading = reading_with(plan, 100.0, 0.0)
    reading = replace(reading, joints=(*reading.joints, replace(reading.joints[1], s_mm=300.0)))
    for had, ok in ((200.0, True), (100.0, True), (200.0 + 2 * SAID_MM, False), (250.0, False)):
        gave = Relaxed(rule="stagger", where=STAGGER[1], asked_mm=300.0, had_mm=had)
        faults = {key for key in told(replace(plan, relaxed=(gave,)), reading) if key[0] == "stagger"}
        assert faults == (set() if ok else {STAGGER})


def test_a_joint_that_does_not_reach_the_seam_does_not_count_on_it(plan):
    """Beside an island a row lies in two runs, one behind the other: the joints of the far one are nothing to the
    seam of the near one."""
    assert told(plan, reading_with(plan, 700.0, 800.0, reach_mm=5e-5)) == {STAGGER: pytest.approx(100.0)}
    assert told(plan, reading_with(plan, 700.0, 800.0, reach_mm=20.0)) == {}
    reaching, short = (reading_with(plan, 700.0, 800.0, reach_mm=reach).joints for reach in (0.0, 20.0))
    for joints in ((reaching[0], short[1]), (short[0], reaching[1])):
        assert told(plan, replace(read(plan), joints=joints)) == {}


def test_joints_on_two_stretches_of_a_seam_are_nothing_to_each_other(hearth):
    wide = replace(hearth, rules=replace(hearth.rules, stagger_mm=800.0))
    assert STAGGER not in told(wide, reading_with(wide, 1600.0, 2350.0))
    assert told(wide, reading_with(wide, 1600.0, 1500.0))[STAGGER] == pytest.approx(100.0)


def test_the_width_of_a_row_is_told_of_parts_that_have_one(plan):
    """A wedge under a millimetre wide has none along the rows: between walls that run with them; a strip of 40 mm
    has."""
    reading, level = read(plan), plan.rows[UPPER - 1].near_mm
    wedge = Polygon([(100.0, level), (100.8, level), (100.0, level + 190.0)])
    strip = Polygon([(200.0, level), (900.0, level), (900.0, level + 40.0), (200.0, level + 45.0)])
    for parts, had in (([wedge], None), ([wedge, strip], 40.0)):
        faults = told(plan, replace(reading, parts={**reading.parts, UPPER: parts}))
        assert faults == ({} if had is None else {("narrowest", f"row {UPPER}"): pytest.approx(had, abs=0.01)})


def test_a_joint_of_a_hairs_height_asks_for_no_factory_end(plan):
    """Two ends that touch along less than two millimetres are corners that meet."""
    reading = read(plan)
    joint = next(joint for joint in reading.joints if joint.left.row == UPPER)
    sawn = replace(joint, left=replace(joint.left, s0_mm=joint.left.s0_mm - 5.0))
    for high, is_told in ((LEAST_CONTACT_MM - 0.1, False), (LEAST_CONTACT_MM, True), (LEAST_CONTACT_MM + 0.1, True)):
        low = replace(sawn, far_mm=sawn.near_mm + high)
        faults = {key: amount for key, amount in told(plan, replace(reading, joints=(low,))).items()
                  if key[0] == "joint-cut-end"}
        assert faults == ({("joint-cut-end", joint.left.piece.id): pytest.approx(5.0)} if is_told else {})


def test_a_ripped_edge_may_touch_a_seam_with_a_corner(plan):
    reading = read(plan)
    one = next(one for one in reading.laid if one.row == UPPER)
    for wide, is_told in ((LEAST_CONTACT_MM - 0.1, False), (LEAST_CONTACT_MM + 0.1, True)):
        nosed = replace(one, rings=(nose(one, wide),), t0_mm=one.t0_mm - 5.0)
        faults = told(plan, replace(reading, joints=(),
                                    laid=tuple(nosed if other is one else other for other in reading.laid)))
        assert faults == ({("seam-cut-edge", one.piece.id): pytest.approx(5.0)} if is_told else {})


def nose(one: Laid, wide: float) -> np.ndarray:
    """The outline of a piece that stays 5 mm clear of its seams but for a nose on its far side."""
    left, near, right, far = one.shape.bounds
    middle = (left + right) / 2
    return np.array([(left, near + 5), (right, near + 5), (right, far - 5), (middle + wide, far - 5),
                     (middle + wide, far), (middle, far), (middle, far - 5), (left, far - 5), (left, near + 5)])
