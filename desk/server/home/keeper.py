"""A flat's folder while its page is open: house.json read, saved whole after every change and never overwritten unseen;
rooms begun.

A folder with several jobs and no house.json is a flat as well: its file is written by the first change.
"""
from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from capture.language.messages import gettext
from desk.actions.flat.floor_jobs import FLOORS_DIR
from desk.actions.flat.house_edits import new_house, with_room
from desk.jobfile.files import JOB_NAME, parse_job, write_job
from desk.jobfile.house_file import HouseEntry, parse_house
from desk.jobfile.save import sweep
from desk.problem import JobFileError, file_error
from desk.store.house_store import HouseKeeper, is_house, rooms_in
from desk.store.job_store import Overtaken, new_tree, title_of
from printpack.outputs.filenames import is_portable

#: The revision of a flat whose file is not written yet.
UNWRITTEN = "unwritten"
#: Folders of the flat itself.
_NO_ROOM = frozenset({FLOORS_DIR, "pack"})


def is_flat(folder: Path) -> bool:
    """Whether a folder holds a flat: no job of its own, and house.json or several jobs beside one another."""
    return not (folder / JOB_NAME).is_file() and (is_house(folder) or len(rooms_in(folder)) > 1)


class FlatKeeper:
    """One flat's folder; safe to use from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._keeper = HouseKeeper(folder)

    def load(self) -> tuple[dict[str, Any], str]:
        """(the flat as JSON data, revision). Raises JobFileError for a file that cannot be read, with every fault."""
        if is_house(self.folder):
            return self._keeper.load()
        if not self.folder.is_dir():
            return self._unwritten(()), UNWRITTEN
        return self._unwritten(rooms_in(self.folder)), UNWRITTEN

    def entry(self) -> HouseEntry | None:
        """The flat as it is now; None while it has no room. Raises JobFileError."""
        tree, _ = self.load()
        return parse_house(tree) if tree["rooms"] else None

    def save(self, tree: Any, *, revision: str) -> str:
        """Save a flat that was edited from `revision`; returns the new revision. Raises JobFileError, Overtaken."""
        parse_house(tree)
        if revision != UNWRITTEN:
            self._refuse_gone()
            return self._keeper.change(lambda _: tree, revision=revision)
        if is_house(self.folder):
            raise Overtaken(is_flat=True)
        return self._keeper.begin(tree)

    def add_room(self, title: str, *, revision: str) -> str:
        """Begin a room's job and list it, or do neither; returns the name of its folder. Raises JobFileError,
        Overtaken."""
        tree, there = self.load()
        if revision != there:
            raise Overtaken(is_flat=True)
        name = self._free_name(title, tree["rooms"])
        listed = with_room(tree, name) if tree["rooms"] else new_house([name], tree["title"])
        write_job(self.folder / name, parse_job(new_tree(name) | {"title": title}))
        try:
            self.save(listed, revision=revision)
        except (JobFileError, Overtaken):
            shutil.rmtree(self.folder / name, ignore_errors=True)
            raise
        return name

    def beside(self) -> tuple[str, ...]:
        """Folders of jobs that the flat does not list."""
        listed = self.load()[0]["rooms"]
        return tuple(name for name in rooms_in(self.folder) if name not in listed)

    def room_folders(self) -> Iterator[Path]:
        """Where the jobs of its rooms lie, in the order listed; nowhere while the flat cannot be read."""
        with suppress(JobFileError):
            for name in self.load()[0]["rooms"]:
                yield self.folder / name

    def rooms_and_floors(self) -> tuple[str, ...]:
        """All that may be opened, and so written to: the rooms, and the floors made of them as "floors/NAME", but for
        what lies elsewhere and is linked here."""
        place = self.folder / FLOORS_DIR
        floors = () if place.is_symlink() else rooms_in(place)
        rooms = (name for name in self.load()[0]["rooms"] if not (self.folder / name).is_symlink())
        return (*rooms, *(f"{FLOORS_DIR}/{name}" for name in floors))

    def sweep(self) -> None:
        """Take away what writes that were cut off left."""
        if self.folder.is_dir():
            sweep(self.folder)

    def _unwritten(self, rooms: tuple[str, ...]) -> dict[str, Any]:
        title = title_of(self.folder.resolve().name)[:80]
        return {"format": "tapegroove-house", "version": 1, "title": title, "rooms": list(rooms), "doorways": []}

    def _refuse_gone(self) -> None:
        if not is_house(self.folder):
            raise file_error("job-gone", gettext(
                "{folder} holds no house.json any more, so nothing can be saved. Put it back and this window saves by "
                "itself.", folder=self.folder))

    def _free_name(self, title: str, taken: list[str]) -> str:
        """The folder of a new room: its title, or a number where that is no name of a folder."""
        name = " ".join(title.split())
        if not is_portable(name) or name.startswith(".") or name.casefold() in _NO_ROOM:
            name = next(f"room {n}" for n in range(len(taken) + 1, len(taken) + 1000)
                        if not (self.folder / f"room {n}").exists())
        if name.casefold() in {other.casefold() for other in taken} or (self.folder / name).exists():
            raise file_error("room-exists", gettext(
                "There is a folder called {name} in this flat already; choose another name.", name=name), where=name)
        return name
