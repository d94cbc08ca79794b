"""The edge window: where board edges may lie, what that spares a saw, and that nothing is cheated.

Outside checks: the window of the trade sheet (section 5: 8 to 13 mm for a gap of 10 under a cover of 18), shapely's own
shrunken floors, and the balance examples of its section 3.
"""
from __future__ import annotations

import json
import random
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from layout.planfile.codec import from_answer, to_answer
from layout.region.run_ends import Window, at_ends, with_ends
from layout.errors import LayoutError
from layout.judge.check import find_faults
from layout.region.first_row import Sawing, choose_first_row
from layout.region.gap import edge_window
from layout.planning.planner import EFFORTS, plan_floor
from layout.room import Board, Room, Wishes
from layout.region.rows import runs_of, strips_of
from layout.planning.fitting.settled_ends import whole_length
from tests.support.draw_rooms import KINDS, draw_room
from tests.bench.layout.run_layout import to_room

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
WINDOW = Window(out_mm=2.0, in_mm=3.0)


def room_over(corners: list[tuple[float, float]]) -> Room:
    return Room(names=tuple("ABCDEFGH"[:len(corners)]), outline_mm=np.array(corners, dtype=float))


@pytest.fixture(scope="module", params=range(8))
def drawn(request):
    _, room, board = to_room(draw_room(random.Random(900 + request.param), KINDS[request.param % len(KINDS)]))
    return plan_floor(room, board, Wishes(), moves=EFFORTS["preview"]), room


def test_the_window_of_the_trade_sheet():
    """Section 5: target 10, least 8, cover 18, lap 2, shrink 3 leave 8 to 13."""
    assert edge_window(10.0, Wishes()) == (8.0, 13.0)
    assert edge_window(10.0, Wishes(gap_least_mm=9.0, gap_most_mm=12.0)) == (9.0, 12.0)
    assert edge_window(8.0, Wishes())[0] == 8.0 and edge_window(5.0, Wishes())[0] == 5.0


@pytest.mark.parametrize("wishes", [Wishes(gap_least_mm=11.0), Wishes(gap_most_mm=9.0), Wishes(gap_least_mm=-1.0)])
def test_a_window_without_the_gap_in_it_is_refused(wishes):
    with pytest.raises(LayoutError, match="gap at the walls") as refused:
        plan_floor(room_over([(0, 0), (4000, 0), (4000, 3000), (0, 3000)]), BOARD, wishes, moves=10)
    assert refused.value.slug == "bad-gap"


def test_pieces_lie_between_the_two_shrunken_floors(drawn):
    """Shapely's buffers of the floor as drawn, mitred; strips told as left out apart."""
    plan, room = drawn
    floor = Polygon(room.outline_mm, [ring for _, ring in room.islands])
    laid = shapely.union_all([Polygon(piece.outline_mm, piece.holes_mm).buffer(1e-5, join_style="mitre")
                              for piece in plan.pieces])
    widest, least = (floor.buffer(-gap, join_style="mitre") for gap in (plan.gap_least_mm, plan.gap_most_mm))
    assert laid.difference(widest.buffer(1e-4)).area < 1.0
    bare = least.difference(shapely.union_all([laid, *(Polygon(strip.outline).buffer(0.1) for strip in plan.left_out)]))
    assert sum(part.area for part in shapely.get_parts(bare) if part.area > 100.0) == 0.0


def test_lengths_are_whole_millimetres_and_no_strip_is_too_thin_to_hold(drawn):
    plan, _ = drawn
    """Where an offcut's end is slanted, as the cut that left it, the strip is as much wider on one side."""
    stocks = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in plan.offcuts}
    slants = {piece.id: max((max(cut.at) - min(cut.at) for cut in piece.cuts if cut.kind == "cross"), default=0.0)
              for piece in plan.pieces}
    ends = {offcut.label: slants[offcut.cut_by] for offcut in plan.offcuts}
    told = {rule.where for rule in plan.relaxed if rule.rule == "sliver"}
    for piece in plan.pieces:
        for cut in piece.cuts:
            if cut.kind == "cross":
                assert all(abs(at - round(at)) < 1e-6 for at in cut.at), (piece.id, cut.at)
                off = stocks.get(piece.takes, plan.board.length_mm) - min(cut.at)
                off += ends.get(piece.takes, 0.0)
                assert off > 0 and (off >= 15.0 - 1e-6 or piece.id in told), (piece.id, off)


