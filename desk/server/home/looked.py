"""A flat as its page shows it: the rooms put together as far as they fit, each with its state, its doorways with how
they are laid, and what is in the way, told where it is. Plan mm, y up."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from desk.actions.error_report import refusal_of
from desk.actions.flat.gathering import GatheredRooms, board_of
from desk.actions.house import JoinedHouse, join_gathered
from desk.actions.kept_plan import is_begun, kept_plan
from desk.convert import to_board
from desk.jobfile.house_file import DoorwayEntry, HouseEntry
from desk.jobfile.job import Job
from desk.problem import JobFileError, Problem
from desk.text.precision import area_words
from layout.errors import LayoutError
from layout.flat_plan import PassageChoice
from layout.words.lengths import Lengths
from printpack.units import Units

#: Parts of a flat that no doorway joins are drawn so far from one another, mm.
_APART_MM = 1200.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Seen:
    """What could be made of a flat. jobs: those that can be read; gathered: None where no room has a floor; joined:
    None where they could not be joined; troubles: all that was told on the way."""

    entry: HouseEntry
    jobs: Mapping[str, Job]
    gathered: GatheredRooms | None
    joined: JoinedHouse | None
    troubles: tuple[Problem, ...]


def join_seen(entry: HouseEntry, jobs: Mapping[str, Job], gathered: GatheredRooms) -> Seen:
    """The rooms put together; where the rows cannot lie as asked, as they would without."""
    try:
        joined, asked = join_gathered(entry, gathered), ()
    except JobFileError as error:
        asked = tuple(replace(problem, where="direction") for problem in error.problems)
        joined = join_gathered(replace(entry, direction=None), gathered)
    return Seen(entry=entry, jobs=jobs, gathered=gathered, joined=joined, troubles=(*asked, *joined.troubles))


def show_flat(seen: Seen) -> dict[str, Any]:
    """The flat for the page."""
    show = next((job.show for job in seen.jobs.values()), "metric")
    parts = _parts(seen)
    told = [problem for problem in seen.troubles if problem.slug != "room-alone"]  # the page draws it apart, and asks
    rooms, doorways = _rooms(seen, parts), _doorways(seen, show)
    return {"show": show, "rooms": {name: room | {"says": [one.says for one in told if one.where == name]}
                                    for name, room in rooms.items()},
            "doorways": [doorway | {"says": [one.says for one in told if _is_of(one, entry)],
                                    "asks": [one.slug for one in told if _is_of(one, entry)]}
                         for doorway, entry in zip(doorways, seen.entry.doorways)],
            "free": _free_doors(seen, parts), "parts": len(parts), "order": _order(seen),
            "boards": _boards(seen), "boardless": _boardless(seen),
            "problems": [{"where": one.where, "says": one.says} for one in told
                         if one.where not in rooms and not any(_is_of(one, entry) for entry in seen.entry.doorways)]}


def _is_of(problem: Problem, entry: DoorwayEntry) -> bool:
    """Whether a problem is told of a doorway: by its place in the file, or by the door in either room."""
    return problem.where.startswith(entry.where) or problem.where in [f"{room} {door}" for room, door
                                                                      in zip(entry.rooms, entry.doors)]


def _parts(seen: Seen) -> list[list[str]]:
    """Rooms that doorways join, the largest part first."""
    if seen.gathered is None or seen.joined is None:
        return []
    part = {name: {name} for name in seen.gathered.rooms}
    for choice in seen.joined.doorways:
        both = part[choice.rooms[0]] | part[choice.rooms[1]]
        part |= dict.fromkeys(both, both)
    several = {id(names): [name for name in seen.gathered.rooms if name in names] for names in part.values()}
    return sorted(several.values(), key=lambda names: -len(names))


def _rooms(seen: Seen, parts: Sequence[Sequence[str]]) -> dict[str, dict[str, Any]]:
    places = _places(seen, parts)
    return {name: _card(name, seen) | {"corners": _corners(name, seen, places), "doors": _doors(name, seen),
                                       "part": next((k for k, part in enumerate(parts) if name in part), None)}
            for name in seen.entry.rooms}


def _card(name: str, seen: Seen) -> dict[str, Any]:
    """A room's title, state, area, and since when its plan is out of date."""
    job = seen.jobs.get(name)
    title = (job.title if job else "") or name
    if job is None:
        return {"title": title, "state": "unread", "area": "", "kept": ""}
    if seen.gathered is None or name not in seen.gathered.rooms:
        return {"title": title, "state": "open" if job.outline or job.floor else "empty", "area": "", "kept": ""}
    state, kept = _plan_state(job)
    area_mm2 = Polygon(seen.gathered.rooms[name].outline_mm).area - sum(
        Polygon(ring).area for _, ring in seen.gathered.rooms[name].islands)
    return {"title": title, "state": state, "area": area_words(area_mm2, 0.0, Units(job.show)), "kept": kept}


