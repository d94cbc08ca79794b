"""Shopping, beading, cautions and notes."""
from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin

import pytest

from layout.facts.reasons import FirstRowWide
from layout.materials.beading import beading_of
from layout.planning.planner import plan_floor
from layout.room import Casing, Door, Underlay, Wishes
from layout.materials.shopping import packs_for
from layout.words.cautions import CAUTIONS
from layout.words.plan import plan_words


def item(plan, slug: str):
    return next(item for item in plan.shopping if item.purchase.slug == slug)


def notes(plan, slug: str):
    return [note for note in plan.notes if note.slug == slug]


@pytest.mark.parametrize(("corner", "saw"), [(90.0, 45.0), (88.0, 46.0), (92.0, 44.0)])
def test_a_mitre_bisects_the_corner(corner, saw, room_of):
    """Saw angle (180 - corner) / 2: the three figures of the trade fact sheet, section 7."""
    far = (1000 + 2000 * cos(radians(180 - corner)), 2000 * sin(radians(180 - corner)))
    pieces = beading_of(room_of([(-3000, 0), (1000, 0), far, (-3000, 2500)]))
    assert pieces[0].end_deg == pytest.approx(saw) and pieces[1].start_deg == pytest.approx(saw)


def test_outside_corners_are_mitred_too(l_shape):
    assert all(piece.start_deg == pytest.approx(45.0) and piece.end_deg == pytest.approx(45.0)
               for piece in beading_of(l_shape))


def test_beading_stops_square_at_a_door_and_its_casing(box_3x4):
    door = Door(name="D1", wall=("B", "A"), from_mm=500.0, width_mm=800.0,
                casing=Casing(width_mm=60.0, thickness_mm=15.0))
    first, second, *_ = beading_of(replace(box_3x4, doors=(door,)))
    assert (first.length_mm, first.start_deg, first.end_deg) == (pytest.approx(2640.0), pytest.approx(45.0), 0.0)
    assert (second.length_mm, second.start_deg, second.end_deg) == (pytest.approx(440.0), 0.0, pytest.approx(45.0))


def test_islands_have_beading(hearth):
    assert [piece.length_mm for piece in beading_of(hearth)
            if piece.where.startswith("hearth")] == pytest.approx([600.0, 300.0, 600.0, 300.0])


def test_packs_are_whole():
    from layout.room import Board
    board = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
    assert [packs_for(n, board) for n in (0, 1, 6, 7, 8, 14, 62, 63)] == [0, 1, 1, 1, 1, 2, 8, 8]


def test_the_shopping_list_gives_numbers_and_rules(chimney, board):
    underlay = Underlay(thickness_mm=3.0, roll_length_mm=10000.0, roll_width_mm=1000.0)
    plan = plan_floor(chimney, board, Wishes(direction_rad=0.0, underlay=underlay), moves=300)
    assert item(plan, "boards").quantity == plan.packs_to_buy
    assert item(plan, "underlay-rolls").quantity == 2
    assert item(plan, "beading-bars").quantity == len(plan.bars.bars) >= sum(piece.length_mm
                                                                        for piece in plan.beading) / plan.bars.bar_mm
    assert item(plan, "threshold").quantity == 1 and item(plan, "collars").quantity == 2
    assert not item(plan, "film").purchase.sure
    assert all(line.why.endswith(".") for line in plan_words(plan, "metric").shopping)


def test_two_boards_are_to_spare_and_a_pack_more_is_bought_for_them(box_3x4, board):
    """One for a miscut and one for a repair (trade habit: 1 to 3)."""
    plan = plan_floor(box_3x4, board, Wishes(direction_rad=0.0), moves=300)
    tight = plan_floor(box_3x4, replace(board, pack=plan.boards), Wishes(direction_rad=0.0), moves=300)
    assert tight.packs == 1 and item(tight, "boards").quantity == tight.packs_to_buy == 2
    bought = item(tight, "boards").purchase
    assert bought.spare == tight.board.pack and bought.pack_more
    assert f"{tight.board.pack} to spare, one pack for them" in plan_words(tight, "metric").shopping[0].why
    ample = plan_floor(box_3x4, replace(board, pack=plan.boards + 2), Wishes(direction_rad=0.0), moves=300)
    assert item(ample, "boards").quantity == ample.packs_to_buy == 1
    assert item(ample, "boards").purchase.spare == 2 and not item(ample, "boards").purchase.pack_more
    assert ": 2 to spare (" in plan_words(ample, "metric").shopping[0].why


