"""Floors of a flat that rely on one another: a plan counts on an offcut of another floor, and is told where that
floor's plan no longer leaves it."""
from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from capture.language.messages import gettext, listed, ngettext
from desk.actions.kept_plan import kept_plan
from desk.actions.flat.leftovers import Leaves, leaves_of
from desk.actions.flat.titles import Titles
from desk.jobfile.files import JOB_NAME, read_job, readable_job
from desk.jobfile.job import Job
from desk.problem import JobFileError, JobProblems, Problem
from desk.store.house_store import FLOORS_DIR, floor_made_of
from layout.errors import LayoutError
from layout.flat_plan import Travel
from layout.plan import Plan
from layout.room import OwnPiece

#: An offcut is as long as it was counted on within this, mm.
SAME_MM = 0.5


def travels_between(plans: Mapping[str, Plan]) -> tuple[Travel, ...]:
    """The offcuts that go from one floor to another, by what the floors that take them say."""
    return tuple(Travel(label=own.label, from_floor=own.came_from.floor, cut_by=own.came_from.piece, to_floor=name,
                        used_by=_taker(plan, own), length_mm=own.length_mm) for name, plan in plans.items()
                 for own in plan.owned if own.came_from is not None and own.came_from.piece and own.board)


def broken_ties(plans: Mapping[str, Plan], left: Mapping[str, Leaves],
                titles: Titles = MappingProxyType({})) -> tuple[Problem, ...]:
    """A sentence for every floor and every other floor whose offcuts it counts on that are no longer there. left: what
    begun floors really leave; titles: what people call the floors."""
    gone: dict[tuple[str, str], list[str]] = {}
    for name, plan in plans.items():
        for own in plan.owned:
            if own.came_from is not None and own.board and not (
                    _is_there(own, left[own.came_from.floor]) if own.came_from.floor in left and own.came_from.piece
                    else _is_left(own, plans.get(own.came_from.floor))):
                gone.setdefault((name, own.came_from.floor), []).append(own.label)
    return tuple(Problem(slug="offcut-gone", where=taker, stage="plan", says=ngettext(
        "The plan of {taker} counts on an offcut of {giver} that is no longer there ({labels}): keep the plans of the "
        "flat again, or lay {taker} with {count} board more.",
        "The plan of {taker} counts on offcuts of {giver} that are no longer there ({labels}): keep the plans of the "
        "flat again, or lay {taker} with {count} boards more.", len(labels), taker=titles.get(taker, taker),
        giver=titles.get(giver, giver), labels=listed(labels))) for (taker, giver), labels in gone.items())


def ties_around(folder: Path, job: Job, titles: Titles = MappingProxyType({})) -> tuple[Problem, ...]:
    """The same for the floor of a house whose job lies in this folder, and for those that rely on it; nothing for any
    other job."""
    if "house" not in job.data:
        return ()
    name = folder.absolute().name
    jobs = dict(_jobs_beside(folder.absolute()))
    plans = {floor: plan for floor, (_, plan) in jobs.items()}
    left = leaves_by({floor: job for floor, (job, _) in jobs.items()})
    return tuple(problem for problem in broken_ties(plans, left, titles) if problem.where == name or any(
        own.came_from is not None and own.came_from.floor == name for own in plans[problem.where].owned))


def refuse_room_of_flat(folder: Path, job: Job) -> None:
    """Raise JobProblems (no-kept-plan) for a room that keeps no plan of its own and is laid as a floor of a house: the
    day goes by that."""
    place = folder.absolute()
    floor = None if job.has_plan else floor_made_of(place.parent, place.name)
    if floor is None:
        return
    says = {"room": place.name, "house": folder.parent, "floor": folder.parent / FLOORS_DIR / floor.name}
    raise JobProblems([Problem(slug="no-kept-plan", where="plan", stage="plan", says=gettext(
        "{room} is a room of the flat in {house}, which is laid floor by floor: tapegroove day {floor}.", **says)
        if (laid := readable_job(floor)) is not None and laid.has_plan else gettext(
            "{room} is a room of the flat in {house}, for which no plan is kept yet: tapegroove house {house} --keep, "
            "then tapegroove day {floor}.", **says))])


def leaves_by(jobs: Mapping[str, Job]) -> dict[str, Leaves]:
    """What begun floors leave, by name."""
    found = {name: leaves_of(name, job) for name, job in jobs.items()}
    return {name: leaves for name, leaves in found.items() if leaves is not None}


def _jobs_beside(folder: Path) -> Iterator[tuple[str, tuple[Job, Plan]]]:
    """The jobs with a plan kept in the floors of the house that this one is of."""
    try:
        places = sorted(place for place in folder.parent.iterdir() if (place / JOB_NAME).is_file())
    except OSError:
        return
    for place in places:
        try:
            job = read_job(place)
            kept = kept_plan(job) if "house" in job.data else None
        except (JobFileError, LayoutError, OSError):
            continue
        if kept is not None:
            yield place.name, (job, kept.plan)


def _taker(plan: Plan, own: OwnPiece) -> str:
    return next((piece.id for piece in plan.pieces if piece.takes == own.label), "")


def _is_there(own: OwnPiece, leaves: Leaves) -> bool:
    """Whether a begun floor leaves this piece as it turned out."""
    found = leaves.offcuts.get(own.label)
    return found is not None and found.length_mm > own.length_mm - SAME_MM and set(own.keeps) <= set(found.keeps)


def _is_left(own: OwnPiece, giver: Plan | None) -> bool:
    """Whether a floor's plan leaves this piece for another, as long and with the ends that are counted on."""
    if giver is None or own.came_from is None:
        return False
    if not own.came_from.piece:
        return any(piece.label == own.label and not piece.board and abs(piece.length_mm - own.length_mm) < SAME_MM
                   for piece in giver.owned)
    return any(offcut.for_piece == own.label and offcut.cut_by == own.came_from.piece
               and offcut.to_mm - offcut.from_mm > own.length_mm - SAME_MM and set(own.keeps) <= set(offcut.keeps)
               for offcut in giver.offcuts if offcut.goes_to is not None)
