"""One job of many: read from its folder into values, told apart from what it was by a digest, and planned from the
values alone.

Pictures are looked at where the job is read (their size, lens and printed targets are all that planning wants of them),
so whoever plans needs neither the folder nor the pictures: a parcel can go to another machine, and the pictures stay at
home.
"""
from __future__ import annotations

import hashlib
import time
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from capture.language.messages import Language, spoken
from desk.jobfile.job import Job
from desk.jobfile.files import read_job
from desk.batch.outcome import Outcome
from desk.store.photos import Photos, look_at_photos, read_photo
from desk.problem import JobFileError, printable
from desk.actions.error_report import refusal_of

#: The packages whose code decides what a plan is.
PACKAGES = ("capture", "layout", "printpack", "desk")


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """All that planning one job reads. digest: of the job, its pictures, the effort, the language and the tool; it
    changes when any of them does. reader: whose language an outcome is told in.
    """

    name: str
    job: Job
    photos: Photos
    digest: str
    reader: Language = field(default_factory=spoken)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What came of a job, and the digest it had ("" if it cannot be read). outcome: None where the digest is the one
    that was known. unkept: why the next run will not know of it, a sentence.
    """

    outcome: Outcome | None
    digest: str
    unkept: str = ""


def read_parcel(place: Path, folder: Path, effort: str, known: str = "") -> Parcel | Reply:
    """The job in a folder as values; a reply in its place if it has the known digest or cannot be read."""
    name = name_of(place, folder)
    try:
        job = read_job(place)
        digest = _digest(place, job, effort)
        if digest == known:
            return Reply(outcome=None, digest=digest)
        return Parcel(name=name, job=job, photos=look_at_photos(place, job), digest=digest)
    except MemoryError:
        raise
    except Exception as error:  # one job's fault, ours included, must not stop the others
        return Reply(outcome=_refused(name, error), digest="")


def plan_parcel(parcel: Parcel, effort: str) -> Outcome:
    """One job solved and planned; whatever goes wrong is told in the outcome, but for want of memory, which is the
    process's to answer.
    """
    from desk.convert import survey_doubts
    from desk.actions.pipeline import plan_job, planned_job
    begun = time.perf_counter()
    try:
        survey, plan, kept = planned_job(parcel.job, parcel.photos,
                                         plan_of=lambda *asked: plan_job(*asked, effort=effort))
    except MemoryError:
        raise
    except Exception as error:  # as above
        return _refused(parcel.name, error, seconds=time.perf_counter() - begun)
    return Outcome(name=parcel.name, title=printable(parcel.job.title), planned=True,
                   area_m2=survey.floor.area()[0] / 1e6, rows=len(plan.rows), boards=plan.boards, bound=plan.bound,
                   proven=plan.proven, packs=plan.packs, waste_percent=plan.waste_percent, relaxed=len(plan.relaxed),
                   kept=bool(kept and kept.is_current), seconds=time.perf_counter() - begun,
                   doubts=tuple(map(printable, survey_doubts(survey))))


def plan_one(place: Path, folder: Path, effort: str) -> Outcome:
    """One job read, solved and planned here and now."""
    parcel = read_parcel(place, folder, effort)
    if isinstance(parcel, Parcel):
        return plan_parcel(parcel, effort)
    assert parcel.outcome is not None, "no digest was known"
    return parcel.outcome


def name_of(place: Path, folder: Path) -> str:
    """A job's name among the others: its folder, seen from theirs."""
    return printable(place.relative_to(folder).as_posix()) if place != folder else printable(place.resolve().name)


@lru_cache(maxsize=1)
def tool_digest() -> str:
    """A digest of the code that plans, the same on every machine that has the same version, and of no other version."""
    return code_digest(Path(__file__).parent.parent)


def code_digest(root: Path) -> str:
    """The digest of the packages under a folder."""
    held = hashlib.sha256()
    for package in PACKAGES:
        for name in sorted(path.relative_to(root).as_posix() for path in (root / package).rglob("*.py")):
            held.update(f"{name}\n".encode())
            held.update(hashlib.sha256((root / name).read_bytes()).digest())
    return held.hexdigest()


def _digest(place: Path, job: Job, effort: str) -> str:
    held = hashlib.sha256(f"{tool_digest()} {effort} {spoken().tag}\n{job.text}\n".encode())
    for file in sorted({photo.file for photo in job.photos} | {closeup.file for closeup in job.closeups}):
        held.update(f"{file}\n".encode())
        held.update(_picture_digest(place, file))
    return held.hexdigest()


def _picture_digest(place: Path, file: str) -> bytes:
    """A digest of a picture's bytes; one that cannot be read counts as what is wrong with it."""
    try:
        return hashlib.sha256(read_photo(place, file)).digest()
    except JobFileError as error:
        return error.slug.encode()


def _refused(name: str, error: Exception, *, seconds: float = 0.0) -> Outcome:
    return Outcome(name=name, says=tuple(problem.says for problem in refusal_of(error)[0]), seconds=seconds)