def _plan_state(job: Job) -> tuple[str, str]:
    """(floor, kept, old or laying; what is told of a plan that is out of date or cannot be read)."""
    try:
        kept = kept_plan(job)
    except LayoutError as error:
        return "old", refusal_of(error)[0][0].says
    if kept is None:
        return "floor", ""
    if is_begun(job):
        return "laying", ""
    return ("kept", "") if kept.is_current else ("old", kept.says)


def _places(seen: Seen, parts: Sequence[Sequence[str]]) -> dict[str, NDArray[np.float64]]:
    """(n, 2) corners of every room as drawn, mm: parts that no doorway joins side by side, those at the left first."""
    found: dict[str, NDArray[np.float64]] = {}
    if seen.gathered is None or seen.joined is None:
        return found
    left = 0.0
    for part in parts:
        placed = {name: seen.joined.house.placings[name].place(seen.gathered.rooms[name].outline_mm) for name in part}
        every = np.concatenate(list(placed.values()))
        shift = np.array([left, 0.0]) - every.min(axis=0)
        found |= {name: ring + shift for name, ring in placed.items()}
        left += float(np.ptp(every[:, 0])) + _APART_MM
    return found


def _corners(name: str, seen: Seen, places: Mapping[str, NDArray[np.float64]]) -> dict[str, list[float]]:
    if seen.gathered is None or name not in places:
        return {}
    return {corner: [round(float(x), 1), round(float(y), 1)]
            for corner, (x, y) in zip(seen.gathered.rooms[name].names, places[name])}


def _doors(name: str, seen: Seen) -> list[dict[str, Any]]:
    rooms = seen.gathered.rooms if seen.gathered else {}
    if name not in rooms:
        return []
    return [{"name": door.name, "wall": list(door.wall), "from": door.from_mm, "width": door.width_mm}
            for door in rooms[name].doors]


def _doorways(seen: Seen, show: str) -> list[dict[str, Any]]:
    """How each doorway of the file is laid; fits: None while a room of it has no floor."""
    choices = {(one.rooms, one.doors): one for one in (seen.joined.doorways if seen.joined else ())}
    rooms = seen.gathered.rooms if seen.gathered else {}
    return [{"fits": ((entry.rooms, entry.doors) in choices) if set(entry.rooms) <= set(rooms) else None}
            | _laid(choices.get((entry.rooms, entry.doors)), show) for entry in seen.entry.doorways]


def _laid(choice: PassageChoice | None, show: str) -> dict[str, Any]:
    if choice is None:
        return {"laid": None, "rule": "", "reach": "", "longest": ""}
    units = Lengths(show)
    return {"laid": "through" if choice.through else "profile", "rule": choice.rule,
            "reach": units.metres(choice.extent_mm, 1), "longest": units.metres(choice.longest_mm, 1)}


def _free_doors(seen: Seen, parts: Sequence[Sequence[str]]) -> list[dict[str, Any]]:
    """Doors of no doorway, each with those of other rooms it may lead to: the likeliest first, rooms that are not yet
    joined and openings of one width."""
    if seen.gathered is None:
        return []
    taken = {side for entry in seen.entry.doorways for side in zip(entry.rooms, entry.doors)}
    free = [(name, door) for name, room in seen.gathered.rooms.items() for door in room.doors
            if (name, door.name) not in taken]
    part = {name: k for k, names in enumerate(parts) for name in names}
    found = []
    for name, door in free:
        partners = sorted(((part[name] == part[other], abs(door.width_mm - far.width_mm), other, far.name)
                           for other, far in free if other != name), key=lambda one: one[:2])
        found.append({"room": name, "door": door.name, "partners": [list(one[2:]) for one in partners]})
    return found


def _order(seen: Seen) -> dict[str, Any]:
    """The rooms as they are laid, those without a floor last."""
    laid = list(seen.joined.order.rooms) if seen.joined else []
    asked = list(seen.entry.order)
    rest = [name for name in seen.entry.rooms if name not in laid]
    order = seen.joined.order if seen.joined else None
    return {"rooms": asked or laid + rest, "entrance": order.entrance if order else "",
            "rule": "asked" if asked else order.rule if order else ""}


def _boards(seen: Seen) -> list[dict[str, Any]]:
    """The kinds of boards that the rooms' jobs name, each with its rooms and the flooring of the first."""
    kinds: dict[str, list[str]] = {}
    for name, job in seen.jobs.items():
        if job.flooring.board is not None:
            kinds.setdefault(board_of(replace(seen.entry, flooring=None), job), []).append(name)
    return [{"rooms": names, "says": _board_words(seen.jobs[names[0]]),
             "flooring": seen.jobs[names[0]].data.get("flooring")} for names in kinds.values()]


def _board_words(job: Job) -> str:
    board = to_board(job)
    return Lengths(job.show).by(board.length_mm, board.width_mm, board.thickness_mm)


def _boardless(seen: Seen) -> list[str]:
    """Rooms with a floor for which no boards are named."""
    if seen.entry.flooring is not None or seen.gathered is None:
        return []
    return [name for name in seen.gathered.rooms if seen.jobs[name].flooring.board is None]
