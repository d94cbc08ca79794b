"""The plan a person called theirs, kept in the job under `plan`: put in, taken out again, and what has changed since.

What is kept is the plan as `plan --json` gives it, but for its sentences, with a digest of each of its keys, and with
three more things under `kept`: the day, the surveyed floor the plan was made for, and a digest of every part of the job
that planning reads. Printing from it needs no solver and no planner. Here it is read; whether it is believed is for
`desk.actions.foreign_plan`. A digest is made of what was understood, not of how it was written: defaults that are spelt
out, a text kept beside its number or the order of keys change nothing; a part with another digest is a part that
changed, and the plan is then out of date.
"""
from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass
from typing import TYPE_CHECKING, Any

from capture.adjustment.survey import Survey
from capture.language.messages import gettext, listed, marked, worded
from desk.jobfile.digests import digest_of, refuse_altered, refuse_altered_kept, with_digests
from desk.jobfile.job import Job
from desk.jobfile.files import with_keys, with_plan_data
from capture.language.dates import long_date
from desk.problem import JobProblems, Problem
from layout.planfile.reader import Reader, damaged, shown

if TYPE_CHECKING:
    from layout.plan import Plan

#: How an entry is written, not what it says (a place put by hand says so by its spread too); and what is printed but
#: never planned with.
_UNREAD = frozenset({"where", "typed", "by_hand", "next_floor_mm"})
#: Entries whose fields count as those of the entry they are in.
_INNER = frozenset({"rules", "roll"})


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class KeptPlan:
    """A kept plan and what it was made of.

    survey: the floor as it was then, with what it was to be doubted for, as facts; its other readings are not kept.
    doubts_known: whether those facts are there; an earlier version of this program kept sentences. survey and on
    are None for a plan that was put into the job by another program and tells nothing about its making. changed: the
    parts of the job that are not as they were, in words; the plan is out of date if there are any. vouched: every key
    is as it was kept, by its digest. alike: the job says still what the plan was made of (a plan that is being laid
    stays current without).
    """

    plan: Plan
    survey: Survey | None
    on: datetime.date | None
    changed: tuple[str, ...]
    vouched: bool = False
    alike: bool = True
    doubts_known: bool = True

    @property
    def is_current(self) -> bool:
        """Whether the plan still is one of the job as it stands."""
        return not self.changed

    @property
    def day(self) -> str:
        """The day it was kept, in words: 5 March 2026; "" if that is not known."""
        return long_date(self.on) if self.on else ""

    @property
    def says(self) -> str:
        """One sentence on an out-of-date plan, "" for a current one."""
        if self.is_current:
            return ""
        what = listed([worded(part) for part in self.changed])
        if self.day:
            return gettext("The plan kept on {day} is out of date: {what} changed since. It stays in the job until "
                           "another is kept.", day=self.day, what=what)
        return gettext("The plan kept is out of date: {what} changed since. It stays in the job until another is "
                       "kept.", what=what)


def with_plan(job: Job, survey: Survey, plan: Plan, *, on: datetime.date, **more: Any) -> Job:
    """The job with this plan kept in it; `survey` and `plan` must have been made of this very job. more: further keys
    of what is kept under `plan`."""
    from desk.actions.kept_survey import survey_tree
    from layout.planfile.codec import plan_tree
    kept = {"on": on.isoformat(), "made_of": part_digests(job)} | survey_tree(survey)
    return with_plan_data(job, with_digests(plan_tree(plan) | {"kept": kept} | more))


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
            gettext("This floor is being laid by the kept plan, so another cannot take its place; tell what happened "
                    "with tapegroove day, or take back every entry with “undo” first.")))])


def bought_with(job: Job) -> tuple[str, ...]:
    """The other rooms of the flat whose boards were counted with those of the kept plan; none for a plan of a floor by
    itself."""
    told = (job.data.get("plan") or {}).get("flat")
    if not isinstance(told, Mapping) or not isinstance(told.get("floors"), list):
        return ()
    return tuple(str(name) for name in told["floors"] if name != told.get("name"))


def without_plan(job: Job) -> Job:
    """The job with no plan kept."""
    return with_keys(job, plan=None)


def kept_plan(job: Job) -> KeptPlan | None:
    """The plan kept in the job, or None. A plan that is being laid stays current: what lies cannot follow an edit of
    the job.

    Raises LayoutError (damaged-plan, newer-plan) for one that cannot be read, or that somebody changed since it was
    kept.
    """
    told = job.data.get("plan")
    if told is None:
        return None
    from desk.actions.kept_survey import read_survey, tells_doubts
    from layout.planfile.codec import from_answer
    from layout.planfile.soundness import refuse_unsound, refuse_wild
    refuse_wild(told, "plan")
    plan = from_answer(told)
    refuse_unsound(plan)
    vouched = refuse_altered(told)
    kept = Reader(told["kept"], "plan.kept") if told.get("kept") is not None else None
    # What tells of its making and has no digest is believed only where a floor is being laid by it, and the survey
    # cannot be made again.
    if kept is None or not (refuse_altered_kept(kept.data) or is_begun(job)):
        return KeptPlan(plan=plan, survey=None, on=None, changed=(), vouched=vouched)
    changed = _changed(kept.inner("made_of"), part_digests(job))
    return KeptPlan(plan=plan, survey=read_survey(kept), on=_day(kept),
                    changed=() if is_begun(job) else changed, vouched=vouched, alike=not changed,
                    doubts_known=tells_doubts(kept.data))


def _day(kept: Reader) -> datetime.date:
    try:
        return datetime.date.fromisoformat(kept.text("on"))
    except ValueError:
        raise damaged("plan.kept.on", f"is {shown(kept.text('on'))}, not a date such as 2026-03-05") from None


def _changed(then: Reader, now: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(part for part in now if then.text(part) != now[part])


def part_digests(job: Job) -> dict[str, str]:
    """A digest of each part of the job that a plan depends on, by what the part is called to people."""
    photos = tuple(photo for photo in job.photos if photo.marks or photo.edges or job.targets)
    parts = {
        marked("the corners"): (job.outline, job.islands, job.square, job.square_sd_deg, job.on_wall, job.floor,
                                *([job.sketch] if job.sketch else [])),
        marked("the marks in the photos"): (photos, job.cameras, job.targets, job.papers),
        marked("the tape lengths"): (job.tapes, job.offsets, job.tape_error),
        marked("the doors"): job.doors,
        marked("the pipes"): job.pipes,
        marked("the boards and how they are laid"): job.flooring,
    }
    return {name: digest_of(_plain(part)) for name, part in parts.items()}


def _plain(part: Any) -> Any:
    """A part as JSON data that is the same for the same meaning: fields at their default are left out, so that one
    added later changes nothing."""
    if dataclasses.is_dataclass(part):
        return {name: _plain(value) for name, value in _meant(part)}
    if isinstance(part, (list, tuple)):
        return [_plain(member) for member in part]
    return float(part) if isinstance(part, int) and not isinstance(part, bool) else part


def _meant(part: Any) -> Iterator[tuple[str, Any]]:
    """(name, value) of what an entry says beyond the usual, in the names that digests have been made of ever since."""
    read_as = getattr(part, "READ_AS", {})
    for field in dataclasses.fields(part):
        value = getattr(part, field.name)
        if field.name in _INNER:
            yield from _meant(value)
        elif field.name in read_as:
            yield from ((name, getattr(part, name)) for name, usual in read_as[field.name].items()
                        if getattr(part, name) != usual)
        elif field.name not in _UNREAD and (field.default is MISSING or value != field.default):
            yield field.name, value