@pytest.mark.parametrize("deep_mm", [3046.54, 3055.5, 3204.3, 3349.9])
def test_the_reasons_say_the_first_and_last_row_as_wide_as_they_are(deep_mm, room_of, board):
    """The far wall lies between whole mm: what is said of the last row is what its boards are cut to."""
    plan = plan_floor(room_of([(0, 0), (4000, 0), (4000, deep_mm), (0, deep_mm + 0.7)]), board, Wishes(),
                      moves=300)
    (reason,) = [reason for reason in plan.reasons if isinstance(reason, FirstRowWide)]
    assert (reason.width_mm, reason.last_mm) == tuple(row.far_mm - row.near_mm for row in (plan.rows[0], plan.rows[-1]))


@pytest.mark.parametrize(("wishes", "gap"), [(Wishes(), 10.0), (Wishes(gap_usual=True), 14.0),
                                             (Wishes(gap_mm=12.0, gap_usual=False), 12.0)])
def test_the_gap_and_what_is_said_of_it_agree(wishes, gap, room_of, board):
    """9 m ask for 13.5 mm (1.5 mm a metre: European trade laying guides): a usual gap is widened to that and its reason
    told; a typed one is kept, and told beside what an open one would be."""
    plan = plan_floor(room_of([(0, 0), (9000, 0), (9000, 2500), (0, 2500)]), board, wishes, moves=0)
    said = plan_words(plan, "metric")
    text = " ".join(said.warnings)
    assert plan.gap_mm == gap and ("asks for 14 mm" in text) is (gap < 14.0) and "wider gap" not in text
    assert any("The gap is 14 mm" in says for says in said.reasons) is (gap == 14.0)
    short = plan_floor(room_of([(0, 0), (4000, 0), (4000, 2500), (0, 2500)]), board, Wishes(gap_usual=True), moves=0)
    assert short.gap_mm == 10.0


def test_doors_are_warned_of_with_the_undercut(chimney, board):
    underlay = Underlay(thickness_mm=3.0, roll_length_mm=10000.0, roll_width_mm=1000.0)
    plan = plan_floor(chimney, board, Wishes(direction_rad=0.0, underlay=underlay), moves=300)
    (laid,), (casing,) = notes(plan, "doorway-laid"), notes(plan, "casing-undercut")
    assert (laid.door, laid.depth_mm, laid.gap_mm) == ("D1", 110.0, 10.0)
    assert (casing.high_mm, casing.gap_mm + casing.tuck_mm) == (12.0, 20.0)


@pytest.mark.parametrize(("length", "slugs"), [(7000.0, []), (8500.0, ["long-floor"]), (10500.0, ["in-fields"])])
def test_long_floors_are_warned_of(length, slugs, room_of, board):
    """Trade habit: 8 to 10 m; beyond 10 the plan parts the floor itself."""
    plan = plan_floor(room_of([(0, 0), (length, 0), (length, 2000), (0, 2000)]), board,
                      Wishes(direction_rad=0.0, gap_mm=16.0), moves=100)
    assert [note.slug for note in plan.notes if note.slug in ("long-floor", "in-fields")] == slugs
    assert len(plan.profiles) == (length > 10_000.0)


def test_a_gap_below_the_rule_is_warned_of(room_of, board):
    room = room_of([(0, 0), (7800, 0), (7800, 2000), (0, 2000)])
    narrow, wide = (notes(plan_floor(room, board, Wishes(direction_rad=0.0, gap_mm=gap), moves=100), "gap-narrow")
                    for gap in (10.0, 12.0))
    assert narrow[0].asked_mm == pytest.approx(1.5 * 7.8) and wide == []


def test_a_loose_survey_asks_to_measure_in_place(box_3x4, board):
    plan = plan_floor(replace(box_3x4, length_sd_mm=4.0), board, Wishes(direction_rad=0.0), moves=100)
    assert notes(plan, "loose-survey")[0].pm95_mm == 8.0


def test_a_pipe_in_the_gap_needs_no_hole(room_of, board):
    from layout.room import Pipe
    room = room_of([(0, 0), (3000, 0), (3000, 2000), (0, 2000)],
                   pipes=(Pipe(name="P1", centre_mm=(500.0, -30.0), diameter_mm=15.0),))
    plan = plan_floor(room, board, Wishes(direction_rad=0.0), moves=100)
    assert plan.holes[0].pieces == () and notes(plan, "pipe-clear")[0].pipe == "P1"


def test_cautions_name_their_source():
    """All but the one that sends the reader to the leaflet."""
    sources = ("HSE", "EN 166", "Regulations", "US EPA", "BS 8214", "leaflet", "licensed fitters")
    assert all(any(source in caution.text for source in sources) for caution in CAUTIONS.values())
    assert {"asbestos", "lead", "fire-doors", "pipes-and-cables"} <= set(CAUTIONS)
