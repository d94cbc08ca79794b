"""Every job in a folder planned, several at once in processes of their own; one that fails says why and stops no
other."""
from __future__ import annotations

import csv
import dataclasses
import io
import multiprocessing
import os
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from desk.jobfile.files import JOB_NAME
from desk.problem import file_error, printable


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one job: its plan's figures, or why there is none.

    name: its folder, seen from the folder of them all. planned: whether there is a plan. area_m2: floor wall to wall.
    bound: fewest boards any plan of these rows needs; proven: the plan needs no more. kept: the plan was kept in the
    job, not made now. doubts: what is in doubt in the survey it rests on. says: why there is none.
    """

    name: str
    title: str = ""
    planned: bool = False
    area_m2: float = 0.0
    rows: int = 0
    boards: int = 0
    bound: int = 0
    proven: bool = False
    packs: int = 0
    waste_percent: float = 0.0
    relaxed: int = 0
    kept: bool = False
    seconds: float = 0.0
    doubts: tuple[str, ...] = ()
    says: tuple[str, ...] = ()


def plan_many(folder: Path, *, effort: str = "usual", processes: int
              | None = None) -> Iterator[tuple[Outcome, int, int]]:
    """Plan every job under a folder; yields (outcome, how many are done, how many there are) as they end.

    effort: as `plan_job`'s. processes: how many at once, one a processor if None. Raises JobFileError if there is no
    such folder, or no job in it.
    """
    places = find_jobs(folder)
    if not places:
        raise file_error("no-job", f"No folder under {folder} holds a {JOB_NAME}; name the folder that holds the "
                                   "folders of the jobs.")
    count = min(processes or os.cpu_count() or 1, len(places))
    # Forking a process that has threads may lock it; "spawn" is the same on every system.
    pool = ProcessPoolExecutor(max_workers=count, mp_context=multiprocessing.get_context("spawn"))
    try:
        tasks = {pool.submit(plan_one, place, folder, effort): place for place in places}
        for done, task in enumerate(as_completed(tasks), start=1):
            yield _outcome_of(task, _name(tasks[task], folder)), done, len(places)
    finally:
        # Somebody who stops half way waits for the jobs begun, not for all.
        pool.shutdown(cancel_futures=True)


def find_jobs(folder: Path) -> tuple[Path, ...]:
    """Every folder under this one, itself included, that holds a job, by name; what lies inside a job is not
    searched."""
    if not folder.is_dir():
        raise file_error("no-job", f"There is no folder {folder}; name the folder that holds the folders of the jobs.")
    found = []
    for place, below, files in os.walk(folder):
        if JOB_NAME in files:
            found.append(Path(place))
            below.clear()
        below[:] = sorted(name for name in below if not name.startswith("."))
    return tuple(sorted(found))


def plan_one(place: Path, folder: Path, effort: str) -> Outcome:
    """One job solved and planned; whatever goes wrong is told in the outcome."""
    from desk.convert import survey_doubts
    from desk.jobfile.files import read_job
    from desk.store.photos import look_at_photos
    from desk.work.pipeline import plan_job, planned_job
    from desk.work.error_report import refusal_of
    begun = time.perf_counter()
    name = _name(place, folder)
    try:
        job = read_job(place)
        survey, plan, kept = planned_job(job, look_at_photos(place, job),
                                         plan_of=lambda *asked: plan_job(*asked, effort=effort))
    except Exception as error:  # one job's fault, ours included, must not stop the others
        return Outcome(name=name, says=tuple(problem.says for problem in refusal_of(error)[0]),
                       seconds=time.perf_counter() - begun)
    return Outcome(name=name, title=printable(job.title), planned=True, area_m2=survey.floor.area()[0] / 1e6,
                   rows=len(plan.rows), boards=plan.boards, bound=plan.bound, proven=plan.proven, packs=plan.packs,
                   waste_percent=plan.waste_percent, relaxed=len(plan.relaxed), kept=bool(kept and kept.is_current),
                   seconds=time.perf_counter() - begun, doubts=survey_doubts(survey))


def many_csv(outcomes: Sequence[Outcome]) -> bytes:
    """The outcomes as a table for a spreadsheet, one line a job, "doubts" and "says" last."""
    held = io.StringIO()
    table = csv.writer(held)
    table.writerow(field.name for field in dataclasses.fields(Outcome))
    for outcome in outcomes:
        *figures, doubts, says = dataclasses.astuple(outcome)
        table.writerow([_cell(value) for value in (*figures, " ".join(doubts), " ".join(says))])
    return held.getvalue().encode("utf-8")


def many_answer(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """The `many --json` object."""
    planned = [outcome for outcome in outcomes if outcome.planned]
    return {"format": "tapegroove-many", "version": 1, "jobs": [dataclasses.asdict(outcome) for outcome in outcomes],
            "planned": len(planned), "boards": sum(outcome.boards for outcome in planned),
            "packs": sum(outcome.packs for outcome in planned), "area_m2": sum(outcome.area_m2 for outcome in planned)}


def _outcome_of(task: Future[Outcome], name: str) -> Outcome:
    try:
        return task.result()
    except BrokenProcessPool:
        return Outcome(name=name,
                       says=(
            "Its process was ended from outside, for want of memory perhaps; run it alone, or fewer at once with "
            "--processes.",))


def _name(place: Path, folder: Path) -> str:
    return printable(place.relative_to(folder).as_posix()) if place != folder else printable(place.resolve().name)


def _cell(value: object) -> object:
    """A value as a spreadsheet should see it: no text may begin a formula."""
    if isinstance(value, float):
        return round(value, 3)
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "-", "@") else value
