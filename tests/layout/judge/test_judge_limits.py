"""The judge at its limits: silent a hundredth of a millimetre inside a rule, loud a hundredth outside; and faults near
islands, holes and own pieces.

What a rule measures is worked out here from the pieces alone, for a rectangle laid square to its walls.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layout.judge.check import find_faults
from layout.plan import Offcut, Plan, Polygon
from layout.planning.planner import plan_floor
from layout.room import Board, OwnPiece, Pipe, Room, Rules, Wishes
from tests.support.altered import with_pieces

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
NEAR, CLEAR = 0.01, -0.01


@pytest.fixture(scope="module")
def box() -> tuple[Plan, Room]:
    """A rectangle, its pipe and its plan, with rules that leave room below them."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 2650), (0, 2650)], dtype=float),
                pipes=(Pipe(name="P1", centre_mm=(650.0, 400.0), diameter_mm=22.0),))
    rules = Rules(stagger_mm=200.0, shortest_mm=250.0, narrowest_mm=60.0)
    return plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, rules=rules),
                      moves=400), room


@pytest.fixture(scope="module")
def hearth() -> tuple[Plan, Room]:
    """A rectangle with a hearth standing free in it, some pieces of an earlier floor at hand."""
    room = Room(names=tuple("ABCD"), outline_mm=np.array([(0, 0), (4300, 0), (4300, 3205), (0, 3205)], dtype=float),
                islands=(("hearth", np.array([(2000.0, 1400.0), (2600.0, 1400.0), (2600.0, 1700.0),
                                              (2000.0, 1700.0)])),))
    own = (OwnPiece(length_mm=700.0, keeps=("left",)), OwnPiece(length_mm=812.0, keeps=("right",)))
    plan = plan_floor(room, BOARD, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, stock=own), moves=400)
    assert any(piece.board for piece in plan.owned)
    return plan, room


def slugs(plan: Plan, room: Room) -> set[str]:
    return {fault.slug for fault in find_faults(plan, room)}


def joints(row) -> list[float]:
    """Where the pieces of a row of a rectangle meet, along the row."""
    return list(np.cumsum([piece.to_mm - piece.from_mm for piece in row.pieces])[:-1])


def measured(plan: Plan, rule: str) -> float:
    """The least stagger, piece or row of a rectangle's plan, mm."""
    match rule:
        case "stagger_mm":
            return min(abs(a - b) for upper, lower in zip(plan.rows, plan.rows[1:]) for a in joints(upper)
                       for b in joints(lower))
        case "shortest_mm":
            return min(piece.to_mm - piece.from_mm for piece in plan.pieces)
        case _:
            return min(row.far_mm - row.near_mm for row in plan.rows)


@pytest.mark.parametrize(("rule", "slug", "hair"), [
    ("stagger_mm", "stagger", 0.01), ("shortest_mm", "shortest", 0.01), ("narrowest_mm", "narrowest", 0.05)])
def test_a_rule_bites_at_what_the_pieces_measure(box, rule, slug, hair):
    plan, room = box
    limit = measured(plan, rule)
    assert slug not in slugs(replace(plan, rules=replace(plan.rules, **{rule: limit - hair})), room)
    assert slug in slugs(replace(plan, rules=replace(plan.rules, **{rule: limit + hair})), room)


def test_the_gap_bites_at_its_width(box):
    plan, room = box
    assert slugs(replace(plan, gap_least_mm=plan.gap_mm + NEAR), room) >= {"gap-narrow"}
    # The pipe's hole follows the gap, so a narrower one is told by it alone.
    assert "gap-narrow" not in slugs(replace(plan, gap_least_mm=plan.gap_mm + CLEAR), room)


def test_wood_keeps_a_saw_s_width_and_no_more(box):
    plan, room = box
    used = next(o for o in plan.offcuts if o.used_by)
    wood = {p.id: p for p in plan.pieces}
    spare = min(abs(wood[a].from_mm - wood[b].to_mm) for a, b in ((used.used_by, used.cut_by),
                                                                  (used.cut_by, used.used_by)))
    others = [abs(p.from_mm - q.to_mm) for p in plan.pieces for q in plan.pieces if p.board == q.board and p.id != q.id]
    assert spare >= plan.kerf_mm
    assert "board-overlap" not in slugs(replace(plan, kerf_mm=min(others) + CLEAR), room)
    assert "board-overlap" in slugs(replace(plan, kerf_mm=spare + 0.1), room)


@pytest.mark.parametrize("change", [
    lambda hole: replace(hole, diameter_mm=hole.diameter_mm + 0.1), lambda hole: replace(hole, pieces=hole.pieces[:-1]),
    lambda hole: replace(hole, pieces=(*hole.pieces, "9.1")), lambda hole: replace(hole, pipe="P2")])
def test_a_hole_that_is_listed_wrongly(box, change):
    plan, room = box
    assert slugs(replace(plan, holes=tuple(map(change, plan.holes))), room) == {"hole"}


