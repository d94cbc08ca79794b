"""The plan a person called theirs, kept in the job under `plan`: put in, taken out again, and what has changed since.

What is kept is the plan's own answer, as `plan --json` gives it, with three more things under `kept`: the day, the
surveyed floor the plan was made for, and a digest of every part of the job that planning reads. Printing from it needs
no solver and no planner. A digest is made of what was understood, not of how it was written: defaults that are spelt
out, a text kept beside its number or the order of keys change nothing; a part with another digest is a part that
changed, and the plan is then out of date.
"""
from __future__ import annotations

import dataclasses
import datetime
import hashlib
import json
from collections.abc import Mapping
from dataclasses import MISSING, dataclass
from typing import Any

from capture.floor import Floor, Island
from capture.adjustment.survey import Advice, Reading, Survey
from desk.convert import survey_doubts
from desk.jobfile.job import Job
from desk.jobfile.files import with_keys
from desk.problem import JobProblems, Problem
from layout.errors import LayoutError
from layout.plan import Plan
from layout.room import Board, Room

#: How an entry is written, not what it says.
_UNREAD = frozenset({"where", "typed", "text"})


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class KeptPlan:
    """A kept plan and what it was made of.

    survey: the floor as it was then, with what it was to be doubted for; its other readings are not kept. survey and on
    are None for a plan that was put into the job by another program and tells nothing about its making. changed: the
    parts of the job that are not as they were, in words; the plan is out of date if there are any.
    """

    plan: Plan
    survey: Survey | None
    on: datetime.date | None
    changed: tuple[str, ...]

    @property
    def is_current(self) -> bool:
        """Whether the plan still is one of the job as it stands."""
        return not self.changed

    @property
    def day(self) -> str:
        """The day it was kept, in words: 5 March 2026; "" if that is not known."""
        return f"{self.on.day} {self.on:%B %Y}" if self.on else ""

    @property
    def says(self) -> str:
        """One sentence on an out-of-date plan, "" for a current one."""
        if self.is_current:
            return ""
        *others, last = self.changed
        what = f"{', '.join(others)} and {last}" if others else last
        return (f"The plan kept{f' on {self.day}' if self.day else ''} is out of date: {what} changed since. "
                "It stays in the job until another is kept.")


def with_plan(job: Job, survey: Survey, plan: Plan, *, on: datetime.date) -> Job:
    """The job with this plan kept in it; `survey` and `plan` must have been made of this very job."""
    from layout.planfile.codec import to_answer
    survey_told = {"verdict": survey.verdict, "doubts": list(survey_doubts(survey))}
    kept = {"on": on.isoformat(), "made_of": _digests(job), "floor": _floor_out(survey.floor),
            "warnings": list(survey.warnings), "suspects": [dataclasses.asdict(reading) for reading in survey.suspects],
            "next": [dataclasses.asdict(advice) for advice in survey.advice[:1]]}
    return with_keys(job, plan=to_answer(plan) | {"survey": survey_told, "kept": kept})


def is_begun(job: Job) -> bool:
    """Whether rows are being laid by the kept plan: the log of the day holds an entry that was not taken back."""
    undone = {entry.undoes for entry in job.day}
    return job.has_plan and any(entry.event is not None and number not in undone
                                for number, entry in enumerate(job.day, start=1))


def refuse_begun(job: Job) -> None:
    """Raise JobProblems (floor-begun) where rows are being laid by the kept plan: another plan, or none, would leave
    the log without sense."""
    if is_begun(job):
        raise JobProblems([Problem(slug="floor-begun", where="day", stage="plan", says=(
            "This floor is being laid by the kept plan, so another cannot take its place; tell what happened with "
            "tapegroove day, "
            "or take back every entry with “undo” first."))])


def without_plan(job: Job) -> Job:
    """The job with no plan kept."""
    return with_keys(job, plan=None)


