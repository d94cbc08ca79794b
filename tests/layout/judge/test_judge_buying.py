"""The judge on what is bought, at its limits: beading round doors, bars, and the counts of the shopping list."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layout.judge.purchases import LEAST_MM, SLACK_MM, check_buy
from layout.plan import Plan
from layout.planning.planner import plan_floor
from layout.room import Board, Casing, Door, Pipe, Room, Wishes

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
CASING = Casing(width_mm=60.0, thickness_mm=15.0)
#: One in the middle of its wall; one named against the outline and close to its far end, so that its casing would pass
#: the corner; two whose casings overlap.
DOORS = (Door(name="D1", wall=("A", "B"), from_mm=500.0, width_mm=800.0, casing=CASING),
         Door(name="D2", wall=("C", "B"), from_mm=30.0, width_mm=700.0, casing=CASING),
         Door(name="D3", wall=("C", "D"), from_mm=900.0, width_mm=600.0, casing=CASING),
         Door(name="D4", wall=("D", "C"), from_mm=1500.0, width_mm=940.0))


@pytest.fixture(scope="module")
def home() -> tuple[Plan, Room]:
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 2650), (0, 2650)], dtype=float),
                doors=DOORS, pipes=(Pipe(name="P1", centre_mm=(650.0, 400.0), diameter_mm=22.0),),
                islands=(("hearth", np.array([(2000.0, 1100.0), (2600.0, 1100.0), (2600.0, 1500.0),
                                              (2000.0, 1500.0)])),))
    return plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0), moves=200), room


def told(plan: Plan, room: Room) -> set[tuple[str, str]]:
    return {(fault.slug, fault.where) for fault in check_buy(plan, room)}


def test_what_was_planned_is_right_and_worked_out_by_hand(home):
    """Walls less openings and casings, by hand: 4000 - (800 + 120); 2650 - (700 + 60 + 30: up to the corner); 4000 -
    660 - 940 at C-D, where D3's casing reaches from 840 to 1560 from C and D4 lies from 1560 to 2500."""
    plan, room = home
    assert told(plan, room) == set()
    had: dict[str, float] = {}
    for piece in plan.beading:
        had[piece.where] = had.get(piece.where, 0.0) + piece.length_mm
    assert {wall: had[wall] for wall in ("A-B", "B-C", "C-D", "D-A")} == pytest.approx(
        {"A-B": 3080.0, "B-C": 1860.0, "C-D": 4000.0 - 720.0 - 940.0, "D-A": 2650.0}, abs=1e-6)
    assert sum(long for where, long in had.items() if where.startswith("hearth")) == pytest.approx(2000.0)


@pytest.mark.parametrize("off, is_told", [(3 * LEAST_MM + SLACK_MM - 0.01, False),
                                          (3 * LEAST_MM + SLACK_MM + 0.01, True),
                                          (-3 * LEAST_MM - SLACK_MM - 0.01, True)])
def test_beading_may_miss_slivers_beside_three_doors_and_no_more(home, off, is_told):
    """Up to three stretches of under 5 mm a wall are left out: not worth a saw cut."""
    plan, room = home
    for k, piece in enumerate(plan.beading):
        longer = tuple(replace(other, length_mm=other.length_mm + off) if i == k else other
                       for i, other in enumerate(plan.beading))
        found = {fault.where: fault.amount for fault in check_buy(replace(plan, beading=longer, bars=None), room)}
        assert found == ({piece.where: pytest.approx(off)} if is_told else {})


@pytest.mark.parametrize("change", [{"width_mm": 816.0}, {"width_mm": 784.0}, {"casing": None},
                                    {"casing": replace(CASING, width_mm=68.0)}])
def test_a_door_of_another_width_or_casing_is_told_at_its_wall(home, change):
    plan, room = home
    other = replace(room, doors=(replace(DOORS[0], **change), *DOORS[1:]))
    assert told(plan, other) == {("beading", "A-B")}


def test_beading_on_no_wall_and_a_wall_without_any_are_told(home):
    plan, room = home
    assert told(replace(plan, beading=plan.beading[1:], bars=None),
                room) == {("beading", plan.beading[0].where)}
    elsewhere = replace(plan.beading[0], where="X-Y")
    assert ("beading", "X-Y") in told(replace(plan, beading=(*plan.beading, elsewhere), bars=None), room)


@pytest.mark.parametrize("over, is_told", [(SLACK_MM - 0.01, False), (SLACK_MM + 0.01, True)])
def test_a_bar_holds_its_pieces_and_the_saw_cuts_between_them(home, over, is_told):
    plan, room = home
    for k, bar in enumerate(plan.bars.bars):
        full = sum(piece.length_mm for piece in bar) + plan.bars.kerf_mm * (len(bar) - 1)
        found = told(replace(plan, bars=replace(plan.bars, bar_mm=full - over)), room)
        assert (("beading", f"bar {k + 1}") in found) is is_told


