"""Several rooms as one house: house.json beside the folders of the rooms' jobs says which doors lead into one another.

Each room is surveyed by itself, put beside its neighbours through their doorways, and written as new jobs: one for each
floor whose boards run through, all with rows in one direction. Those are jobs like any other, to be planned, printed
and laid. What is wrong with one room or doorway costs that alone.
"""
from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, count
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.language.messages import gettext, listed
from desk.actions.error_report import refusal_of
from desk.actions.flat.doorway_answer import doorway_problems
from desk.actions.flat.gathering import GatheredRooms, SurveyOf, board_of, gather_rooms, longest_of, survey_in
from desk.actions.flat.titles import floor_titles, room_titles, short
from desk.jobfile.job import Job
from desk.jobfile.files import parse_job
from desk.jobfile.house_file import HouseEntry, slips
from desk.jobfile.written import job_text
from desk.problem import Problem, file_error
from desk.store.house_store import read_house
from layout.errors import LayoutError
from layout.flat.doorway_choice import as_chosen, choose_passages
from layout.flat.fitting import FittedRooms, fit_rooms
from layout.flat.order import as_whole_floors, order_of_laying, room_numbers
from layout.flat.purchase import Opening
from layout.flat_plan import LayingOrder, PassageChoice
from layout.region.joined_rooms import House, Passage, groups_of, join_rooms
from layout.room import Room
from printpack.outputs.filenames import is_portable

#: A door's distance from its corner is taped to this, one standard deviation, mm (as the tape's own default).
DOOR_SD_MM = 2.0
#: A flat's title is cut short beyond this, letters.
LONGEST_TITLE = 80
#: Files that lie beside the floors' folders in a flat's pack.
_IN_A_PACK = frozenset({"booklet.pdf", "flat.json"})


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class JoinedHouse:
    """What a house comes to: the new jobs by folder name in the order of laying and the rooms in each; the rooms that
    have a floor, the number of each, which its corners bear, and all own jobs that can be read, by name; where they lie
    (`parts`: rooms that doorways join, each part in a frame of its own), how every doorway is laid, the doors of two
    floors that are one opening, what was left out, and what the doorways told when the rooms were put together."""

    jobs: dict[str, Job]
    groups: dict[str, tuple[str, ...]]
    rooms: Mapping[str, Room]
    numbers: Mapping[str, int]
    own_jobs: Mapping[str, Job]
    parts: tuple[tuple[str, ...], ...]
    house: House
    entry: HouseEntry
    order: LayingOrder
    doorways: tuple[PassageChoice, ...]
    openings: tuple[Opening, ...]
    troubles: tuple[Problem, ...]
    fitted: FittedRooms

    @property
    def title(self) -> str:
        """What people call the flat, cut short where it is very long; "" where nobody said."""
        return short(self.entry.title, LONGEST_TITLE)

    @property
    def titles(self) -> dict[str, str]:
        """What people call the rooms of the house file, by name."""
        return room_titles(self.entry.rooms, self.own_jobs)

    @property
    def floor_titles(self) -> dict[str, str]:
        """What people call the floors, by folder name."""
        return floor_titles(self.groups, self.titles, self.numbers)


def join_house(folder: Path, survey_of: SurveyOf = survey_in, entry: HouseEntry | None = None,
               borne: Mapping[str, int] | None = None) -> JoinedHouse:
    """Read and survey every room of a house and make its jobs; what cannot be is left out and told of.

    survey_of: who surveys the rooms; entry: the house, if it is not to be read from its file; borne: numbers that rooms
    keep, as those do that are being laid.
    Raises JobFileError for a house file that cannot be read, JobProblems if no room has a floor.
    """
    entry = entry or read_house(folder)
    gathered = gather_rooms(folder, entry, survey_of)
    rooms = gathered.rooms
    fitted = fit_rooms(rooms, [passage for passage, _ in gathered.passages], gathered.covs)
    headings: dict[str, float] = {}
    for part in fitted.parts:
        headings |= dict.fromkeys(part, _heading(entry, {name: rooms[name] for name in part}, fitted.house))
    doorways = tuple(choice for part in fitted.parts for choice in _doorways(entry, gathered, fitted, part, headings))
    passages, splits = _that_join(rooms, fitted.house, as_chosen(fitted.passages, _in_order(fitted, doorways)))
    house = replace(fitted.house, groups=groups_of(tuple(rooms), passages))
    order, unsplit = _order(entry, gathered, house, passages)
    groups: dict[str, tuple[str, ...]] = {}
    for group in sorted(house.groups, key=lambda group: order.rooms.index(group[0])):
        groups[_folder_of(group, set(groups))] = group
    numbers = room_numbers(order.rooms, borne or {})
    jobs = {key: _joined_job(entry, gathered, join_rooms(rooms, house, group, passages, numbers), group, passages,
                             headings[group[0]], numbers) for key, group in groups.items()}
    show = next(iter(gathered.jobs.values())).show
    unfit = tuple(problem for error in (*_told_once(entry, fitted), *splits) for problem in refusal_of(error)[0])
    return JoinedHouse(jobs=jobs, groups=groups, rooms=rooms, numbers=numbers, own_jobs=gathered.jobs,
                       parts=fitted.parts, house=house, entry=entry, order=order,
                       doorways=tuple(replace(one, through=one.through and passage.through)
                                      for one, passage in zip(_in_order(fitted, doorways), passages)),
                       openings=_openings(numbers, groups, passages),
                       troubles=(*gathered.troubles, *unfit, *_unlike(doorways, gathered), *unsplit, *slips(entry),
                                 *doorway_problems(entry, fitted, show, room_titles(entry.rooms, gathered.jobs))),
                       fitted=fitted)


