"""Bars of beading, sheets of underlay and film, and the judge on what is bought. Amounts by hand in each test."""
from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import Polygon, box

from layout.materials.beading import bars_of, beading_of
from layout.judge.check import find_faults
from layout.planning.planner import plan_floor
from layout.room import Beading, Casing, Climate, Door, Underlay, Wishes
from layout.materials.underlay_sheets import film_sheets, rolls_for, underlay_sheets

ROLL = Underlay(thickness_mm=3.0, roll_length_mm=10000.0, roll_width_mm=1000.0)


def item(plan, slug: str):
    return next(item for item in plan.shopping if item.purchase.slug == slug)


def slugs(plan, room) -> set[str]:
    return {fault.slug for fault in find_faults(plan, room)}


def test_long_walls_are_joined_and_the_rests_share_bars(box_3x4):
    """Bars of 2400, beading 18 wide. 4000 = 2400 + (4000 - 2382) = 2400 + 1618; 3000 = 2400 + 618. Four whole bars, and
    1618 + 3 + 618 fit one: two more."""
    bars = bars_of(box_3x4, beading_of(box_3x4), Beading(), 3.0)
    assert sorted(round(piece.length_mm) for bar in bars.bars for piece in bar) == [618, 618, 1618, 1618, 2400, 2400,
                                                                                    2400, 2400]
    assert (len(bars.bars), bars.bound) == (6, 6)


def test_an_outside_corner_takes_the_width_of_the_beading_more(l_shape):
    """Two outside ends of 45 degrees at one corner of the L: 18 * tan 45 = 18 mm each."""
    bars = bars_of(l_shape, beading_of(l_shape), Beading(bar_mm=5400.0, width_mm=18.0), 3.0)
    by_wall = {piece.where: piece.length_mm for bar in bars.bars for piece in bar}
    assert by_wall["C-D"] == pytest.approx(1600.0 + 18.0) and by_wall["D-E"] == pytest.approx(1500.0 + 18.0)
    assert by_wall["A-B"] == pytest.approx(4200.0)


def test_round_an_island_every_corner_is_an_outside_one(hearth):
    bars = bars_of(hearth, beading_of(hearth), Beading(bar_mm=5400.0, width_mm=20.0), 3.0)
    lengths = [piece.length_mm for bar in bars.bars for piece in bar if piece.where.startswith("hearth")]
    assert sorted(lengths) == pytest.approx([340.0, 340.0, 640.0, 640.0])


def test_no_part_of_a_joined_wall_is_a_stub(room_of):
    """4800 = 2400 + 2382 + 18: the last two share, 300 for the last."""
    room = room_of([(0, 0), (4800, 0), (4800, 2000), (0, 2000)])
    lengths = [piece.length_mm for bar in bars_of(room, beading_of(room), Beading(), 3.0).bars for piece in bar
               if piece.where.startswith("A-B")]
    assert min(lengths) == pytest.approx(300.0) and sum(lengths) - 18.0 * (len(lengths) - 1) == pytest.approx(4800.0)


def test_underlay_runs_across_the_rows_and_goes_on_from_its_rests():
    """4 m by 3 m: four sheets of 3 m, 12 m, two rolls of 10; three joints of 3 m. By area it would be two rolls
    as well; 4.1 m wide needs a fifth sheet."""
    sheets = underlay_sheets(box(0, 0, 4000, 3000), ROLL)
    assert (sheets.strips, sheets.length_mm, sheets.joint_mm, rolls_for(sheets, ROLL)) == (4, 12000.0, 9000.0, 2)
    wider = underlay_sheets(box(0, 0, 4100, 3000), ROLL)
    assert (wider.strips, wider.length_mm) == (5, 15000.0)


def test_underlay_leaves_out_what_an_l_leaves_out():
    """Two sheets of 3.6 m and, from 2.6 m on, two of 2.1 m; the third, from 2 to 3 m, is as long as its longer side."""
    shape = Polygon([(0, 0), (4000, 0), (4000, 2100), (2600, 2100), (2600, 3600), (0, 3600)])
    assert underlay_sheets(shape, ROLL).length_mm == pytest.approx(3 * 3600.0 + 2100.0)


