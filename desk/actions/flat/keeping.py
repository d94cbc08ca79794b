"""The plans of a flat kept in its floors' jobs, and read from there again.

A floor that takes an offcut of another has it in its job as a piece at hand (`flooring.stock`, with `from`), so that
its plan is one of its own job and stays current; beside the plan lies what its boards were counted with (`plan.flat`).
"""
from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from desk.actions.flat.floor_jobs import FloorJob, FloorJobs, with_carried, write_floors
from desk.actions.flat.state import FlatJob, FlatState
from desk.actions.flat.ties import broken_ties, leaves_by, travels_between
from desk.actions.kept_plan import is_begun, refuse_begun, with_plan
from desk.actions.pipeline import solve_job
from desk.checks.unseen import refuse_unseen
from desk.convert import to_room, to_wishes
from desk.jobfile.job import Job
from layout.flat.purchase import bars_together, kinds_of, shopping_together
from layout.flat_plan import FlatPlan, FloorPlan
from layout.plan import Plan
from layout.planfile.reader import Reader
from layout.room import OwnPiece


def refuse_keeping(state: FlatState) -> None:
    """Raise JobProblems where the plans of a flat cannot be kept: a wall nobody has seen, or every floor being laid."""
    for room in state.joined.rooms:
        refuse_unseen(state.joined.own_jobs[room])
    if all(is_begun(floor.job) for floor in state.jobs.floors):
        refuse_begun(state.jobs.floors[0].job)


def keep_flat(job: FlatJob, *, on: datetime.date) -> FloorJobs:
    """Write the plans of a flat into its floors' jobs, all or none; returns the jobs. A floor that is being laid stays
    as it is. Raises JobFileError if the disk refuses or a job was changed since it was read, JobProblems as
    `refuse_keeping` does."""
    refuse_keeping(job.state)
    jobs = job.state.jobs
    kept = replace(jobs, floors=tuple(_with_flat_plan(job, floor, on) for floor in jobs.floors))
    write_floors(kept, instead_of=jobs.there)
    return kept


def kept_flat(state: FlatState) -> FlatJob:
    """The flat by the plans its floors keep; without plans where one of them keeps none, or one that is out of date."""
    floors = state.jobs.floors
    ties = broken_ties({floor.name: floor.kept.plan for floor in floors if floor.kept is not None},
                       leaves_by({floor.name: floor.job for floor in floors}), state.joined.floor_titles)
    flat = _from_kept(state) if floors and all(floor.is_kept for floor in floors) else None
    return FlatJob(state=state, flat=flat, troubles=(*state.troubles, *ties))


def _with_flat_plan(job: FlatJob, floor: FloorJob, on: datetime.date) -> FloorJob:
    told = None if job.flat is None else next((one for one in job.flat.floors if one.name == floor.name), None)
    if job.flat is None or told is None or is_begun(floor.job):
        return floor
    kind = next(kind for kind in job.flat.kinds if floor.name in kind.floors)
    counted = {"name": floor.name, "alone": told.alone, "floors": list(kind.floors), "bound": kind.bound}
    base = with_carried(job.state.joined.jobs[floor.name], _carried(told.plan))
    return replace(floor, job=with_plan(base, solve_job(base, {}), told.plan, on=on, flat=counted))


def _carried(plan: Plan) -> list[dict[str, object]]:
    """What a plan takes of other floors, as its job lists it."""
    return [_entry(own) for own in plan.owned if own.came_from is not None]


def _entry(own: OwnPiece) -> dict[str, object]:
    came: Any = own.came_from
    return {"length": own.length_mm, "keeps": list(own.keeps), "label": own.label,
            "from": {"floor": came.floor} | ({"piece": came.piece} if came.piece else {})}


def _from_kept(state: FlatState) -> FlatPlan:
    plans = {floor.name: floor.kept.plan for floor in state.jobs.floors if floor.kept is not None}
    counted = {floor.name: _counted(floor.job) for floor in state.jobs.floors}
    laid = tuple(FloorPlan(name=name, plan=plan, alone=counted[name][0] or plan.boards)
                 for name, plan in plans.items())
    asked = {floor.name: (to_room(floor.job, floor.kept.survey), to_wishes(floor.job)) for floor in state.jobs.floors
             if floor.kept is not None and floor.kept.survey is not None}
    kinds, bars = kinds_of(laid, _bounds(plans, counted)), bars_together(laid)
    return FlatPlan(floors=laid, kinds=kinds, travels=travels_between(plans), bars=bars,
                    shopping=shopping_together(laid, asked, kinds, bars, state.joined.openings))


def _bounds(plans: Mapping[str, Plan], counted: Mapping[str, tuple[int, frozenset[str], int]]) -> list[
        tuple[tuple[str, ...], int]]:
    """What was proved of floors together, where all of them still keep the plans it was proved of."""
    found = {}
    for _, floors, bound in counted.values():
        if floors and floors <= set(plans) and all(counted[name][1:] == (floors, bound) for name in floors):
            found[floors] = min(bound, sum(plans[name].boards for name in floors))
    return [(tuple(sorted(floors)), bound) for floors, bound in found.items()]


def _counted(job: Job) -> tuple[int, frozenset[str], int]:
    """(boards alone, floors counted together, their bound) beside a kept plan; nothing for one that was kept alone.
    Raises LayoutError (damaged-plan)."""
    told = job.data["plan"].get("flat")
    if told is None:
        return 0, frozenset(), 0
    read = Reader(told, "plan.flat")
    return read.whole("alone"), frozenset(read.texts("floors")), read.whole("bound")