@pytest.mark.parametrize("change", [lambda cut: replace(cut, diameter=cut.diameter + 0.1),
                                    lambda cut: replace(cut, centre=(cut.centre[0] + 1.0, cut.centre[1])),
                                    lambda cut: replace(cut, centre=(cut.centre[0], cut.centre[1] - 1.0)),
                                    lambda cut: replace(cut, pipe="P2")])
def test_a_hole_that_is_cut_wrongly(box, change):
    plan, room = box
    wrong = with_pieces(plan, lambda p: replace(p,
                                                cuts=tuple(change(cut) if cut.kind == "hole" else cut
                                                           for cut in p.cuts)))
    assert "hole" in slugs(wrong, room)


def test_a_hole_cut_where_no_pipe_is(box):
    plan, room = box
    cut = next(cut for piece in plan.pieces for cut in piece.cuts if cut.kind == "hole")
    last = plan.pieces[-1].id
    assert "hole" in slugs(with_pieces(plan, lambda p: replace(p, cuts=(*p.cuts, cut)) if p.id == last else p), room)


@pytest.mark.parametrize("change", [lambda o: replace(o, to_mm=o.to_mm + 20.0),
                                    lambda o: replace(o, from_mm=o.from_mm + 5.0, to_mm=o.to_mm - 5.0),
                                    lambda o: replace(o, label="X"), lambda o: replace(o, to_mm=o.from_mm),
                                    lambda o: replace(o, keeps=("left", "right")), lambda o: replace(o, used_by=""),
                                    lambda o: replace(o, board=o.board + 1)])
def test_an_offcut_that_is_not_the_wood_it_says(box, change):
    plan, room = box
    used = next(o for o in plan.offcuts if o.used_by)
    assert "offcut" in slugs(replace(plan, offcuts=tuple(change(o) if o is used else o for o in plan.offcuts)), room)


def test_an_offcut_longer_than_what_is_left(box):
    """Three millimetres of saw lie between an offcut and the piece it was cut from; it may not claim one of them."""
    plan, room = box

    def claims(offcut: Offcut) -> Offcut:
        grown = {"from_mm": offcut.from_mm - 1.0} if "right" in offcut.keeps else {"to_mm": offcut.to_mm + 1.0}
        return replace(offcut, **grown)
    for k, offcut in enumerate(plan.offcuts):
        maker = next(p for p in plan.pieces if p.id == offcut.cut_by)
        touches = min(abs(offcut.from_mm - maker.to_mm), abs(maker.from_mm - offcut.to_mm)) <= plan.kerf_mm + 1e-6
        wrong = replace(plan, offcuts=(*plan.offcuts[:k], claims(offcut), *plan.offcuts[k + 1:]))
        assert ("offcut" in slugs(wrong, room)) or not touches


def test_rows_and_numbers_in_order(box):
    plan, room = box
    first, second, *rest = plan.rows
    assert "piece-id" in slugs(replace(plan, rows=(replace(first, number=2), replace(second, number=1), *rest)), room)
    swapped = replace(second, runs=(replace(second.runs[0], pieces=second.runs[0].pieces[::-1]),))
    assert "piece-id" in slugs(replace(plan, rows=(first, swapped, *rest)), room)
    last = rest[-1]
    assert "row-strip" in slugs(replace(plan,
                                        rows=(first, second, *rest[:-1], replace(last, far_mm=last.far_mm - 0.01))),
                                room)
    assert "row-strip" in slugs(replace(plan, rows=(replace(first, near_mm=first.far_mm), second, *rest)), room)


def test_the_floor_round_an_island(hearth):
    plan, room = hearth
    assert find_faults(plan, room) == ()
    (part,) = plan.cover
    assert {"gap-narrow", "uncovered"} <= slugs(replace(plan, cover=(Polygon(outline=part.outline, holes=()),)), room)
    hole = np.array(part.holes[0])
    wide = hole.mean(axis=0) + (hole - hole.mean(axis=0)) * 1.3
    assert "gap-wide" in slugs(replace(plan, cover=(Polygon(outline=part.outline, holes=(tuple(map(tuple, wide)),)),)),
                               room)
    near = hole + np.array([0.5, 0.0])
    assert "gap-narrow" in slugs(replace(plan,
                                         cover=(Polygon(outline=part.outline, holes=(tuple(map(tuple, near)),)),)),
                                 room)


@pytest.mark.parametrize("change", [lambda own: replace(own, board=own.board + 1),
                                    lambda own: replace(own, length_mm=own.length_mm - 200.0),
                                    lambda own: replace(own, label="Z"),
                                    lambda own: replace(own, keeps=("right",) if "left" in own.keeps else ("left",)),
                                    lambda own: replace(own, board=0)])
def test_an_own_piece_that_is_not_what_it_says(hearth, change):
    plan, room = hearth
    used = next(own for own in plan.owned if own.board)
    assert {"owned", "offcut", "board-number",
            "waste"} & slugs(replace(plan, owned=tuple(change(o) if o is used else o for o in plan.owned)), room)


def test_two_own_pieces_of_one_name(hearth):
    plan, room = hearth
    assert "owned" in slugs(replace(plan, owned=(*plan.owned, plan.owned[0])), room)
