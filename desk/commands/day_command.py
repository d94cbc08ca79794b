"""One run of `tapegroove day`: words read, the entry and the plan that follows saved in one write, changed pages
printed."""
from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from capture.adjustment.survey import Survey
from desk.actions.day import Day, Told, day_of, tell
from desk.text.day_text import sentence_of
from desk.commands.day_parser import read_words
from desk.jobfile.job import Job
from desk.store.job_store import JobKeeper
from desk.actions.kept_plan import kept_plan
from desk.actions.pack import usual_paper
from desk.store.photos import Photos
from desk.store.settings import read_settings
from desk.actions.pipeline import survey_job
from desk.jobfile.save import write_whole
from layout.replan.floor_estimation import floor_now
from layout.replan.events import Obstacle, OffcutFound
from layout.replan.progress import called


def run_day(keeper: JobKeeper, job: Job, photos: Photos, words: Sequence[str], *, paper: str | None, on: datetime.date,
            ) -> tuple[Job, Day, Told | None, list[str], list[Path]]:
    """(the job as saved, where the work stands, what the entry led to, its sentence, files printed). Without words
    nothing is written.

    Raises what reading and planning raise, and JobFileError; the job is then as it was.
    """
    survey = _survey(job, photos)
    if not words:
        return job, day_of(job, survey), None, [], []
    events = [entry.event for entry in job.day]
    what = read_words(words, show=job.show, found=sum(isinstance(event, OffcutFound) for event in events),
                      obstacles=sum(isinstance(event, Obstacle) for event in events),
                      label_of=lambda name: _label_of(name, job, survey))
    told = tell(job, what, " ".join(words), on=on, survey=survey)
    keeper.keep(told.job, instead_of=job)
    files = [_print(keeper.folder, told, paper or usual_paper(job, read_settings()[0]), on)] if told.changed else []
    return told.job, told.after, told, [sentence_of(told, job.show)], files


def _label_of(name: str, job: Job, survey: Survey | None) -> str:
    """The label of an offcut called by what is pencilled on it, the piece it is to become ("11.4")."""
    if not re.fullmatch(r"\d+\.\d+", name):
        return name
    names = called(day_of(job, survey).plan)
    return next((label for label, pencilled in names.items() if pencilled == name), name)


def _survey(job: Job, photos: Photos) -> Survey | None:
    """The floor, solved only where the kept plan does not hold its own."""
    kept = kept_plan(job)
    return survey_job(job, photos) if kept is not None and kept.survey is None else None


def _print(folder: Path, told: Told, paper: str, on: datetime.date) -> Path:
    """The changed pages beside the job, under the revision's letter."""
    from desk.convert import to_pack_job
    from printpack.paper import paper_named
    from printpack.outputs.revision import revision_pdf
    day = told.after
    job = replace(to_pack_job(told.job, day.survey, day.plan, date=on), room=day.room,
                  floor=floor_now(day.drift, day.room), drift=day.drift)
    path = folder / f"revision-{day.letter}.pdf"
    write_whole(path, revision_pdf(job, told.changed, day.letter, sentence_of(told, told.job.show), paper_named(paper)))
    return path
