"""Whole plans: through the judge, repeatable, and as the wishes say."""
from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from math import cos, pi, radians, sin

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.facts.notes import InParts
from layout.facts.reasons import RowsRun
from layout.planning.planner import plan_floor
from layout.room import Beading, Board, Casing, Climate, Door, OwnPiece, Room, Rules, Underlay, Wishes

FEW = 400


def area_of(piece) -> float:
    return Polygon(piece.outline_mm, piece.holes_mm).area


@pytest.mark.parametrize("pattern", ["fewest", "thirds", "halves"])
@pytest.mark.parametrize("name", ["box_3x4", "l_shape", "chimney", "hearth", "skewed_hall"])
def test_named_rooms_have_faultless_plans(name, pattern, board, request):
    room = request.getfixturevalue(name)
    plan = plan_floor(room, board, Wishes(pattern=pattern, direction_rad=None if pattern == "fewest" else 0.0),
                      moves=FEW)
    assert find_faults(plan, room) == ()
    assert plan.bound <= plan.boards
    assert sum(map(area_of, plan.pieces)) == pytest.approx(sum(Polygon(p.outline, p.holes).area for p in plan.cover),
                                                           abs=100.0)


def test_random_rooms_of_every_kind_have_faultless_plans(rooms_60):
    """Five of each kind."""
    for number, (kind, room, board) in enumerate(rooms_60[:35]):
        if number % 3 == 0:
            casing = Casing(width_mm=57.0, thickness_mm=15.0) if number % 2 else None
            room = replace(room, doors=(Door(name="D1", wall=room.names[:2], from_mm=150.0, width_mm=700.0,
                                             reveal_mm=110.0, casing=casing),))
        wishes = Wishes(lay=("left-to-right", "right-to-left")[number % 2],
                        direction_rad=None if number % 6 == 0 else 0.3 * (number % 3),
                        first_row_mm=board.width_mm * 0.7 if number % 7 == 0 else None)
        plan = plan_floor(room, board, wishes, moves=60)
        assert find_faults(plan, room) == (), (number, kind)


def test_wood_in_is_wood_out(chimney, board):
    """Every board equals its pieces, saw cuts and what is left: pieces and offcuts of a board never overlap and stay
    in it."""
    plan = plan_floor(chimney, board, Wishes(), moves=FEW)
    uses = defaultdict(list)
    for piece in plan.pieces:
        uses[piece.board].append((piece.from_mm, piece.to_mm))
    for offcut in plan.offcuts:
        if offcut.used_by == "":
            uses[offcut.board].append((offcut.from_mm, offcut.to_mm))
    assert sorted(uses) == list(range(1, plan.boards + 1))
    for stretches in uses.values():
        stretches.sort()
        assert stretches[0][0] >= -1e-6 and stretches[-1][1] <= board.length_mm + 1e-6
        assert all(b - a >= plan.kerf_mm - 1e-6 for (_, a), (b, _) in zip(stretches[:-1], stretches[1:]))


def test_the_same_arguments_give_the_same_plan(chimney, board):
    assert plan_floor(chimney, board, Wishes(), seed=4, moves=FEW) == plan_floor(chimney, board, Wishes(), seed=4,
                                                                                 moves=FEW)


def test_a_turned_room_with_turned_rows_needs_the_same_boards(l_shape, board):
    straight = plan_floor(l_shape, board, Wishes(direction_rad=0.0), moves=FEW)
    for quarter in (1, 2, 3):
        angle = quarter * pi / 2
        turn = np.round(np.array([[cos(angle), sin(angle)], [-sin(angle), cos(angle)]]))
        turned = plan_floor(replace(l_shape, outline_mm=l_shape.outline_mm @ turn), board, Wishes(direction_rad=angle),
                            moves=FEW)
        assert (turned.boards, turned.bound, len(turned.pieces)) == (straight.boards, straight.bound,
                                                                     len(straight.pieces))


def test_cover_agrees_with_an_erosion_by_shapely(hearth, board):
    plan = plan_floor(hearth, board, Wishes(gap_mm=12.0, gap_least_mm=12.0, gap_most_mm=12.0), moves=FEW)
    floor = Polygon(hearth.outline_mm, [ring for _, ring in hearth.islands])
    cover = Polygon(plan.cover[0].outline, plan.cover[0].holes)
    assert cover.area == pytest.approx((5310 - 24) * (4205 - 24) - (600 + 24) * (300 + 24))
    assert cover.distance(floor.boundary) == pytest.approx(12.0)


