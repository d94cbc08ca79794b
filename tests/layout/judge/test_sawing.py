"""How wide the strips are that come off, worked out by hand from where the saw lines lie on the board."""
from dataclasses import replace

import pytest

from layout.judge.sawing import check_saw, strips_off
from layout.plan import Cut, Offcut
from layout.planning.fitting.sawn_ends import squared
from layout.planning.planner import plan_floor
from layout.planning.relaxation_report import thin_strips
from layout.room import Wishes

#: A board of 1285 x 192, saw 3. A piece is sawn off its left end, at 500 along the near edge and 520 along the far
#: one: its offcut is told of from 523. Another is sawn from that, measured from its right end: near, far; what comes
#: off between the saw cuts is (1285 - near) - 503 at the near edge and (1285 - far) - 523 at the far one.
WORKED = [((750.0, 742.0), 32.0), ((762.0, 745.0), 20.0), ((770.0, 762.0), 12.0), ((761.0, 755.0), 21.0)]


@pytest.fixture(scope="module")
def plan(box_3x4, board):
    return plan_floor(box_3x4, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)


def with_cuts(plan, at, mirrored):
    """The plan with its first two pieces cut so; mirrored: the board turned end for end."""
    left, right = ("right", "left") if mirrored else ("left", "right")
    first, second, *rest = plan.rows[0].runs[0].pieces
    long = max(at)
    ends = [(0.0, 520.0), (1285.0 - long, 1285.0)]
    (a, b), (c, d) = [(1285.0 - hi, 1285.0 - lo) if mirrored else (lo, hi) for lo, hi in ends]
    lo, hi = (0.0, 762.0) if mirrored else (523.0, 1285.0)
    first = replace(first, takes="", from_mm=a, to_mm=b, cuts=(Cut(kind="cross", kept=left, at=(500.0, 520.0)),))
    second = replace(second, takes="X", from_mm=c, to_mm=d, cuts=(Cut(kind="cross", kept=right, at=at),))
    offcut = Offcut(label="X", board=first.board, from_mm=lo, to_mm=hi, near_mm=0.0, far_mm=192.0,
                    keeps=(right, "near", "far"), cut_by=first.id, used_by=second.id)
    run = replace(plan.rows[0].runs[0], pieces=(first, second, *rest))
    rows = (replace(plan.rows[0], runs=(run,)), *plan.rows[1:])
    return replace(plan, rows=rows, offcuts=(offcut,)), first, second


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(("at", "off"), WORKED)
def test_a_strip_beside_a_slanted_end_is_as_wide_as_its_wider_end(plan, at, off, mirrored):
    """The judge and the plan's own report, which share no code, say the same."""
    made, first, second = with_cuts(plan, at, mirrored)
    assert strips_off(made, first) == [pytest.approx(1285.0 - 500.0)]
    assert strips_off(made, second) == [pytest.approx(off)]
    told = {rule.where: rule.had_mm for rule in thin_strips(made.rows[:1], made.offcuts, {"X": 762.0}, made.board_of)}
    assert told == ({second.id: pytest.approx(off)} if off < 15.0 else {})


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_piece_as_long_as_its_slanted_offcut_gets_a_square_cut(plan, mirrored):
    """By hand: the offcut is 762 along the far edge and 782 along the near one, the piece 762 square: a wedge of 20
    comes off. The judge asks for the cut, the planner makes it."""
    made, _, second = with_cuts(plan, (762.0, 762.0), mirrored)
    made = replace(made, rows=(replace(made.rows[0], runs=(replace(made.rows[0].runs[0], pieces=tuple(
        replace(piece, cuts=()) if piece.id == second.id else piece for piece in made.rows[0].pieces)),)),
        *made.rows[1:]))
    told = {(fault.slug, fault.where): fault.amount for fault in check_saw(made)}
    assert told[("cuts", second.id)] == pytest.approx(20.0)
    mended = replace(made, rows=squared(made.rows, made.offcuts))
    cut, = next(piece.cuts for piece in mended.pieces if piece.id == second.id)
    assert (cut.kind, cut.kept, cut.at) == ("cross", "left" if mirrored else "right", (762.0, 762.0))
    assert strips_off(mended, next(p for p in mended.pieces if p.id == second.id)) == [pytest.approx(20.0)]
    assert ("cuts", second.id) not in {(fault.slug, fault.where) for fault in check_saw(mended)}
    assert squared(mended.rows, mended.offcuts) == mended.rows
