"""What the page has the desk work out from the saved job: floor, plans, packs, the day. Each answer is plain data."""
from __future__ import annotations

import dataclasses
import datetime
import json
import re
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from capture.adjustment.survey import Survey
from capture.language.messages import gettext
from desk.jobfile.files import parse_job, read_tree, with_keys
from desk.jobfile.job import Job, with_mark
from desk.problem import JobProblems, Problem
from desk.server.cache import Solver
from desk.server.packs import Packs
from desk.server.pictures import Pictures
from desk.store.job_store import JobKeeper
from desk.store.last_file import read_last, write_last
from desk.store.photos import PhotoFacts
from desk.store.settings import read_settings
from desk.checks.unseen import refuse_unseen
from desk.actions.kept_plan import KeptPlan, is_begun, kept_plan, refuse_begun, with_plan, without_plan
from layout.plan import Plan

_TARGETS = "floor-targets.pdf"


class Session:
    """One open job, read from its folder for every question, and what was worked out of it before."""

    def __init__(self, keeper: JobKeeper, pictures: Pictures, packs: Packs, solver: Solver | None = None) -> None:
        self._keeper, self._pictures, self._packs = keeper, pictures, packs
        self.solver = solver or Solver()
        self._remembered: tuple[Job, Plan | None] | None = None
        self._last_read: tuple[str, Job, dict[str, PhotoFacts]] | None = None

    def drag(self, name: str, *, point: str, x_px: float, y_px: float) -> dict[str, Any]:
        """The floor as it would be with a mark somewhere else in a picture of photos/, before anything is saved: for a
        drawing that follows.

        {"floor": None} where the last survey is no help.
        """
        from desk.text.page_view import show_followed
        job, photos = self._read_again()
        moved = with_mark(job, f"photos/{name}", point, x_px, y_px)
        floor = None if moved is None or job.floor is not None else self.solver.follow(moved, photos)
        return {"floor": None if floor is None else show_followed(floor, job.show)}

    def sketch(self, tree: Any, fresh: Sequence[str], *, free: bool) -> dict[str, Any]:
        """The floor as far as it is known, of a job as a window has it, saved or not; fresh: corners just named there,
        whose place round the room the photos tell, free: the others may be moved too. See `show_sketch`. Raises
        JobFileError, and JobProblems for more corners than are surveyed at once."""
        from desk.checks.check import too_many
        from desk.text.sketch_view import show_sketch
        job = parse_job(tree)
        if problems := tuple(too_many(job)):
            raise JobProblems(problems)
        photos = self._pictures.facts_at_hand(job)
        job = dataclasses.replace(job, photos=tuple(p for p in job.photos if p.size or p.file in photos))
        return show_sketch(job, photos, self.solver.last_survey, fresh, free=free,
                           ups=self._pictures.ups)

    def _read_again(self) -> tuple[Job, dict[str, PhotoFacts]]:
        """The job as it lies on the disk; read and parsed only if it is another than the last time."""
        revision = self._keeper.revision()
        if self._last_read is None or self._last_read[0] != revision:
            self._last_read = (revision, *self._read())
        return self._last_read[1:]

    def print_targets(self) -> dict[str, str]:
        """Sheets with floor targets, as a PDF to fetch, on the paper that is at hand where people measure as this
        job does."""
        from desk.actions.pack import usual_paper
        from printpack.paper import paper_named
        from printpack.drawing.pdf import pdf_bytes
        from printpack.fullsize.target_sheets import target_sheets
        sheets = target_sheets(paper_named(usual_paper(parse_job(read_tree(self._keeper.folder)), read_settings()[0])))
        place = self._packs.hold({_TARGETS: pdf_bytes(sheets, title=gettext("Floor targets"),
                                                      date=datetime.date.today())})
        return {"href": f"{place}/{_TARGETS}"}

    def survey(self, options: Mapping[str, Any]) -> dict[str, Any]:
        job, _ = self._read()
        return _survey_shown(job, self.survey_of(job))

    def survey_of(self, job: Job) -> Survey:
        """The survey of the job as it was read from the disk. Raises as `solve_job` does."""
        survey = self.solver.survey(job, self._pictures.facts(job))
        self._remember(job, survey)
        return survey

    def last(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """What was worked out of the job as it stands when it was open last: {"survey": ..., "plan": ...}, either None
        where nothing is known."""
        from desk.actions.last_worked import last_worked
        from desk.actions.pipeline import worded
        job = parse_job(read_tree(self._keeper.folder))
        found = last_worked(job, read_last(self._keeper.folder))
        if found is None:
            return {"survey": None, "plan": None}
        survey = worded(found.survey, job)
        plan = None if found.plan is None else _plan_shown(job, survey, found.plan, None, "preview")
        return {"survey": _survey_shown(job, survey), "plan": plan}

    def _remember(self, job: Job, survey: Survey, plan: Plan | None = None) -> None:
        """Keep what was worked out of the job, for the next time it is opened; a plan that is there and still is
        one of this job stays."""
        from desk.actions.last_worked import last_tree, last_worked
        if job.floor is not None or self._remembered == (job, plan):
            return
        self._remembered = job, plan
        before = last_worked(job, read_last(self._keeper.folder)) if plan is None else None
        write_last(self._keeper.folder, last_tree(job, survey, plan if before is None else before.plan))

    def typed(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """What is wrong with what was typed so far, each with its place in the job."""
        from desk.checks.check import problems_while_typed
        job = parse_job(read_tree(self._keeper.folder))
        return {"problems": [{"where": problem.where, "says": page_words(problem)}
                             for problem in problems_while_typed(job)]}

    def preview(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """A plan in a moment, also for wishes that are only being tried: {"flooring": {...}} stands in for keys of
        the job's own."""
        from desk.actions.pipeline import kept_survey, refuse
        job, photos = self._read()
        kept = kept_plan(job)
        tried = options.get("flooring")
        if isinstance(tried, Mapping):
            job = with_keys(without_plan(job), flooring={**job.data.get("flooring", {}), **tried})
        elif kept is not None and kept.survey is not None and kept.is_current:
            from desk.actions.foreign_plan import believed
            survey = kept_survey(job, photos, kept, self.solver.survey)
            return _plan_shown(job, survey, believed(job, kept, kept.survey).plan, kept, "kept")
        refuse(job, photos, "plan")
        survey = self.solver.survey(job, photos)
        return _plan_shown(job, survey, self.solver.plan(job, survey, "preview"), kept, "preview")

    def plan(self, options: Mapping[str, Any]) -> dict[str, Any]:
        effort = "long" if options.get("effort") == "long" else "usual"
        job, survey, plan, kept = self._planned(afresh=options.get("afresh") is True, effort=effort, droppable=True)
        self._remember(job, survey, plan)
        return _plan_shown(job, survey, plan, kept, "kept" if kept is not None and kept.is_current else effort)

    def ways(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """The ways the rows could run, were that left to the tool."""
        from desk.text.page_view import show_ways
        job, photos = self._read()
        free = with_keys(without_plan(job), flooring={**job.data.get("flooring", {}), "direction": "auto",
                                                      "start": "auto", "first_row": "auto"})
        _, survey, plan, _ = self._planned_of(free, photos)
        return {"ways": show_ways(plan, survey.floor, job.show)}

    def keep_plan(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """Keep the plan of the job as it is, or with "keep": false keep none."""
        from desk.text.page_view import show_kept
        job, _ = self._read()
        refuse_begun(job)
        if options.get("keep") is False:
            return {"revision": self._keeper.keep(without_plan(job), instead_of=job), "kept": None}
        refuse_unseen(job)
        job, survey, plan, _ = self._planned(afresh=options.get("afresh") is True)
        made = with_plan(job, survey, plan, on=datetime.date.today())
        return {"revision": self._keeper.keep(made, instead_of=job), "kept": show_kept(kept_plan(made), begun=False)}

    def _planned(self, *, afresh: bool = False, **search: Any) -> tuple[Job, Survey, Plan, KeptPlan | None]:
        """The job, its survey and plan, and the plan it keeps; `afresh` plans anew even where that is current."""
        job, photos = self._read()
        return self._planned_of(without_plan(job) if afresh else job, photos, **search)

    def _planned_of(
        self, job: Job, photos: Mapping[str, PhotoFacts], **search: Any
    ) -> tuple[Job, Survey, Plan, KeptPlan | None]:
        from desk.actions.pipeline import planned_job
        return job, *planned_job(job, photos, survey_of=self.solver.survey, plan_of=partial(self.solver.plan, **search))

    def pack(self, options: Mapping[str, Any]) -> dict[str, Any]:
        from desk.store.corner_photos import choose_photos
        from desk.actions.pack import usual_paper, with_own_printer, with_rulers
        from desk.actions.pipeline import pack_job
        rulers, (settings, _) = options.get("rulers"), read_settings()
        job = with_rulers(self._read()[0], rulers if isinstance(rulers, Mapping) else {})
        job = with_own_printer(job, settings)
        refuse_unseen(job)
        _, survey, plan, _ = self._planned()
        files = pack_job(job, survey, plan, date=datetime.date.today(),
                         paper=str(options.get("paper") or usual_paper(job, settings)),
                         pictures=choose_photos(job, self._pictures.decoding.marked))
        place = self._packs.hold(files)
        listed = [{"name": name, "bytes": len(data), "href": f"{place}/{name}"} for name, data in sorted(files.items())]
        return {"zip": f"{place}/pack.zip", "files": listed}

    def day(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """Where the laying stands; with "words" what they led to is told first, and changed pages are ready to
        fetch."""
        from desk.commands.day_command import run_day
        from desk.text.day_text import day_shown
        job, photos = self._read()
        words = str(options.get("words") or "")[:300].split()
        job, day, _, says, printed = run_day(self._keeper, job, photos, words, paper=None, on=datetime.date.today())
        place = self._packs.hold({path.name: path.read_bytes() for path in printed}) if printed else ""
        listed = [{"name": path.name, "href": f"{place}/{path.name}"} for path in printed]
        kept = kept_plan(job)
        return {"revision": self._keeper.revision(), "says": says, "files": listed, "old": kept.says if kept else "",
                **day_shown(job, day)}

    def _laid(self) -> tuple[Job, Survey, Plan]:
        from desk.actions.pipeline import worded
        from desk.commands.day_command import run_day
        job, day, *_ = run_day(self._keeper, *self._read(), (), paper=None, on=datetime.date.today())
        return job, worded(day.survey, job), day.plan

    def row(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """A row as the paper draws it: {"row": its number, "narrow": for a phone, "laid": by the plan the day follows,
        which stays the kept one where that is out of date}."""
        from desk.actions.pipeline import printable
        from desk.text.row_view import show_row
        job, survey, plan = self._laid() if options.get("laid") is True else self._planned()[:3]
        number = options.get("row")
        return show_row(printable(job, survey, plan, date=datetime.date.today()),
                        number if isinstance(number, int) else 1, narrow=options.get("narrow") is True)

    def closeups(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """What one close-up tells; see `Pictures.closeup`."""
        return self._pictures.closeup(self._read()[0], options)

    def _read(self) -> tuple[Job, dict[str, PhotoFacts]]:
        job = parse_job(read_tree(self._keeper.folder))
        return job, self._pictures.facts(job)


def _survey_shown(job: Job, survey: Survey) -> dict[str, Any]:
    """A survey for the page."""
    from desk.actions.answers import survey_answer
    from desk.text.page_view import show_misfits, show_survey
    shown = show_survey(survey, job.show) | {"misfits": show_misfits(survey.floor, job)}
    return {"answer": survey_answer(survey, job), "shown": shown}


def _plan_shown(job: Job, survey: Survey, plan: Plan, kept: KeptPlan | None, stage: str) -> dict[str, Any]:
    """A plan for the page; stage: "preview", "usual", "long" or "kept"."""
    from desk.actions.pipeline import plan_text
    from desk.text.page_view import show_kept, show_plan
    return {"answer": json.loads(plan_text(plan, survey, job)), "shown": show_plan(plan, survey.floor, job.show),
            "kept": show_kept(kept, begun=is_begun(job)), "stage": stage}


def page_words(problem: Problem) -> str:
    """What a problem says to somebody who sees a page and no job file."""
    if problem.slug == "no-kept-plan":
        return gettext("No plan is kept yet: on the page Rows, say that this one is your plan.")
    if problem.slug == "no-pipe-place":
        return gettext(
            "Nothing tells where pipe {name} stands: put it on the plan of the page Room, or tape it square off "
            "two walls.", name=problem.name)
    if problem.slug == "unseen-wall":
        return gettext(
            "Is {name} one straight wall? Mark both its ends in one photo, click on its floor line or tape along "
            "it; if you know that it is one straight wall, say so on the page Tape.", name=problem.name)
    if problem.slug == "unknown-wall":
        return _wall_words(problem)
    if problem.slug == "no-board":
        return gettext("The boards are not known yet: copy their length and width from the label on the pack.")
    return problem.says


def _wall_words(problem: Problem) -> str:
    """Something lies along two corners that are no neighbours: most likely they were put in another order since."""
    number = re.search(r"\d+", problem.where)
    line = gettext("The line drawn in photo {number}", number=int(number[0]) + 1 if number else "")
    what = {"photos": line, "doors": gettext("A door"), "tape": gettext("A length off a wall"),
            "on_wall": gettext("A point on a wall"), "flooring": gettext("The direction of the rows"),
            }.get(re.split(r"\W", problem.where)[0], gettext("Something"))
    return gettext("{what} is along {name}, and these two corners do not follow each other round the room: put the "
                   "corners in their order, or take it away.", what=what, name=problem.name)