def test_film_laps_and_turns_up():
    """4.0 m by 3.0 m with 50 mm turned up: (4100 - 200) / 1800 = 2.17, so three sheets of 3.1 m; trade sheet,
    section 4: lap 200 at least."""
    sheets = film_sheets(box(0, 0, 4000, 3000))
    assert (sheets.strips, sheets.length_mm) == (3, pytest.approx(9300.0))


@pytest.mark.parametrize(("subfloor", "sure"), [("", [False]), ("mineral", [True]), ("timber", [])])
def test_film_is_for_mineral_subfloors(subfloor, sure, box_3x4, board):
    plan = plan_floor(box_3x4, board, Wishes(along=("A", "B"), subfloor=subfloor, underlay=ROLL), moves=60)
    assert [line.purchase.sure for line in plan.shopping if line.purchase.slug == "film"] == sure
    assert item(plan, "joint-tape").purchase.unit == "rolls" and item(plan, "joint-tape").quantity == 1
    assert item(plan, "joint-tape").purchase.joints_mm >= 8000.0
    assert item(plan, "spacers").quantity <= 30


def test_beading_covers_gap_shrinkage_and_lap(room_of, board):
    """Trade sheet, section 7: 10 + 3.75 + 2 = 15.75 at a run of 5 m laid at 60 % with a winter of 30 %."""
    room = room_of([(0, 0), (5000, 0), (5000, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(along=("A", "B"), climate=Climate(low=30.0, high=60.0, laid=60.0)), moves=60)
    assert item(plan, "beading-bars").purchase.least_mm == pytest.approx(15.75)
    narrow = plan_floor(room, board, Wishes(along=("A", "B"), climate=Climate(low=30.0, high=60.0, laid=60.0),
                                            beading=Beading(width_mm=14.0)), moves=60)
    assert [note.width_mm for note in narrow.notes if note.slug == "beading-narrow"] == [14.0]
    assert not any(note.slug == "beading-narrow" for note in plan.notes)


@pytest.fixture(scope="module")
def bought(chimney, board):
    return plan_floor(chimney, board, Wishes(along=("A", "B"), underlay=ROLL), moves=60), chimney


def test_the_judge_counts_bars_and_what_is_sawn_from_them(bought):
    plan, room = bought
    assert slugs(plan, room) == set()
    bars = plan.bars
    assert "beading" in slugs(replace(plan, bars=replace(bars, bars=bars.bars[1:])), room)
    crowded = (bars.bars[0] + bars.bars[1], *bars.bars[2:])
    assert "beading" in slugs(replace(plan, bars=replace(bars, bars=crowded)), room)
    short = (tuple(replace(piece, length_mm=piece.length_mm - 30.0) for piece in bars.bars[0]), *bars.bars[1:])
    assert "beading" in slugs(replace(plan, bars=replace(bars, bars=short)), room)
    assert "beading" in slugs(replace(plan, bars=replace(bars, bound=len(bars.bars) + 1)), room)
    assert "beading" in slugs(replace(plan, beading=plan.beading[1:]), room)


@pytest.mark.parametrize("slug", ["boards", "threshold", "collars", "beading-bars"])
def test_the_judge_compares_the_list_with_the_plan(slug, bought):
    plan, room = bought
    wrong = tuple(replace(line, quantity=line.quantity + 1) if line.purchase.slug == slug else line
                  for line in plan.shopping)
    assert "shopping" in slugs(replace(plan, shopping=wrong), room)


def test_a_door_s_casing_takes_no_beading(box_3x4, board):
    doors = (Door(name="D1", wall=("B", "A"), from_mm=500.0, width_mm=800.0,
                  casing=Casing(width_mm=60.0, thickness_mm=15.0)),)
    plan = plan_floor(replace(box_3x4, doors=doors), board, Wishes(along=("A", "B")), moves=60)
    assert sum(piece.length_mm for piece in plan.beading) == pytest.approx(2 * 7000.0 - 920.0)