def kept_plan(job: Job) -> KeptPlan | None:
    """The plan kept in the job, or None. A plan that is being laid stays current: what lies cannot follow an edit of
    the job.

    Raises LayoutError (damaged-plan, newer-plan) for one that cannot be read.
    """
    from layout.planfile.codec import from_answer
    told = job.tree().get("plan")
    if told is None:
        return None
    plan = from_answer(told)
    if "kept" not in told:
        return KeptPlan(plan=plan, survey=None, on=None, changed=())
    try:
        kept = told["kept"]
        return KeptPlan(plan=plan, survey=_survey_in(kept, told["survey"]["verdict"]),
                        on=datetime.date.fromisoformat(kept["on"]), changed=()
                        if is_begun(job) else _changed(kept["made_of"], _digests(job)))
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise LayoutError("damaged-plan", "The plan kept in this job does not tell what it was made of; plan the floor "
                                          "again and keep that.",
                          where="plan.kept") from error


def judged(kept: KeptPlan, room: Room, board: Board) -> KeptPlan:
    """A plan that tells nothing about its making, with what it shows to be of another job: the judge is asked
    whether it suits the room."""
    from layout.judge.check import find_faults
    changed = (("the floor",) if find_faults(kept.plan, room) else ()) + (("the boards",)
                                                                          if kept.plan.board != board else ())
    return dataclasses.replace(kept, changed=changed)


def _changed(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(part for part in now if then[part] != now[part])


def _digests(job: Job) -> dict[str, str]:
    """A digest of each part of the job that a plan depends on, by what the part is called to people."""
    marked = tuple(photo for photo in job.photos if photo.marks or photo.edges or job.targets)
    parts = {
        "the corners": (job.outline, job.islands, job.square, job.square_sd_deg, job.on_wall, job.floor),
        "the marks in the photos": (marked, job.cameras, job.targets, job.papers),
        "the tape lengths": (job.tapes, job.offsets, job.tape_error),
        "the doors": job.doors,
        "the pipes": job.pipes,
        "the boards and how they are laid": job.flooring,
    }
    return {name: hashlib.sha256(json.dumps(_plain(part), sort_keys=True).encode()).hexdigest()[:16]
            for name, part in parts.items()}


def _plain(part: Any) -> Any:
    """A part as JSON data that is the same for the same meaning: fields at their default are left out, so that one
    added later changes nothing."""
    if dataclasses.is_dataclass(part):
        fields = ((f, getattr(part, f.name)) for f in dataclasses.fields(part) if f.name not in _UNREAD)
        return {f.name: _plain(value) for f, value in fields if f.default is MISSING or value != f.default}
    if isinstance(part, (list, tuple)):
        return [_plain(member) for member in part]
    return float(part) if isinstance(part, int) and not isinstance(part, bool) else part


def _floor_out(floor: Floor) -> dict[str, Any]:
    return {"names": list(floor.names), "points": floor.points_mm.tolist(), "cov": floor.cov_mm2.tolist(),
            "outline": list(floor.outline), "islands": [{"name": island.name, "corners": list(island.corners)}
                                                        for island in floor.islands], "gauge": floor.gauge}


def _survey_in(kept: Mapping[str, Any], verdict: str) -> Survey:
    suspects = tuple(Reading(**told | {"names": tuple(told["names"])}) for told in kept["suspects"])
    return Survey(floor=_floor_in(kept["floor"]), suspects=suspects,
                  advice=tuple(Advice(**told) for told in kept["next"]), verdict=verdict,
                  warnings=tuple(kept["warnings"]))


def _floor_in(told: Mapping[str, Any]) -> Floor:
    floor = Floor(names=tuple(told["names"]), points_mm=told["points"], cov_mm2=told["cov"],
                  outline=tuple(told["outline"]), gauge=told["gauge"],
                  islands=tuple(Island(name=island["name"], corners=tuple(island["corners"]))
                                for island in told["islands"]))
    count = len(floor.names)
    if floor.points_mm.shape != (count, 2) or floor.cov_mm2.shape != (2 * count,
                                                                      2 * count) or not set(floor.outline) <= set(
            floor.names):
        raise ValueError("the kept floor is not whole")
    return floor
