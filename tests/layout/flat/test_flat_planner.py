"""Flats planned with one stock of boards: never more boards than room by room, judged, offcuts carried forward only."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layout.flat.planner import Floor, PlannedFlat, plan_flat
from layout.flat_plan import FlatPlan
from layout.judge.check import find_faults
from layout.judge.flat import find_flat_faults
from layout.planfile.codec import from_answer, plan_tree
from layout.plan import SPARE_BOARDS
from layout.planning.planner import plan_floor
from layout.room import Board, Elsewhere, OwnPiece, Room, Underlay, Wishes
from tests.support.flats import MOVES, floors_of, planned_flat, stored_flats

WISHES = Wishes(along=("A", "B"))


def box(width: float, depth: float) -> Room:
    return Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (width, 0), (width, depth), (0, depth)], float))


def planned(floors: list[Floor], **more) -> FlatPlan:
    """The flat, with nothing refused and no fault found by either judge."""
    return sound(plan_flat(floors, moves=MOVES, **more), floors)


def sound(found: PlannedFlat, floors: list[Floor]) -> FlatPlan:
    rooms = {floor.name: floor.room for floor in floors}
    assert found.refused == () and find_flat_faults(found.flat) == ()
    assert [fault for floor in found.flat.floors for fault in find_faults(floor.plan, rooms[floor.name])] == []
    return found.flat


@pytest.mark.parametrize("number", [0, 1, 2, 6, 13])
def test_a_drawn_flat_takes_no_more_boards_than_its_rooms_alone_and_no_fewer_than_its_bound(number):
    floors, _ = floors_of(stored_flats()[number])
    flat = sound(planned_flat(number), floors)
    order = [floor.name for floor in flat.floors]
    (kind,) = flat.kinds
    assert order == [floor.name for floor in floors]
    assert kind.bound <= kind.boards == sum(floor.plan.boards for floor in flat.floors) <= kind.alone
    assert kind.packs_to_buy <= kind.packs_alone and kind.spare >= SPARE_BOARDS
    for travel in flat.travels:
        assert order.index(travel.from_floor) < order.index(travel.to_floor)
        # What is pencilled on it is the piece it becomes, room first.
        assert travel.label == f"{travel.to_floor} {travel.used_by}"
        (piece,) = (piece for piece in flat.plan_of(travel.to_floor).pieces if piece.takes == travel.label)
        assert piece.id == travel.used_by and piece.to_mm - piece.from_mm <= travel.length_mm + 1e-6


def test_what_one_room_leaves_saves_a_board_in_the_next(board):
    """Rows of 1930 mm take a board and 645 more: of each second board 637 are left (saw 3), 8 mm too short for the next
    row. The other room's rows, 1922 mm, take them as they are (arithmetic)."""
    exact = replace(WISHES, gap_least_mm=10.0, gap_most_mm=10.0)
    floors = [Floor(name="long", room=box(1950.0, 212.0), board=board, wishes=exact),
              Floor(name="short", room=box(1942.0, 212.0), board=board, wishes=exact)]
    flat = planned(floors)
    (kind,), (travel,) = flat.kinds, flat.travels
    assert (kind.alone, kind.boards, kind.bound) == (4, 3, 3) and kind.proven
    assert (travel.from_floor, travel.to_floor) == ("long", "short")


def test_the_same_arguments_give_the_same_flat():
    floors, openings = floors_of(stored_flats()[1])
    assert planned(floors, openings=openings) == planned_flat(1).flat


def test_the_plan_of_a_room_in_a_flat_reads_back_as_it_was_written():
    flat = planned_flat(2).flat
    assert any(floor.plan.owned for floor in flat.floors)
    for floor in flat.floors:
        assert from_answer(plan_tree(floor.plan)).rows == floor.plan.rows
        assert from_answer(plan_tree(floor.plan)).owned == floor.plan.owned


def test_one_room_is_planned_as_it_is_alone(board, box_3x4):
    flat = planned([Floor(name="only", room=box_3x4, board=board, wishes=WISHES)])
    alone = plan_floor(box_3x4, board, WISHES, moves=MOVES)
    assert flat.floors[0].plan == alone and flat.travels == () and flat.kinds[0].bound == alone.bound


def test_two_kinds_of_boards_share_no_offcut_and_are_bought_apart(board):
    other = replace(board, width_mm=240.0)
    floors = [Floor(name=name, room=box(width, 1500.0), board=kind, wishes=WISHES)
              for name, width, kind in (("a", 1950.0, board), ("b", 1900.0, other), ("c", 1942.0, board))]
    flat = planned(floors)
    assert [kind.floors for kind in flat.kinds] == [("a", "c"), ("b",)]
    assert not any("b" in (travel.from_floor, travel.to_floor) for travel in flat.travels)
    assert sum(item.purchase.slug == "boards" for item in flat.shopping) == 2


