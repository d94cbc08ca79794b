"""A flat planned from its joined jobs, and its answer: floor by floor, and together."""
from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from desk.actions.answers import problems_answer
from desk.actions.flat.doorway_answer import doubts_answer, measured_answer, rings_answer
from desk.actions.flat.floor_jobs import FLOORS_DIR, floor_jobs, write_floors
from desk.actions.flat.gathering import left_out
from desk.actions.flat.keeping import keep_flat, kept_flat, refuse_keeping
from desk.actions.flat.leftovers import Leaves, with_leftovers
from desk.actions.flat.state import FlatJob, FlatState, flat_state, state_answer, state_of, unfloored_answer
from desk.actions.flat.ties import broken_ties, leaves_by
from desk.actions.flat.titles import Titles, titled_flat, titled_groups, titled_order, titled_passage
from desk.actions.kept_plan import is_begun
from desk.actions.pipeline import refuse, solve_job
from desk.convert import to_board, to_room, to_wishes
from desk.problem import JobProblems
from layout.errors import LayoutError
from layout.flat.planner import Floor, plan_flat
from layout.flat_plan import FlatPlan, FloorPlan
from layout.planfile.codec import to_answer
from layout.planning.planner import EFFORTS
from layout.words.flat import kind_words, order_words, passage_words, travel_words
from layout.words.purchases import item_words

FORMAT = "tapegroove-house-floors"


def plan_house(state: FlatState, effort: str, staying: frozenset[str] = frozenset()) -> FlatJob:
    """Plan the floors of a house together that are not begun, with what begun ones leave at hand; those that cannot be
    planned are left out and told of. effort: as `desk.actions.pipeline.plan_job` takes it; staying: floors that keep
    the plans they have."""
    joined = state.joined
    floors, troubles = [], list(state.troubles)
    left = _free(leaves_by({floor.name: floor.job for floor in state.jobs.floors}), state, staying)
    begun = {floor.name for floor in state.jobs.floors if is_begun(floor.job)} | staying
    for name, job in ((name, job) for name, job in joined.jobs.items() if name not in begun):
        try:
            refuse(job, {}, "plan")
            floors.append(Floor(name=name, room=to_room(job, solve_job(job, {})), board=to_board(job),
                                wishes=to_wishes(job)))
        except (JobProblems, LayoutError) as error:
            troubles.append(left_out(name, error, joined.floor_titles[name]))
    flat = None
    if floors:
        planned = plan_flat(with_leftovers(floors, left), openings=joined.openings, moves=EFFORTS[effort])
        troubles += [left_out(name, error, joined.floor_titles[name]) for name, error in planned.refused]
        flat = planned.flat if planned.flat.floors else None
    return FlatJob(state=state, flat=flat, troubles=tuple(troubles))


def settled(state: FlatState) -> frozenset[str]:
    """Once a floor is being laid: the others that keep a plan, and all offcuts that it counts on are there. What is
    pencilled on those stays true if these plans stay."""
    if not any(is_begun(floor.job) for floor in state.jobs.floors):
        return frozenset()
    left = leaves_by({floor.name: floor.job for floor in state.jobs.floors})
    plans = {floor.name: floor.kept.plan for floor in state.jobs.floors
             if floor.kept is not None and floor.is_kept and not is_begun(floor.job)}
    while broken := {problem.where for problem in broken_ties(plans, left)}:
        plans = {name: plan for name, plan in plans.items() if name not in broken}
    return frozenset(plans)


def _free(left: Mapping[str, Leaves], state: FlatState, staying: frozenset[str]) -> dict[str, Leaves]:
    """What begun floors leave that no plan which stays counts on."""
    taken = {(own.came_from.floor, own.label) for floor in state.jobs.floors
             if floor.name in staying and floor.kept is not None
             for own in floor.kept.plan.owned if own.came_from is not None}
    return {name: replace(leaves, offcuts={label: one for label, one in leaves.offcuts.items()
                                           if (name, label) not in taken}) for name, leaves in left.items()}


def flat_now(folder: Path, floors: Path | None = None) -> dict[str, Any]:
    """The `house --json` object of a house as it stands, without planning anything; writes nothing. Plans and what is
    bought are those that its floors keep; what they do not tell is null or empty.

    Raises JobFileError for a house file that cannot be read.
    """
    place = floors or folder / FLOORS_DIR
    try:
        state = flat_state(folder, place)
    except JobProblems as error:
        return {"format": FORMAT, "version": 1, "folder": str(place)} | unfloored_answer(folder, error.problems) | {
            "floors": [], "misfits": [], "rings": [], "doubts": [], "order": None, "together": None,
            "problems": problems_answer(error.problems)["problems"]}
    return house_answer(kept_flat(state), str(place))


