"""The desks of a flat's rooms: each is opened when it is asked for first, and all share the processes that decode and
plan."""
from __future__ import annotations

import threading
from itertools import chain
from pathlib import Path
from typing import Any

from capture.adjustment.survey import Survey
from capture.language.messages import Language, gettext
from desk.jobfile.job import Job
from desk.problem import file_error
from desk.server.cache import Solver
from desk.server.decoding import Decoding
from desk.server.home.keeper import FlatKeeper
from desk.server.http.guard import Guard
from desk.server.packs import Packs
from desk.server.reader import reader_of
from desk.server.routes import Desk, Shared
from desk.store.house_store import is_house


class RoomDesk(Desk):
    """The desk of one room of a flat."""

    def __init__(self, room: str, keeper: FlatKeeper, guard: Guard, shared: Shared) -> None:
        super().__init__(keeper.folder / room, guard, shared)
        self._house, self._room = keeper, room

    def reader(self, wishes: str) -> Language:
        """As for any job; a room that names no language is read in that of the flat."""
        return reader_of(chain((self.keeper.folder,), self._house.room_folders()), wishes)

    def open_job(self, wishes: str = "") -> dict[str, Any]:
        """As for any job, the flat's title, for the page has a way back, and what is told there of the flat's plan."""
        return super().open_job(wishes) | {"flat": self._house.load()[0].get("title") or gettext("All rooms"),
                                           "in_flat": self._in_flat()}

    def _in_flat(self) -> dict[str, Any] | None:
        """What the flat's plan gives this room; None where no file lists the rooms yet."""
        from desk.actions.flat.room_in_flat import room_in_flat
        return room_in_flat(self._house.folder, self._room) if is_house(self._house.folder) else None


class Rooms:
    """The desks of the rooms that a flat lists and of the floors made of them, and of no others."""

    def __init__(self, keeper: FlatKeeper, guard: Guard) -> None:
        self._keeper, self._guard = keeper, guard
        self.shared = Shared(decoding=Decoding(keeper.folder), planning=Solver().planning, packs=Packs())
        self._lock = threading.Lock()
        self._open: dict[str, RoomDesk] = {}

    def desk(self, name: str) -> RoomDesk:
        """The desk of a room, or of a floor by "floors/NAME". Raises JobFileError for a name that the flat does not
        list, and for a flat that cannot be read."""
        if name not in self._keeper.rooms_and_floors():
            raise file_error("unknown-room", gettext(
                "There is no room {name} in this flat; go back to all rooms.", name=name[:80]), where=name[:80])
        return self._desk(name)

    def _desk(self, name: str) -> RoomDesk:
        with self._lock:
            if name not in self._open:
                self._open[name] = RoomDesk(name, self._keeper, self._guard, self.shared)
            return self._open[name]

    def survey(self, place: Path, job: Job) -> Survey:
        """The survey of a room's job, by its folder; worked out once for each state of it. Raises as `solve_job`
        does."""
        return self._desk(place.name).session.survey_of(job)

    def close(self) -> None:
        """Drop all work of all rooms."""
        with self._lock:
            for desk in self._open.values():
                desk.close()
        self.shared.close()