@pytest.mark.parametrize(("start", "u"), [(("A", "B"), (-1.0, 0.0)), (("B", "C"), (0.0, -1.0)),
                                          (("D", "C"), (1.0, 0.0)), (("D", "A"), (0.0, 1.0))])
def test_the_fitter_faces_the_start_wall(start, u, box_3x4, board):
    plan = plan_floor(box_3x4, board, Wishes(start=start), moves=FEW)
    assert plan.u == pytest.approx(u)
    wall = [box_3x4.outline_mm[box_3x4.names.index(name)] for name in start]
    distances = [shapely.LineString(wall).distance(Polygon(row.pieces[0].outline_mm)) for row in plan.rows]
    assert distances == sorted(distances) and distances[0] == pytest.approx(plan.gap_mm)


def test_a_direction_puts_the_start_side_a_quarter_turn_anticlockwise(box_3x4, board):
    plan = plan_floor(box_3x4, board, Wishes(direction_rad=0.0), moves=FEW)
    assert (plan.u, plan.v) == ((1.0, 0.0), (0.0, -1.0))
    assert max(y for _, y in plan.rows[0].pieces[0].outline_mm) == pytest.approx(2990.0)


def test_rows_along_a_wall_take_its_better_side(skewed_hall, board):
    plan = plan_floor(skewed_hall, board, Wishes(along=("B", "C")), moves=FEW)
    wall = skewed_hall.outline_mm[2] - skewed_hall.outline_mm[1]
    assert abs(plan.u[0] * wall[1] - plan.u[1] * wall[0]) < 1e-6 * np.hypot(*wall)
    assert len(plan.choices) == 2


def test_pieces_alternate_hands_as_the_click_joint_needs(box_3x4, board):
    plan = plan_floor(box_3x4, board, Wishes(), moves=FEW)
    for row in plan.rows:
        pieces = row.pieces
        assert all("right" in piece.keeps for piece in pieces[:-1]) and all("left" in piece.keeps
                                                                            for piece in pieces[1:])


def test_a_board_longer_than_the_room_works(room_of):
    """Runs of 1480 on boards of 2050: one piece a row wastes 570 of each board; joined offcuts can save boards,
    never cost any."""
    room = room_of([(0, 0), (1500, 0), (1500, 2000), (0, 2000)])
    plan = plan_floor(room, Board(length_mm=2050.0, width_mm=240.0, thickness_mm=8.0, pack=6),
                      Wishes(direction_rad=0.0), moves=FEW)
    assert plan.bound <= plan.boards <= len(plan.rows)
    whole = plan_floor(room, Board(length_mm=2050.0, width_mm=240.0, thickness_mm=8.0, pack=6),
                       Wishes(direction_rad=0.0, pattern="halves"), moves=0)
    assert find_faults(whole, room) == ()


def test_two_rows_come_out_of_one_board_in_a_narrow_hall(room_of):
    """Runs of 600: two and a saw cut are 1203 of 1285, so half as many boards as rows."""
    room = room_of([(0, 0), (620, 0), (620, 3860), (0, 3860)])
    plan = plan_floor(room, Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8),
                      Wishes(direction_rad=0.0), moves=FEW)
    assert (len(plan.rows), plan.boards, plan.proven) == (20, 10, True)


def test_rows_that_must_alternate_over_the_whole_floor_do(room_of):
    """By hand: a run of 4438.6 is two whole boards of 1285 and two ends that add up to 1868.6, each 583.6 at least. An
    end and a start share a board only if they add up to 1282, so the start is 586.6 shorter than its own run's other
    start allows: runs pair off, long start with short. Long starts lie within 115 mm, so no two rows with them may
    touch: only strict alternation pairs all 26 rows and saves 13 boards."""
    plan = plan_floor(room_of([(0, 0), (4458.6, 0), (4458.6, 26 * 192 + 20), (0, 26 * 192 + 20)]),
                      Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8),
                      Wishes(direction_rad=0.0, first_row_mm=192.0))
    assert len(plan.rows) == 26
    assert plan.boards == 2 * 26 + 2 * 26 - 13


def test_a_floor_that_falls_in_two_is_laid_part_by_part_and_said(room_of, board):
    waist = room_of([(0, 0), (2500, 0), (2500, 990), (2600, 990), (2600, 0), (5000, 0), (5000, 2000), (2600, 2000),
                     (2600, 1005), (2500, 1005), (2500, 2000), (0, 2000)])
    plan = plan_floor(waist, board, Wishes(), moves=FEW)
    assert len(plan.cover) == 2
    assert InParts(parts=2) in plan.notes


