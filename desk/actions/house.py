"""Several rooms as one house: house.json beside the folders of the rooms' jobs says which doors lead into one another.

Each room is surveyed by itself, put beside its neighbours through their doorways, and written as new jobs: one for each
floor whose boards run through, all with rows in one direction. Those are jobs like any other, to be planned, printed
and laid.
"""
from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.floor import Z95
from desk.convert import to_room
from desk.jobfile.job import Job
from desk.jobfile.files import JOB_NAME, LARGEST_BYTES, job_folder, parse_job, parse_json, read_job
from desk.jobfile.house_file import HOUSE_NAME, DoorwayEntry, HouseEntry, parse_house
from desk.jobfile.written import job_text
from desk.store.photos import look_at_photos
from desk.actions.pipeline import survey_job
from desk.problem import file_error
from desk.jobfile.save import write_folder
from layout.region.joined_rooms import House, Passage, door_of, join_rooms, place_rooms
from layout.room import Room
from printpack.outputs.filenames import is_portable

#: A door's distance from its corner is taped to this, one standard deviation, mm (as the tape's own default).
DOOR_SD_MM = 2.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class JoinedHouse:
    """What a house comes to: the new jobs by folder name, the rooms in each, and where the rooms lie."""

    jobs: dict[str, Job]
    groups: dict[str, tuple[str, ...]]
    house: House
    entry: HouseEntry


def join_house(folder: Path) -> JoinedHouse:
    """Read and survey every room of a house and make its jobs.

    Raises JobFileError for what cannot be read, JobProblems and CaptureError for a room that cannot be surveyed,
    LayoutError for rooms that do not fit together.
    """
    entry = read_house(folder)
    jobs, rooms, spreads = {}, {}, {}
    for name in entry.rooms:
        place = job_folder(folder / name)
        jobs[name] = read_job(place)
        survey = survey_job(jobs[name], look_at_photos(place, jobs[name]))
        rooms[name] = to_room(jobs[name], survey)
        # A corner takes half a wall's variance.
        spreads[name] = max(wall.pm95_mm for wall in survey.floor.walls()) / Z95 / math.sqrt(2.0)
    passages = tuple(_passage(rooms, doorway) for doorway in entry.doorways)
    house = place_rooms(rooms, passages)
    heading = _heading(entry, rooms, house)
    made: dict[str, Job] = {}
    groups: dict[str, tuple[str, ...]] = {}
    for group in house.groups:
        room = join_rooms(rooms, house, group, passages)
        inner = sum(p.through and set(p.rooms) <= set(group) for p in passages)
        sd_mm = math.hypot(max(spreads[name] for name in group), DOOR_SD_MM * math.sqrt(2.0 * inner))
        key = _folder_of(group, set(made))
        made[key], groups[key] = _job_of(room, entry, jobs[group[0]], group, sd_mm, heading), group
    return JoinedHouse(jobs=made, groups=groups, house=house, entry=entry)


def _folder_of(group: tuple[str, ...], taken: set[str]) -> str:
    """The folder of a floor: its rooms' names, or a number where those make no name of their own."""
    name = "+".join(group)
    return name if is_portable(name) and name.casefold() not in {other.casefold()
                                                                 for other in taken} else f"floor {len(taken) + 1}"


def write_house(joined: JoinedHouse, folder: Path) -> None:
    """Write the jobs, each into its folder, all or none. Raises JobFileError if something else lies there, or a job
    somebody worked on."""
    files = {f"{name}/{JOB_NAME}": job.text.encode("utf-8") for name, job in joined.jobs.items()}
    write_folder(folder, files, foreign=lambda names: {name for name in names if not _is_untouched(folder, name)})


