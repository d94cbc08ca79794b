"""Making a pack and putting it on disk, whole or not at all."""
from __future__ import annotations

import datetime
import re
from pathlib import Path

from desk.job import Job
from desk.photos import Photos
from desk.pipeline import pack_job, plan_job, refuse, survey_job
from desk.save import refuse_foreign, write_folder
from layout.plan import Plan
from printpack.paper import paper_named

_PACK_NAME = re.compile(r"(booklet|templates)\.pdf|templates/[^/]+\.svg|plan\.(svg|dxf|json)|cuts\.csv")


def make_pack_folder(job: Job, photos: Photos, folder: Path, *, paper: str | None = None) -> tuple[Plan, dict[str, bytes]]:
    """Solve, plan and write the pack into `folder`; returns the plan and the files by name.

    paper: a sheet's name; None takes letter for a job in feet and inches, else A4. Raises what the rooms raise, JobProblems
    and JobFileError; the folder is then as it was.
    """
    paper = paper or usual_paper(job)
    # Refuse what can be refused before the minute of work, not after it.
    paper_named(paper)
    refuse_foreign(folder, foreign_to_pack)
    refuse(job, photos, "plan")
    survey = survey_job(job, photos)
    plan = plan_job(job, survey)
    files = pack_job(job, survey, plan, date=datetime.date.today(), paper=paper)
    write_folder(folder, files, foreign=foreign_to_pack)
    return plan, files


def usual_paper(job: Job) -> str:
    """The sheet that is at hand where people measure as this job does."""
    return "letter" if job.show == "imperial" else "a4"


def foreign_to_pack(names: set[str]) -> set[str]:
    """Those of a folder's files that are no part of an earlier pack; all of them if there never was one."""
    return {name for name in names if not _PACK_NAME.fullmatch(name)} if "plan.json" in names else names
