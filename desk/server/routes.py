"""What the page can ask of the desk. Each answer is plain data; parsing requests and sending answers is `app`'s
work."""
from __future__ import annotations

import datetime
import io
import json
import math
import secrets
import threading
import zipfile
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

from capture.errors import CaptureError
from capture.adjustment.survey import Survey
from capture.tape import format_length, parse_length
from desk.server.guard import Guard
from desk.jobfile.files import parse_job, read_tree, with_keys
from desk.jobfile.job import Job, with_mark
from desk.store.job_store import JobKeeper
from desk.work.kept_plan import KeptPlan, is_begun, kept_plan, refuse_begun, with_plan, without_plan
from desk.server.phone_link import PhoneLink, code_of, lan_address
from desk.store.photos import PhotoFacts
from desk.store.previews import Previews
from desk.problem import JobFileError, JobProblems, file_error
from desk.server.cache import Solver
from desk.server.worker import Replaced, Worker
from layout.errors import LayoutError
from layout.plan import Plan
from printpack.errors import PrintError

#: What a room says when it has no honest answer.
REFUSALS = (CaptureError, LayoutError, PrintError, JobProblems, JobFileError)
#: A task answers at once if it ends within this time; else the page asks again.
PATIENCE_S = 0.6
_PACKS_KEPT = 3
#: The page is on the screen by then, mostly.
_PAGE_LOADS_S = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Download:
    """Bytes to send with their media type; `name` only if the browser is to save them."""

    data: bytes
    media: str
    name: str = ""


