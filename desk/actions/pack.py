"""Making a pack and putting it on disk, whole or not at all."""
from __future__ import annotations

import dataclasses
import datetime
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from capture.language.messages import lazy_gettext
from capture.adjustment.survey import Survey
from capture.tape import parse_length
from desk.convert import to_paper_scale
from desk.jobfile.job import Job, RulersEntry
from desk.actions.kept_plan import KeptPlan, bought_with
from desk.store.photos import Photos
from desk.store.settings import Settings
from desk.actions.pipeline import pack_job, planned_job
from desk.checks.unseen import refuse_unseen
from desk.jobfile.save import refuse_foreign, write_folder
from layout.plan import Plan
from printpack.errors import PrintError
from printpack.job import MarkedPhoto
from printpack.paper import paper_named

#: The files of a pack.
PACK_NAME = re.compile(
    r"(booklet|templates|traced)\.pdf|booklet\.html|templates\.dxf|templates/[^/]+\.svg|plan\.(svg|dxf|json)|cuts\.csv")


def make_pack_folder(job: Job, photos: Photos, folder: Path, *, paper: str | None = None,
                     pictures: tuple[MarkedPhoto, ...] = ()) -> tuple[Survey, Plan, dict[str, bytes], KeptPlan | None]:
    """Write the pack into `folder`, from the kept plan if it is current, else solved and planned; returns the survey,
    the plan, the files by name, and the plan the job keeps.

    paper: a sheet's name; None takes letter for a job in feet and inches, else A4. pictures: the booklet's. Raises what
    the rooms raise, JobProblems and JobFileError; the folder is then as it was.
    """
    paper = paper or usual_paper(job)
    # Refuse what can be refused before the minute of work, not after it.
    paper_named(paper)
    to_paper_scale(job)
    refuse_foreign(folder, foreign_to_pack)
    refuse_unseen(job)
    survey, plan, kept = planned_job(job, photos)
    files = pack_job(job, survey, plan, date=datetime.date.today(), paper=paper, pictures=pictures,
                     shared_with=bought_with(job) if kept is not None and kept.is_current else ())
    write_folder(folder, files, foreign=foreign_to_pack)
    return survey, plan, files, kept


def with_rulers(job: Job, typed: Mapping[str, Any]) -> Job:
    """The job with other ruler readings: the texts a person typed for "across" and "down"; a bare number is mm, or
    inches in a job in feet and inches. No texts at all: the job as it is. Raises CaptureError for text that is no
    length, and PrintError for a reading that is too far off or only one of the two."""
    across, down = (str(typed.get(key) or "").strip() for key in ("across", "down"))
    if not across and not down:
        return job
    if not across or not down:
        says = (lazy_gettext("Only the ruler across is typed: measure both rulers of the check sheet, since a printer "
                             "may err differently each way.") if across else
                lazy_gettext("Only the ruler down is typed: measure both rulers of the check sheet, since a printer "
                             "may err differently each way."))
        raise PrintError("printer-scale", says, where=f"rulers.{'down' if across else 'across'}")
    unit = "in" if job.show == "imperial" else "mm"
    job = dataclasses.replace(job, rulers=RulersEntry(across_mm=parse_length(across, unit=unit),
                                                      down_mm=parse_length(down, unit=unit)))
    to_paper_scale(job)
    return job


def with_own_printer(job: Job, settings: Settings) -> Job:
    """The job with what this machine's printer was found to do, where the job does not say what its rulers measure and
    its check sheet is in the same units; else the job as it is."""
    kept = settings.rulers
    if job.rulers is not None or kept is None or kept.show != job.show:
        return job
    own = dataclasses.replace(job, rulers=RulersEntry(across_mm=kept.across_mm, down_mm=kept.down_mm))
    try:
        to_paper_scale(own)
    except PrintError:
        return job
    return own


def usual_paper(job: Job, settings: Settings | None = None) -> str:
    """The sheet this machine last printed on, else the one at hand where people measure as this job does."""
    from printpack.paper import PAPERS
    if settings is not None and settings.paper:
        return settings.paper
    return next(paper.name.lower() for paper in PAPERS if paper.usual_in == job.show)


def foreign_to_pack(names: set[str]) -> set[str]:
    """Those of a folder's files that are no part of an earlier pack; all of them if there never was one."""
    return {name for name in names if not PACK_NAME.fullmatch(name)} if "plan.json" in names else names
