"""Whether what a piece left is still enough for the piece that is to come from it.

A piece that begins a row may come out a little shorter: its joints move with it, and the row's last piece is measured
in its place. One that closes a row may be as much shorter as the row can be slid with both gaps within the edge window.
"""
from __future__ import annotations

from layout.plan import Piece, Plan
from layout.replan.progress import Progress, closing_piece

#: A row's joints may move by so much without a word, mm (common practice, no source): joints of neighbouring rows stay
#: apart as far as `layout.replan.remaining_rows.SLACK_MM` lets them.
JOINTS_MOVE_MM = 10.0


def wants_wood(plan: Plan, now: Progress, piece: Piece) -> bool:
    """Whether a piece came out so much longer that what it left is too short for its next use."""
    over, pieces = now.off_mm(piece), {other.id: other for other in plan.pieces}
    left = [(offcut, pieces[offcut.used_by]) for offcut in plan.offcuts if offcut.cut_by == piece.id
            and offcut.used_by in pieces]
    return over > 0.0 and any(over > offcut.to_mm - offcut.from_mm - _least_mm(plan, user) for offcut, user in left)


def _least_mm(plan: Plan, piece: Piece) -> float:
    """How long the wood of a piece must at least be."""
    run = next(run for row in plan.rows for run in row.runs if piece in run.pieces)
    is_last = piece is closing_piece(plan, run)
    return piece.to_mm - piece.from_mm - (2 * (plan.gap_most_mm - plan.gap_mm) if is_last else JOINTS_MOVE_MM)
