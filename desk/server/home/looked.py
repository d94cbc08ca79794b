"""A flat as its page shows it: the rooms put together as far as they fit, each with its state, its doorways with how
they are laid, and what is in the way, told where it is. Plan mm, y up."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from desk.actions.flat.gathering import board_of
from desk.actions.flat.state import FlatState, state_of
from desk.actions.flat.titles import room_titles
from desk.convert import to_board
from desk.jobfile.house_file import HouseEntry
from desk.jobfile.job import Job
from desk.problem import Problem
from desk.text.precision import area_words
from layout.flat_plan import PassageChoice
from layout.room import Room
from layout.words.lengths import Lengths
from printpack.units import Units

#: Parts of a flat that no doorway joins are drawn so far from one another, mm.
_APART_MM = 1200.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Seen:
    """What could be made of a flat. jobs: those of its rooms that can be read; state: None where no room has a floor;
    troubles: all that was told on the way."""

    entry: HouseEntry
    jobs: Mapping[str, Job]
    state: FlatState | None
    troubles: tuple[Problem, ...]

    @property
    def rooms(self) -> Mapping[str, Room]:
        """The rooms that have a floor."""
        return self.state.joined.rooms if self.state else {}

    @property
    def parts(self) -> Sequence[Sequence[str]]:
        """Rooms that doorways join, the largest part first."""
        return sorted(self.state.joined.parts, key=lambda names: -len(names)) if self.state else ()


def show_flat(seen: Seen) -> dict[str, Any]:
    """The flat for the page."""
    show = next((job.show for job in seen.jobs.values()), "metric")
    told = [problem for problem in seen.troubles if problem.slug != "room-alone"]  # the page draws it apart, and asks
    rooms, doorways = _rooms(seen), _doorways(seen, show)
    return {"show": show, "rooms": {name: room | {"says": [one.says for one in told if one.where == name]}
                                    for name, room in rooms.items()},
            "doorways": [doorway | {"says": [one.says for one in told if _at(one, seen.entry, doorways) == k],
                                    "asks": [one.slug for one in told if _at(one, seen.entry, doorways) == k]}
                         for k, doorway in enumerate(doorways)],
            "free": _free_doors(seen), "parts": len(seen.parts), "order": _order(seen),
            "boards": _boards(seen), "boardless": _boardless(seen),
            "problems": [{"where": one.where, "says": one.says} for one in told
                         if one.where not in rooms and _at(one, seen.entry, doorways) is None]}


def _at(problem: Problem, entry: HouseEntry, doorways: Sequence[Mapping[str, Any]]) -> int | None:
    """The number of the doorway a problem is told of, by its place in the file or by the door in either room; of two
    that claim one door it is the one that does not fit."""
    for k, one in enumerate(entry.doorways):
        if problem.where.startswith(one.where):
            return k
    named = [k for k, one in enumerate(entry.doorways)
             if problem.where in [f"{room} {door}" for room, door in zip(one.rooms, one.doors)]]
    return min(named, key=lambda k: doorways[k]["fits"] is not False, default=None)


def _rooms(seen: Seen) -> dict[str, dict[str, Any]]:
    places = _places(seen)
    return {name: _card(name, seen) | {"corners": _corners(name, seen, places), "doors": _doors(name, seen),
                                       "part": next((k for k, part in enumerate(seen.parts) if name in part), None)}
            for name in seen.entry.rooms}


def _card(name: str, seen: Seen) -> dict[str, Any]:
    """A room's title, its number on paper, state, area, the floor it is laid with, and what is told of a plan that is
    out of date."""
    job = seen.jobs.get(name)
    told = {"title": room_titles(seen.entry.rooms, seen.jobs)[name], "area": "", "kept": "", "floor": "",
            "number": seen.state.joined.numbers.get(name) if seen.state else None}
    if job is None:
        return told | {"state": "unread"}
    floor = seen.state.floor_of(name) if seen.state else None
    if floor is None:
        return told | {"state": "open" if job.outline or job.floor else "empty"}
    room = seen.rooms[name]
    area_mm2 = Polygon(room.outline_mm).area - sum(Polygon(ring).area for _, ring in room.islands)
    kept = floor.trouble.says if floor.trouble else floor.kept.says if floor.kept else ""
    return told | {"state": state_of(floor), "area": area_words(area_mm2, 0.0, Units(job.show)), "kept": kept,
                   "floor": floor.name}


def _places(seen: Seen) -> dict[str, NDArray[np.float64]]:
    """(n, 2) corners of every room as drawn, mm: parts that no doorway joins side by side."""
    found: dict[str, NDArray[np.float64]] = {}
    placings = seen.state.joined.house.placings if seen.state else {}
    left = 0.0
    for part in seen.parts:
        placed = {name: placings[name].place(seen.rooms[name].outline_mm) for name in part}
        every = np.concatenate(list(placed.values()))
        shift = np.array([left, 0.0]) - every.min(axis=0)
        found |= {name: ring + shift for name, ring in placed.items()}
        left += float(np.ptp(every[:, 0])) + _APART_MM
    return found


def _corners(name: str, seen: Seen, places: Mapping[str, NDArray[np.float64]]) -> dict[str, list[float]]:
    if name not in places:
        return {}
    return {corner: [round(float(x), 1), round(float(y), 1)] for corner, (x, y) in zip(seen.rooms[name].names,
                                                                                       places[name])}


def _doors(name: str, seen: Seen) -> list[dict[str, Any]]:
    doors = seen.rooms[name].doors if name in seen.rooms else ()
    return [{"name": door.name, "wall": list(door.wall), "from": door.from_mm, "width": door.width_mm}
            for door in doors]


def _doorways(seen: Seen, show: str) -> list[dict[str, Any]]:
    """How each doorway of the file is laid; fits: None while a room of it has no floor."""
    choices = {(one.rooms, one.doors): one for one in (seen.state.joined.doorways if seen.state else ())}
    return [{"fits": ((entry.rooms, entry.doors) in choices) if set(entry.rooms) <= set(seen.rooms) else None}
            | _laid(choices.get((entry.rooms, entry.doors)), show) for entry in seen.entry.doorways]


def _laid(choice: PassageChoice | None, show: str) -> dict[str, Any]:
    if choice is None:
        return {"laid": None, "rule": "", "reach": "", "longest": ""}
    units = Lengths(show)
    return {"laid": "through" if choice.through else "profile", "rule": choice.rule,
            "reach": units.metres(choice.extent_mm, 1), "longest": units.metres(choice.longest_mm, 1)}


def _free_doors(seen: Seen) -> list[dict[str, Any]]:
    """Doors of no doorway, each with those of other rooms it may lead to: the likeliest first, rooms that are not yet
    joined and openings of one width."""
    taken = {side for entry in seen.entry.doorways for side in zip(entry.rooms, entry.doors)}
    free = [(name, door) for name, room in seen.rooms.items() for door in room.doors
            if (name, door.name) not in taken]
    part = {name: k for k, names in enumerate(seen.parts) for name in names}
    found = []
    for name, door in free:
        partners = sorted(((part[name] == part[other], abs(door.width_mm - far.width_mm), other, far.name)
                           for other, far in free if other != name), key=lambda one: one[:2])
        found.append({"room": name, "door": door.name, "partners": [list(one[2:]) for one in partners]})
    return found


def _order(seen: Seen) -> dict[str, Any]:
    """The rooms as they are laid, those without a floor last."""
    order = seen.state.joined.order if seen.state else None
    laid = list(order.rooms) if order else []
    asked = list(seen.entry.order)
    rest = [name for name in seen.entry.rooms if name not in laid]
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
    if seen.entry.flooring is not None:
        return []
    return [name for name in seen.rooms if seen.jobs[name].flooring.board is None]