def test_an_alcove_too_narrow_for_its_gaps_is_said(room_of, board):
    room = room_of([(0, 0), (3000, 0), (3000, 1000), (3400, 1000), (3400, 1018), (3000, 1018), (3000, 2500), (0, 2500)])
    plan = plan_floor(room, board, Wishes(), moves=FEW)
    assert [note.slug for note in plan.notes] == ["bare-alcove"]


def test_a_first_row_that_leaves_a_sliver_is_owned_up_to(box_3x4, board):
    """2980 deep: 100 + 15 * 192 = 2980, so 110 leaves a last row of 182; 90 leaves ten of the sixteenth row."""
    plan = plan_floor(box_3x4, board, Wishes(direction_rad=0.0, first_row_mm=90.0), moves=FEW)
    assert [(rule.rule, rule.where) for rule in plan.relaxed] == [("narrowest", "row 17")]
    assert plan.relaxed[0].had_mm == pytest.approx(10.0)


def test_short_boards_in_a_bad_width_give_way_in_the_stated_order(room_of):
    """Runs of 1950 with boards of 800: end pieces fall in 550..800 only, 250 wide, so 300 mm stagger is out of
    reach."""
    room = room_of([(0, 0), (1970 + 400, 0), (2370, 1500), (0, 1500)])
    plan = plan_floor(room, Board(length_mm=800.0, width_mm=130.0, thickness_mm=8.0, pack=10),
                      Wishes(direction_rad=0.0), moves=FEW)
    assert {rule.rule for rule in plan.relaxed} <= {"stagger"}
    assert all(200.0 - 1e-6 <= rule.had_mm < 300.0 for rule in plan.relaxed)


def test_rules_are_kept_or_said(rooms_60):
    for _, room, board in rooms_60[:8]:
        plan = plan_floor(room, board, Wishes(rules=Rules(stagger_mm=250.0, shortest_mm=350.0, narrowest_mm=80.0),
                                              direction_rad=0.0), moves=150)
        said = {rule.where for rule in plan.relaxed if rule.rule == "shortest"}
        for run in (run for row in plan.rows for run in row.runs if len(run.pieces) > 1):
            assert all(piece.to_mm - piece.from_mm >= 350.0 - 1e-6 or piece.id in said for piece in run.pieces)


def test_holes_are_pipe_and_two_gaps(chimney, board):
    plan = plan_floor(chimney, board, Wishes(gap_mm=10.0, direction_rad=0.0), moves=FEW)
    assert [hole.diameter_mm for hole in plan.holes] == [35.0, 35.0]
    for hole in plan.holes:
        cuts = {piece.id for piece in plan.pieces for cut in piece.cuts if cut.kind == "hole" and cut.pipe == hole.pipe}
        assert cuts == set(hole.pieces) and cuts


def test_a_better_budget_never_needs_more_boards_than_reuse_by_hand(rooms_60):
    """The bound is below, no reuse at all above."""
    for _, room, board in rooms_60[:6]:
        plan = plan_floor(room, board, Wishes(direction_rad=0.0), moves=FEW)
        assert plan.bound <= plan.boards <= len(plan.pieces)


def test_choices_list_the_plan_first(chimney, board):
    plan = plan_floor(chimney, board, Wishes(), moves=FEW)
    assert plan.reasons[0] == RowsRun(along=plan.choices[0].along, start=plan.choices[0].start)
    assert radians(plan.choices[0].u_deg) % (2 * pi) == pytest.approx(np.arctan2(plan.u[1], plan.u[0]) % (2 * pi),
                                                                      abs=1e-6)


def bad(**more):
    return Wishes(**more)


