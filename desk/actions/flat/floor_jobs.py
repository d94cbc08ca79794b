"""The jobs of a flat's floors where they lie, in `floors` beside house.json: made anew from the rooms, with the plan
and the log of the day that somebody kept in them.

A floor that is being laid stays as it is: what lies cannot follow an edit of a room. Nothing that is no floor of a
house is ever written over.
"""
from __future__ import annotations

import re
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from capture.language.messages import gettext
from desk.actions.error_report import refusal_of
from desk.actions.foreign_plan import believed
from desk.actions.house import JoinedHouse
from desk.actions.kept_plan import KeptPlan, is_begun, kept_plan
from desk.jobfile.files import JOB_NAME, read_job, with_keys
from desk.jobfile.job import Job
from desk.jobfile.save import write_all
from desk.problem import JobFileError, Problem, file_error
from desk.store.house_store import FLOORS_DIR as FLOORS_DIR
from layout.errors import LayoutError

@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorJob:
    """A floor's job: made of the rooms as they are now, with what was kept in it. kept: its plan, judged where it is
    current; trouble: why a plan that is there cannot be read."""

    name: str
    job: Job
    kept: KeptPlan | None = None
    trouble: Problem | None = None

    @property
    def is_kept(self) -> bool:
        """Whether it keeps a plan that still is one of the rooms as they stand."""
        return self.kept is not None and self.kept.is_current


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorJobs:
    """The floors of a house in the order of laying. there: jobs that lie in the folder, by name; left: folders of
    floors that are no more."""

    folder: Path
    floors: tuple[FloorJob, ...]
    there: Mapping[str, Job]

    @property
    def left(self) -> tuple[str, ...]:
        """Names of floors that lie there and that the house has no more."""
        return tuple(name for name in self.there if name not in {floor.name for floor in self.floors})

    @property
    def troubles(self) -> tuple[Problem, ...]:
        """Plans that cannot be read, and floors that are no more and hold a plan."""
        held = ((name, f"{self.folder.name}/{name}") for name in self.left if _is_worked_on(self.there[name]))
        return (*(floor.trouble for floor in self.floors if floor.trouble is not None), *(
            Problem(slug="floor-left", where=name, stage="plan", severity="note", says=gettext(
                "{folder} holds the plan of a floor that the house no longer has; take the folder away once nobody "
                "lays by it.", folder=place)) for name, place in held))


def floor_jobs(joined: JoinedHouse, folder: Path) -> FloorJobs:
    """The floors as they are now, with what was kept. Raises JobFileError if something else lies in the folder."""
    there = dict(_there(folder))
    return FloorJobs(folder=folder, there=there, floors=tuple(
        _floor(name, job if name not in there else with_kept(job, there[name])) for name, job in joined.jobs.items()))


def numbers_borne(folder: Path) -> dict[str, int]:
    """The numbers of rooms whose floors are being laid: what lies and what is printed bears them."""
    found: dict[str, int] = {}
    for place in sorted(folder.iterdir()) if folder.is_dir() else ():
        job = _floor_in(place)
        if job is not None and is_begun(job):
            numbers = sorted({int(told[0]) for name in job.outline if (told := re.match(r"[0-9]+", name))})
            rooms = [str(name) for name in job.data["house"]] if isinstance(job.data["house"], list) else []
            found |= dict(zip(rooms, numbers)) if len(rooms) == len(numbers) else {}
    return found


def with_kept(fresh: Job, there: Job) -> Job:
    """A floor's job with the plan, the day and the offcuts of other floors that were kept in it; as it is, once it is
    being laid."""
    if is_begun(there):
        return there
    if not _is_worked_on(there):
        return fresh
    kept = with_keys(fresh, **{key: there.data[key] for key in ("plan", "day") if key in there.data})
    return with_carried(kept, carried_in(there))


def carried_in(job: Job) -> list[dict[str, object]]:
    """What other floors leave for this one, as its job lists it."""
    flooring = job.data.get("flooring") or {}
    return [piece for piece in flooring.get("stock") or () if piece.get("from") is not None]


def with_carried(job: Job, carried: list[dict[str, object]]) -> Job:
    """The job with these pieces of other floors at hand, after its own."""
    flooring = job.data.get("flooring") or {}
    own = [piece for piece in flooring.get("stock") or () if piece.get("from") is None]
    if not carried and len(own) == len(flooring.get("stock") or ()):
        return job
    rest = {key: value for key, value in flooring.items() if key != "stock"}
    return with_keys(job, flooring=rest | ({"stock": [*own, *carried]} if own or carried else {}))


def write_floors(jobs: FloorJobs, *, instead_of: Mapping[str, Job] | None = None) -> None:
    """Write every floor's job that is not there as it is, and take away floors that are no more and that nobody worked
    on. All or none. instead_of: the jobs as they were when plans were made for them.

    Raises JobFileError if the disk refuses, or a job was changed meanwhile.
    """
    if instead_of is not None and {name: job.data for name, job in _there(jobs.folder)} != {
            name: job.data for name, job in instead_of.items()}:
        raise file_error("overtaken", gettext("A floor was changed while the flat was planned, so no plan was kept; "
                                              "plan the flat as it is now."))
    write_all({jobs.folder / floor.name / JOB_NAME: floor.job.text.encode("utf-8") for floor in jobs.floors
               if floor.name not in jobs.there or jobs.there[floor.name].data != floor.job.data})
    for name in jobs.left:
        place = jobs.folder / name
        if not _is_worked_on(jobs.there[name]) and [each.name for each in place.iterdir()] == [JOB_NAME]:
            shutil.rmtree(place, ignore_errors=True)


def _floor(name: str, job: Job) -> FloorJob:
    try:
        kept = kept_plan(job)
        if kept is not None and kept.survey is not None and kept.is_current:
            kept = believed(job, kept, kept.survey)
        return FloorJob(name=name, job=job, kept=kept)
    except LayoutError as error:
        return FloorJob(name=name, job=job, trouble=refusal_of(error)[0][0])


def _is_worked_on(job: Job) -> bool:
    return job.has_plan or bool(job.day)


def _there(folder: Path) -> Iterator[tuple[str, Job]]:
    """Jobs of floors in the folder. Raises JobFileError for anything else in it, which is never written over."""
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise file_error("folder-in-use", gettext(
            "{folder} is not a folder; choose a new folder to write into.", folder=folder))
    for place in sorted(folder.iterdir()) if folder.is_dir() else ():
        if place.name.startswith("."):
            continue
        job = _floor_in(place)
        if job is None:
            name = f"{place.name}/{JOB_NAME}" if (place / JOB_NAME).exists() else place.name
            raise file_error("folder-in-use", gettext(
                "{folder} holds other files ({lost}, for one), and they would be lost; choose a new or empty folder.",
                folder=folder, lost=name))
        yield place.name, job


def _floor_in(place: Path) -> Job | None:
    """The job of a floor that a house wrote; None for anything else."""
    if place.is_symlink() or not (place / JOB_NAME).is_file() or (place / JOB_NAME).is_symlink():
        return None
    try:
        job = read_job(place)
    except JobFileError:
        return None
    return job if "house" in job.data else None
