"""A plan that follows the floor: held rows as they lie, the rest laid with what is on hand, the whole judged.

Where nothing changes a piece of it, the plan in force stays as it is printed (`in_force`); else what lies is taken over
piece for piece (`splice`), and where the free joints fall is settled in `remaining_rows`.
"""
from __future__ import annotations

from dataclasses import replace

from capture.language.messages import lazy_gettext
from layout.planning.assemble import assemble, limits_of
from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.facts.reasons import BoardsInAll, Reason, RestPlanned
from layout.plan import Plan
from layout.replan.in_force import still_in_force
from layout.replan.mixed_rest import plan_mixed_rest
from layout.replan.progress import Progress
from layout.replan.splice import lay_rest, remade
from layout.replan.remaining_rows import MOVES, as_laid, plan_rest
from layout.room import Room, Settled, Wishes

#: Boards of several lengths are laid with so many times the moves.
BEAM_MOVES = 4


def follow(plan: Plan, room: Room, wishes: Wishes, now: Progress, *, first_row_mm: float | None = None,
           moves: int = MOVES, seed: int = 0) -> Plan:
    """The plan for a room as now known, with the held rows as they lie. first_row_mm: another first row; nothing may be
    held then.

    Raises LayoutError: held-moved, gap-eats-floor and the like; mixed-rest where the rest cannot be laid with boards of
    several lengths; internal-fault if the judge finds our own plan wrong.
    """
    laid = as_laid(plan, wishes)
    same = still_in_force(plan, room, laid, now) if first_row_mm is None else None
    if same is not None:
        return replace(same, reasons=_reasons(same, now), longest_mm=_longest(plan, same))
    was, (plan, now) = {piece.board for piece in plan.pieces}, remade(plan, now)
    lost = len({piece.board for piece in plan.pieces} - was)
    made = _mixed(plan, room, laid, now, first_row_mm, moves) if plan.board.mix else _one_length(
        plan, room, laid, now, first_row_mm, moves, seed, lost)
    made = replace(made, choices=plan.choices, reasons=_reasons(made, now), bound_by=plan.bound_by,
                   longest_mm=_longest(plan, made))
    faults = find_faults(made, room)
    if faults:
        first = faults[0]
        raise LayoutError("internal-fault", lazy_gettext(
            "The plan we made for the rest has a fault ({slug} at {where}, {amount:.3g}); this is our mistake, not "
            "yours - go on by the printed rows and report it with the job file.", slug=first.slug, where=first.where,
            amount=first.amount), where=first.where)
    return made


def _one_length(plan: Plan, room: Room, laid: Settled, now: Progress, first_row_mm: float | None, moves: int, seed: int,
                lost: int) -> Plan:
    site, rest = plan_rest(plan, room, laid, now, first_row_mm=first_row_mm, moves=moves, seed=seed, lost=lost)
    laying = lay_rest(plan, now, rest, limits_of(site, rest.laid, plan.board, laid))
    floor = replace(rest.laid, boards=laying[3], bound=min(laying[3], rest.laid.bound + laying[3] - rest.laid.boards))
    return assemble(room, site, plan.board, laid, floor, (), (), laying=laying)


def _mixed(plan: Plan, room: Room, laid: Settled, now: Progress, first_row_mm: float | None, moves: int) -> Plan:
    rest = plan_mixed_rest(plan, room, laid, now, moves=BEAM_MOVES * moves, first_row_mm=first_row_mm)
    return assemble(room, rest.site, plan.board, laid, rest.laid, (), (), laying=rest.laying,
                    lengths_mm=rest.lengths_mm)


def _longest(plan: Plan, made: Plan) -> float:
    """A wall that stands a few mm further off does not part a floor that was to lie in one piece."""
    reach = [[made.to_row_frame(point) for point in part.outline] for part in made.cover]
    spans = [max(p[axis] for p in ring) - min(p[axis] for p in ring) for ring in reach for axis in (0, 1)]
    doors = sum(sorted((way.depth_mm for way in made.doorways), reverse=True)[:2])
    return plan.longest_mm if plan.profiles else max(plan.longest_mm, max(spans) - doors)


def _reasons(made: Plan, now: Progress) -> tuple[Reason, ...]:
    last = made.rows[-1]
    return (RestPlanned(held=now.held, last_row=len(made.rows), last_mm=last.far_mm - last.near_mm),
            BoardsInAll(boards=made.boards))