def test_a_room_that_cannot_be_planned_costs_itself_alone(board, box_3x4):
    floors = [Floor(name="sliver", room=box(4000.0, 15.0), board=board, wishes=WISHES),
              Floor(name="room", room=box_3x4, board=board, wishes=WISHES)]
    found = plan_flat(floors, moves=MOVES)
    ((name, error),) = found.refused
    assert (name, error.slug) == ("sliver", "gap-eats-floor")
    assert [floor.name for floor in found.flat.floors] == ["room"]


def test_pieces_at_hand_serve_whichever_room_needs_them(board):
    """A whole board at hand in the first room's job: one board fewer to buy in the flat."""
    own = replace(WISHES, stock=(OwnPiece(length_mm=board.length_mm, keeps=("left", "right")),))
    rooms = [("a", box(3000.0, 1200.0)), ("b", box(2600.0, 1500.0))]
    without = planned([Floor(name=name, room=room, board=board, wishes=WISHES) for name, room in rooms])
    with_own = planned([Floor(name=name, room=room, board=board, wishes=own if name == "a" else WISHES)
                        for name, room in rooms])
    assert with_own.kinds[0].boards <= without.kinds[0].boards - 1


@pytest.mark.parametrize("pattern", ["thirds", "halves"])
def test_a_pattern_is_kept_and_shares_nothing(board, pattern, box_3x4):
    floors = [Floor(name="plain", room=box_3x4, board=board, wishes=WISHES),
              Floor(name="set", room=box_3x4, board=board, wishes=replace(WISHES, pattern=pattern))]
    flat = planned(floors)
    assert flat.travels == () and flat.plan_of("set").pattern == pattern


def test_boards_of_several_lengths_are_bought_together(box_3x4):
    mixed = Board(length_mm=1800.0, width_mm=190.0, thickness_mm=8.0, pack=8, mix=((600.0, 2), (1200.0, 3),
                                                                                  (1800.0, 3)))
    floors = [Floor(name=name, room=box_3x4, board=mixed, wishes=WISHES) for name in ("a", "b")]
    flat = planned(floors)
    (kind,) = flat.kinds
    lengths = [length for floor in flat.floors for length in floor.plan.lengths_mm]
    assert all(lengths.count(length) <= count * kind.packs for length, count in mixed.mix)
    assert kind.packs_to_buy <= kind.packs_alone


def test_underlay_film_beading_and_profiles_are_bought_once_for_all(board):
    """A roll of 10 m2 covers two rooms of 4 m2; the profile of a doorway counts once though both rooms list its
    door."""
    roll = Underlay(thickness_mm=3.0, roll_length_mm=10_000.0, roll_width_mm=1000.0)
    data = stored_flats()[0]
    floors, openings = floors_of(data)
    floors = [replace(floor, wishes=replace(floor.wishes, underlay=roll, subfloor="mineral")) for floor in floors]
    flat = planned(floors, openings=openings)
    quantity = {item.purchase.slug: item.quantity for item in flat.shopping}
    alone = [{item.purchase.slug: item.quantity for item in floor.plan.shopping} for floor in flat.floors]
    for slug in ("underlay-rolls", "film", "joint-tape", "beading-bars", "spacers"):
        assert max(one[slug] for one in alone) <= quantity[slug] <= sum(one[slug] for one in alone)
    doors = sum(len(floor.room.doors) for floor in floors)
    assert sum(item.purchase.slug == "threshold" for item in flat.shopping) == doors - len(openings)
    (bars,) = flat.bars
    assert bars.bound <= len(bars.bars) <= bars.alone


def test_pieces_at_hand_are_listed_where_they_lie_and_taken_where_they_save_a_board():
    floors, openings = floors_of(stored_flats()[0])
    own = (OwnPiece(length_mm=420.0, keeps=("left",)), OwnPiece(length_mm=700.0, keeps=("right",)))
    came = OwnPiece(length_mm=655.0, keeps=("left",), label="attic 3R",
                    came_from=Elsewhere(floor="attic", piece="4.2"))
    first, *others = floors
    with_stock = [replace(first, wishes=replace(first.wishes, stock=(*own, came))),
                  *(replace(floor, wishes=replace(floor.wishes, stock=own)) for floor in others)]
    flat = plan_flat(with_stock, openings=openings, moves=MOVES).flat
    assert find_flat_faults(flat) == ()
    used = [piece.label for floor in flat.floors for piece in floor.plan.owned if piece.board]
    assert len(set(used)) == len(used)
    for floor in flat.floors:
        mine = [piece for piece in floor.plan.owned if piece.came_from is None]
        assert [(piece.length_mm, piece.keeps) for piece in mine] == [(piece.length_mm, piece.keeps) for piece in own]
        assert all(piece.board for piece in floor.plan.owned if piece.came_from is not None)
        room = next(one.room for one in floors if one.name == floor.name)
        assert find_faults(floor.plan, room) == ()
    (kind,) = flat.kinds
    (without,) = plan_flat(floors, openings=openings, moves=MOVES).flat.kinds
    assert kind.boards <= without.boards
