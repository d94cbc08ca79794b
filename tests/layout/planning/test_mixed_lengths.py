"""Plans of boards of several lengths: rooms of every drawn shape, counted here again with shapely; what the judge
must notice; what is refused."""
from __future__ import annotations

import json
import random
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon
from tests.support.draw_rooms import KINDS, draw_room
from tests.bench.layout.run_layout import to_room

from layout.planfile.codec import from_answer, to_answer
from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.planning.planner import EFFORTS, plan_floor
from layout.room import Board, OwnPiece, Room, Rules, Wishes

PACK = ((600.0, 1), (1000.0, 2), (1400.0, 2), (2000.0, 3))
BOARD = Board(length_mm=2000.0, width_mm=192.0, thickness_mm=14.0, pack=8, mix=PACK)


def rectangle(long: float, wide: float) -> Room:
    return Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (long, 0), (long, wide), (0, wide)], dtype=float))


@pytest.fixture(scope="module")
def planned():
    room = rectangle(3800.0, 2650.0)
    return plan_floor(room, BOARD, Wishes(), moves=EFFORTS["preview"]), room


@pytest.mark.parametrize("number", range(len(KINDS)))
def test_every_floor_is_covered_by_pieces_of_boards_the_packs_hold(number):
    """Areas by shapely; lengths, counts and packs counted from the pieces alone."""
    kind, room, board = to_room(draw_room(random.Random(400 + number), KINDS[number % len(KINDS)]))
    plan = plan_floor(room, replace(board, length_mm=2000.0, pack=8, mix=PACK), Wishes(), moves=EFFORTS["preview"])
    covered = sum(Polygon(piece.outline_mm, piece.holes_mm).area for piece in plan.pieces)
    assert covered == pytest.approx(sum(Polygon(part.outline, part.holes).area for part in plan.cover), abs=100.0), kind
    longest = {board: max(piece.to_mm for piece in plan.pieces if piece.board == board)
               for board in {piece.board for piece in plan.pieces}}
    assert sorted(longest) == list(range(1, plan.boards + 1))
    assert all(longest[board] <= plan.lengths_mm[board - 1] + 1e-6 for board in longest)
    taken = Counter(plan.lengths_mm)
    assert all(taken[length] <= count * plan.packs for length, count in PACK) and set(taken) <= {
        length for length, _ in PACK
    }
    assert any(taken[length] > count * (plan.packs - 1) for length, count in PACK)
    assert from_answer(json.loads(json.dumps(to_answer(plan)))) == plan


def test_a_joint_has_a_factory_end_on_both_sides(planned):
    """A piece with a neighbour on its right keeps its own board's right end, whatever length that has."""
    plan, _ = planned
    for row in plan.rows:
        for left, right in zip(row.pieces, row.pieces[1:]):
            assert left.to_mm == pytest.approx(plan.lengths_mm[left.board - 1],
                                               abs=1e-6) and right.from_mm == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("change", "slug"), [
    (lambda plan: {"packs": plan.packs - 1}, "packs"),
    (lambda plan: {"least_packs": plan.packs + 1}, "packs"),
    (lambda plan: {"least_packs": 0}, "packs"),
    (lambda plan: {"lengths_mm": plan.lengths_mm[:-1]}, "packs"),
    (lambda plan: {"lengths_mm": (1234.0, *plan.lengths_mm[1:])}, "packs"),
    (lambda plan: {"lengths_mm": tuple(600.0 for _ in plan.lengths_mm)}, "off-board"),
    (lambda plan: {"proven": not plan.proven}, "bound")])
def test_the_judge_notices(planned, change, slug):
    plan, room = planned
    assert slug in {fault.slug for fault in find_faults(replace(plan, **change(plan)), room)}


def test_fewer_packs_hold_too_little_wood(planned):
    plan, _ = planned
    runs = sum(piece.to_mm - piece.from_mm for piece in plan.pieces)
    in_a_pack = sum(length * count for length, count in PACK)
    assert (plan.least_packs - 1) * in_a_pack < runs <= plan.packs * in_a_pack