def test_cuts_are_told_in_the_words_of_the_contract_and_read_back(drawn):
    plan, _ = drawn
    data = json.loads(json.dumps(to_answer(plan)))
    assert (data["gap_least"], data["gap_most"]) == (plan.gap_least_mm, plan.gap_most_mm)
    keys = {"cross": {"kind", "from", "at"}, "rip": {"kind", "from", "at"}, "notch": {"kind", "edge", "span", "deep"},
            "line": {"kind", "points"}, "hole": {"kind", "x", "y", "diameter", "to"}}
    order = list(keys)
    for row in data["rows"]:
        for piece in (piece for run in row["runs"] for piece in run["pieces"]):
            kinds = [cut["kind"] for cut in piece["cuts"]]
            assert kinds == sorted(kinds, key=order.index) and all(keys[cut["kind"]] <= set(cut)
                                                                   for cut in piece["cuts"])
    assert from_answer(data) == plan


def test_a_wall_slightly_out_of_square_gets_square_cuts():
    """4 mm over the board's width fit the window of 5 (the project's sheet of a fitter's numbers); 20 mm do not."""
    slightly, much = (plan_floor(room_over([(0, 0), (4000, 0), (4000 + lean, 3000), (lean, 3000)]), BOARD,
                                 Wishes(direction_rad=0.0), moves=60) for lean in (3000 * 3.5 / 192, 3000 * 20 / 192))
    for plan, square in ((slightly, True), (much, False)):
        crosses = [cut for piece in plan.pieces for cut in piece.cuts if cut.kind == "cross"]
        assert crosses and all((cut.at[0] == cut.at[1]) is square for cut in crosses)


def test_a_row_that_a_whole_board_all_but_fills_is_laid_whole():
    """Two boards and 2 x 10 mm: at 12 mm the row would lose 4 mm of wood; nobody saws that."""
    plan = plan_floor(room_over([(0, 0), (2 * 1285 + 17, 0), (2 * 1285 + 17, 800), (0, 800)]), BOARD,
                      Wishes(direction_rad=0.0, pattern="halves"), moves=60)
    assert any(not piece.cuts for piece in plan.pieces)
    whole = [row for row in plan.rows if len(row.pieces) == 2
             and all("left" in p.keeps and "right" in p.keeps for p in row.pieces)]
    assert all(not any(cut.kind == "cross" for piece in row.pieces for cut in piece.cuts) for row in whole)


def test_an_end_is_square_as_far_as_the_window_reaches():
    for lean, square in ((0.0, True), (4.0, True), (7.0, False)):
        run, = runs_of([Polygon([(lean, 0), (3000, 0), (3000, 192), (0, 192)])], strips_of(192.0, 192.0, 192.0))
        looked = with_ends(run, WINDOW, 192.0)
        assert looked.left_end.square is square and looked.right_end.square
        if square:
            assert lean - 2.0 <= looked.left_end.long_mm <= looked.left_end.short_mm <= 3.0
            moved = at_ends(looked, looked.left_end.short_mm, 3001.0)
            assert moved.shape.bounds[0] == looked.left_end.short_mm and moved.shape.bounds[2] == 3001.0


@pytest.mark.parametrize(("depth", "first", "last"), [(3185.0, 192.0, 113.0), (3080.0, 100.0, 100.0)])
def test_the_balance_examples_of_the_trade_sheet_stay_as_they_are(depth, first, last):
    """Section 3: 3185 gives 16 full rows and 113; 3080 gives 15 full rows and two of 100."""
    found = choose_first_row([box(0, 0, 4000, depth)], depth, 192.0, 60.0,
                             sawing=Sawing(sliver_mm=15.0, out_mm=2.0, in_mm=3.0))
    assert (found.width_mm, found.last_mm) == (pytest.approx(first), pytest.approx(last))


@pytest.mark.parametrize(("rest", "thin"), [(180.0, False), (179.0, False), (183.0, False), (185.0, True),
                                             (178.0, False)])
