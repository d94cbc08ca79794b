"""The judge on end joints near pipe holes and notches, at its limits: a hole or a notch is put at a known distance from
a known joint.

Only `check_joints` is asked; the plan's pieces stay as they are, its holes and its cover are put elsewhere. Distances
by plane geometry.
"""
from __future__ import annotations

from dataclasses import replace
from math import hypot, radians, sqrt, tan

import numpy as np
import pytest

from layout.judge.joints import check_joints
from layout.judge.piece_geometry import read
from layout.plan import Hole, Plan, Polygon, Relaxed
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Rules, Wishes

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
ROW = 4
RADIUS = 20.0


@pytest.fixture(scope="module")
def box() -> Plan:
    """A rectangle: every piece is one, and rows 2 to the last but one are whole boards wide."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 2650), (0, 2650)], dtype=float))
    return plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, rules=Rules()),
                      moves=200)


def joint(plan: Plan) -> tuple[float, float]:
    """(s of the first joint of the row, t of the middle of the row)."""
    row = plan.rows[ROW - 1]
    return row.pieces[0].to_mm - row.pieces[0].from_mm, (row.near_mm + row.far_mm) / 2


def told(plan: Plan) -> dict[str, float]:
    """What is said of the row: amount by slug. What bites into it may bite its neighbour too."""
    return {fault.slug: fault.amount for fault in check_joints(plan, read(plan)) if fault.where == f"row {ROW}"}


def with_hole(plan: Plan, s: float, t: float) -> Plan:
    hole = Hole(pipe="P1", centre_mm=plan.to_plan(s, t), pipe_mm=2 * RADIUS - 20.0, diameter_mm=2 * RADIUS, pieces=())
    return replace(plan, holes=(hole,))


def with_bite(plan: Plan, corners: list[tuple[float, float]]) -> Plan:
    """The cover with wood taken out where the corners (s, t) lie."""
    (part,) = plan.cover
    return replace(plan, cover=(Polygon(outline=part.outline, holes=(tuple(plan.to_plan(s, t) for s, t in corners),)),))


def rectangle(left: float, right: float, near: float, far: float) -> list[tuple[float, float]]:
    return [(left, near), (right, near), (right, far), (left, far)]


def gives_way(plan: Plan, rule: str, asked: float, had: float) -> Plan:
    return replace(plan, relaxed=(Relaxed(rule=rule, where=f"row {ROW}", asked_mm=asked, had_mm=had),))


@pytest.mark.parametrize("side", [-1, 1])
def test_a_joint_keeps_thirty_mm_of_wood_to_a_hole(box, side):
    s, t = joint(box)
    assert told(with_hole(box, s + side * (RADIUS + 30.01), t)) == {}
    assert told(with_hole(box, s + side * (RADIUS + 29.9), t)) == {"pipe-joint": pytest.approx(29.9, abs=1e-6)}
    assert told(with_hole(box, s + side * 12.0, t)) == {"pipe-joint": 0.0}


def test_a_joint_on_the_middle_of_a_pipe_halves_its_hole(box):
    s, t = joint(box)
    assert told(with_hole(box, s + 0.49, t)) == {}
    assert told(with_hole(box, s + 0.53, t)) == {"pipe-joint": 0.0}


def test_a_hole_whose_middle_lies_in_the_next_row_is_measured_aslant(box):
    """The joint ends at the seam: the least distance is the hypotenuse."""
    s, _ = joint(box)
    far = box.rows[ROW - 1].far_mm
    assert told(with_hole(box, s + 35.0, far + 10.0)) == {"pipe-joint": pytest.approx(hypot(35.0, 10.0) - RADIUS,
                                                                                      abs=1e-6)}


@pytest.mark.parametrize(("bitten_mm2", "counts"), [(1.7, False), (2.4, True)])
def test_a_hole_that_hardly_bites_a_row_does_not_weaken_its_joint(box, bitten_mm2, counts):
    """A circular segment of small height h has the area 4/3 h sqrt(2 r h) (first term of its series; h/r is 0.6 %)."""
    s, _ = joint(box)
    height = (0.75 * bitten_mm2 / sqrt(2 * RADIUS)) ** (2 / 3)
    far = box.rows[ROW - 1].far_mm
    assert ("pipe-joint" in told(with_hole(box, s + 5.0, far + RADIUS - height))) is counts


@pytest.mark.parametrize("side", [-1, 1])
def test_a_joint_keeps_sixty_mm_to_a_notch_on_either_side(box, side):
    s, t = joint(box)
    row = box.rows[ROW - 1]
    for off, amount in ((60.01, {}), (59.9, {"notch-joint": pytest.approx(59.9, abs=1e-6)})):
        ends = sorted((s + side * off, s + side * (off + 200.0)))
        assert told(with_bite(box, rectangle(*ends, t, row.far_mm + 40.0))) == amount


@pytest.mark.parametrize(("deep_mm", "must_be_said", "may_be_said"),
                         [(13.0, False, False), (15.0, False, True), (17.0, True, True)])
def test_a_notch_counts_from_fifteen_millimetres_of_depth_on(box, deep_mm, must_be_said, may_be_said):
    """A shallower step is taken up by the edge window or no saw can make it. The judge leaves 14 to 16 mm open: there a
    plan may say that the rule gave way, and need not."""
    s, _ = joint(box)
    row = box.rows[ROW - 1]
    bitten = with_bite(box, rectangle(s + 40.0, s + 240.0, row.far_mm - deep_mm, row.far_mm + 40.0))
    assert ("notch-joint" in told(bitten)) is must_be_said
    assert ("relaxed-wrong" not in told(gives_way(bitten, "notch-joint", 60.0, 40.0))) is may_be_said


@pytest.mark.parametrize(("steep_deg", "counts"), [(19.5, False), (20.5, True)])
def test_a_side_counts_as_across_the_row_from_twenty_degrees_on(box, steep_deg, counts):
    """A notch with a slanted side that ends, 40 mm past the joint, in an inner corner; its other side is far off."""
    s, t = joint(box)
    far = box.rows[ROW - 1].far_mm
    run = (far - t) / tan(radians(steep_deg))
    assert ("notch-joint" in told(with_bite(box,
                                            [(s + 40.0 - run, far), (s + 40.0, t), (s + 900.0, t),
                                             (s + 900.0, far)]))) is counts


def test_corners_that_stand_out_of_the_wood_do_not_count(box):
    """The row narrows from a step on: at the step one corner stands into the wood and the other, at the row's edge,
    does not."""
    s, t = joint(box)
    row = box.rows[ROW - 1]
    stepped = with_bite(box, [(s + 40.0, t), (s + 100.0, t), (s + 100.0, t - 30.0), (s + 900.0, t - 30.0),
                              (s + 900.0, row.far_mm + 9.0), (s + 40.0, row.far_mm + 9.0)])
    assert told(stepped) == {"notch-joint": pytest.approx(40.0, abs=1e-6)}


def test_a_notch_in_another_stretch_of_the_row_is_no_matter(box):
    """An island as deep as the row parts it; the notch beside it stands 45 mm from the joint, but beyond the island."""
    s, t = joint(box)
    row = box.rows[ROW - 1]
    (part,) = box.cover
    island = tuple(box.to_plan(*corner) for corner in rectangle(s + 10.0, s + 30.0, row.near_mm - 9.0,
                                                                row.far_mm + 9.0))
    notch = tuple(box.to_plan(*corner) for corner in rectangle(s + 45.0, s + 245.0, t, row.far_mm + 9.0))
    assert told(replace(box, cover=(Polygon(outline=part.outline, holes=(notch,)),))) != {}
    assert told(replace(box, cover=(Polygon(outline=part.outline, holes=(island, notch)),))) == {}


@pytest.mark.parametrize(("said_mm", "slug"),
                         [(40.0, None), (40.04, None), (40.2, "notch-joint"), (39.8, "relaxed-wrong")])
def test_the_plan_says_by_how_much(box, said_mm, slug):
    s, t = joint(box)
    bitten = with_bite(box, rectangle(s + 40.0, s + 240.0, t, box.rows[ROW - 1].far_mm + 40.0))
    found = set(told(gives_way(bitten, "notch-joint", 60.0, said_mm)))
    assert (slug in found) if slug else found == set()


def test_a_joint_within_a_hundred_mm_of_one_two_rows_before_is_told(box):
    """Joints laid before the judge one by one, in rows 2 and 4; boards under 1200 mm, a pattern and several lengths are
    laid as they are."""
    reading = read(box)
    joints = {number: next(joint for joint in reading.joints if joint.left.row == number) for number in (2, 4)}
    for off, amount in ((100.0, {}), (99.0, {"alike": 99.0}), (-40.0, {"alike": 40.0}), (0.0, {"alike": 0.0})):
        near = replace(reading, joints=(replace(joints[2], s_mm=900.0), replace(joints[4], s_mm=900.0 + off)))
        plain = replace(box, relaxed=())
        found = {fault.slug: fault.amount for fault in check_joints(plain, near)}
        assert found == {slug: pytest.approx(had) for slug, had in amount.items()}
        gave = replace(box, relaxed=(Relaxed(rule="alike", where="row 4", asked_mm=100.0, had_mm=abs(off)),))
        assert check_joints(gave, near) == []
        short = replace(plain, board=replace(BOARD, length_mm=1199.0))
        assert check_joints(short, near) == check_joints(replace(plain, pattern="halves"), near) == []
    far = replace(reading, joints=(replace(joints[2], s_mm=900.0), replace(joints[4], s_mm=1200.0)))
    wrong = replace(box, relaxed=(Relaxed(rule="alike", where="row 4", asked_mm=100.0, had_mm=60.0),))
    assert [fault.slug for fault in check_joints(wrong, far)] == ["relaxed-wrong"]
