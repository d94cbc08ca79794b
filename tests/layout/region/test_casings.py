"""Traced casings in the plan: places worked out by hand for a door in a plain room."""
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from layout.region.casings import met_pieces, saw_lines, standing_legs, with_casings
from layout.judge.check import find_faults
from layout.planning.planner import plan_floor
from layout.room import Board, Casing, Door, Room, Wishes

#: 57 wide, 15 thick at the outer side, running down to nothing at the opening.
CHAIN = ((57.0, 0.0), (57.0, 15.0), (44.0, 15.0), (44.0, 10.0), (0.0, 0.0))


def room(wall=("A", "B"), from_mm=800.0, legs=("left", "right")) -> Room:
    casing = Casing(width_mm=57.0, thickness_mm=15.0)
    return Room(
        names=("A", "B", "C", "D"),
        outline_mm=np.array([(0, 0), (3000, 0), (3000, 2500), (0, 2500)], dtype=float),
        doors=(
            Door(
                name="D1",
                wall=wall,
                from_mm=from_mm,
                width_mm=760.0,
                casing=casing,
                legs=tuple((leg, CHAIN) for leg in legs),
            ),
        ),
    )


def test_legs_stand_beside_the_opening():
    """The wall runs along +x with the room above it: facing it, the left leg is the one at larger x, beyond the
    opening's end."""
    left, right = standing_legs(room(), 10.0)
    assert left.traced[0] == pytest.approx((1560 + 57, 0.0))
    assert left.traced[1] == pytest.approx((1560 + 57, 15.0))
    assert left.traced[-1] == pytest.approx((1560, 0.0))
    assert right.traced[1] == pytest.approx((800 - 57, 15.0))
    assert Polygon(left.foot).area == pytest.approx(Polygon(right.foot).area)


def test_a_door_measured_from_the_other_corner_stands_in_the_same_place():
    one, other = standing_legs(room(), 10.0), standing_legs(room(wall=("B", "A"), from_mm=3000 - 800 - 760), 10.0)
    assert [np.round(leg.traced, 6).tolist() for leg in one] == [np.round(leg.traced, 6).tolist() for leg in other]


def test_the_gap_is_added_outward_all_round():
    (left,) = standing_legs(room(legs=("left",)), 10.0)
    foot, grown = Polygon(left.foot), Polygon(left.grown)
    assert grown.contains(foot)
    assert foot.exterior.hausdorff_distance(grown.exterior) <= 10.0 * 1.61
    assert min(foot.distance(grown.exterior), 99.0) == pytest.approx(10.0)


def test_the_pieces_beside_a_leg_are_named_and_sawn_at_the_gap():
    asked = room()
    plan = plan_floor(asked, Board(length_mm=1285, width_mm=192, thickness_mm=8, pack=8), Wishes(gap_mm=10.0), moves=50)
    pieces = {piece.id: piece for piece in plan.pieces}
    for leg in standing_legs(asked, 10.0):
        met = met_pieces(plan, leg)
        assert met
        for name in met:
            foot = Polygon(leg.foot)
            assert saw_lines(pieces[name], leg)
            for line in saw_lines(pieces[name], leg):
                assert all(foot.distance(Polygon([a, a, b, b]).centroid if a == b
                                         else Polygon([a, b, (a[0] + 1e-9, a[1])])) >= 10.0 - 1e-6
                           for a, b in zip(line, line[1:]))
        others = set(pieces) - set(met)
        assert all(Polygon(pieces[name].outline_mm).intersection(Polygon(leg.grown)).area <= 1.0 for name in others)


def test_a_casing_that_is_not_undercut_is_notched_out_of_the_right_piece():
    """The judge finds no fault; boards keep the gap to the traced shape, where without it they reach the wall's own
    gap."""
    plain = room()
    bare = replace(plain, doors=tuple(replace(door, casing=None) for door in plain.doors))
    asked = with_casings(bare, frozenset({"D1"}))
    assert asked.framed == ("casing of D1, left", "casing of D1, right")
    board, wishes = Board(length_mm=1285, width_mm=192, thickness_mm=8, pack=8), Wishes(gap_mm=10.0)
    with_it, without = plan_floor(asked, board, wishes, moves=50), plan_floor(bare, board, wishes, moves=50)
    assert find_faults(with_it, asked) == ()
    for leg in standing_legs(asked, 10.0):
        foot = Polygon(leg.foot)
        assert min(Polygon(piece.outline_mm).distance(foot) for piece in without.pieces) < 9.9
        assert min(Polygon(piece.outline_mm).distance(foot) for piece in with_it.pieces) == pytest.approx(10.5, abs=2.5)
        near = [piece for piece in with_it.pieces if Polygon(piece.outline_mm).distance(foot) < 13.0]
        assert any(cut.kind in ("notch", "line") for piece in near for cut in piece.cuts)
    assert not any("casing" in piece.where for piece in with_it.beading)