class Desk:
    """One open job and everything the page may do with it."""

    def __init__(self, folder: Path, guard: Guard) -> None:
        self.guard = guard
        self.keeper = JobKeeper(folder)
        self.previews = Previews(folder)
        self.worker, self._slow = Worker(), Worker()
        self._packs: OrderedDict[str, Mapping[str, bytes]] = OrderedDict()
        self.solver = Solver()
        self._warming: threading.Timer | None = None
        self._last_read: tuple[str, Job, dict[str, PhotoFacts]] | None = None
        self._link: PhoneLink | None = None
        self._arrived: list[dict[str, Any]] = []
        self._founds: dict[object, Any] = {}

    def warm_up(self) -> None:
        """Load what the first survey and plan need while the person still looks at the page; not while the page
        itself loads."""
        def begin() -> None:
            self.worker.start("warm-up", _load_rooms)
            self._slow.start("warm-up", self.solver.planning.warm_up)
        self._warming = threading.Timer(_PAGE_LOADS_S, begin)
        self._warming.daemon = True
        self._warming.start()

    def close(self) -> None:
        """Drop all work and close the phone's link."""
        self.close_link()
        if self._warming is not None:
            self._warming.cancel()
        self.worker.close()
        self._slow.close()
        self.solver.planning.close()

    def open_job(self) -> dict[str, Any]:
        """The job with its revision, where it lies, and the values that hold when it says nothing."""
        tree, revision = self.keeper.load()
        parse_job(tree)
        for kept in ("plan", "day"):  # the desk keeps them; windows ask for them in words
            tree.pop(kept, None)
        return {"job": tree, "revision": revision, "folder": str(self.keeper.folder), "defaults": usual_values(),
                "usual": usual_words()}

    def save_job(self, tree: Any, *, revision: str) -> dict[str, str]:
        """Save what the page edited. Raises JobFileError, Overtaken."""
        saved = {"revision": self.keeper.save(tree, revision=revision)}
        noted = {photo.file for photo in parse_job(tree).photos} if self._arrived else set()
        self._arrived = [told for told in self._arrived if told["file"] not in noted]
        return saved

    def add_photo(self, data: bytes, *, name: str) -> dict[str, Any]:
        """Take a picture in; the page notes it in the job."""
        facts = self.keeper.add_photo(data, name=name)
        self.previews.remember(facts)
        says = "" if facts.focal_px else (
            f"{name}: {facts.focal_from}. It can be used; two or three tape lengths more will help. "
            "Photos sent as files, not as chat messages, keep what the phone noted.")
        return {"file": facts.file, "size": facts.size, "says": says}

    def open_link(self) -> dict[str, Any]:
        """Open a link for a phone, if none is open, and tell of it. Raises JobFileError (no-network)."""
        if self._link is None or not self._link.is_open:
            self._link = PhoneLink(self._take_from_phone, address=lan_address())
        return self.link()

    def close_link(self) -> dict[str, Any]:
        """Close the phone's link, if there is one."""
        if self._link is not None:
            self._link.close()
        return self.link()

    def link(self) -> dict[str, Any]:
        """How the phone's link stands: what its code holds, how long it stays open, and what came that no job has
        noted."""
        told: dict[str, Any] = {"open": False, "arrived": list(self._arrived)}
        if self._link is None or not self._link.is_open:
            return told
        return told | {"open": True, "href": self._link.href, "code": code_of(self._link.href),
                       "left_s": round(self._link.left_s)}

    def _take_from_phone(self, data: bytes, name: str) -> None:
        self._arrived.append({"name": name, **self.add_photo(data, name=name)})

    def photo(self, name: str, *, small: bool) -> tuple[Download, tuple[int, int]]:
        """A picture of photos/ for the page and the size of its upright original, px."""
        file = f"photos/{name}"
        facts = self.previews.facts(file)
        if facts.size is None:
            raise file_error("missing-photo" if facts.missing else "unreadable-photo", facts.fault, where=file)
        return Download(data=self.previews.jpeg(file, small=small), media="image/jpeg"), facts.size

    def snap(self, name: str, *, x_px: float, y_px: float) -> dict[str, Any]:
        """The foot of the corner beside a mark, looked for in the full-size picture of photos/, px; how far that is,
        and its edges.

        Raises CaptureError where there is none to trust, JobFileError.
        """
        from capture.image.snap import snap_mark
        snap = snap_mark(self.previews.pixels(f"photos/{name}"), (x_px, y_px))
        return {"x": round(snap.x_px, 2), "y": round(snap.y_px, 2), "sd": round(snap.sd_px, 2),
                "moved": round(math.hypot(snap.x_px - x_px, snap.y_px - y_px), 1), "lines": snap.lines_px}

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

    def _read_again(self) -> tuple[Job, dict[str, PhotoFacts]]:
        """The job as it lies on the disk; read and parsed only if it is another than the last time."""
        revision = self.keeper.revision()
        if self._last_read is None or self._last_read[0] != revision:
            self._last_read = (revision, *self._read())
        return self._last_read[1:]

    def targets_in(self, name: str) -> dict[str, Any]:
        """Names of the printed floor targets that are seen in a picture of photos/; none in one that cannot be read."""
        return {"seen": [f"T{target.number}" for target in self.previews.facts(f"photos/{name}", targets=True).targets]}

    def print_targets(self) -> dict[str, str]:
        """Sheets with floor targets, as a PDF to fetch, on the paper that is at hand where people measure as this
        job does."""
        from desk.work.pack import usual_paper
        from printpack.paper import paper_named
        from printpack.drawing.pdf import pdf_bytes
        from printpack.fullsize.target_sheets import target_sheets
        sheets = target_sheets(paper_named(usual_paper(parse_job(read_tree(self.keeper.folder)))))
        key = self._keep({_TARGETS: pdf_bytes(sheets, title="Floor targets", date=datetime.date.today())})
        return {"href": f"/pack/{key}/{_TARGETS}"}

    def read_length(self, text: str, *, show: str) -> dict[str, Any]:
        """How a typed length is read, both ways of writing it; for text that is no length, or two, the question to ask
        back.

        Half-typed text is no failure of the request, so it is an answer and not an error.
        """
        try:
            length_mm = parse_length(text, unit="in" if show == "imperial" else "mm")
        except CaptureError as error:
            return {"mm": None, "says": str(error), "slug": error.slug}
        whole = abs(length_mm - round(length_mm)) < 0.05
        return {"mm": round(length_mm, 4), "metric": format_length(length_mm, decimals=0 if whole else 1),
                "imperial": format_length(length_mm, show="imperial")}

    def start(self, kind: str, options: Mapping[str, Any]) -> dict[str, Any]:
        """Begin a survey, a preview, a plan or a pack of the saved job; its result, or the task to ask for again.

        A plan that is still being searched for when another is asked for is dropped.
        """
        steps: dict[str, Callable[[Mapping[str, Any]], Any]] = {"survey": self._survey, "preview": self._preview,
                                                                "plan": self._plan, "ways": self._ways,
                                                                "keep": self._keep_plan, "pack": self._pack,
                                                                "day": self._day, "typed": self._typed,
                                                                "closeups": self._closeups}
        if kind == "plan":
            self.solver.planning.drop()
        return self.task(self._worker_of(kind).start(kind, partial(steps[kind], dict(options))))

    def _worker_of(self, task: str) -> Worker:
        return self.worker if task.partition("-")[0] in ("survey", "preview", "typed") else self._slow

    def task(self, task: str) -> dict[str, Any]:
        """How a task stands. A room that refuses ends a task like any other: what it says is the task's outcome.

        Raises only what is a fault of this program.
        """
        try:
            done, result = self._worker_of(task).find_result(task, wait_s=PATIENCE_S)
        except Replaced:
            return {"task": task, "done": True, "refused": {"says": "A newer request took this one's place.",
                                                            "slug": "replaced", "where": ""}}
        except REFUSALS as error:
            first, *more = [_page_words(problem.slug, problem.says) for problem in getattr(error, "problems", ())] or [
                str(error)
            ]
            return {"task": task, "done": True, "refused": {"says": first, "slug": error.slug, "where": error.where,
                                                            "more": more}}
        return {"task": task, "done": done, "result": result}

    def pack_file(self, key: str, name: str) -> Download:
        """One file of a pack that was made in this run, or all of them as "pack.zip"."""
        files = self._packs.get(key)
        if files is None or (name != "pack.zip" and name not in files):
            raise file_error("no-pack", "This pack is no longer at hand; make it again on the page.")
        if name == "pack.zip":
            return Download(data=_zipped(files), media="application/zip", name="tapegroove-pack.zip")
        media = _MEDIA.get(Path(name).suffix, "application/octet-stream")
        return Download(data=files[name], media=media, name="" if media == "application/pdf" else Path(name).name)

    def _read(self) -> tuple[Job, dict[str, PhotoFacts]]:
        job = parse_job(read_tree(self.keeper.folder))
        return job, self.previews.all_facts(job)

    def _survey(self, options: Mapping[str, Any]) -> dict[str, Any]:
        from desk.work.answers import survey_answer
        from desk.text.page_view import show_survey
        job, photos = self._read()
        survey = self.solver.survey(job, photos)
        return {"answer": survey_answer(survey, job), "shown": show_survey(survey, job.show)}

    def _typed(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """What is wrong with what was typed so far, each with its place in the job."""
        from desk.checks.check import problems_while_typed
        job = parse_job(read_tree(self.keeper.folder))
        return {"problems": [{"where": problem.where, "says": _page_words(problem.slug, problem.says)}
                             for problem in problems_while_typed(job)]}

    def _preview(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """A plan in a moment, also for wishes that are only being tried: {"flooring": {...}} stands in for keys of
        the job's own."""
        from desk.work.pipeline import refuse
        job, photos = self._read()
        kept = kept_plan(job)
        tried = options.get("flooring")
        if isinstance(tried, Mapping):
            job = with_keys(without_plan(job), flooring={**job.tree().get("flooring", {}), **tried})
        elif kept is not None and kept.survey is not None and kept.is_current:
            return _plan_shown(job, kept.survey, kept.plan, kept, "kept")
        refuse(job, photos, "plan")
        survey = self.solver.survey(job, photos)
        return _plan_shown(job, survey, self.solver.plan(job, survey, "preview"), kept, "preview")

    def _plan(self, options: Mapping[str, Any]) -> dict[str, Any]:
        effort = "long" if options.get("effort") == "long" else "usual"
        job, survey, plan, kept = self._planned(afresh=options.get("afresh") is True, effort=effort, droppable=True)
        return _plan_shown(job, survey, plan, kept, "kept" if kept is not None and kept.is_current else effort)

    def _ways(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """The ways the rows could run, were that left to the tool."""
        from desk.text.page_view import show_ways
        job, photos = self._read()
        free = with_keys(without_plan(job), flooring={**job.tree().get("flooring", {}), "direction": "auto",
                                                      "start": "auto", "first_row": "auto"})
        _, survey, plan, _ = self._planned_of(free, photos)
        return {"ways": show_ways(plan, survey.floor, job.show)}

    def _keep_plan(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """Keep the plan of the job as it is, or with "keep": false keep none."""
        from desk.text.page_view import show_kept
        job, _ = self._read()
        refuse_begun(job)
        if options.get("keep") is False:
            return {"revision": self.keeper.keep(without_plan(job), instead_of=job), "kept": None}
        job, survey, plan, _ = self._planned(afresh=options.get("afresh") is True)
        made = with_plan(job, survey, plan, on=datetime.date.today())
        return {"revision": self.keeper.keep(made, instead_of=job), "kept": show_kept(kept_plan(made), begun=False)}

    def _planned(self, *, afresh: bool = False, **search: Any) -> tuple[Job, Survey, Plan, KeptPlan | None]:
        """The job, its survey and plan, and the plan it keeps; `afresh` plans anew even where that is current."""
        job, photos = self._read()
        return self._planned_of(without_plan(job) if afresh else job, photos, **search)

    def _planned_of(
        self, job: Job, photos: Mapping[str, PhotoFacts], **search: Any
    ) -> tuple[Job, Survey, Plan, KeptPlan | None]:
        from desk.work.pipeline import planned_job
        return job, *planned_job(job, photos, survey_of=self.solver.survey, plan_of=partial(self.solver.plan, **search))

    def _pack(self, options: Mapping[str, Any]) -> dict[str, Any]:
        from desk.store.corner_photos import marked_photos
        from desk.work.pack import usual_paper, with_rulers
        from desk.work.pipeline import pack_job
        rulers = options.get("rulers")
        job = with_rulers(self._read()[0], rulers if isinstance(rulers, Mapping) else {})
        _, survey, plan, _ = self._planned()
        files = pack_job(job, survey, plan, date=datetime.date.today(),
                         paper=str(options.get("paper") or usual_paper(job)),
                         pictures=marked_photos(self.keeper.folder, job))
        key = self._keep(files)
        listed = [{"name": name, "bytes": len(data), "href": f"/pack/{key}/{name}"}
                  for name, data in sorted(files.items())]
        return {"zip": f"/pack/{key}/pack.zip", "files": listed}

    def _day(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """Where the laying stands; with "words" what they led to is told first, and changed pages are ready to
        fetch."""
        from desk.commands.day_command import run_day
        from desk.text.day_text import day_shown
        job, photos = self._read()
        words = str(options.get("words") or "")[:300].split()
        job, day, _, says, printed = run_day(self.keeper, job, photos, words, paper=None, on=datetime.date.today())
        key = self._keep({path.name: path.read_bytes() for path in printed}) if printed else ""
        listed = [{"name": path.name, "href": f"/pack/{key}/{path.name}"} for path in printed]
        kept = kept_plan(job)
        return {"revision": self.keeper.revision(), "says": says, "files": listed, "old": kept.says if kept else "",
                **day_shown(job, day)}

    def _closeups(self, options: Mapping[str, Any]) -> dict[str, Any]:
        """What one close-up tells, by its number from 0; with "keep": true also the job's parts as they are with
        that kept."""
        from desk.text.closeup_view import tell_closeup
        job, _ = self._read()
        return tell_closeup(self.keeper.folder, job, options.get("number"), keep=options.get("keep") is True,
                            before=self._founds)

    def _keep(self, files: Mapping[str, bytes]) -> str:
        """Hold files ready to be fetched; returns the unguessable key they are fetched with."""
        key = secrets.token_urlsafe(16)
        self._packs[key] = files
        while len(self._packs) > _PACKS_KEPT:
            self._packs.popitem(last=False)
        return key


_TARGETS = "floor-targets.pdf"
_MEDIA = {".pdf": "application/pdf", ".svg": "image/svg+xml", ".csv": "text/csv; charset=utf-8",
          ".json": "application/json", ".dxf": "image/vnd.dxf"}


def _plan_shown(job: Job, survey: Survey, plan: Plan, kept: KeptPlan | None, stage: str) -> dict[str, Any]:
    """A plan for the page; stage: "preview", "usual", "long" or "kept"."""
    from desk.work.pipeline import plan_text
    from desk.text.page_view import show_kept, show_plan
    return {"answer": json.loads(plan_text(plan, survey)), "shown": show_plan(plan, survey.floor, job.show),
            "kept": show_kept(kept, begun=is_begun(job)), "stage": stage}


def _load_rooms() -> None:
    import_module("capture.solve")
    import_module("layout.planning.planner")


def _page_words(slug: str, says: str) -> str:
    """What a problem says to somebody who sees a page and no job file."""
    if slug == "no-kept-plan":
        return "No plan is kept yet: on the page Rows, say that this one is your plan."
    if slug == "no-pipe-place":
        return f"{says.partition(';')[0]}: put it on the plan of the page Room, or tape it square off two walls."
    if slug == "no-board":
        return "The boards are not known yet: copy their length and width from the label on the pack."
    return says


def usual_values() -> dict[str, float]:
    """What holds where the job says nothing, mm; from the types that use them, so the page cannot drift from the
    planner."""
    from desk.convert import PACK, THICKNESS_MM
    from layout.room import USUAL_GAP_MM, Rules, Wishes
    rules, wishes = Rules(), Wishes()
    return {"gap": USUAL_GAP_MM, "kerf": wishes.kerf_mm, "stagger": rules.stagger_mm, "shortest": rules.shortest_mm,
            "narrowest": rules.narrowest_mm, "thickness": THICKNESS_MM, "pack": PACK}


def usual_words() -> dict[str, dict[str, str]]:
    """The usual lengths, and what the check sheet's rulers should measure, as a person reads them, by the units
    shown."""
    from printpack.words.printer_scale import rulers_of
    usual = {key: value for key, value in usual_values().items() if key != "pack"}
    said = {}
    for show in ("metric", "imperial"):
        lengths = usual | {"ruler_across": rulers_of(show).across_mm, "ruler_down": rulers_of(show).down_mm}
        said[show] = {key: format_length(value, show=show) for key, value in lengths.items()}
    return said


def _zipped(files: Mapping[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            archive.writestr(name, data)
    return target.getvalue()
