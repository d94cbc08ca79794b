"""What the judge says of a planted fault: the place and the amount, worked out by hand from where the pieces of a
rectangle lie.

The rectangle is 4000 x 2650 mm with a gap of 10 mm, its rows along x; the amounts are areas and lengths anybody can
reckon.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layout.judge.check import find_faults
from layout.judge.floor import check_floor
from layout.judge.wood import check_wood
from layout.judge.piece_geometry import lay_out
from layout.plan import Piece, Plan, Polygon, Run
from layout.planning.planner import plan_floor
from layout.room import Board, OwnPiece, Pipe, Room, Wishes
from tests.support.altered import with_piece

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
WIDE, DEEP = 4000.0 - 20.0, 2650.0 - 20.0
Told = dict[tuple[str, str], float]


@pytest.fixture(scope="module")
def box() -> tuple[Plan, Room]:
    """The rectangle, with a pipe and two pieces of an earlier floor."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 2650), (0, 2650)], dtype=float),
                pipes=(Pipe(name="P1", centre_mm=(650.0, 400.0), diameter_mm=22.0),))
    own = (OwnPiece(length_mm=700.0, keeps=("left",)), OwnPiece(length_mm=812.0, keeps=("right",)))
    plan = plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, stock=own), moves=100)
    assert find_faults(plan, room) == () and {piece.keeps for piece in plan.owned if piece.board} == {
        ("left",),
        ("right",),
    }
    return plan, room


def floor_told(plan: Plan, room: Room) -> Told:
    return {(fault.slug, fault.where): fault.amount for fault in check_floor(plan, room, lay_out(plan))}


def wood_told(plan: Plan, room: Room) -> Told:
    return {(fault.slug, fault.where): fault.amount for fault in check_wood(plan, room, lay_out(plan))}


def shifted(plan: Plan, name: str, way: tuple[float, float], by_mm: float) -> Plan:
    """The plan with one piece moved along a direction."""
    return with_piece(plan, name, lambda p: replace(p,
                                                    outline_mm=tuple((x + by_mm * way[0], y + by_mm * way[1])
                                                                     for x, y in p.outline_mm)))


def along(plan: Plan, name: str, by_mm: float) -> Plan:
    """The plan with one piece moved along its row."""
    return shifted(plan, name, plan.u, by_mm)


def cover(left: float, near: float, right: float, far: float) -> tuple[Polygon, ...]:
    return (Polygon(outline=((left, near), (right, near), (right, far), (left, far))),)


def area(piece: Piece) -> float:
    return (piece.to_mm - piece.from_mm) * (piece.far_mm - piece.near_mm)


# ---- the floor


def test_a_gap_too_narrow_is_told_by_how_much_and_where(box):
    plan, room = box
    assert floor_told(replace(plan, gap_least_mm=10.01),
                      room) == {("gap-narrow", "cover 1"): pytest.approx(0.01, abs=1e-6)}
    assert floor_told(replace(plan, gap_least_mm=10.0 + 5e-6), room) == {}
    beyond = floor_told(replace(plan, cover=cover(10, 10, 4002, 2640)), room)
    assert beyond[("gap-narrow", "cover 1")] == pytest.approx(10.0) and beyond[("gap-narrow",
                                                                                "cover")] == pytest.approx(2 * DEEP)
    parts = (*cover(10, 10, 2000, 2640), *cover(2000, 10, 3993, 2640))
    assert floor_told(replace(plan, cover=parts), room)[("gap-narrow", "cover 2")] == pytest.approx(3.0)


@pytest.mark.parametrize("lacks_mm, is_told", [(0.03, False), (0.05, True), (2.0, True)])
def test_a_cover_that_leaves_floor_out_is_told_by_its_area(box, lacks_mm, is_told):
    """More than 100 mm2 of it, though it may be no wider than a hair."""
    plan, room = box
    told = floor_told(replace(plan, cover=cover(10, 10, 3990 - lacks_mm, 2640)), room)
    assert (("gap-wide", "cover") in told) is is_told
    if is_told:
        assert told[("gap-wide", "cover")] == pytest.approx(lacks_mm * DEEP, rel=1e-3)


