"""What the page can ask of the desk. Each answer is plain data; parsing requests and sending answers is `app`'s
work."""
from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

from capture.errors import CaptureError
from capture.language.messages import Language, gettext, listed, marked, worded
from capture.language.numbers import thousands_mark
from capture.progress import Doing
from capture.tape import format_length, parse_length
from desk.jobfile.files import parse_job
from desk.jobfile.job import Job
from desk.problem import JobFileError, JobProblems
from desk.server.cache import Solver
from desk.server.decoding import Decoding
from desk.server.defaults import choices, usual_values, usual_words
from desk.server.http.guard import Guard
from desk.language.region import units_wished
from desk.server.label import Unreadable, label_words, read_label
from desk.server.packs import Packs
from desk.server.phone_photos import PhonePhotos
from desk.server.pictures import Pictures
from desk.server.plan_process import Planning
from desk.server.reader import reader_of
from desk.server.session import Session, page_words
from desk.server.worker import Replaced, Worker, once_page_is_shown
from desk.store.job_store import JobKeeper
from desk.store.settings import keep_settings, read_settings
from layout.errors import LayoutError
from printpack.errors import PrintError

#: What a room says when it has no honest answer.
REFUSALS = (CaptureError, LayoutError, PrintError, JobProblems, JobFileError)
#: A task answers at once if it ends within this time; else the page asks again.
PATIENCE_S = 0.6


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Shared:
    """What the desks of several rooms have in common: the processes that decode and plan, and what can be fetched."""

    decoding: Decoding
    planning: Planning
    packs: Packs

    def close(self) -> None:
        """Drop all work."""
        self.decoding.close()
        self.planning.close()


class Desk:
    """One open job and everything the page may do with it: opened and saved here, pictures by `pictures`, a phone's by
    `phone`, long work by `session`, what is ready to be fetched by `packs`."""

    def __init__(self, folder: Path, guard: Guard, shared: Shared | None = None) -> None:
        """shared: what this desk has in common with those of the other rooms of a flat."""
        self.guard = guard
        self.keeper = JobKeeper(folder)
        self.pictures = Pictures(folder, self.keeper, shared.decoding.beside(folder) if shared else None)
        self.packs = shared.packs if shared else Packs()
        solver = Solver(shared.planning) if shared else None
        self.session = Session(self.keeper, self.pictures, self.packs, solver)
        self.phone = PhonePhotos(self.pictures.add, self.reader)
        self._quick, self._slow = Worker(), Worker()
        self._warming: threading.Timer | None = None

    def warm_up(self) -> None:
        """Load what the first survey and plan need while the person still looks at the page; not while the page
        itself loads."""
        def begin() -> None:
            self._quick.start("warm-up", load_rooms)
            self._slow.start("warm-up pictures", self.pictures.decoding.warm_up)  # wanted first
            self._slow.start("warm-up", self.session.solver.planning.warm_up)
        self._warming = once_page_is_shown(begin)

    def close(self) -> None:
        """Drop all work and close the phone's link."""
        self.phone.close()
        if self._warming is not None:
            self._warming.cancel()
        self.pictures.decoding.close()
        self._quick.close()
        self._slow.close()
        self.session.solver.planning.close()

    def reader(self, wishes: str) -> Language:
        """The language of whoever sends this Accept-Language."""
        return reader_of((self.keeper.folder,), wishes)

    def open_job(self, wishes: str = "") -> dict[str, Any]:
        """The job with its revision, where it lies, and the values that hold when it says nothing. wishes: the
        Accept-Language of who asks first, whose region tells the units of a job just begun."""
        self.keeper.settle_units(units_wished(wishes))
        tree, revision = self.keeper.load()
        parse_job(tree)
        for kept in ("plan", "day"):  # the desk keeps them; windows ask for them in words
            tree.pop(kept, None)
        return {"job": tree, "revision": revision, "folder": str(self.keeper.folder), "defaults": usual_values(),
                "usual": usual_words(), "choices": choices(), "settings": self.settings()}

    def settings(self) -> dict[str, Any]:
        """What this machine keeps for the next job, and `says` where that cannot be used."""
        kept, note = read_settings()
        rulers = kept.rulers
        measured = rulers and [format_length(mm, show=rulers.show, decimals=1)
                               for mm in (rulers.across_mm, rulers.down_mm)]
        return {**kept.tree(), "says": note, "measured": listed(measured) if measured else ""}

    def keep_settings(self, told: Mapping[str, Any]) -> dict[str, Any]:
        """Keep more of it. Raises JobFileError for what is no setting, or if the disk refuses."""
        keep_settings(dict(told))
        return self.settings()

    def saved_job(self) -> Job:
        """The job as it lies on the disk."""
        return parse_job(self.keeper.load()[0])

    def save_job(self, tree: Any, *, revision: str) -> dict[str, str]:
        """Save what the page edited. Raises JobFileError, Overtaken."""
        saved = {"revision": self.keeper.save(tree, revision=revision)}
        self.phone.forget(lambda: {photo.file for photo in parse_job(tree).photos})
        return saved

    def read_label(self, text: str, *, show: str) -> dict[str, Any]:
        """The board of a pack's label, in keys of the job's `board`, and what was read in words; without "board" what
        is asked back."""
        try:
            label = read_label(text, show=show)
        except Unreadable as error:
            return {"board": None, "says": str(error)}
        sizes = {"length": label.length_mm, "width": label.width_mm, "thickness": label.thickness_mm,
                 "pack": label.pack}
        return {"board": {key: value for key, value in sizes.items() if value is not None},
                "says": label_words(label, show)}

    def start(self, kind: str, options: Mapping[str, Any]) -> dict[str, Any]:
        """Begin a survey, a preview, a plan or a pack of the saved job; its result, or the task to ask for again.

        A plan that is still being searched for when another is asked for is dropped, and so is a survey; what a person
        waits for, a pack say, is not.
        """
        session = self.session
        steps: dict[str, Callable[[Mapping[str, Any]], Any]] = {
            "survey": session.survey, "last": session.last, "preview": session.preview, "plan": session.plan,
            "ways": session.ways, "keep": session.keep_plan, "pack": session.pack, "row": session.row,
            "day": session.day, "typed": session.typed, "closeups": session.closeups}
        if kind == "plan":
            session.solver.planning.drop()
        return self.task(self._worker_of(kind).start(kind, partial(steps[kind], dict(options)),
                                                     droppable=kind in _OVERTAKEN))

    def _worker_of(self, task: str) -> Worker:
        return self._quick if task.partition("-")[0] in _QUICK else self._slow

    def task(self, task: str) -> dict[str, Any]:
        """How a task stands. A room that refuses ends a task like any other: what it says is the task's outcome.

        Raises only what is a fault of this program.
        """
        return told_of(self._worker_of(task), task)


