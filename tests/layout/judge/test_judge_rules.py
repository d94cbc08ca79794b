"""What the judge says of joints, seams and rules: places and amounts worked out by hand, and widths of floors drawn
as plain polygons."""
from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import numpy as np
import pytest

from layout.judge.rules import check_rules
from layout.judge.piece_geometry import read
from layout.plan import Plan, Polygon, Relaxed
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Rules, Wishes
from tests.support.altered import with_piece

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
Told = dict[tuple[str, str], float]
#: No two joints of neighbouring rows are asked to be as far apart as this.
LIMIT_MM = 640.0


def told(plan: Plan, **change: object) -> Told:
    changed = replace(plan, **change)
    return {(fault.slug, fault.where): fault.amount for fault in check_rules(changed, read(changed))}


def joints(row) -> list[float]:
    return list(np.cumsum([piece.to_mm - piece.from_mm for piece in row.pieces])[:-1])


def staggers(plan: Plan) -> dict[str, float]:
    """The least distance of joints at each seam, by the row below it."""
    return {f"row {lower.number}": min(abs(a - b) for a in joints(upper) for b in joints(lower))
            for upper, lower in zip(plan.rows, plan.rows[1:])}


def test_every_seam_under_the_stagger_is_told_with_its_distance(plan):
    least = staggers(plan)
    for limit in (310.0, 400.0, 500.0):
        expected = {("stagger", where): pytest.approx(had, abs=1e-6) for where, had in least.items() if had < limit}
        assert expected and told(plan, rules=replace(plan.rules, stagger_mm=limit)) == expected


def test_every_piece_under_the_shortest_is_told_with_its_length(plan):
    lengths = {piece.id: piece.to_mm - piece.from_mm for piece in plan.pieces}
    for limit in (500.0, 900.0):
        expected = {("shortest", name): pytest.approx(length) for name, length in lengths.items() if length < limit}
        assert expected and told(plan, rules=replace(plan.rules, shortest_mm=limit)) == expected
    least = min(lengths.values())
    for off, is_told in ((5e-6, False), (2e-5, True)):
        assert bool(told(plan, rules=replace(plan.rules, shortest_mm=least + off))) is is_told


def test_every_row_under_the_narrowest_is_told_with_its_width(plan):
    widths = {f"row {row.number}": row.far_mm - row.near_mm for row in plan.rows}
    narrow = {("narrowest", where): pytest.approx(width, abs=1e-6) for where, width in widths.items() if width < 191.0}
    assert narrow and told(plan, rules=replace(plan.rules, narrowest_mm=191.0)) == narrow
    least = min(widths.values())
    for off, is_told in ((0.009, False), (0.011, True)):
        assert bool(told(plan, rules=replace(plan.rules, narrowest_mm=least + off))) is is_told


def test_what_a_rule_is_said_to_have_given_is_held_against_what_it_gave(plan):
    least = staggers(plan)
    where, had = min(least.items(), key=lambda item: item[1])
    limit = had + 1.0
    rules = replace(plan.rules, stagger_mm=limit)

    def said(**change: object) -> Told:
        gave = Relaxed(rule="stagger", where=where, asked_mm=limit, had_mm=had)
        others = tuple(replace(gave, where=other, had_mm=mm) for other, mm in least.items() if mm < limit
                       and other != where)
        return told(plan, rules=rules, relaxed=(replace(gave, **change), *others))

    assert (
        said()
        == said(had_mm=had + 0.04)
        == said(had_mm=had - 0.04)
        == said(asked_mm=limit + 0.04)
        == said(asked_mm=limit - 0.04)
        == {}
    )
    for change in ({"had_mm": had + 0.06}, {"had_mm": had - 0.06}, {"asked_mm": limit + 0.06},
                   {"asked_mm": limit - 0.06}):
        assert said(**change) == {("stagger", where): pytest.approx(had)}
    assert said(rule="shortest") == {("stagger", where): pytest.approx(had),
                                     ("relaxed-wrong", where): pytest.approx(had)}


@pytest.mark.parametrize("short_mm, is_told", [(0.04, False), (0.06, True), (50.0, True)])
def test_a_rule_said_to_have_given_way_that_did_not(plan, short_mm, is_told):
    gave = Relaxed(rule="shortest", where="5.2", asked_mm=300.0, had_mm=300.0 - short_mm)
    assert told(plan, relaxed=(gave,)) == ({("relaxed-wrong", "5.2"): 300.0 - short_mm} if is_told else {})
    # Joints at pipes and notches are another judge's.
    assert told(plan, relaxed=(replace(gave, rule="pipe-joint"), replace(gave, rule="notch-joint"))) == {}