def test_only_a_corner_may_be_cut_back_further_than_the_gap(box):
    """Up to six gaps from the wall's corner: nothing 60 mm from it is told, 4 mm more is."""
    plan, room = box

    def cut(by: float) -> Told:
        outline = ((10.0, 10.0), (3990.0, 10.0), (3990.0, 2640.0 - by), (3990.0 - by, 2640.0), (10.0, 2640.0))
        return floor_told(replace(plan, cover=(Polygon(outline=outline),)), room)
    # From the corner of the wall to the far end of the cut: 10 mm across and 10 mm and the cut along.
    within, beyond = (np.sqrt(reach ** 2 - 10.0 ** 2) - 10.0 for reach in (59.9, 64.0))
    assert ("gap-wide", "cover") not in cut(within)
    assert ("gap-wide", "cover") in cut(beyond)


def test_a_piece_that_overlaps_or_leaves_the_cover_is_told_by_its_area(box):
    plan, room = box
    row = plan.rows[4]
    first, second = row.pieces[:2]
    told = floor_told(along(plan, first.id, 4.0), room)
    assert told[("overlap", f"{first.id}/{second.id}")] == pytest.approx(4 * 192) and told[
        ("uncovered", "cover")
    ] == pytest.approx(4 * 192)
    assert set(told) == {("overlap", f"{first.id}/{second.id}"), ("uncovered", "cover")}
    told = floor_told(along(plan, first.id, -4.0), room)
    assert told == {("outside-cover", first.id): pytest.approx(4 * 192), ("uncovered", "cover"): pytest.approx(4 * 192)}
    assert floor_told(along(plan, first.id, 0.9 / 192), room) == floor_told(along(plan, first.id, -0.9 / 192),
                                                                            room) == {}
    for by in (1.1 / 192, -1.1 / 192):
        assert {slug for slug, _ in floor_told(along(plan, first.id, by), room)} == {"overlap"
                                                                                     if by > 0 else "outside-cover"}


def test_a_cover_left_bare_or_covered_twice_is_told_by_its_area(box):
    plan, room = box
    row = plan.rows[4]
    last = row.pieces[-1]
    rows = (*plan.rows[:4], replace(row, runs=(Run(pieces=row.pieces[:-1]),)), *plan.rows[5:])
    assert floor_told(replace(plan, rows=rows), room) == {("uncovered", "cover"): pytest.approx(area(last))}
    nothing = replace(plan, rows=tuple(replace(row, runs=()) for row in plan.rows))
    assert floor_told(nothing, room) == {("uncovered", "cover"): pytest.approx(WIDE * DEEP)}
    for bare, is_told in ((99.0, False), (101.0, True)):
        grown = replace(plan, cover=cover(10, 10, 3990 + bare / DEEP, 2640))
        assert (("uncovered", "cover") in floor_told(grown, room)) is is_told


def test_an_outline_that_runs_clockwise_is_told_with_its_area(box):
    plan, room = box
    piece = plan.rows[4].pieces[1]
    told = floor_told(with_piece(plan, piece.id, lambda p: replace(p, outline_mm=p.outline_mm[::-1])), room)
    assert told[("extent", piece.id)] == pytest.approx(area(piece))


def test_strips_that_do_not_follow_one_another_are_told_by_their_width(box):
    plan, room = box
    rows = plan.rows
    assert floor_told(plan, room) == {}
    wide = (*rows[:-1], replace(rows[-1], far_mm=rows[-1].near_mm + 192.01))
    assert floor_told(replace(plan, rows=wide), room) == {("row-strip", f"row {len(rows)}"): pytest.approx(192.01)}
    empty = (*rows[:-1], replace(rows[-1], far_mm=rows[-1].near_mm))
    assert floor_told(replace(plan, rows=empty), room)[("row-strip", f"row {len(rows)}")] == pytest.approx(
        0.0, abs=1e-9
    )
    # Where no board lies across, whole strips may be missing, but no part of one.
    for missing, is_told in ((192.0, False), (384.0, False), (96.0, True), (0.001, True), (-192.0, True)):
        later = [replace(row, near_mm=row.near_mm + missing, far_mm=row.far_mm + missing, runs=()) for row in rows[5:]]
        told = floor_told(replace(plan, rows=(*rows[:5], *later)), room)
        assert (("row-strip", "row 6") in told) is is_told
        assert ("row-strip", "row 7") not in told
    for k in (1, 3, len(rows) - 2):
        thin = (*rows[:k], replace(rows[k], far_mm=rows[k].far_mm - 0.01), *rows[k + 1:])
        assert floor_told(replace(plan, rows=thin), room)[("row-strip", f"row {k + 1}")] == pytest.approx(191.99)
    for wide, is_told in ((0.5, False), (0.0, True), (-0.5, True)):
        last = (*rows[:-1], replace(rows[-1], far_mm=rows[-1].near_mm + wide))
        assert (("row-strip", f"row {len(rows)}") in floor_told(replace(plan, rows=last), room)) is is_told


