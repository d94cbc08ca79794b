"""The rooms of a flat read and surveyed, each by itself: what is wrong with one room or doorway is told in one
sentence, and the rest goes on."""
from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.survey import Survey
from capture.errors import CaptureError
from capture.floor import Z95
from capture.language.messages import gettext, listed
from desk.actions.error_report import refusal_of
from desk.actions.pipeline import survey_job
from desk.actions.flat.titles import room_titles
from desk.convert import to_room, to_wishes
from desk.jobfile.files import job_folder, read_job, with_keys
from desk.jobfile.house_file import DoorwayEntry, HouseEntry
from desk.jobfile.job import Job
from desk.problem import JobFileError, JobProblems, Problem
from desk.store.photos import look_at_photos
from layout.errors import LayoutError
from layout.flat.pose_adjustment import TAPE_SD_MM
from layout.flat_plan import ThicknessRule
from layout.region.joined_rooms import Passage, door_of
from layout.room import Room

#: A door's depth to the middle of its threshold is measured to this, one standard deviation, mm (estimate, no source:
#: the middle of a profile that is not yet there).
REVEAL_SD_MM = 4.0
#: A wall inside a flat that nobody measured: as thick as this, one standard deviation as much again, mm.
_ANY_WALL: tuple[float, float, ThicknessRule] = (150.0, 150.0, "rooms")
#: Gives the survey of a job, by the folder it lies in.
SurveyOf = Callable[[Path, Job], Survey]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class GatheredRooms:
    """What could be read of a flat: jobs by name; rooms that have a floor, how far a corner of each may be off (one
    standard deviation, mm) and the covariance of its outline, mm2; the doorways, each with whether boards were asked to
    run through (None: not said), and what was left out."""

    jobs: Mapping[str, Job]
    rooms: Mapping[str, Room]
    spreads: Mapping[str, float]
    covs: Mapping[str, NDArray[np.float64]]
    passages: tuple[tuple[Passage, bool | None], ...]
    troubles: tuple[Problem, ...]


def survey_in(folder: Path, job: Job) -> Survey:
    """The survey of the job in a folder, with its pictures."""
    return survey_job(job, look_at_photos(folder, job))


def gather_rooms(folder: Path, entry: HouseEntry, survey_of: SurveyOf = survey_in) -> GatheredRooms:
    """Read and survey the rooms of a flat. Raises JobProblems if not one of them has a floor."""
    jobs, rooms, spreads, troubles = dict[str, Job](), dict[str, Room](), dict[str, float](), list[Problem]()
    covs = dict[str, NDArray[np.float64]]()
    for name in entry.rooms:
        try:
            place = job_folder(folder / name)
            jobs[name] = read_job(place)
            survey = survey_of(place, jobs[name])
            rooms[name], spreads[name] = _surveyed(jobs[name], survey)
            covs[name] = survey.floor.covariance(rooms[name].names)
        except (JobFileError, JobProblems, CaptureError, LayoutError, OSError) as error:
            troubles.append(left_out(name, error, room_titles([name], jobs)[name]))
    if not rooms:
        raise JobProblems(troubles)
    passages = []
    for doorway in (one for one in entry.doorways if set(one.rooms) <= set(rooms)):
        try:
            passages.append((_passage(rooms, doorway), {"through": True, "profile": False}.get(doorway.laid)))
        except (JobFileError, LayoutError) as error:
            troubles += [replace(problem, where=doorway.where) for problem in refusal_of(error)[0]]
    return GatheredRooms(jobs=jobs, rooms=rooms, spreads=spreads, covs=covs, passages=tuple(passages),
                         troubles=tuple(troubles))


def left_out(name: str, error: Exception, title: str = "") -> Problem:
    """The sentence for a room or floor the flat goes on without. title: what people call it, where that is known."""
    first = refusal_of(error)[0][0]
    return Problem(slug=first.slug, where=name, stage=first.stage,
                   says=gettext(
                       "{name} is left out, and the rest of the flat goes on: {says}", name=title or name,
                       says=first.says))


def board_of(entry: HouseEntry, job: Job) -> str:
    """What a room's boards are told by, to see whether two rooms take the same."""
    return json.dumps((entry.flooring or job.data.get("flooring") or {}).get("board"), sort_keys=True)


def longest_of(entry: HouseEntry, job: Job) -> float:
    """The longest run a room takes without a profile, mm."""
    return to_wishes(job if entry.flooring is None else with_keys(job, flooring=entry.flooring)).longest_mm


def _surveyed(job: Job, survey: Survey) -> tuple[Room, float]:
    """A room's floor, and how far a corner may be off: half of a wall's variance."""
    return to_room(job, survey), max(wall.pm95_mm for wall in survey.floor.walls()) / Z95 / math.sqrt(2.0)


def no_thickness(entry: DoorwayEntry) -> Problem:
    """That nothing tells how thick the wall in a doorway is, neither there nor how the rooms around it lie."""
    return Problem(slug="no-thickness", where=entry.where, says=gettext(
        '{where}: nothing tells how thick the wall between {rooms} is; measure it in the doorway and write '
        '"thickness": 120, or give both doors their "reveal".', where=entry.where, rooms=listed(entry.rooms)))


def _passage(rooms: Mapping[str, Room], entry: DoorwayEntry) -> Passage:
    """The doorway with its wall's thickness: as written, else both doors' depths to the threshold together, else a
    guess with a wide spread."""
    doors = [door_of(rooms[name], door, name) for name, door in zip(entry.rooms, entry.doors)]
    thick, sd_mm, by = _ANY_WALL
    if entry.thickness_mm is not None:
        thick, sd_mm, by = entry.thickness_mm, TAPE_SD_MM, "typed"
    elif all(door.reveal_mm for door in doors):
        thick, sd_mm, by = sum(door.reveal_mm for door in doors), REVEAL_SD_MM * math.sqrt(2.0), "reveals"
    return Passage(rooms=entry.rooms, doors=entry.doors, thickness_mm=thick, thickness_sd_mm=sd_mm, thickness_by=by,
                   through=entry.laid == "through")