def flat_planned(folder: Path, effort: str, *, floors: Path | None = None, afresh: bool = False) -> FlatJob:
    """The flat by the plans its floors keep, else planned; its floors' jobs are written. afresh: planned in any case.
    Raises as `flat_kept`, but for what keeps a plan from being kept."""
    state = flat_state(folder, floors)
    write_floors(state.jobs)
    kept = kept_flat(state)
    return plan_house(state, effort) if afresh or kept.flat is None else kept


def flat_kept(folder: Path, effort: str, *, on: datetime.date, floors: Path | None = None,
              afresh: bool = False) -> FlatJob:
    """Plan a flat and keep every floor's plan in its job; the flat as it then stands. Once a floor is being laid, plans
    stay that count on nothing which is gone, unless all are to be made afresh.

    Raises JobFileError for a house or a floor that cannot be read or written, JobProblems where no plan can be kept: no
    room has a floor, a wall nobody has seen, a floor that is being laid.
    """
    place = floors or folder / FLOORS_DIR
    state = flat_state(folder, place)
    refuse_keeping(state)
    job = plan_house(state, effort, frozenset() if afresh else settled(state))
    keep_flat(job, on=on)
    now = kept_flat(replace(state, jobs=floor_jobs(state.joined, place)))
    return replace(now, flat=now.flat or job.flat, troubles=tuple(dict.fromkeys((*job.troubles, *now.troubles))))


def house_answer(job: FlatJob, folder: str) -> dict[str, Any]:
    """The `house --json` object; headings in degrees, lengths in mm."""
    joined, show, told = job.state.joined, job.state.show, state_answer(job.state)
    titles, order = joined.titles, joined.order
    plans = {} if job.flat is None else {floor.name: floor for floor in job.flat.floors}
    return {"format": FORMAT, "version": 1, "folder": folder} | told | {
        "floors": [{"folder": floor.name, "rooms": list(joined.groups[floor.name]), "state": state_of(floor)}
                   | _floor(plans.get(floor.name), show) for floor in job.state.jobs.floors],
        "misfits": [{"rooms": list(p.rooms), "doors": list(p.doors), "mm": off} for p, off in joined.house.misfits],
        "rings": rings_answer(joined.fitted, show, titles), "doubts": doubts_answer(joined.fitted),
        "order": {"rooms": list(order.rooms), "entrance": order.entrance, "rule": order.rule,
                  "asked": list(joined.entry.order), "says": order_words(titled_order(order, titles),
                                                                         titled_groups(joined.groups, titles))},
        "doorways": [{"rooms": list(one.rooms), "doors": list(one.doors),
                      "laid": "through" if one.through else "profile", "rule": one.rule,
                      "says": passage_words(titled_passage(one, titles), show),
                      "measured": measured_answer(joined.fitted, one.rooms, one.doors, show, titles)} | place
                     for one, place in zip(joined.doorways, told["doorways"])],
        "together": None if job.flat is None else _together(job.flat, show, joined.floor_titles),
        "problems": problems_answer(job.troubles)["problems"]}


def _floor(floor: FloorPlan | None, show: str) -> dict[str, Any]:
    """A floor's plan as `plan --json` has it, and its boards beside those it takes alone; nothing where it has none."""
    if floor is None:
        return {}
    return {"boards": floor.plan.boards, "boards_alone": floor.alone, "plan": to_answer(floor.plan, show)}


def _together(flat: FlatPlan, show: str, titles: Titles) -> dict[str, Any]:
    """What the flat takes as a whole; sentences name floors by their titles."""
    said = titled_flat(flat, titles)
    lines = [item_words(item, show) for item in said.shopping]
    return {"boards": [{"board": {"length": kind.board.length_mm, "width": kind.board.width_mm,
                                  "thickness": kind.board.thickness_mm, "pack": kind.board.pack},
                        "floors": list(kind.floors), "boards": kind.boards, "boards_alone": kind.alone,
                        "bound": kind.bound, "proven": kind.proven, "packs": kind.packs_to_buy,
                        "packs_alone": kind.packs_alone, "spare": kind.spare, "says": kind_words(named, show)}
                       for kind, named in zip(flat.kinds, said.kinds)],
            "offcuts": [{"label": one.label, "from": one.from_floor, "cut_by": one.cut_by, "to": one.to_floor,
                         "used_by": one.used_by, "length": one.length_mm, "says": travel_words(named, show)}
                        for one, named in zip(flat.travels, said.travels)],
            "shopping": [{"what": line.what, "quantity": line.quantity, "unit": line.unit, "why": line.why}
                         for line in lines],
            "beading": [{"length": bars.bar_mm, "bars": len(bars.bars), "bars_alone": bars.alone, "bound": bars.bound,
                         "cut": [[{"floor": name, "where": piece.where, "length": piece.length_mm,
                                   "start": piece.start_deg, "end": piece.end_deg} for name, piece in bar]
                                 for bar in bars.bars]} for bars in flat.bars]}
