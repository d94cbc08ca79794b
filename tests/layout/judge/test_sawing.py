"""How wide the strips are that come off, worked out by hand from where the saw lines lie on the board."""
from dataclasses import replace

import pytest

from layout.judge.sawing import strips_off
from layout.plan import Cut, Offcut
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
