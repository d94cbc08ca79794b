"""The whole way of a job, one step a function: pure, no disk, no printing; each calls the rooms below in order."""
from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Callable
from typing import TYPE_CHECKING

from capture.errors import CaptureError
from capture.adjustment.survey import Survey
from desk.actions.answers import to_json, unseen_answer
from desk.checks.check import find_problems
from desk.checks.closing import too_long_to_close
from desk.convert import (
    NO_BOARD, survey_doubts, put_by_hand, to_board, to_given_floor, to_network, to_pack_job, to_room, to_wishes)
from desk.jobfile.job import Job
from desk.actions.kept_plan import KeptPlan, kept_plan
from desk.store.photos import Photos
from desk.problem import JobProblems

if TYPE_CHECKING:
    from layout.plan import Plan
    from printpack.job import MarkedPhoto, PackJob


def survey_job(job: Job, photos: Photos) -> Survey:
    """The solved floor in words; see `solve_job` and `worded`."""
    return worded(solve_job(job, photos), job)


def worded(survey: Survey, job: Job) -> Survey:
    """A solved floor with its sentences, in the unit the job is shown in."""
    if job.floor is not None:
        return survey
    from capture.words import in_words
    said = in_words(survey, job.show)
    return dataclasses.replace(said, warnings=said.warnings + put_by_hand(job))


def solve_job(job: Job, photos: Photos, *, near: Survey | None = None) -> Survey:
    """The solved floor; one given as coordinates is taken as it is. near: the survey of the job a moment ago, to begin
    from.

    Nothing in it depends on the unit the job is shown in.
    Raises JobProblems for what `find_problems` says stops a survey, CaptureError if the readings do not fix the floor.
    """
    refuse(job, photos, "survey")
    if job.floor is not None:
        return Survey(floor=to_given_floor(job))
    from capture.adjustment.network_design import corner_sd_mm
    from capture.adjustment.datum_defect import HOPELESS_SD_MM
    from capture.solve import solve_floor
    try:
        survey = solve_floor(to_network(job, photos), near=near)
    except CaptureError as error:
        # Lengths that cannot close leave the adjustment at a loss; they are then the plainer thing to say.
        _refuse_impossible(job, cause=error)
        raise
    if corner_sd_mm(survey.floor) > HOPELESS_SD_MM:
        _refuse_impossible(job)
    return survey


def _refuse_impossible(job: Job, *, cause: CaptureError | None = None) -> None:
    """Raise JobProblems for lengths that cannot close."""
    impossible = [dataclasses.replace(problem, severity="stop") for problem in too_long_to_close(job)]
    if impossible:
        raise JobProblems(impossible) from cause


def plan_job(job: Job, survey: Survey, *, seed: int = 0, effort: str = "usual") -> Plan:
    """The plan for a surveyed floor; the planner has it judged before it hands it out.

    effort: "preview" (some 0.1 s), "usual" (about a second) or "long" (some ten): each plan is whole and sound, a later
    one may use fewer boards. Raises JobProblems for what stops planning, LayoutError if no plan exists.
    """
    from layout.planning.planner import EFFORTS, plan_floor
    return plan_floor(to_room(job, survey), to_board(job), to_wishes(job), seed=seed, moves=EFFORTS[effort])


def planned_job(job: Job, photos: Photos, *, survey_of: Callable[[Job, Photos], Survey] | None = None,
                plan_of: Callable[[Job, Survey], Plan] | None = None) -> tuple[Survey, Plan, KeptPlan | None]:
    """What is to be laid: the kept plan with its survey while it is current, else the floor solved and planned anew;
    and the kept plan, if any.

    survey_of, plan_of: how a floor is solved and planned where it must be; a desk that remembers both has its own ways.
    Raises as `survey_job` and `plan_job` do; LayoutError also for a kept plan that is damaged.
    """
    refuse(job, photos, "plan")
    kept = kept_plan(job)
    if kept is not None and kept.survey is not None and kept.is_current:
        from desk.actions.foreign_plan import believed
        kept = believed(job, kept, kept.survey)
        return kept_survey(job, photos, kept, survey_of or survey_job), kept.plan, kept
    survey = (survey_of or survey_job)(job, photos)
    if kept is not None and kept.survey is None:
        from desk.actions.foreign_plan import judged
        kept = judged(job, kept, survey)
        if kept.is_current:
            return survey, kept.plan, kept
    return survey, (plan_of or plan_job)(job, survey), kept


def kept_survey(job: Job, photos: Photos, kept: KeptPlan, survey_of: Callable[[Job, Photos], Survey]) -> Survey:
    """The survey a kept plan was made for, in words; for one kept without its doubts, those of the floor solved anew,
    if it can be."""
    if kept.survey is None or kept.doubts_known or not kept.alike:
        return worded(kept.survey or survey_of(job, photos), job)
    try:
        return dataclasses.replace(survey_of(job, photos), floor=kept.survey.floor)
    except (JobProblems, CaptureError):
        return kept.survey


def refuse(job: Job, photos: Photos, stage: str) -> None:
    """Raise JobProblems with everything that keeps a stage ("survey" or "plan") from being done."""
    stops = [problem for problem in find_problems(job, photos) if problem.stops(stage)]
    if stage == "plan" and job.flooring.board is None:
        stops.append(NO_BOARD)
    if stops:
        raise JobProblems(stops)


def pack_job(job: Job, survey: Survey, plan: Plan, *, date: datetime.date, paper: str,
             pictures: tuple[MarkedPhoto, ...] = (), shared_with: tuple[str, ...] = ()) -> dict[str, bytes]:
    """Every file of the pack, by its name with forward slashes. `paper` is a sheet's name, "a4" or "letter", say;
    `pictures`: the booklet's; shared_with: other rooms of the flat that boards are bought with.

    Raises PrintError for an unknown paper or a plan that cannot be printed on it.
    """
    from printpack.outputs.pack import make_pack
    from printpack.paper import paper_named
    files = make_pack(printable(job, survey, plan, date=date, pictures=pictures, shared_with=shared_with),
                      paper_named(paper))
    return {"plan.json": plan_text(plan, survey, job).encode("utf-8")} | files


def printable(job: Job, survey: Survey, plan: Plan, *, date: datetime.date,
              pictures: tuple[MarkedPhoto, ...] = (), shared_with: tuple[str, ...] = ()) -> PackJob:
    """What a pack, or one row's picture, is made from."""
    pack = to_pack_job(job, survey, plan, date=date, photos=pictures)
    return _as_it_lies(job, survey, dataclasses.replace(pack, shared_with=shared_with))


def _as_it_lies(job: Job, survey: Survey, pack: PackJob) -> PackJob:
    """The pack's room and floor as a floor being laid has shown them to be, if a revision says so."""
    from desk.actions.day import day_of
    from layout.replan.floor_estimation import floor_now
    if "day" not in (job.data.get("plan") or {}):
        return pack
    day = day_of(job, survey)
    return dataclasses.replace(pack, room=day.room, floor=floor_now(day.drift, day.room))


def plan_text(plan: Plan, survey: Survey, job: Job) -> str:
    """The `plan --json` object as text, sentences in the job's unit, with what the survey it rests on is to be doubted
    for and the walls it guessed at."""
    from layout.planfile.codec import to_answer
    doubts = {"verdict": survey.verdict, "doubts": list(survey_doubts(survey))}
    return to_json(to_answer(plan, job.show) | {"survey": doubts, "unseen": unseen_answer(job)})
