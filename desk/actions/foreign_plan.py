"""A plan kept in a job is foreign: whoever sent the folder may have written it. Here it is judged, and what follows
from it counted anew."""
from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from shapely.errors import GEOSException

from capture.adjustment.survey import Survey
from capture.language.messages import lazy_gettext, marked
from desk.convert import can_be_sought, corner_names, to_board, to_room, to_wishes
from desk.jobfile.job import Job
from desk.actions.kept_plan import KeptPlan
from desk.actions.room_now import read_revision
from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.judge.fault import Fault
from layout.plan import Plan
from layout.planfile.reader import damaged, shown
from layout.region.gap import edge_window
from layout.planning.recount import recounted, refuse_figures, refuse_start, unvouched
from layout.replan.remaining_rows import as_laid
from layout.room import OwnPiece, Pipe, Room, Settled, Wishes

#: What the judge can say of a plan only where the doors of its room are known.
_OF_THE_DOORS = frozenset({"beading", "shopping", "doorway"})


def believed(job: Job, kept: KeptPlan, survey: Survey) -> KeptPlan:
    """The kept plan once the judge has found no fault with it, its figures counted anew. survey: the floor it is for.

    Where the job was edited while the floor is being laid, the room the plan was made for is no longer told, and it is
    judged by its own floor. Raises LayoutError (damaged-plan) in one sentence.
    """
    plan = kept.plan
    refuse_figures(plan)
    if not kept.alike:
        _refuse_by_its_own_floor(plan)
        return kept
    surveyed, laid = to_room(job, survey), as_laid(plan, to_wishes(job))
    room = read_revision(job.data["plan"], surveyed).room
    _refuse_other_wishes(plan, to_wishes(job), is_revised="day" in job.data["plan"])
    _refuse_faults(_faults(plan, room, laid))
    moved = float(np.abs((room.outline_mm - surveyed.outline_mm) @ np.array(plan.u)).max())
    refuse_start(plan, surveyed, laid, moved)
    return replace(kept, plan=_counted(kept, room, laid))


def _counted(kept: KeptPlan, room: Room, wishes: Settled) -> Plan:
    plan = recounted(kept.plan, room, wishes)
    return plan if kept.vouched else unvouched(plan)


def judged(job: Job, kept: KeptPlan, survey: Survey) -> KeptPlan:
    """A plan that tells nothing about its making: current, and counted anew, if it suits the job as it is now; else
    with what shows it to be of another. Raises LayoutError (damaged-plan) for one that suits no job."""
    plan, room = kept.plan, to_room(job, survey)
    laid = as_laid(plan, to_wishes(job))
    refuse_figures(plan)
    _refuse_by_its_own_floor(plan)
    changed: tuple[str, ...] = (marked("the floor"),) if _faults(plan, room, laid) else ()
    if plan.board != to_board(job) or any(_other_wishes(plan, to_wishes(job))):
        changed += (marked("the boards and how they are laid"),)
    if changed:
        return replace(kept, changed=changed)
    refuse_start(plan, room, laid)
    return replace(kept, plan=_counted(kept, room, laid))


def _faults(plan: Plan, room: Room, wishes: Settled | None = None) -> tuple[Fault, ...]:
    """What the judge says; shapes that it cannot reckon with are a fault of the plan too. wishes: to count what a plan
    of an earlier version told in sentences only."""
    try:
        return find_faults(plan if plan.shopping or wishes is None else recounted(plan, room, wishes), room)
    except (GEOSException, ArithmeticError, LookupError, ValueError) as error:
        raise damaged("plan.rows", lazy_gettext("holds shapes that cannot be reckoned with")) from error


def _refuse_by_its_own_floor(plan: Plan) -> None:
    """Raise LayoutError (damaged-plan) for a plan that does not suit the very floor it names, doors left aside."""
    _refuse_faults([fault for fault in _faults(replace(plan, doorways=()), _own_room(plan))
                    if fault.slug not in _OF_THE_DOORS])


def _refuse_faults(faults: tuple[Fault, ...] | list[Fault]) -> None:
    if faults:
        first = faults[0]
        told: dict[str, Any] = {"place": first.where, "says": first.says, "amount": float(first.amount)}
        one = lazy_gettext("The plan kept in this job does not hold together ({place}: {says}, by {amount:.6g}); plan "
                           "the floor again (plan --afresh --keep), or go back to a copy of the job.")
        several = lazy_gettext("The plan kept in this job does not hold together ({place}: {says}, by {amount:.6g}, "
                               "and {more} more faults); plan the floor again (plan --afresh --keep), or go back to a "
                               "copy of the job.")
        says = several.filled(more=len(faults) - 1, **told) if len(faults) > 1 else one.filled(**told)
        raise LayoutError("damaged-plan", says, where=f"plan: {first.where}")


def _own_room(plan: Plan) -> Room:
    """The floor a plan is for as a room without doors."""
    return Room(names=corner_names(len(plan.floor.outline)), outline_mm=np.array(plan.floor.outline),
                islands=tuple((f"island {k + 1}", np.array(ring)) for k, ring in enumerate(plan.floor.holes)),
                pipes=tuple(Pipe(name=hole.pipe, centre_mm=hole.centre_mm, diameter_mm=hole.pipe_mm)
                            for hole in plan.holes))


def _refuse_other_wishes(plan: Plan, wishes: Wishes, *, is_revised: bool) -> None:
    """Raise LayoutError (damaged-plan) for rules, gap or saw that the job does not ask for."""
    for key, told, asked in _other_wishes(plan, wishes):
        if not (is_revised and key in ("longest", "owned")):
            raise damaged(f"plan.{key}", lazy_gettext(
                "is {told}, but the job asks for {asked}", told=shown(told), asked=shown(asked)))


def _other_wishes(plan: Plan, wishes: Wishes) -> list[tuple[str, object, object]]:
    """(key, what the plan says, what the job asks for) where the two differ."""
    pairs: list[tuple[str, object, object]] = [("kerf", plan.kerf_mm, wishes.kerf_mm),
                                               ("longest", plan.longest_mm, wishes.longest_mm),
                                               ("lay", plan.lay, wishes.lay), ("pattern", plan.pattern, wishes.pattern),
                                               ("owned", [_at_hand(piece) for piece in plan.owned
                                                          if can_be_sought(piece)],
                                                list(map(_at_hand, wishes.stock)))]
    pairs += [(f"rules.{name}", told, asked) for (name, _, told), (_, _, asked) in zip(plan.rules.each(),
                                                                                      wishes.rules.each())]
    if wishes.gap_mm is not None and not (wishes.gap_usual and plan.gap_mm > wishes.gap_mm):
        pairs.append(("gap", plan.gap_mm, wishes.gap_mm))
    least, most = edge_window(plan.gap_mm, wishes)
    # A plan made before there was a window keeps the gap exactly: a narrower window than asked for is as good.
    pairs += [("gap_least", plan.gap_least_mm, max(plan.gap_least_mm, least)),
              ("gap_most", plan.gap_most_mm, min(plan.gap_most_mm, most))]
    return [(key, told, wanted) for key, told, wanted in pairs if told != wanted]


def _at_hand(piece: OwnPiece) -> tuple[object, ...]:
    """What a job tells of a piece at hand, but for its label, which a plan gives where there is none."""
    came = piece.came_from
    return (piece.length_mm, piece.keeps, *((came.floor, came.piece) if came else ()))
