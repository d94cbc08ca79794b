"""A flat as it stands, worked out without planning: which rooms have a floor and which floors keep a plan, where rooms
and doorways lie, in which order they are laid."""
from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from capture.language.messages import gettext
from desk.actions.flat.floor_jobs import FLOORS_DIR, FloorJob, FloorJobs, floor_jobs, numbers_borne
from desk.actions.flat.gathering import SurveyOf, survey_in
from desk.actions.house import JoinedHouse, join_house
from desk.actions.kept_plan import is_begun
from desk.jobfile.files import readable_job
from desk.jobfile.house_file import HouseEntry
from desk.jobfile.job import Job
from desk.problem import Problem
from desk.store.house_store import read_house
from layout.flat_plan import BoardKind, FlatPlan, PassageChoice
from layout.region.joined_rooms import placed_opening

#: What has been done for a room: no floor yet; a floor, no plan; its floor's plan is kept; that plan is out of date;
#: it is being laid; it cannot be read.
RoomState = Literal["no-floor", "floor", "kept", "out-of-date", "begun", "damaged"]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlatState:
    """A house joined, its floors' jobs, and everything that is wrong."""

    joined: JoinedHouse
    jobs: FloorJobs

    @property
    def troubles(self) -> tuple[Problem, ...]:
        """What is left out of the house, and plans that cannot be used."""
        return (*self.joined.troubles, *self.jobs.troubles)

    @property
    def show(self) -> str:
        """The unit the flat is shown in."""
        return next(iter(self.joined.jobs.values())).show

    def floor_of(self, room: str) -> FloorJob | None:
        """The floor a room is part of; None for a room that has none."""
        return next((floor for floor in self.jobs.floors if room in self.joined.groups[floor.name]), None)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlatJob:
    """A flat as it stands, and planned. flat: None where no floor is planned; troubles: everything that was left out,
    of the house and of the plan."""

    state: FlatState
    flat: FlatPlan | None
    troubles: tuple[Problem, ...]

    @property
    def kinds(self) -> tuple[BoardKind, ...]:
        """What is bought of each kind of board."""
        return () if self.flat is None else self.flat.kinds


def flat_state(folder: Path, floors: Path | None = None, survey_of: SurveyOf = survey_in,
               entry: HouseEntry | None = None) -> FlatState:
    """The flat of a house's folder as it stands; writes nothing. floors: where its floors' jobs lie, if elsewhere than
    in `floors` beside house.json; survey_of: who surveys the rooms; entry: the house, if it is not to be read from its
    file.

    Raises JobFileError for a house that cannot be read, JobProblems if not one of its rooms has a floor.
    """
    place = floors or folder / FLOORS_DIR
    joined = join_house(folder, survey_of, entry, numbers_borne(place))
    return FlatState(joined=joined, jobs=floor_jobs(joined, place))


def state_of(floor: FloorJob | None) -> RoomState:
    """What has been done for the rooms of a floor."""
    if floor is None:
        return "no-floor"
    if floor.trouble is not None:
        return "damaged"
    if is_begun(floor.job):
        return "begun"
    if floor.kept is None:
        return "floor"
    return "kept" if floor.is_kept else "out-of-date"


def state_answer(state: FlatState) -> dict[str, Any]:
    """The flat as plain data; lengths mm, angles degrees, places in the frame of the rooms that hang together."""
    return {"title": state.joined.entry.title, "parts": [list(part) for part in state.joined.parts],
            "rooms": {name: _room(state, name) for name in state.joined.entry.rooms},
            "doorways": [_doorway(state, one) for one in state.joined.doorways],
            "loose_doorways": list(_loose(state))}


def unfloored_answer(folder: Path, problems: Sequence[Problem]) -> dict[str, Any]:
    """The same of a house in which no room has a floor yet; problems: why."""
    entry = read_house(folder)
    rooms = {}
    for name in entry.rooms:
        said = next((problem.says for problem in problems if problem.where == name), "")
        rooms[name] = {"state": "no-floor", "says": said, "floor": None}
        rooms[name] |= _told(entry, name, readable_job(folder / name))
    return {"title": entry.title, "parts": [], "rooms": rooms, "doorways": [], "loose_doorways": [
        {"doorway": number, "rooms": list(one.rooms), "doors": list(one.doors), "asked": one.laid, "says": ""}
        for number, one in enumerate(entry.doorways)]}