@pytest.mark.parametrize("by_mm, is_told",
                         [(0.0009, False), (0.0011, True), (-0.0009, False), (-0.0011, True), (5.0, True)])
def test_a_piece_that_leaves_its_strip_is_told_by_how_far(box, by_mm, is_told):
    plan, room = box
    piece = plan.rows[4].pieces[1]
    told = floor_told(shifted(plan, piece.id, plan.v, by_mm), room)
    assert (("row-strip", piece.id) in told) is is_told
    if is_told:
        assert told[("row-strip", piece.id)] == pytest.approx(abs(by_mm), abs=1e-6)


def test_numbers_out_of_order_are_told_by_what_they_should_be(box):
    plan, room = box
    first, second, *rest = plan.rows
    told = floor_told(replace(plan, rows=(replace(first, number=2), replace(second, number=1), *rest)), room)
    assert told[("piece-id", "row 2")] == 1.0 and told[("piece-id", "row 1")] == 2.0
    third = rest[0].pieces[2]
    assert floor_told(with_piece(plan, third.id, lambda p: replace(p, id="3.9")), room) == {("piece-id", "3.9"): 3.0}
    pieces = rest[0].pieces
    swapped = [replace(pieces[0], id="3.1"), replace(pieces[2], id="3.2"), replace(pieces[1], id="3.3"), *pieces[3:]]
    told = floor_told(replace(plan, rows=(first, second, replace(rest[0], runs=(Run(pieces=tuple(swapped)),)),
                                          *rest[1:])), room)
    assert told == {("piece-id", "3.3"): 3.0}


def test_a_floor_that_is_not_the_room_is_told_by_its_area(box):
    plan, room = box
    assert floor_told(replace(plan, floor=cover(5, 0, 4005, 2650)[0]),
                      room)[("floor", "floor")] == pytest.approx(2 * 5 * 2650)
    for by, is_told in ((0.9 / 2650, False), (1.1 / 2650, True)):
        assert (("floor", "floor") in floor_told(replace(plan, floor=cover(0, 0, 4000 + by, 2650)[0]), room)) is is_told


# ---- the wood


def test_a_piece_larger_than_it_says_or_than_its_board_is_told_by_how_much(box):
    plan, room = box
    whole = next(p for p in plan.pieces if p.to_mm - p.from_mm > 1284.99 and (p.near_mm, p.far_mm) == (0.0, 192.0))
    for axis, size in (("from_mm", -3.0), ("to_mm", 3.0), ("near_mm", -2.0), ("far_mm", 2.0)):
        told = wood_told(with_piece(plan, whole.id, lambda p, axis=axis,
                                    size=size: replace(p, **{axis: getattr(p, axis) + size})), room)
        assert told[("extent", whole.id)] == told[("off-board", whole.id)] == pytest.approx(abs(size))
    for off, is_told in ((2e-6, True), (5e-7, False)):
        assert (("off-board", whole.id) in wood_told(with_piece(plan, whole.id, lambda p,
                                                                off=off: replace(p, to_mm=p.to_mm + off)),
                                                     room)) is is_told


def test_two_pieces_too_near_in_one_board_are_told_by_what_the_saw_lacks(box):
    plan, room = box
    offcut = next(o for o in plan.offcuts if o.used_by and "right" in o.keeps
                  and not any(o.board == own.board for own in plan.owned))
    pieces = sorted((p for p in plan.pieces if p.board == offcut.board), key=lambda p: p.from_mm)
    assert len(pieces) == 2
    spare = pieces[1].from_mm - pieces[0].to_mm
    told = wood_told(replace(plan, kerf_mm=spare + 2.0), room)
    assert told[("board-overlap", f"board {offcut.board}")] == pytest.approx(2.0)
    assert told[("offcut", offcut.label)] == pytest.approx(spare + 2.0 - 3.0)
    assert ("board-overlap", f"board {offcut.board}") not in wood_told(replace(plan, kerf_mm=spare), room)


