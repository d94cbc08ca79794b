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
from layout.replan.progress import Progress
from layout.replan.splice import lay_rest, remade
from layout.replan.remaining_rows import MOVES, as_laid, plan_rest
from layout.room import Room, Wishes


def follow(plan: Plan, room: Room, wishes: Wishes, now: Progress, *, first_row_mm: float | None = None,
           moves: int = MOVES, seed: int = 0) -> Plan:
    """The plan for a room as now known, with the held rows as they lie. first_row_mm: another first row; nothing may be
    held then.

    Not done: rows of boards of several lengths planned anew (mixed-rest); their plan stays while no piece of it has to
    change. Raises LayoutError: held-moved, gap-eats-floor and the like; internal-fault if the judge finds our own plan
    wrong.
    """
    laid = as_laid(plan, wishes)
    same = still_in_force(plan, room, laid, now) if first_row_mm is None else None
    if same is not None:
        return replace(same, reasons=_reasons(same, now), longest_mm=_longest(plan, same))
    if plan.board.mix:
        raise LayoutError("mixed-rest", lazy_gettext(
            "With boards of several lengths the rows to come cannot be planned anew: go on by the printed rows, "
            "measure every closing piece in its place and take the shortest board or offcut that it fits in. If much "
            "went wrong, plan what is left of the floor, with the boards you have left, as a job of its own."),
            where="day")
    was, (plan, now) = {piece.board for piece in plan.pieces}, remade(plan, now)
    lost = len({piece.board for piece in plan.pieces} - was)
    site, rest = plan_rest(plan, room, laid, now, first_row_mm=first_row_mm, moves=moves, seed=seed, lost=lost)
    laying = lay_rest(plan, now, rest, limits_of(site, rest.laid, plan.board, laid))
    floor = replace(rest.laid, boards=laying[3], bound=min(laying[3], rest.laid.bound + laying[3] - rest.laid.boards))
    made = assemble(room, site, plan.board, laid, floor, (), (), laying=laying)
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