@pytest.mark.parametrize(("wishes", "slug", "word"),
                         [(bad(gap_mm=-1.0), "bad-gap", "gap"), (bad(gap_mm=400.0), "bad-gap", "gap"),
                          (bad(kerf_mm=-0.5), "bad-kerf", "saw"), (bad(kerf_mm=12.0), "bad-kerf", "saw"),
                          (bad(rules=Rules(stagger_mm=0.0)), "bad-rule", "stagger"),
                          (bad(rules=Rules(stagger_mm=700.0)), "bad-rule", "stagger"),
                          (bad(rules=Rules(shortest_mm=1300.0)), "bad-rule", "shortest"),
                          (bad(rules=Rules(narrowest_mm=200.0)), "bad-rule", "narrowest"),
                          (bad(first_row_mm=200.0), "bad-first-row", "first row"),
                          (bad(first_row_mm=5.0), "bad-first-row", "first row"),
                          (bad(direction_rad=float("nan")), "bad-wish", "direction"),
                          (bad(pattern="herringbone"), "bad-wish", "herringbone"),
                          (bad(lay="down"), "bad-wish", "down"), (bad(start=("A", "C")), "no-such-wall", "A-C"),
                          (bad(along=("X", "Y")), "no-such-wall", "X-Y"),
                          (bad(start=("A", "B"), direction_rad=0.0), "bad-wish", "A-B"),
                          (bad(start=("A", "B"), along=("B", "C")), "bad-wish", "A-B"),
                          (bad(along=("A", "B"), direction_rad=1.0), "bad-wish", "A-B"),
                          (bad(longest_mm=0.0), "bad-wish", "profile"),
                          (bad(longest_mm=float("nan")), "bad-wish", "profile"),
                          (bad(subfloor="wet"), "bad-wish", "wet"),
                          (bad(beading=Beading(bar_mm=2.4)), "bad-wish", "bar"),
                          (bad(beading=Beading(width_mm=0.0)), "bad-wish", "beading"),
                          (bad(climate=Climate(low=60.0, high=40.0)), "bad-climate", "60 to 40 %"),
                          (bad(climate=Climate(low=30.0, high=130.0)), "bad-climate", "130"),
                          (bad(climate=Climate(low=30.0, high=60.0, laid=70.0)), "bad-climate", "70 %"),
                          (bad(gap_mm=float("inf")), "bad-gap", "gap"),
                          (bad(underlay=Underlay(thickness_mm=3.0, roll_length_mm=10.0, roll_width_mm=1000.0)),
                           "bad-wish", "roll"), (bad(stock=(OwnPiece(length_mm=300.0, keeps=("left",)),) * 201),
                                                 "bad-stock", "201 pieces"),])
def test_wishes_that_cannot_be_are_refused_in_one_sentence(wishes, slug, word, box_3x4, board):
    with pytest.raises(LayoutError) as refusal:
        plan_floor(box_3x4, board, wishes)
    assert refusal.value.slug == slug
    assert word in str(refusal.value) and str(refusal.value).endswith(".") and "\n" not in str(refusal.value)


@pytest.mark.parametrize(("change", "slug", "word"),
                         [({"length_mm": 1.285}, "board-size", "metres"),
                          ({"length_mm": 128.5}, "board-size", "centimetres"),
                          ({"length_mm": 0.0}, "board-size", "length"),
                          ({"width_mm": float("nan")}, "board-size", "width"),
                          ({"length_mm": 180.0}, "board-size", "swap"), ({"pack": 0}, "board-pack", "pack"),])
def test_boards_nobody_sells_are_refused(change, slug, word, box_3x4, board):
    with pytest.raises(LayoutError, match=word) as refusal:
        plan_floor(box_3x4, replace(board, **change), Wishes())
    assert refusal.value.slug == slug


@pytest.mark.parametrize(("corners", "slug"), [
    ([(0, 0), (4000, 3000), (4000, 0), (0, 3000)], "bad-outline"),
    ([(0, 0), (4000, 0), (4000, 0.2), (4000, 3000), (0, 3000)], "bad-outline"),
    ([(0, 0), (4000, 0), (9000, 10), (4000, 20), (4000, 3000), (0, 3000)], "needle"),
    ([(0, 0), (4000, 0)], "bad-outline"),
    ([(0, 0), (0, 3000), (4000, 3000), (4000, 0)], "bad-outline"),
    ([(0, 0), (4000, 0), (4000, float("nan")), (0, 3000)], "bad-outline"),
    ([(0, 0), (4000, 0), (4000, 18), (0, 18)], "gap-eats-floor"),
])
def test_floors_that_cannot_be_are_refused(corners, slug, room_of, board):
    with pytest.raises(LayoutError) as refusal:
        plan_floor(room_of(corners), board, Wishes())
    assert refusal.value.slug == slug


def test_an_island_outside_the_floor_is_refused(box_3x4, board):
    room: Room = replace(box_3x4,
                         islands=(("hearth", np.array([(3800.0, 100.0), (4300.0, 100.0), (4300.0, 500.0),
                                                       (3800.0, 500.0)])),))
    with pytest.raises(LayoutError, match="hearth"):
        plan_floor(room, board, Wishes())