def test_an_offcut_is_told_by_what_is_wrong_with_it(box):
    plan, room = box
    used = next(o for o in plan.offcuts if o.used_by and "right" in o.keeps
                and not any(o.board == own.board for own in plan.owned))
    user = next(p for p in plan.pieces if p.id == used.used_by)

    def told(**change) -> Told:
        return wood_told(replace(plan, offcuts=tuple(replace(o, **change) if o is used else o for o in plan.offcuts)),
                         room)
    key = ("offcut", used.label)
    assert told(from_mm=user.from_mm + 4.0)[key] == pytest.approx(4.0)
    assert told(from_mm=used.to_mm, to_mm=used.from_mm)[key] == pytest.approx(user.to_mm - used.from_mm)
    turned = replace(plan, offcuts=tuple(replace(o, from_mm=o.to_mm + 7.0) if o is used else o for o in plan.offcuts))
    assert any(fault.amount == pytest.approx(-7.0) for fault in check_wood(turned, room, lay_out(turned))
               if fault.where == used.label)
    assert told(to_mm=used.to_mm + 5e-7) == {} and key in told(to_mm=used.to_mm + 2e-6)
    assert told(used_by="")[key] == 1.0 and told(cut_by="99.9")[key] == 0.0
    again = replace(plan, offcuts=(*plan.offcuts, used))
    assert wood_told(again, room)[("offcut", "offcuts")] == 1.0
    new = next(p for p in plan.pieces if p.takes == used.label)
    assert wood_told(with_piece(plan, new.id, lambda p: replace(p, takes="")),
                     room)[("offcut", new.id)] == float(new.board)
    assert wood_told(with_piece(plan, new.id, lambda p: replace(p, takes="99R")),
                     room)[("offcut", new.id)] == float(new.board)
    for other in (o for o in plan.offcuts if o.cut_by != new.id):
        assert wood_told(with_piece(plan, new.id, lambda p, other=other: replace(p, leaves=(other.label,))),
                         room)[("offcut", new.id)] == 1.0
    maker = next(p for p in plan.pieces if p.id == used.cut_by)
    assert wood_told(with_piece(plan, maker.id, lambda p: replace(p, takes="99R")),
                     room)[("offcut", maker.id)] == float(maker.board)
    for board in (used.board - 1, used.board + 1):
        assert key in told(board=board)


def test_a_piece_at_hand_that_is_too_short_is_told_by_how_much(box):
    plan, room = box
    for own in (own for own in plan.owned if own.board):
        uses = [p for p in plan.pieces if p.board == own.board]
        inside = (
            max(p.to_mm for p in uses) if own.keeps == ("left",) else BOARD.length_mm - min(p.from_mm for p in uses)
        )
        for short, is_told in ((inside + 1e-7, False), (inside - 5.0, True)):
            told = wood_told(replace(plan, owned=tuple(replace(o, length_mm=short) if o is own else o
                                                       for o in plan.owned)), room)
            assert (("owned", f"board {own.board}") in told) is is_told
            if is_told:
                assert told[("owned", f"board {own.board}")] == pytest.approx(5.0)
    double = replace(plan, owned=(*plan.owned, plan.owned[0]))
    assert wood_told(double, room)[("owned", "owned")] == float(len(plan.owned) + 1)
    one_number = replace(plan, owned=(*plan.owned, replace(plan.owned[0], label="other")))
    assert wood_told(one_number, room)[("owned", "owned")] == float(len(plan.owned) + 1)
    for label in ("", "zz"):
        for own in (own for own in plan.owned if own.board):
            first = min((p for p in plan.pieces if p.board == own.board), key=lambda p: float(p.id))
            assert ("owned", f"board {own.board}") in wood_told(with_piece(plan, first.id, lambda p,
                                                                           label=label: replace(p, takes=label)), room)
    for boards in (plan.boards - 1, plan.boards + 1):
        assert any(slug == "owned" for slug, _ in wood_told(replace(plan, boards=boards), room))


def test_a_hole_is_told_by_its_bite_and_its_size(box):
    """A pipe of 22 mm and two gaps of 10 is a hole of 42; it stands in one piece, or bites from several what adds up
    to the whole disc."""
    plan, room = box
    assert wood_told(replace(plan, holes=()), room)[("hole", "P1")] == pytest.approx(42.0)
    bored = [p for p in plan.pieces if any(cut.kind == "hole" for cut in p.cuts)]
    unbored = plan
    for piece in bored:
        unbored = with_piece(unbored, piece.id,
                             lambda p: replace(p, cuts=tuple(cut for cut in p.cuts if cut.kind != "hole")))
    told = {where: amount for (slug, where), amount in wood_told(unbored, room).items() if slug == "hole"}
    assert set(told) == {p.id for p in bored} and sum(told.values()) == pytest.approx(np.pi * 21 ** 2, rel=0.01)


