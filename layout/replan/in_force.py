"""The plan in force, kept as it is printed where nothing that happened changes a piece of it.

That is so where all wood on hand is what the plan expects there (with boards of several lengths, whose rows are not
planned anew: where it has what the plan still takes), every piece told of came out as planned (a piece that
closes its run may have come out otherwise, since no joint moves with it), and the judge finds no fault with the same
pieces in the room as now known: the edge window takes up what a wall stands off.
"""
from __future__ import annotations

from dataclasses import replace

from shapely.geometry import Polygon

from layout.judge.check import find_faults
from layout.plan import Plan
from layout.planning.recount import recounted
from layout.region.doorways import open_floor
from layout.region.inset import to_polygon
from layout.replan.events import RowDown
from layout.replan.progress import SAME_LENGTH_MM, Progress, held_pieces, must_be_remade, progress_of
from layout.room import Room, Settled


def still_in_force(plan: Plan, room: Room, wishes: Settled, now: Progress) -> Plan | None:
    """The plan with the room as now known and the same pieces; None if anything of it has to change. wishes: as
    laid (`layout.replan.remaining_rows.as_laid`)."""
    if not _as_planned(plan, now):
        return None
    ground = to_polygon(Polygon(open_floor(room, plan.gap_mm).outline_mm, [ring for _, ring in room.islands]))
    same = recounted(replace(plan, floor=ground), room, wishes)
    return None if find_faults(same, room) else same


def _as_planned(plan: Plan, now: Progress) -> bool:
    """Whether wood and pieces came out as the plan says."""
    held = held_pieces(plan, now.held)
    if any(must_be_remade(piece, now) for piece in held):
        return False
    if not (_wood_suffices(plan, now) if plan.board.mix else
            now.spares == progress_of(plan, [RowDown(row=now.held)] if now.held else [], bought=0).spares):
        return False
    last = -1 if plan.lay == "left-to-right" else 0
    closing = {run.pieces[last].id for row in plan.rows for run in row.runs if len(run.pieces) > 1}
    return all(abs(now.off_mm(piece)) <= SAME_LENGTH_MM or piece.id in closing for piece in held)


def _wood_suffices(plan: Plan, now: Progress) -> bool:
    """Whether every offcut and piece at hand that the rows to come take is there, as long as the plan has it."""
    there = {spare.label: spare.length_mm for spare in now.spares}
    long = {piece.label: piece.length_mm for piece in plan.owned}
    held = {piece.id for piece in held_pieces(plan, now.held)}
    long |= {offcut.label: offcut.to_mm - offcut.from_mm for offcut in plan.offcuts if offcut.cut_by in held}
    return all(there.get(piece.takes, 0.0) >= long[piece.takes] - SAME_LENGTH_MM for piece in plan.pieces
               if piece.id not in held and piece.takes in long)