@pytest.mark.parametrize("door", [Door(name="D1", wall=("A", "C"), from_mm=0.0, width_mm=800.0),
                                  Door(name="D1", wall=("A", "B"), from_mm=3500.0, width_mm=800.0),
                                  Door(name="D1", wall=("A", "B"), from_mm=100.0, width_mm=0.0),
                                  Door(name="D1", wall=("A", "B"), from_mm=100.0, width_mm=800.0, reveal_mm=-5.0),
                                  Door(name="D1", wall=("A", "B"), from_mm=100.0, width_mm=800.0, reveal_mm=3000.0),
                                  Door(name="D1", wall=("A", "B"), from_mm=100.0, width_mm=800.0,
                                       casing=Casing(width_mm=float("nan"), thickness_mm=15.0))])
def test_a_door_that_is_not_in_its_wall_is_refused(door, box_3x4, board):
    with pytest.raises(LayoutError, match="D1") as refusal:
        plan_floor(replace(box_3x4, doors=(door,)), board, Wishes())
    assert refusal.value.slug == "bad-door"


@pytest.mark.parametrize("wall", [("A", "B"), ("B", "A")])
def test_two_doors_in_one_place_are_refused(wall, box_3x4, board):
    doors = (Door(name="D1", wall=("A", "B"), from_mm=1000.0, width_mm=800.0),
             Door(name="D2", wall=wall, from_mm=1700.0 if wall == ("A", "B") else 4000.0 - 1700.0 - 800.0,
                  width_mm=800.0))
    with pytest.raises(LayoutError, match="Doors D1 and D2 lie in the same 100 mm") as refusal:
        plan_floor(replace(box_3x4, doors=doors), board, Wishes())
    assert refusal.value.slug == "bad-door"


def test_no_gap_and_no_kerf_still_plan(l_shape, board):
    plan = plan_floor(l_shape, board, Wishes(gap_mm=0.0, gap_least_mm=0.0, gap_most_mm=0.0, kerf_mm=0.0,
                                             direction_rad=0.0), moves=FEW)
    assert find_faults(plan, l_shape) == ()
    assert sum(map(area_of, plan.pieces)) == pytest.approx(Polygon(l_shape.outline_mm).area)


def test_each_rule_gives_way_no_more_than_it_must(room_of):
    """Runs of 1950 on boards of 800 are 1150 in their two end pieces and one whole board. Ends of at least 300 may then
    be 350 to 800 long, and 400 apart is possible (350 and 750). Ends of at least 380 are 380 to 770 long: only 390
    apart."""
    room = room_of([(0, 0), (1970, 0), (1970, 1500), (0, 1500)])
    short = Board(length_mm=800.0, width_mm=130.0, thickness_mm=8.0, pack=10)
    kept = plan_floor(room, short, Wishes(direction_rad=0.0, rules=Rules(stagger_mm=400.0, shortest_mm=300.0)),
                      moves=FEW)
    assert kept.relaxed == ()
    tight = plan_floor(room, short, Wishes(direction_rad=0.0, rules=Rules(stagger_mm=400.0, shortest_mm=380.0)),
                       moves=FEW)
    assert {rule.rule for rule in tight.relaxed} == {"stagger"}
    assert all(380.0 <= rule.had_mm < 400.0 for rule in tight.relaxed)


@pytest.mark.parametrize("rules", [Rules(stagger_mm=1.0, shortest_mm=1.0, narrowest_mm=1.0),
                                   Rules(stagger_mm=642.5, shortest_mm=1285.0, narrowest_mm=192.0)])
@pytest.mark.parametrize("corners", [
    [(0, 0), (900, 0), (900, 700), (0, 700)],
    [(0, 0), (1302, 0), (1302, 400), (0, 400)],
    [(0, 0), (5000, 0), (5000, 25), (0, 25)],
    [(0, 0), (3000, 0), (3000, 2000), (1510, 2000), (1500, 300), (1490, 2000), (0, 2000)],
    [(0, 0), (4000, 0), (3900, 2500), (3800, 12), (200, 10), (100, 2500)],
])
def test_odd_floors_and_the_outermost_rules_end_in_a_plan_or_a_sentence(corners, rules, room_of, board):
    """A board longer than the room, a floor as wide as two gaps and five, a slit of wall, a strip thinner than its
    gaps."""
    room = room_of(corners)
    try:
        plan = plan_floor(room, board, Wishes(rules=rules), moves=60)
    except LayoutError as refusal:
        assert refusal.slug in ("needle", "gap-eats-floor") and str(refusal).endswith(".")
    else:
        assert find_faults(plan, room) == () and all(row.pieces for row in plan.rows)