def test_sums_that_are_wrong_are_told_with_what_was_said(box):
    plan, room = box
    at_hand = sum(bool(own.board) for own in plan.owned)
    assert wood_told(replace(plan, boards=plan.boards + 1), room)[("board-number", "boards")] == float(
        plan.boards + at_hand
    )
    assert wood_told(replace(plan, boards=plan.boards - 1), room)[("board-number", "boards")] == float(
        plan.boards + at_hand
    )
    for bound in (plan.boards, plan.boards - 1):
        for proven in (True, False):
            assert (("bound", "bound") in wood_told(replace(plan, bound=bound, proven=proven), room)) is (
                proven != (bound == plan.boards)
            )
    assert wood_told(replace(plan, packs=plan.packs + 1), room) == {("packs", "packs"): float(plan.packs + 1)}
    assert wood_told(replace(plan, bound=plan.boards + 1), room) == {("bound", "bound"): float(plan.boards + 1)}
    off = wood_told(replace(plan, waste_percent=plan.waste_percent + 2e-6), room)
    assert off == {("waste", "waste"): plan.waste_percent + 2e-6}
    assert wood_told(replace(plan, waste_percent=plan.waste_percent + 5e-7), room) == {}
    assert ("waste", "waste") in wood_told(replace(plan, waste_percent=float("nan")), room)
    wood = plan.boards * 1285.0 + sum(own.length_mm for own in plan.owned if own.board)
    assert plan.waste_percent == pytest.approx(100 * (1 - WIDE * DEEP / (wood * 192.0)))
    assert wood_told(replace(plan, lengths_mm=(1285.0,)), room)[("packs", "packs")] == 0.0
    assert wood_told(replace(plan, least_packs=3), room)[("packs", "packs")] == 3.0


def test_packs_of_several_lengths_are_held_against_the_wood(box):
    """A pack of eight boards of 1285 mm and four of 900 holds 13,880 mm: so many packs are surely needed as the
    floor is longer than one fewer."""
    plan, room = box
    laid = sum(piece.to_mm - piece.from_mm for piece in plan.pieces)
    surely = int(laid // 13880.0) + 1
    assert surely < plan.packs

    def told(**change) -> Told:
        changed = replace(mixed, **change)
        return wood_told(replace(changed, proven=change.get("proven", changed.least_packs == changed.packs)), room)
    wood = plan.boards * 1285.0 + sum(own.length_mm for own in plan.owned if own.board)
    mixed = replace(plan, board=replace(BOARD, mix=((1285.0, 8), (900.0, 4))), lengths_mm=(1285.0,) * plan.boards,
                    least_packs=surely, proven=False, waste_percent=100.0 * (1.0 - WIDE * DEEP / (wood * 192.0)))
    assert told() == told(least_packs=1) == {}
    for least in (surely + 1, 0, plan.packs + 1):
        assert told(least_packs=least) == {("packs", "least packs"): float(least)}
    assert told(lengths_mm=mixed.lengths_mm[:-1])[("packs", "lengths")] == float(plan.boards - 1)
    assert told(lengths_mm=(*mixed.lengths_mm, 1285.0))[("packs", "lengths")] == float(plan.boards + 1)
    assert told(lengths_mm=(*mixed.lengths_mm[:-1], 1300.0))[("packs", "lengths")] == float(plan.boards)
    assert told(packs=plan.packs + 1) == {("packs", "packs"): float(plan.packs + 1)}
    assert told(proven=True) == {("bound", "bound"): float(plan.bound)}
    few = replace(mixed, board=replace(BOARD, mix=((1285.0, 3), (900.0, 4))))
    assert wood_told(replace(few, packs=-(-plan.boards // 3), least_packs=1), room) == {}


def test_a_floor_laid_from_the_right_is_judged_in_its_own_order():
    """Offcuts come before what is made of them in the order of laying: turned round, they come after where both lie
    in one row."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (2500, 0), (2500, 1650), (0, 1650)], dtype=float))
    plan = plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, lay="right-to-left"),
                      moves=100)
    assert wood_told(plan, room) == {}
    rows = {offcut.label: (offcut.cut_by.split(".")[0], offcut.used_by.split(".")[0]) for offcut in plan.offcuts
            if offcut.used_by}
    within = [label for label, (maker, user) in rows.items() if maker == user]
    assert within and {("offcut", label) for label in within} <= set(wood_told(replace(plan, lay="left-to-right"),
                                                                               room))