def test_a_sawn_end_at_a_joint_is_told_by_how_far_the_factory_end_is(plan):
    """The piece says it comes from 5 mm further along its board: each end of it that meets another is sawn, so it
    says."""
    row = plan.rows[4]
    middle, first, last = row.pieces[1], row.pieces[0], row.pieces[-1]
    for off in (5.0, -5.0, 2e-5):
        for piece in (first, middle, last):
            moved = with_piece(plan, piece.id, lambda p,
                               off=off: replace(p, from_mm=p.from_mm + off, to_mm=p.to_mm + off))
            assert told(moved) == {("joint-cut-end", piece.id): pytest.approx(abs(off), abs=1e-7)}
    assert told(with_piece(plan, middle.id, lambda p: replace(p, from_mm=p.from_mm + 5e-6, to_mm=p.to_mm + 5e-6))) == {}


def test_a_ripped_edge_at_a_seam_is_told_by_how_far_the_factory_edge_is(plan):
    for row in (plan.rows[0], plan.rows[4], plan.rows[-1]):
        piece = row.pieces[1]
        for off in (-20.0, 20.0, 2e-5):
            moved = with_piece(plan, piece.id, lambda p,
                               off=off: replace(p, near_mm=p.near_mm + off, far_mm=p.far_mm + off))
            assert told(moved) == {("seam-cut-edge", piece.id): pytest.approx(abs(off), abs=1e-7)}
    piece = plan.rows[4].pieces[1]
    assert told(with_piece(plan, piece.id, lambda p: replace(p, near_mm=p.near_mm + 5e-6,
                                                             far_mm=p.far_mm + 5e-6))) == {}


def test_only_joints_on_the_stretch_two_rows_share_are_held_against_each_other():
    """An L: the long rows have joints left of where the short ones begin, and those may come as near as they like."""
    elsewhere, wishes = 0, Wishes(along=("A", "B"), start=("A", "B"), pattern="thirds",
                                  rules=Rules(stagger_mm=100.0, shortest_mm=100.0))
    for corner in (3050.0, 2450.0):
        outline = np.array([(0, 0), (4600, 0), (4600, 700), (corner, 700), (corner, 2000), (0, 2000)])
        plan = plan_floor(Room(names=tuple("ABCDEF"), outline_mm=outline), BOARD, wishes, moves=0)
        expected = {}
        for upper, lower in zip(plan.rows, plan.rows[1:]):
            above, below = ([[plan.to_row_frame(point) for point in piece.outline_mm] for piece in row.pieces]
                            for row in (upper, lower))
            ends = [[s for ring in row for s, t in ring if abs(t - upper.far_mm) < 1e-6] for row in (above, below)]
            lo, hi = max(map(min, ends)), min(map(max, ends))
            joints_ = [[max(s for s, _ in ring) for ring in row[:-1]] for row in (above, below)]
            near = [(a, b) for a in joints_[0] for b in joints_[1] if abs(a - b) < LIMIT_MM]
            shared = [abs(a - b) for a, b in near if lo < min(a, b) and max(a, b) < hi]
            elsewhere += len(near) - len(shared)
            if shared:
                expected[("stagger", f"row {lower.number}")] = pytest.approx(min(shared), abs=1e-6)
        assert expected and told(plan, rules=replace(plan.rules, stagger_mm=LIMIT_MM)) == expected
    assert elsewhere


def test_joints_on_either_side_of_a_hearth_are_held_against_each_other():
    """A hearth of 600 x 300 mm and the gap round it part a seam in two; joints count together where both lie on one
    part."""
    hearth = np.array([(2000.0, 1400.0), (2600.0, 1400.0), (2600.0, 1700.0), (2000.0, 1700.0)])
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0.0, 0.0), (4300.0, 0.0), (4300.0, 3205.0), (0.0, 3205.0)]),
                islands=(("hearth", hearth),))
    plan = plan_floor(room, BOARD, Wishes(along=("A", "B"), start=("A", "B"), gap_least_mm=10.0, gap_most_mm=10.0),
                      moves=60)
    assert sum(1390.0 < 10.0 + row.far_mm < 1710.0 for row in plan.rows) == 2
    expected = {}
    for upper, lower in zip(plan.rows, plan.rows[1:]):
        level = 10.0 + upper.far_mm
        stretches = [(10.0, 1990.0), (2610.0, 4290.0)] if 1390.0 < level < 1710.0 else [(10.0, 4290.0)]
        found = []
        for row in (upper, lower):
            xs = [[x for x, y in piece.outline_mm if abs(y - level) < 1e-6] for piece in row.pieces]
            found.append([max(here) for here in xs if here
                          and any(other and abs(min(other) - max(here)) < 1e-6 for other in xs)])
        near = [(a, b) for a in found[0] for b in found[1] if abs(a - b) < LIMIT_MM]
        shared = [abs(a - b) for a, b in near if any(lo < min(a, b) and max(a, b) < hi for lo, hi in stretches)]
        if shared:
            expected[("stagger", f"row {lower.number}")] = pytest.approx(min(shared), abs=1e-6)
    found = {key: had for key, had in told(plan, rules=replace(plan.rules, stagger_mm=LIMIT_MM)).items()
             if key[0] == "stagger"}
    assert expected and found == expected