def _room(state: FlatState, name: str) -> dict[str, Any]:
    floor, joined = state.floor_of(name), state.joined
    said: dict[str, Any] = {"state": state_of(floor), "says": _says(state, name, floor),
                            "floor": None if floor is None else floor.name}
    said |= _told(joined.entry, name, joined.own_jobs.get(name))
    if floor is None:
        return said
    placing, room = joined.house.placings[name], joined.rooms[name]
    ends = {door.name: _places(placed_opening(room, door, placing)) for door in room.doors}
    return said | {"number": joined.numbers[name], "heading": math.degrees(placing.heading_rad),
                   "shift": [float(v) for v in placing.shift_mm], "outline": _places(placing.place(room.outline_mm)),
                   "corners": list(room.names), "islands": [_places(placing.place(ring)) for _, ring in room.islands],
                   "doors": [door | {"ends": ends[door["name"]]} for door in said["doors"] if door["name"] in ends]}


def _told(entry: HouseEntry, name: str, job: Job | None) -> dict[str, Any]:
    """What a room's own job tells: title, doors and where they lead, and whether a plan is kept there, outside the
    flat."""
    doors = [{"name": door.name, "width": door.width_mm, "leads_to": _other_side(entry, name, door.name)}
             for door in (job.doors if job else ())]
    return {"title": job.title or name if job else name, "doors": doors, "kept_alone": job is not None and job.has_plan}


def _places(points: Any) -> list[list[float]]:
    return [[round(float(x), 1), round(float(y), 1)] for x, y in points]


def _other_side(house: HouseEntry, room: str, door: str) -> dict[str, str] | None:
    """The room and door behind a door; None where the house file says nothing of it."""
    for entry in house.doorways:
        sides = list(zip(entry.rooms, entry.doors))
        if (room, door) in sides:
            other, its = sides[1 - sides.index((room, door))]
            return {"room": other, "door": its}
    return None


def _says(state: FlatState, name: str, floor: FloorJob | None) -> str:
    """The state of a room in one sentence."""
    title = state.joined.titles[name]
    if floor is None:
        return next((problem.says for problem in state.joined.troubles if problem.where == name), "")
    if floor.trouble is not None:
        return floor.trouble.says
    if floor.kept is not None and not floor.kept.is_current:
        return floor.kept.says
    return {"begun": gettext("The floor of {room} is being laid.", room=title),
            "kept": gettext("A plan is kept for {room}.", room=title)}.get(
                state_of(floor), gettext("{room} has a floor, and no plan is kept for it yet.", room=title))


def _number(joined: JoinedHouse, rooms: tuple[str, str], doors: tuple[str, str]) -> int:
    """The number of a doorway in the house file, from 0."""
    return next(k for k, entry in enumerate(joined.entry.doorways) if (entry.rooms, entry.doors) == (rooms, doors))


def _doorway(state: FlatState, one: PassageChoice) -> dict[str, Any]:
    """Where a doorway lies beside what is said of how it is laid: the opening's ends in either room's wall."""
    joined = state.joined
    number = _number(joined, one.rooms, one.doors)
    ends = [placed_opening(joined.rooms[name], next(d for d in joined.rooms[name].doors if d.name == door),
                           joined.house.placings[name]) for name, door in zip(one.rooms, one.doors)]
    return {"doorway": number, "asked": joined.entry.doorways[number].laid, "ends": [_places(side) for side in ends]}


def _loose(state: FlatState) -> Iterator[dict[str, Any]]:
    """Doorways of the house file that do not fit, or lead to a room without a floor, each with the sentence why."""
    fit = {(one.rooms, one.doors) for one in state.joined.doorways}
    for number, entry in enumerate(state.joined.entry.doorways):
        if (entry.rooms, entry.doors) not in fit:
            at = [entry.where, *(f"{room} {door}" for room, door in zip(entry.rooms, entry.doors)), *entry.rooms]
            yield {"doorway": number, "rooms": list(entry.rooms), "doors": list(entry.doors), "asked": entry.laid,
                   "says": _first_of(at, {problem.where: problem.says for problem in state.joined.troubles})}


def _first_of(places: list[str], says: Mapping[str, str]) -> str:
    return next((says[place] for place in places if place in says), "")
