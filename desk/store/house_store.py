"""A flat's folder while its page is open: house.json read, saved whole after every change, and never overwritten unseen;
new rooms begun.

A folder with several jobs and no house.json is a flat as well: its file is written by the first change.
"""
from __future__ import annotations

import hashlib
import json
import shutil
import threading
from pathlib import Path
from typing import Any

from capture.language.messages import gettext
from desk.jobfile.files import JOB_NAME, LARGEST_BYTES, parse_json, write_job
from desk.jobfile.house_file import HOUSE_NAME, HouseEntry, parse_house
from desk.jobfile.parse import parse_job
from desk.jobfile.save import sweep, write_whole
from desk.problem import JobFileError, file_error
from desk.store.job_store import Overtaken, new_tree
from printpack.outputs.filenames import LONGEST, is_portable

#: The revision of a flat whose file is not written yet.
UNWRITTEN = "unwritten"


def is_flat(folder: Path) -> bool:
    """Whether a folder holds a flat: no job of its own, and house.json or several jobs beside one another."""
    return not (folder / JOB_NAME).is_file() and ((folder / HOUSE_NAME).is_file() or len(job_folders(folder)) > 1)


def job_folders(folder: Path) -> tuple[str, ...]:
    """Names of the folders of jobs in a folder, but for those that a command made of other jobs."""
    if not folder.is_dir():
        return ()
    return tuple(sorted(place.name for place in folder.iterdir() if not place.name.startswith(".")
                        and is_portable(place.name) and (place / JOB_NAME).is_file()))


class HouseKeeper:
    """One flat's folder; safe to use from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()

    def load(self) -> tuple[dict[str, Any], str]:
        """(the flat as JSON data, revision). Raises JobFileError for a file that cannot be read, with every fault."""
        with self._lock:
            tree = self._tree()
            if tree["rooms"] or self._revision() != UNWRITTEN:
                parse_house(tree)
            return tree, self._revision()

    def entry(self) -> HouseEntry | None:
        """The flat as it lies on the disk; None while it has no room. Raises JobFileError."""
        tree, _ = self.load()
        return parse_house(tree) if tree["rooms"] else None

    def save(self, tree: Any, *, revision: str) -> str:
        """Save a flat that was edited from `revision`; returns the new revision. Raises JobFileError, Overtaken."""
        parse_house(tree)
        with self._lock:
            self._refuse_overtaken(revision)
            self._write(tree)
            return self._revision()

    def add_room(self, title: str, *, revision: str) -> str:
        """Begin a room's job and list it, or do neither; returns the name of its folder. Raises JobFileError,
        Overtaken."""
        with self._lock:
            self._refuse_overtaken(revision)
            tree = self._tree()
            name = self._free_name(title, tree["rooms"])
            tree["rooms"].append(name)
            if tree.get("order"):  # the last one laid stays the room that people leave by
                tree["order"].insert(0, name)
            parse_house(tree)
            place = self.folder / name
            write_job(place, parse_job(new_tree(name) | {"title": title}))
            try:
                self._write(tree)
            except JobFileError:
                shutil.rmtree(place, ignore_errors=True)
                raise
            return name

    def sweep(self) -> None:
        """Take away what writes that were cut off left."""
        sweep(self.folder)

    def _tree(self) -> dict[str, Any]:
        path = self.folder / HOUSE_NAME
        try:
            if path.stat().st_size > LARGEST_BYTES:
                raise file_error("unreadable-job", gettext(
                    "{path} is larger than {most} MB, so it lists no rooms; name another folder.", path=path,
                    most=LARGEST_BYTES // 1_000_000))
            tree = parse_json(path.read_bytes(), name=HOUSE_NAME)
        except FileNotFoundError:
            return {"format": "tapegroove-house", "version": 1, "title": self._title(),
                    "rooms": list(job_folders(self.folder))}
        except OSError as error:
            raise file_error("unreadable-job", gettext(
                "{path} cannot be read ({why}); check that it may be opened.", path=path,
                why=error.strerror or error)) from error
        parse_house(tree)
        return tree

    def _title(self) -> str:
        return self.folder.resolve().name.replace("-", " ").replace("_", " ").strip().capitalize()[:80]

    def _write(self, tree: dict[str, Any]) -> None:
        write_whole(self.folder / HOUSE_NAME, json.dumps(tree, ensure_ascii=False, indent=1).encode() + b"\n")

    def _revision(self) -> str:
        try:
            return hashlib.sha256((self.folder / HOUSE_NAME).read_bytes()).hexdigest()[:20]
        except FileNotFoundError:
            return UNWRITTEN

    def _refuse_overtaken(self, revision: str) -> None:
        if not self.folder.is_dir() and revision != UNWRITTEN:
            raise file_error("job-gone", gettext(
                "{path} is no longer there, so nothing can be saved. Put the folder back and this window saves by "
                "itself.", path=self.folder))
        if revision != self._revision():
            raise Overtaken

    def _free_name(self, title: str, taken: list[str]) -> str:
        """The folder of a new room: its title, or a number where that is no name of a folder."""
        name = " ".join(title.split())
        if not is_portable(name) or len(name) > LONGEST or name.startswith("."):
            name = next(f"room {n}" for n in range(len(taken) + 1, len(taken) + 1000)
                        if not (self.folder / f"room {n}").exists())
        if name.casefold() in {other.casefold() for other in taken} or (self.folder / name).exists():
            raise file_error("room-exists", gettext(
                "There is a folder called {name} in this flat already; choose another name.", name=name), where=name)
        return name