def read_length(text: str, *, show: str) -> dict[str, Any]:
    """How a typed length is read, both ways of writing it; for text that is no length, or two, the question to ask
    back.

    Half-typed text is no failure of the request, so it is an answer and not an error.
    """
    try:
        length_mm = parse_length(text, unit="in" if show == "imperial" else "mm", thousands=thousands_mark())
    except CaptureError as error:
        return {"mm": None, "says": str(error), "slug": error.slug}
    whole = abs(length_mm - round(length_mm)) < 0.05
    return {"mm": round(length_mm, 4), "metric": format_length(length_mm, decimals=0 if whole else 1),
            "imperial": format_length(length_mm, show="imperial")}


def told_of(worker: Worker, task: str) -> dict[str, Any]:
    """How a task of a worker stands, as `Desk.task` tells it."""
    try:
        done, result = worker.find_result(task, wait_s=PATIENCE_S)
    except Replaced:
        return {"task": task, "done": True, "refused": {"says": gettext("A newer request took this one's place."),
                                                        "slug": "replaced", "where": ""}}
    except REFUSALS as error:
        from desk.actions.answers import mends_answer
        from desk.actions.error_report import mends_of_error
        problems = getattr(error, "problems", ())
        mends = [mend for problem in problems for mend in problem.mends] or mends_of_error(error)
        first, *more = [page_words(problem) for problem in problems] or [str(error)]
        return {"task": task, "done": True, "refused": {"says": first, "slug": error.slug, "where": error.where,
                                                        "more": more, "mends": mends_answer(dict.fromkeys(mends))}}
    doing = None if done else worker.doing(task)
    return {"task": task, "done": done, "result": result, "doing": worded(_DOING[doing]) if doing else ""}


#: Kinds of work that the page waits for with a hand on it.
_QUICK = ("survey", "last", "preview", "typed")
#: Kinds of work nobody waits for any more when the next of the kind is asked for.
_OVERTAKEN = ("survey", "last", "preview", "typed", "plan", "ways")
#: What a long solve does, for the page.
_DOING: dict[Doing, str] = {
    "wide-search": marked("No floor that fits everything was found at once: searching more widely."),
    "photo-by-photo": marked("Leaving out one photo at a time, to see whether the rest agrees.")}


def load_rooms() -> None:
    """Load what solves and plans."""
    import_module("capture.solve")
    import_module("layout.planning.planner")
    import_module("scipy.optimize")  # the planner loads it where it is asked to prove something