def _doorways(entry: HouseEntry, gathered: GatheredRooms, fitted: FittedRooms, part: Sequence[str],
              headings: Mapping[str, float]) -> tuple[PassageChoice, ...]:
    """How the doorways of rooms that hang together are laid."""
    asked = dict(gathered.passages)
    return choose_passages({name: gathered.rooms[name] for name in part}, fitted.house,
                           [(passage, asked[passage]) for passage in fitted.passages if passage.rooms[0] in part],
                           heading_rad=headings[part[0]],
                           longest_mm={name: longest_of(entry, gathered.jobs[name]) for name in part},
                           boards={name: board_of(entry, gathered.jobs[name]) for name in part})


def _in_order(fitted: FittedRooms, doorways: Sequence[PassageChoice]) -> list[PassageChoice]:
    """The choices in the order of the doorways."""
    by_sides = {(choice.rooms, choice.doors): choice for choice in doorways}
    return [by_sides[passage.rooms, passage.doors] for passage in fitted.passages]


def _that_join(rooms: Mapping[str, Room], house: House, passages: tuple[Passage, ...]) -> tuple[
        tuple[Passage, ...], list[LayoutError]]:
    """(the passages, with a profile in those of rooms that do not join to one plain floor, and why those do not)."""
    troubles = []
    for group in groups_of(tuple(rooms), passages):
        try:
            join_rooms(rooms, house, group, passages)
        except LayoutError as error:
            troubles.append(error)
            passages = tuple(replace(passage, through=passage.through and passage.rooms[0] not in group)
                             for passage in passages)
    return passages, troubles


def _order(entry: HouseEntry, gathered: GatheredRooms, house: House,
           passages: Sequence[Passage]) -> tuple[LayingOrder, tuple[Problem, ...]]:
    """The order of laying, rooms that are one floor together: where the first of them was asked for, which is told,
    else where the last of them comes."""
    rooms, titles = gathered.rooms, room_titles(entry.rooms, gathered.jobs)
    order = order_of_laying(rooms, house, passages, entrance=entry.entrance if entry.entrance in rooms else "",
                            asked=[name for name in entry.order if name in rooms])
    whole = (as_whole_floors(order.rooms, house.groups) if order.named else
             tuple(reversed(as_whole_floors(tuple(reversed(order.rooms)), house.groups))))
    split = [group for group in house.groups if order.named and not _is_together(group, order.rooms)]
    return replace(order, rooms=whole), tuple(Problem(
        slug="order-split", where="order", stage="plan", severity="note", says=gettext(
            "Boards run through between {rooms}, so these are laid as one floor, in the place of {first}; for the "
            "order you chose lay a profile between them.", rooms=listed([titles[name] for name in group]),
            first=titles[min(group, key=order.rooms.index)])) for group in split)


def _is_together(group: Sequence[str], order: Sequence[str]) -> bool:
    places = [order.index(name) for name in group]
    return max(places) - min(places) == len(group) - 1


def _told_once(entry: HouseEntry, fitted: FittedRooms) -> list[LayoutError]:
    """Why rooms do not fit, but for rooms that stand alone because of what else is told of their doorways."""
    named = {name for doorway in entry.doorways for name in doorway.rooms}
    return [error for error in fitted.troubles if error.slug != "room-alone" or error.where not in named]


def _unlike(doorways: Sequence[PassageChoice], gathered: GatheredRooms) -> list[Problem]:
    """Doorways that boards were asked to run through between rooms of two kinds of boards."""
    asked = {(passage.rooms, passage.doors) for passage, through in gathered.passages if through}
    return [Problem(slug="other-boards", where=f"{one.rooms[0]} {one.doors[0]}", stage="plan", says=gettext(
        "Boards cannot run through between {a} and {b}, whose jobs name different boards; a profile is laid there. "
        'Name one board for both, or write "laid": "profile".', a=one.rooms[0], b=one.rooms[1]))
        for one in doorways if one.rule == "other-boards" and (one.rooms, one.doors) in asked]


