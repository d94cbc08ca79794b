"""What a flat's page can ask of the desk: the flat opened and saved, rooms begun, looked at together and bought for.
Each answer is plain data."""
from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from capture.language.messages import Language, gettext
from desk.jobfile.files import readable_job
from desk.jobfile.house_file import HouseEntry
from desk.problem import JobFileError, JobProblems, Problem, file_error
from desk.server.defaults import choices
from desk.server.home.keeper import FlatKeeper
from desk.server.home.plans import EFFORTS, Plans
from desk.server.home.rooms import Rooms
from desk.server.http.guard import Guard
from desk.server.reader import reader_of
from desk.server.routes import load_rooms, told_of
from desk.server.worker import Worker, once_page_is_shown

if TYPE_CHECKING:
    from desk.actions.flat.state import FlatState


class Flat:
    """One open flat: its file by `keeper`, its rooms' desks by `rooms`."""

    def __init__(self, folder: Path, guard: Guard) -> None:
        self.guard = guard
        self.keeper = FlatKeeper(folder)
        self.rooms = Rooms(self.keeper, guard)
        self._quick, self._slow = Worker(), Worker()
        self._plans = Plans(self.rooms.shared.planning, self.rooms.shared.packs)
        self._warming: threading.Timer | None = None

    def warm_up(self) -> None:
        """Load what looking and buying need while the page loads."""
        def begin() -> None:
            self._quick.start("warm-up", load_rooms)
            self._slow.start("warm-up", self.rooms.shared.planning.warm_up)
        self._warming = once_page_is_shown(begin)

    def close(self) -> None:
        """Drop all work, that of the rooms too."""
        if self._warming is not None:
            self._warming.cancel()
        self._quick.close()
        self._slow.close()
        self.rooms.close()

    def reader(self, wishes: str) -> Language:
        """The language of whoever sends this Accept-Language: that of the first room that names one."""
        return reader_of(self.keeper.room_folders(), wishes)

    def open(self) -> dict[str, Any]:
        """The flat with its revision, where it lies, and folders of jobs beside its rooms that it does not list."""
        tree, revision = self.keeper.load()
        return {"job": tree, "revision": revision, "folder": str(self.keeper.folder), "beside": self.keeper.beside(),
                "choices": choices()}

    def save(self, tree: Any, *, revision: str) -> dict[str, str]:
        """Save what the page edited. Raises JobFileError, Overtaken."""
        return {"revision": self.keeper.save(tree, revision=revision)}

    def add_room(self, title: str, *, revision: str) -> dict[str, str]:
        """Begin a room; the name it is opened by. Raises JobFileError, Overtaken."""
        return {"room": self.keeper.add_room(title, revision=revision)}

    def start(self, kind: str, options: dict[str, Any]) -> dict[str, Any]:
        """Begin to look, to buy, to keep the plans or to print them; its result, or the task to ask for again."""
        steps: dict[str, Callable[[dict[str, Any]], Any]] = {
            "look": self._look, "buy": self._buy, "keep": self._keep, "pack": self._pack}
        if kind == "buy":
            self.rooms.shared.planning.drop()
        return self.task(self._worker_of(kind).start(kind, partial(steps[kind], options),
                                                     droppable=kind in ("look", "buy")))

    def task(self, task: str) -> dict[str, Any]:
        """How a task stands."""
        return told_of(self._worker_of(task), task)

    def _worker_of(self, task: str) -> Worker:
        return self._quick if task.partition("-")[0] in ("look", "warm") else self._slow

    def _look(self, options: dict[str, Any]) -> dict[str, Any]:
        from desk.server.home.looked import Seen, show_flat
        entry = self.keeper.entry()
        if entry is None:
            return {"rooms": {}, "doorways": [], "free": [], "parts": 0, "order": {"rooms": [], "rule": ""},
                    "boards": [], "boardless": [], "problems": []}
        jobs = {name: job for name in entry.rooms if (job := readable_job(self.keeper.folder / name)) is not None}
        state, troubles = None, tuple[Problem, ...]()
        try:
            state, troubles = self._state(entry)
        except JobProblems as error:
            troubles = error.problems
        return show_flat(Seen(entry=entry, jobs=jobs, state=state, troubles=troubles))

    def _state(self, entry: HouseEntry) -> tuple[FlatState, tuple[Problem, ...]]:
        """The flat as it stands and what is wrong; where the rows cannot lie as asked, as they would without. Raises
        JobProblems if no room has a floor."""
        from desk.actions.flat.state import flat_state
        try:
            state = flat_state(self.keeper.folder, survey_of=self.rooms.survey, entry=entry)
            return state, state.troubles
        except JobFileError as error:
            if error.where != "direction":
                raise
            state = flat_state(self.keeper.folder, survey_of=self.rooms.survey, entry=replace(entry, direction=None))
            return state, (*error.problems, *state.troubles)

    def _buy(self, options: dict[str, Any]) -> dict[str, Any]:
        """What the flat takes together. Raises JobProblems where no room has a floor, JobFileError."""
        entry, effort = self.keeper.entry(), str(options.get("effort"))
        if entry is None or effort not in EFFORTS:
            return {"together": None, "floors": [], "problems": [], "kept": False}
        return self._plans.buy(self._state(entry)[0], effort)

    def _keep(self, options: dict[str, Any]) -> dict[str, Any]:
        return self._plans.keep(self._now())

    def _pack(self, options: dict[str, Any]) -> dict[str, Any]:
        return self._plans.pack(self._now(), each=options.get("each") is True)

    def _now(self) -> FlatState:
        """The flat as it stands. Raises JobFileError, JobProblems for one without a room or a floor."""
        entry = self.keeper.entry()
        if entry is None:
            raise file_error("no-house", gettext("There is no room in this flat yet; begin one first."))
        return self._state(entry)[0]
