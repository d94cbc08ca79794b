"""What was worked out of a job last, as this machine keeps it: drawn at once when the job is opened, and never more
than drawn.

The file lies where others can write too, so it is judged like a kept plan, key by key, and is taken only for a job that
still says what it was made of. Nothing is printed, kept or solved from it: the survey is made again behind it.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from capture.adjustment.survey import Reading, Survey
from capture.language.messages import lazy_gettext
from desk.actions.kept_plan import part_digests
from desk.actions.kept_survey import READINGS, read_survey, survey_tree
from desk.jobfile.job import Job
from layout.errors import LayoutError
from layout.plan import Plan
from layout.planfile.reader import Reader, damaged

FORMAT, VERSION = "tapegroove-last", 1
#: What a survey depends on; a plan depends on every part.
_SURVEYED = ("the corners", "the marks in the photos", "the tape lengths")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LastWorked:
    """A survey without its sentences, and the plan made for its floor, if there was one."""

    survey: Survey
    plan: Plan | None


def last_tree(job: Job, survey: Survey, plan: Plan | None) -> dict[str, Any]:
    """What to keep of a job; survey and plan must have been made of it."""
    from layout.planfile.codec import plan_tree
    bare = replace(survey, readings=tuple(replace(reading, says="") for reading in survey.readings))
    tree: dict[str, Any] = {"format": FORMAT, "version": VERSION, "made_of": part_digests(job),
                            "survey": survey_tree(bare) | {"readings": READINGS.write(bare.readings)}}
    return tree if plan is None else tree | {"plan": plan_tree(plan)}


def last_worked(job: Job, tree: object) -> LastWorked | None:
    """What was kept of this job; None where the job says something else now, or the file cannot be believed."""
    try:
        return _read(job, tree)
    except LayoutError:
        return None


def _read(job: Job, tree: object) -> LastWorked | None:
    from layout.planfile.codec import from_answer
    from layout.planfile.soundness import refuse_unsound, refuse_wild
    if not isinstance(tree, dict) or (tree.get("format"), tree.get("version")) != (FORMAT, VERSION):
        return None
    refuse_wild(tree, "last")
    told, now = Reader(tree, "last"), part_digests(job)
    then = told.inner("made_of")
    if job.floor is not None or any(then.text(part) != now[part] for part in _SURVEYED):
        return None
    kept = told.inner("survey")
    readings: tuple[Reading, ...] = READINGS.read(kept.raw("readings"), "last.survey.readings")
    survey = replace(read_survey(kept), readings=readings)
    if set(survey.floor.outline) != set(job.outline):
        raise damaged("last.survey.floor.outline", lazy_gettext("names other corners than the job"))
    if "plan" not in tree or any(then.text(part) != now[part] for part in now):
        return LastWorked(survey=survey, plan=None)
    plan = from_answer(tree["plan"])
    refuse_unsound(plan)
    return LastWorked(survey=survey, plan=plan)