def _joined_job(entry: HouseEntry, gathered: GatheredRooms, joined: Room, group: tuple[str, ...],
                passages: Sequence[Passage], heading: float, numbers: Mapping[str, int]) -> Job:
    """The job of rooms that are laid as one. A corner is no surer than its rooms and the doors between them are."""
    inner = sum(p.through and set(p.rooms) <= set(group) for p in passages)
    sd_mm = math.hypot(max(gathered.spreads[name] for name in group), DOOR_SD_MM * math.sqrt(2.0 * inner))
    rooms = sorted(group, key=lambda name: numbers[name])
    titles = room_titles(entry.rooms, gathered.jobs)
    title = " + ".join(titles[name] for name in rooms)  # alike in every language: it is the job's own
    if entry.title:
        title = f"{short(entry.title, LONGEST_TITLE)}: {title}"
    return _job_of(joined, entry, gathered.jobs[group[0]], rooms, title, sd_mm, heading)


def _openings(number: Mapping[str, int], groups: Mapping[str, tuple[str, ...]],
              passages: Sequence[Passage]) -> tuple[Opening, ...]:
    """The doors of two floors that are one opening, as the floors name them."""
    floor = {name: key for key, group in groups.items() for name in group}

    def side(passage: Passage, k: int) -> tuple[str, str]:
        return floor[passage.rooms[k]], f"{number[passage.rooms[k]]}{passage.doors[k]}"
    return tuple((side(passage, 0), side(passage, 1)) for passage in passages if not passage.through)


def _folder_of(group: tuple[str, ...], taken: set[str]) -> str:
    """The folder of a floor: its rooms' names, or a number where those make no name of their own."""
    others = _IN_A_PACK | {other.casefold() for other in taken}
    names = chain(["+".join(group)], map("floor {}".format, count(len(taken) + 1)))
    return next(name for name in names if is_portable(name) and name.casefold() not in others)


def _heading(entry: HouseEntry, rooms: Mapping[str, Room], house: House) -> float:
    """Angle of the wall all rows run along, in the house's frame; the longest wall of these rooms if none of theirs is
    named. Raises JobFileError."""
    walls = [(name, wall) for name, room in rooms.items() for wall in zip(room.names, room.names[1:] + room.names[:1])]
    along = entry.direction
    if along is not None and along.room in rooms:
        chosen = [(name, wall) for name, wall in walls if name == along.room and set(wall) == set(along.wall)]
        if not chosen:
            raise file_error("unknown-wall", gettext(
                "direction names the wall {wall} of {room}, which has no such wall; name two corners that follow one "
                "another.", wall="-".join(along.wall), room=along.room), where="direction")
    else:
        chosen = sorted(walls, key=lambda one: -_length(rooms[one[0]], one[1]))
    name, wall = chosen[0]
    step = _step(rooms[name], wall)
    return math.atan2(step[1], step[0]) + house.placings[name].heading_rad


def _step(room: Room, wall: Sequence[str]) -> tuple[float, float]:
    a, b = (room.outline_mm[room.names.index(corner)] for corner in wall)
    return float(b[0] - a[0]), float(b[1] - a[1])


def _length(room: Room, wall: Sequence[str]) -> float:
    return math.hypot(*_step(room, wall))


def _job_of(room: Room, entry: HouseEntry, first: Job, group: Sequence[str], title: str, sd_mm: float,
            heading: float) -> Job:
    """The job of a joined floor; boards and rules are the house's, else those of the first room in it."""
    flooring = dict(entry.flooring or first.data.get("flooring") or {})
    flooring = {name: value for name, value in flooring.items()
                if name not in ("start", "first_row")} | {"direction": round(math.degrees(heading) % 360.0, 4)}
    return parse_job(json.loads(job_text({"format": "tapegroove-job", "version": 1, "house": list(group),
                                          "title": title, "show": first.show,
                                          **({"language": first.language} if first.language else {}),
                                          "outline": list(room.names),
                                          "islands": [{"name": name, "corners": [f"{name}{k + 1}"
                                                                                 for k in range(len(ring))]}
                                                      for name, ring in _named(room.islands)],
                                          "floor": {"outline": _ring(room.outline_mm),
                                                    "holes": [_ring(ring) for _, ring in room.islands]}
                                          | ({"sd": round(sd_mm, 1)} if sd_mm >= 0.05 else {}),
                                          "pipes": [{"name": p.name, "diameter": p.diameter_mm,
                                                     "at": _ring([p.centre_mm])[0]} for p in room.pipes],
                                          "doors": [{"name": d.name, "wall": list(d.wall), "from": round(d.from_mm, 1),
                                                     "width": d.width_mm, "reveal": d.reveal_mm}
                                                    | ({} if d.next_floor_mm is None
                                                       else {"next_floor": d.next_floor_mm})
                                                    | ({"casing": {"width": d.casing.width_mm,
                                                                   "thickness": d.casing.thickness_mm}}
                                                       if d.casing else {}) for d in room.doors],
                                          "flooring": flooring})))


def _named(islands: tuple[tuple[str, NDArray[np.float64]], ...]) -> Iterator[tuple[str, NDArray[np.float64]]]:
    """Islands by names that a job may have: one that had a number only, "island 1 ", ends in a dot instead of the blank
    before the numbers of its corners."""
    return ((f"{name.rstrip()}." if name.endswith(" ") else name, ring) for name, ring in islands)


def _ring(points: Any) -> list[list[float]]:
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]