# ---- widths of rows, from the cover alone


def narrow(plan: Plan, outline: list[tuple[float, float]], *more: list[tuple[float, float]],
           rule: float = 191.0) -> Told:
    """Rows told too narrow where the cover is these polygons; first and last rows as the plan has them."""
    parts = tuple(Polygon(outline=tuple(ring)) for ring in (outline, *more))
    found = told(plan, cover=parts, rules=replace(plan.rules, narrowest_mm=rule))
    return {key: amount for key, amount in found.items() if key[0] == "narrowest"}


def test_a_row_that_tapers_is_as_narrow_as_its_narrow_end(plan):
    """The last row begins at its seam; its far wall stands 150 mm from it on the left and 70 on the right, or the
    other way round."""
    seam, last = 10 + plan.rows[-2].far_mm, f"row {len(plan.rows)}"
    for left, right in ((150.0, 70.0), (70.0, 150.0)):
        ring = [(10.0, 10.0), (3990.0, 10.0), (3990.0, seam + right), (10.0, seam + left)]
        rows = (*plan.rows[:-1], replace(plan.rows[-1], far_mm=plan.rows[-1].near_mm + 150.0))
        found = narrow(replace(plan, rows=rows), ring, rule=100.0)
        assert found[("narrowest", last)] == pytest.approx(70.0, abs=0.01)
        assert ("narrowest", last) not in narrow(replace(plan, rows=rows), ring, rule=70.0)


@pytest.mark.parametrize("degrees, counts", [(19.0, True), (21.0, False), (45.0, False)])
def test_a_wall_counts_as_one_along_the_rows_up_to_twenty_degrees(plan, degrees, counts):
    """A corner of the last row cut off at an angle, 60 mm deep."""
    row = plan.rows[-1]
    width, far, last = row.far_mm - row.near_mm, 10 + row.far_mm, f"row {len(plan.rows)}"
    assert width > 65.0
    cut = 60.0 / tan(radians(degrees))
    ring = [(10.0, 10.0), (3990.0, 10.0), (3990.0, far - 60.0), (3990.0 - cut, far), (10.0, far)]
    found = narrow(plan, ring, rule=width - 1.0)
    assert found.get(("narrowest", last)) == (pytest.approx(width - 60.0, abs=0.01) if counts else None)


@pytest.mark.parametrize("long_mm, counts", [(0.9, False), (1.1, True)])
def test_a_step_counts_from_a_millimetre_on(plan, long_mm, counts):
    row = plan.rows[-1]
    width, far, last = row.far_mm - row.near_mm, 10 + row.far_mm, f"row {len(plan.rows)}"
    ring = [(10.0, 10.0), (3990.0, 10.0), (3990.0, far), (2000.0 + long_mm, far), (2000.0 + long_mm, far - 40.0),
            (2000.0, far - 40.0), (2000.0, far), (10.0, far)]
    assert narrow(plan, ring, rule=width - 1.0).get(("narrowest", last)) == (pytest.approx(width - 40.0, abs=0.01)
                                                                             if counts else None)


def test_a_part_of_the_floor_that_reaches_across_little_is_as_narrow_as_it_reaches(plan):
    """A second part of the cover in row 3 alone, with upright sides and a slanting top: 40 mm across altogether."""
    near = 10 + plan.rows[2].near_mm
    whole = [(10.0, 10.0), (3000.0, 10.0), (3000.0, 10 + plan.rows[-1].far_mm), (10.0, 10 + plan.rows[-1].far_mm)]
    part = [(3100.0, near + 50.0), (3140.0, near + 90.0), (3100.0, near + 90.0)]
    found = narrow(plan, whole, part, rule=60.0)
    assert found == {("narrowest", "row 3"): pytest.approx(40.0, abs=0.01)}
    crumb = [(3100.0, near + 50.0), (3100.1, near + 50.0), (3100.1, near + 50.1), (3100.0, near + 50.1)]
    assert narrow(plan, whole, crumb, rule=60.0) == {}
    hole = replace(plan,
                   cover=(Polygon(outline=tuple(whole),
                                  holes=(((1000.0, near + 30.0), (1000.0, near + 192.0), (1500.0, near + 192.0),
                                          (1500.0, near + 30.0)),)),))
    found = {key: amount for key, amount in told(hole, rules=replace(plan.rules, narrowest_mm=60.0)).items()
             if key[0] == "narrowest"}
    assert found == {("narrowest", "row 3"): pytest.approx(30.0, abs=0.01)}
