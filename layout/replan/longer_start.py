"""A row whose last place is longer than its wood: how much longer it has to begin.

Row frame of the plan, mm. Pieces between joints are whole boards, so all joints of a run move with its first piece.
"""
from __future__ import annotations

from math import ceil

from layout.plan import Piece, Plan, Row, Run

#: Two places nearer than this are one, mm.
SAME_MM = 1e-6


def longer_start(plan: Plan, closing: Piece, short_mm: float) -> tuple[Piece, float] | None:
    """(the first piece laid of the run that this piece closes, its least length, whole mm) so that the run's last place
    is `short_mm` shorter and its joints keep the stagger to the row before; None if no board is long enough."""
    row = next(row for row in plan.rows if closing in row.pieces)
    run = next(run for run in row.runs if closing in run.pieces)
    if len(run.pieces) == 1:
        return None
    forward = plan.lay == "left-to-right"
    first = run.pieces[0 if forward else -1]
    long = first.to_mm - first.from_mm
    joints, before = _joints(plan, run), _before(plan, row)
    for more in range(ceil(short_mm - SAME_MM), int(plan.board.length_mm - long) + 1):
        moved = [s + (more if forward else -more) for s in joints]
        if all(abs(s - other) >= plan.rules.stagger_mm - SAME_MM for s in moved for other in before):
            return first, float(ceil(long + more - SAME_MM))
    return None


def _before(plan: Plan, row: Row) -> list[float]:
    """The joints of the row before."""
    at = plan.rows.index(row)
    return [s for run in plan.rows[at - 1].runs for s in _joints(plan, run)] if at else []


def _joints(plan: Plan, run: Run) -> list[float]:
    return [max(plan.to_row_frame(point)[0] for point in piece.outline_mm) for piece in run.pieces[:-1]]
