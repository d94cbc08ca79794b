"""What the page of one room tells of the flat it belongs to: that boards are bought and offcuts shared there, which
offcuts the plan kept for all rooms brings and takes away, and what a plan kept for this room alone would spoil."""
from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from capture.language.messages import gettext, listed, ngettext
from desk.actions.flat.ties import ties_around
from desk.actions.flat.titles import Titles, room_titles
from desk.actions.kept_plan import is_begun, kept_plan
from desk.jobfile.files import readable_job
from desk.jobfile.job import Job
from desk.store.house_store import FLOORS_DIR, floor_made_of, read_house
from layout.errors import LayoutError
from layout.plan import Plan
from layout.words.lengths import Lengths


def room_in_flat(house: Path, name: str) -> dict[str, Any]:
    """What is told of a room, or of a floor by "floors/NAME", as plain data: "floor" is the floor it is laid with (""
    for none that keeps a plan), "says" the sentences, "broken" those of plans that count on offcuts which are gone.

    Raises JobFileError for a house that cannot be read.
    """
    entry = read_house(house)
    jobs = {room: job for room in entry.rooms if (job := readable_job(house / room)) is not None}
    titles = room_titles(entry.rooms, jobs)
    is_floor = name.startswith(f"{FLOORS_DIR}/")
    says = [] if is_floor else [gettext(
        "{room} is one room of a flat, and here it is planned by itself. Boards are bought and offcuts shared by the "
        "plans that are kept for all rooms together: those are printed and laid by.", room=titles.get(name, name))]
    floor = house / name if is_floor else floor_made_of(house, name)
    job = readable_job(floor) if floor is not None else None
    plan = None if job is None else _plan_of(job)
    if floor is None or job is None or plan is None:
        return {"is_floor": is_floor, "floor": "", "says": says, "broken": []}
    floors = _floor_titles(house, titles)
    says += [gettext("The floor of {rooms} is planned with those of the other rooms of the flat.",
                     rooms=floors.get(floor.name, floor.name))] if is_floor else []
    says += _shared(plan, job.show, floors, may_change=is_floor and not is_begun(job))
    return {"is_floor": is_floor, "floor": f"{FLOORS_DIR}/{floor.name}", "says": says,
            "broken": [problem.says for problem in ties_around(floor, job, floors)]}


def _plan_of(job: Job) -> Plan | None:
    try:
        kept = kept_plan(job)
    except LayoutError:
        return None
    return None if kept is None else kept.plan


def _floor_titles(house: Path, titles: Titles) -> dict[str, str]:
    """The floors that lie there, by the titles of their rooms."""
    found = {}
    for place in (house / FLOORS_DIR).glob("*/"):
        rooms = (job.data.get("house") if (job := readable_job(place)) is not None else None) or []
        found[place.name] = listed([titles.get(str(room), str(room)) for room in rooms]) if rooms else place.name
    return found


def _shared(plan: Plan, show: str, titles: Titles, *, may_change: bool) -> Iterator[str]:
    """The offcuts that come and go. may_change: another plan may be kept in place of this one."""
    units = Lengths(show)
    came: dict[str, list[str]] = {}
    goes: dict[str, list[str]] = {}
    for own in plan.owned:
        if own.came_from is not None and own.board:
            came.setdefault(own.came_from.floor, []).append(_piece(own.label, own.length_mm, units))
    for offcut in plan.offcuts:
        if offcut.goes_to is not None:
            goes.setdefault(offcut.goes_to.floor, []).append(
                _piece(offcut.for_piece, offcut.to_mm - offcut.from_mm, units))
    yield from (ngettext("By the plan for all rooms {count} offcut comes from {room}: {pieces}.",
                         "By the plan for all rooms {count} offcuts come from {room}: {pieces}.", len(pieces),
                         room=titles.get(floor, floor), pieces=listed(pieces)) for floor, pieces in came.items())
    yield from (ngettext("By the plan for all rooms {count} offcut is kept for {room}: {pieces}.",
                         "By the plan for all rooms {count} offcuts are kept for {room}: {pieces}.", len(pieces),
                         room=titles.get(floor, floor), pieces=listed(pieces)) for floor, pieces in goes.items())
    if may_change and goes:
        yield gettext("Another plan kept here alone may not leave what is kept for {rooms}; the plans of all rooms "
                      "would have to be kept again.", rooms=listed([titles.get(floor, floor) for floor in goes]))


def _piece(label: str, length_mm: float, units: Lengths) -> str:
    return gettext("{label} ({length})", label=label, length=units.whole(length_mm))
