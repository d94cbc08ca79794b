"""Whether what pieces left is still enough for the pieces that are to come from it.

A piece that begins a row may come out a little shorter: its joints move with it, and the row's last piece is measured
in its place. One that closes a row may be as much shorter as the row can be slid with both gaps within the edge window.
"""
from __future__ import annotations

from dataclasses import replace

from layout.plan import Piece, Plan
from layout.replan.calm.first_pieces_in_force import JOINTS_MOVE_MM
from layout.replan.events import RowDown
from layout.replan.progress import Progress, closing_piece, held_pieces, must_be_remade, progress_of, row_of
from layout.replan.remaining_rows import SLACK_MM


def wants_wood(plan: Plan, now: Progress, piece: Piece) -> bool:
    """Whether a piece came out so much longer that what it left is too short for its next use."""
    over, pieces = now.off_mm(piece), {other.id: other for other in plan.pieces}
    left = [(offcut, pieces[offcut.used_by]) for offcut in plan.offcuts if offcut.cut_by == piece.id
            and offcut.used_by in pieces and row_of(offcut.used_by) > now.down]
    return over > 0.0 and any(over > offcut.to_mm - offcut.from_mm - _least_mm(plan, user) for offcut, user in left)


def without_small_changes(plan: Plan, now: Progress) -> Progress:
    """Where the work stands as if every piece had come out as planned, if what differs asks for no other piece: no
    joint lies elsewhere by more than rules of length let go, and all wood on hand is enough for what it is planned
    for. Else as it stands."""
    held = held_pieces(plan, now.held)
    planned = progress_of(plan, [RowDown(row=now.held)] if now.held else [], bought=0)
    same = {spare.label for spare in planned.spares} == {spare.label for spare in now.spares}
    if not same or any(must_be_remade(piece, now) or abs(now.off_mm(piece)) > SLACK_MM or wants_wood(plan, now, piece)
                       for piece in held):
        return now
    return replace(now, cut={}, places={}, spares=planned.spares)


def _least_mm(plan: Plan, piece: Piece) -> float:
    """How long the wood of a piece must at least be."""
    run = next(run for row in plan.rows for run in row.runs if piece in run.pieces)
    is_last = piece is closing_piece(plan, run)
    return piece.to_mm - piece.from_mm - (2 * (plan.gap_most_mm - plan.gap_mm) if is_last else JOINTS_MOVE_MM)