def test_bars_sawn_of_nothing_of_too_little_or_of_a_stranger_are_told(home):
    plan, room = home
    bars = plan.bars
    assert ("beading", f"bar {len(bars.bars) + 1}") in told(replace(plan, bars=replace(bars, bars=(*bars.bars, ()))),
                                                            room)
    first, *others = bars.bars
    stretch, same = first[0].where, (first[0].where, first[0].stretch)
    assert ("beading", stretch) in told(replace(plan, bars=replace(bars, bars=(first[1:] or first[:0], *others))), room)
    for off, is_told in ((-SLACK_MM - 0.01, True), (-SLACK_MM + 0.01, False)):
        # A piece between two straight ends is as long as its stretch; one with mitres may be sawn longer, never
        # shorter.
        lengths = sum(piece.length_mm for bar in bars.bars for piece in bar if (piece.where, piece.stretch) == same)
        parts = sum((piece.where, piece.stretch) == same for bar in bars.bars for piece in bar)
        asked = next(piece.length_mm for piece in plan.beading if (piece.where, piece.stretch) == same)
        short = asked + bars.width_mm * (parts - 1) - lengths + off
        sawn = (replace(first[0], length_mm=first[0].length_mm + short), *first[1:])
        assert (("beading", stretch) in told(replace(plan, bars=replace(bars, bars=(sawn, *others))), room)) is is_told
    stranger = replace(first[0], where="Z-Z")
    assert ("beading", "Z-Z") in told(replace(plan, bars=replace(bars, bars=((stranger, *first[1:]), *others))), room)


@pytest.mark.parametrize("over, is_told", [(SLACK_MM - 0.01, False), (SLACK_MM + 0.01, True)])
def test_a_stretch_may_be_sawn_longer_by_its_mitres_and_no_more(home, over, is_told):
    """At a square corner each end is mitred at 45 degrees, over the width of the bar; a cut at a door's casing is
    square."""
    plan, room = home
    bars, mitred = plan.bars, 0
    for stretch in plan.beading:
        same = stretch.where, stretch.stretch
        k, number, piece = next((k, number, piece) for k, bar in enumerate(bars.bars)
                                for number, piece in enumerate(bar) if (piece.where, piece.stretch) == same)
        lengths = [other.length_mm for bar in bars.bars for other in bar if (other.where, other.stretch) == same]
        ends = [round(angle) for angle in (stretch.start_deg, stretch.end_deg)]
        assert set(ends) <= {0, 45}
        most = stretch.length_mm + bars.width_mm * (len(lengths) - 1 + ends.count(45))
        longer = replace(piece, length_mm=piece.length_mm + most - sum(lengths) + over)
        sawn = tuple(tuple(longer if (i, j) == (k, number) else other for j, other in enumerate(bar))
                     for i, bar in enumerate(bars.bars))
        found = told(replace(plan, bars=replace(bars, bars=sawn, bar_mm=9000.0, bound=len(sawn))), room)
        assert (("beading", stretch.where) in found) is is_told
        mitred += ends.count(45)
    assert mitred >= 8


def test_the_bound_lies_between_the_wood_and_the_bars(home):
    """No fewer bars than hold every piece and a saw cut behind each, where a cut more goes to a bar whose last needs
    none; no more than there are."""
    plan, room = home
    wood = sum(piece.length_mm + plan.bars.kerf_mm for bar in plan.bars.bars for piece in bar)
    least, most = -(-wood // (plan.bars.bar_mm + plan.bars.kerf_mm)), len(plan.bars.bars)
    assert 2 <= least <= most
    for bound in range(most + 3):
        assert (("beading", "bars") in told(replace(plan, bars=replace(plan.bars, bound=bound)), room)) is not (
            least <= bound <= most
        )


def test_one_bar_sawn_to_the_last_millimetre_is_one_bar(home):
    plan, room = home
    (first, *_), *_ = plan.bars.bars
    for parts in (1, 2, 3):
        each = (plan.bars.bar_mm - plan.bars.kerf_mm * (parts - 1)) / parts
        bars = replace(plan.bars, bars=((replace(first, length_mm=each),) * parts,), bound=1)
        assert not {("beading", "bars"), ("beading", "bar 1")} & told(replace(plan, bars=bars), room)


@pytest.mark.parametrize("off_m, is_told", [(-1e-5, True), (0.0, False), (0.1, False), (0.12, True), (5.0, True)])
def test_the_list_holds_the_profiles_between_parts_to_a_tenth_of_a_metre(off_m, is_told):
    """A floor of 12 m parted once: the profile is as long as the floor is deep, 2650 mm less what it stops short of
    the walls."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (12000, 0), (12000, 2650), (0, 2650)], dtype=float))
    plan = plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, longest_mm=8000.0),
                      moves=0)
    metres = sum(float(np.hypot(*np.subtract(*profile.ends))) for profile in plan.profiles) / 1000.0
    assert 2.6 < metres < 2.66 and told(plan, room) == set()
    listed = tuple(replace(item, quantity=metres + off_m) if item.purchase.slug == "expansion-profiles" else item
                   for item in plan.shopping)
    assert (("shopping", "expansion-profiles") in told(replace(plan, shopping=listed), room)) is is_told
    without = tuple(item for item in plan.shopping if item.purchase.slug != "expansion-profiles")
    assert told(replace(plan, shopping=without), room) == {("shopping", "expansion-profiles")}


@pytest.mark.parametrize("slug", ["boards", "threshold", "collars", "beading-bars"])
@pytest.mark.parametrize("more", [1.0, -1.0])
def test_the_list_says_as_many_as_the_plan(home, slug, more):
    plan, room = home
    assert any(item.purchase.slug == slug for item in plan.shopping)
    wrong = tuple(replace(item, quantity=item.quantity + more) if item.purchase.slug == slug else item
                  for item in plan.shopping)
    assert ("shopping", slug) in told(replace(plan, shopping=wrong), room)