def test_a_thin_strip_along_a_wall_moves_the_first_row_but_costs_no_row(rest, thin):
    """A last row of 180 of 192 mm would lose 12 mm along the wall, and the window's 3 mm make 15 of it; one of 183
    does if all rows lie up to 3 mm further from the start wall, too; one of 185 cannot be helped without a row more,
    which costs boards, so the plan owns up to the strip."""
    depth = 16 * 192.0 + rest
    found = choose_first_row([box(0, 0, 4000, depth)], depth, 192.0, 60.0,
                             sawing=Sawing(sliver_mm=15.0, out_mm=2.0, in_mm=3.0))
    assert 16 * 192.0 + found.last_mm + found.width_mm - 192.0 == pytest.approx(depth)
    deep = depth + 20.0
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, deep), (0, deep)], float))
    plan = plan_floor(room, BOARD, Wishes(along=("A", "B"), start=("A", "B")), moves=0)
    assert len(plan.rows) == 17 and find_faults(plan, room) == ()
    off = [192.0 - min(cut.at) for piece in plan.pieces for cut in piece.cuts if cut.kind == "rip"]
    assert any(mm < 15.0 for mm in off) is thin
    assert any(rule.rule == "sliver" for rule in plan.relaxed) is thin


@pytest.mark.parametrize(("long", "last"), [(2000.0, 192.0), (10000.0, 177.0)])
def test_where_no_width_keeps_the_rule_a_long_wall_is_not_sawn_of_by_a_strip(long, last):
    """A far wall that falls back by 8 mm, and then by 140 more, leaves 44 of 192 mm at most. Along 10 m of it a row 15
    mm narrower is the lesser trouble; along 2 m it is not. (How much narrower for a metre is ours; no source.)"""
    deep = 16 * 192.0 + 100.0
    floor = Polygon([(0, 0), (long + 600.0, 0), (long + 600.0, deep - 148.0), (long, deep - 8.0), (0, deep)])
    found = choose_first_row([floor], deep, 192.0, 60.0, sawing=Sawing(sliver_mm=15.0))
    assert found.last_mm == pytest.approx(last) and found.narrow_mm == pytest.approx(last - 148.0)
    assert (found.thin_mm > 0.0) is (last == 192.0)


@pytest.mark.parametrize(("lo", "hi", "want", "step", "found"),
                         [(10.2, 15.1, 12.6, 1.0, 13.0), (10.2, 10.8, 10.5, 1.0, 10.5),
                          (100.0, 105.0, 101.0, 3.175, 101.6), (100.0, 100.5, 100.2, 3.175, 100.2)])
def test_lengths_are_multiples_of_the_step_or_of_its_halves(lo, hi, want, step, found):
    assert whole_length(lo, hi, want, step) == pytest.approx(found, abs=0.21)


def test_the_least_wood_is_what_the_bound_counts():
    """Wider windows never need more boards, nor is more proved than a plan uses."""
    room = room_over([(0, 0), (5200, 0), (5200, 3100), (0, 3100)])
    boards = [plan_floor(room, BOARD, Wishes(direction_rad=0.0, gap_least_mm=10.0 - w, gap_most_mm=10.0 + 2 * w),
                         moves=200) for w in (0.0, 1.0, 2.0)]
    assert all(plan.bound <= plan.boards for plan in boards)
    assert [plan.boards for plan in boards] == sorted((plan.boards for plan in boards), reverse=True)
    assert [plan.bound for plan in boards] == sorted((plan.bound for plan in boards), reverse=True)


def test_a_hall_is_not_laid_across(room_of):
    """1.1 m wide: rows along it, though rows across might save a board."""
    plan = plan_floor(room_of([(0, 0), (6500, 0), (6500, 1100), (0, 1100)]), BOARD, Wishes(), moves=200)
    assert abs(plan.u[0]) > 0.99


def test_rows_run_towards_the_window_that_is_named(room_of):
    room = room_of([(0, 0), (4000, 0), (4000, 3600), (0, 3600)])
    for wall, along in ((("A", "B"), 1), (("B", "C"), 0)):
        plan = plan_floor(room, BOARD, replace(Wishes(), light=wall), moves=60)
        assert abs(plan.u[along]) > 0.99
