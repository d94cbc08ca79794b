"""house.json while the page is open: read, changed whole, and never overwritten unseen."""
from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from capture.language.messages import gettext
from desk.jobfile.files import JOB_NAME, LARGEST_BYTES, language_named, parse_json, read_tree
from desk.jobfile.house_file import HOUSE_NAME, HouseEntry, parse_house
from desk.jobfile.save import write_whole
from desk.jobfile.written import job_text
from desk.problem import JobFileError, file_error
from desk.store.job_store import Overtaken
from printpack.outputs.filenames import is_portable

#: Where the floors of a house lie, beside house.json.
FLOORS_DIR = "floors"


def read_house(folder: Path) -> HouseEntry:
    """house.json in a folder. Raises JobFileError with every fault."""
    return parse_house(read_house_tree(folder))


def read_house_tree(folder: Path) -> Any:
    """The same as plain data. Raises JobFileError if there is none or it cannot be read."""
    path = folder / HOUSE_NAME
    if not path.is_file():
        raise file_error("no-house", gettext(
            "The folder {folder} holds no {file}; write one that lists the rooms and the doorways between them "
            "(README: A whole house).", folder=folder, file=HOUSE_NAME))
    return parse_json(_bytes_of(path), name=HOUSE_NAME)


def language_of_house(folder: Path) -> str | None:
    """The language that the first room asks for which names one; None where none does, or the house cannot be read."""
    try:
        rooms = read_house(folder).rooms
    except JobFileError:
        return None
    return next(filter(None, (language_named(folder / name) for name in rooms)), None)


def is_house(folder: Path) -> bool:
    """Whether a folder holds a house."""
    return (folder / HOUSE_NAME).is_file()


def rooms_in(folder: Path) -> tuple[str, ...]:
    """The folders beside one another that hold a job each, by name: what a new house can be made of."""
    if not folder.is_dir():
        return ()
    return tuple(sorted(place.name for place in folder.iterdir() if is_portable(place.name)
                        and not place.is_symlink() and (place / JOB_NAME).is_file()))


def floor_made_of(folder: Path, room: str) -> Path | None:
    """The folder of the floor that was made of a room of a house; None for a room that is in none."""
    for place in sorted((folder / FLOORS_DIR).glob(f"*/{JOB_NAME}")) if is_house(folder) else ():
        if room in _rooms_of(place.parent):
            return place.parent
    return None


def rooms_in_floors(folder: Path) -> frozenset[str]:
    """The rooms that floors of a house have been made of: they are planned as those."""
    places = (folder / FLOORS_DIR).glob(f"*/{JOB_NAME}") if is_house(folder) else ()
    return frozenset(room for place in places for room in _rooms_of(place.parent))


def _rooms_of(floor: Path) -> set[str]:
    """The rooms that a floor has been made of."""
    try:
        rooms = read_tree(floor).get("house")
    except (JobFileError, AttributeError):
        return set()
    return {str(room) for room in rooms} if isinstance(rooms, list) else set()


class HouseKeeper:
    """One house.json; safe to use from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()

    def load(self) -> tuple[dict[str, Any], str]:
        """(house as JSON data, revision: a digest of the file as it lies on the disk). Raises JobFileError."""
        with self._lock:
            return self._load()

    def begin(self, tree: dict[str, Any]) -> str:
        """Write a first house.json; returns its revision. Raises JobFileError if one is there."""
        with self._lock:
            if is_house(self.folder):
                raise file_error("house-there", gettext("The folder {folder} holds a {file} already; open that.",
                                                        folder=self.folder, file=HOUSE_NAME))
            return self._write(tree)

    def change(self, change: Callable[[dict[str, Any]], dict[str, Any]], *, revision: str) -> str:
        """Save what `change` makes of the house; returns the new revision. revision: of the house it was chosen for.

        Raises JobFileError as `change` does, Overtaken if the file is another by now; it is then as it was.
        """
        with self._lock:
            tree, there = self._load()
            if revision != there:
                raise Overtaken(is_flat=True)
            return self._write(change(tree))

    def _load(self) -> tuple[dict[str, Any], str]:
        tree = read_house_tree(self.folder)
        parse_house(tree)
        return tree, self._revision()

    def _write(self, tree: dict[str, Any]) -> str:
        parse_house(tree)
        write_whole(self.folder / HOUSE_NAME, job_text(tree).encode("utf-8"))
        return self._revision()

    def _revision(self) -> str:
        return hashlib.sha256(_bytes_of(self.folder / HOUSE_NAME)).hexdigest()[:20]


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise file_error("unreadable-job", gettext(
                "{path} is larger than {most} MB, so it lists no rooms; name another folder.", path=path,
                most=LARGEST_BYTES // 1_000_000))
        return path.read_bytes()
    except OSError as error:
        raise file_error("unreadable-job", gettext(
            "{path} cannot be read ({why}); check that it may be opened.", path=path,
            why=error.strerror or error)) from error