def house_answer(joined: JoinedHouse, folder: str) -> dict[str, Any]:
    """The `house --json` object; headings in degrees, shifts in mm."""
    return {"format": "tapegroove-house-floors", "version": 1, "folder": folder,
            "floors": [{"folder": name, "rooms": list(joined.groups[name])} for name in joined.jobs],
            "rooms": {name: {"number": number, "heading": math.degrees(placing.heading_rad),
                             "shift": [float(v) for v in placing.shift_mm]} for number, (name,
                                                                                         placing) in enumerate(
        joined.house.placings.items(), start=1)},
            "misfits": [{"rooms": list(p.rooms), "doors": list(p.doors), "mm": off} for p, off in joined.house.misfits]}


def read_house(folder: Path) -> HouseEntry:
    """house.json in a folder. Raises JobFileError with every fault."""
    path = folder / HOUSE_NAME
    if not path.is_file():
        raise file_error("no-house", f"The folder {folder} holds no {HOUSE_NAME}; write one that lists the rooms and "
                                     "the doorways between them "
                                     f"(README: A whole house).")
    return parse_house(parse_json(_bytes_of(path), name=HOUSE_NAME))


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise file_error("unreadable-job", f"{path} is larger than {LARGEST_BYTES // 1_000_000} MB, so it lists no "
                                               "rooms; name another folder.")
        return path.read_bytes()
    except OSError as error:
        raise file_error("unreadable-job",
                         f"{path} cannot be read ({error.strerror or error}); check that it may be opened.") from error


def _passage(rooms: Mapping[str, Room], entry: DoorwayEntry) -> Passage:
    """The doorway with its wall's thickness: as written, else both doors' depths to the threshold together."""
    doors = [door_of(rooms[name], door, name) for name, door in zip(entry.rooms, entry.doors)]
    deep = sum(door.reveal_mm for door in doors)
    if entry.thickness_mm is None and not all(door.reveal_mm for door in doors):
        raise file_error("no-thickness", f'{entry.where}: nothing tells how thick the wall between '
                                         f'{" and ".join(entry.rooms)} is; measure it in the '
                                         f'doorway '
                         'and write "thickness": 120, or give both doors their "reveal".', where=entry.where)
    return Passage(rooms=entry.rooms, doors=entry.doors, thickness_mm=entry.thickness_mm or deep,
                   through=entry.laid == "through")


def _heading(entry: HouseEntry, rooms: Mapping[str, Room], house: House) -> float:
    """Angle of the wall all rows run along, from the first room's x; the longest wall of the house if none is named.
    Raises JobFileError."""
    walls = [(name, wall) for name, room in rooms.items() for wall in zip(room.names, room.names[1:] + room.names[:1])]
    along = entry.direction
    if along is not None:
        chosen = [(name, wall) for name, wall in walls if name == along.room and set(wall) == set(along.wall)]
        if not chosen:
            raise file_error("unknown-wall", f"direction names the wall {'-'.join(along.wall)} of "
                                             f"{along.room}, which has no such wall; name "
                                             f"two corners "
                             "that follow one another.", where="direction")
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


def _job_of(room: Room, entry: HouseEntry, first: Job, group: tuple[str, ...], sd_mm: float, heading: float) -> Job:
    """The job of a joined floor; boards and rules are the house's, else those of the first room in it."""
    flooring = dict(entry.flooring or first.data.get("flooring") or {})
    flooring = {name: value for name, value in flooring.items()
                if name not in ("start", "first_row")} | {"direction": round(math.degrees(heading) % 360.0, 4)}
    return parse_job(json.loads(job_text({"format": "tapegroove-job", "version": 1, "house": list(group),
                                          "title": f"{entry.title}: {'+'.join(group)}"
                                          if entry.title else "+".join(group), "show": first.show,
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


def _is_untouched(folder: Path, name: str) -> bool:
    """Whether a file under the folder is a job `write_house` wrote and nobody kept a plan or a day in."""
    if not re.fullmatch(rf"[^/]+/{re.escape(JOB_NAME)}", name):
        return False
    try:
        tree = json.loads((folder / name).read_bytes())
    except (OSError, ValueError):
        return False
    return isinstance(tree, dict) and "house" in tree and not {"plan", "day"} & set(tree)