def test_rules_give_way_where_nothing_else_is_left():
    """A passage with runs of 1280 mm and pieces of at least 500: its joints lie within 280 mm, so 450 mm apart
    cannot be."""
    board = replace(BOARD, length_mm=900.0, pack=4, mix=((700.0, 2), (900.0, 2)))
    plan = plan_floor(rectangle(1300.0, 1000.0), board,
                      Wishes(rules=Rules(stagger_mm=450.0, shortest_mm=500.0), direction_rad=0.0),
                      moves=EFFORTS["preview"])
    assert {rule.rule for rule in plan.relaxed} == {"stagger"}
    assert all(200.0 - 1e-6 <= rule.had_mm <= 280.0 + 1e-6 for rule in plan.relaxed)


@pytest.mark.parametrize(("mix", "wishes", "words"), [
    (((600.0, 0), (1200.0, 2)), Wishes(), "0 boards of 600 mm"),
    (((600.0, 1), (600.0, 2), (1200.0, 2)), Wishes(), "listed twice"),
    (((60.0, 1), (1200.0, 2)), Wishes(), "60 mm"),
    (((250.0, 1), (1200.0, 2)), Wishes(), "shortest piece you allow"),
    (PACK, Wishes(pattern="thirds"), "thirds")])
def test_what_is_refused(mix, wishes, words):
    board = replace(BOARD, length_mm=max(length for length, _ in mix), mix=mix)
    with pytest.raises(LayoutError, match=words) as caught:
        plan_floor(rectangle(3000.0, 2000.0), board, wishes, moves=60)
    assert caught.value.slug in ("board-lengths", "mixed-wish")


def test_boards_of_one_length_say_nothing_of_lengths():
    answer = to_answer(plan_floor(rectangle(3000.0, 2000.0), replace(BOARD, mix=()), Wishes(), moves=60))
    assert "board_lengths" not in answer and "least_packs" not in answer and "lengths" not in answer["board"]
    assert all("packs" not in choice for choice in answer["choices"])


@pytest.mark.parametrize("number", range(6))
def test_pieces_at_hand_are_cut_before_new_boards_and_never_more_of_them_than_there_is(number):
    """Counted from the pieces alone: what an own piece gives lies within its length, and new wood and own wood together
    are as long as what lies, saw cuts and offcuts apart."""
    rng = random.Random(number)
    room = rectangle(rng.uniform(2500.0, 4200.0), rng.uniform(1500.0, 2600.0))
    stock = tuple(OwnPiece(length_mm=float(rng.randint(350, 1900)), keeps=(rng.choice(("left", "right")),))
                  for _ in range(rng.randint(1, 6))) + (OwnPiece(length_mm=2000.0, keeps=("left", "right")),)
    plan = plan_floor(room, BOARD, Wishes(stock=stock), moves=EFFORTS["preview"])
    used = {piece.board: piece for piece in plan.owned if piece.board}
    assert len(plan.owned) == len(stock) and used and min(used) > plan.boards == len(plan.lengths_mm)
    for board, own in used.items():
        taken = [piece for piece in plan.pieces if piece.board == board]
        assert taken and sum(piece.to_mm - piece.from_mm for piece in taken) <= own.length_mm + 1e-6
    bought = plan_floor(room, BOARD, Wishes(), moves=EFFORTS["preview"])
    assert plan.packs <= bought.packs and sum(plan.lengths_mm) < sum(bought.lengths_mm)
    assert find_faults(plan, room) == () and from_answer(json.loads(json.dumps(to_answer(plan)))) == plan


def test_a_floor_that_pieces_at_hand_cover_needs_no_board():
    room = rectangle(1520.0, 590.0)
    stock = tuple(OwnPiece(length_mm=2000.0, keeps=("left", "right")) for _ in range(4))
    plan = plan_floor(room, BOARD, Wishes(stock=stock, first_row_mm=190.0), moves=60)
    assert plan.boards == 0 == plan.packs == len(plan.lengths_mm) and find_faults(plan, room) == ()
