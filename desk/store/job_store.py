"""The job folder while the page is open: read, saved whole after every change, and never overwritten unseen.

A revision is a digest of job.json as it lies on the disk, so a change made by another window, by a command or by hand
is noticed alike.
"""
from __future__ import annotations

import dataclasses
import hashlib
import threading
from collections.abc import Callable
from pathlib import Path, PurePath
from typing import Any

from capture.language.messages import gettext
from desk.jobfile.job import Job
from desk.jobfile.files import JOB_NAME, parse_job, read_job, read_tree, with_keys, write_job
from desk.jobfile.parse import FORMAT, VERSION
from desk.store.photos import PHOTO_DIR, PhotoFacts, refuse_linked, store_photo, tell_picture
from desk.problem import file_error
from desk.store.settings import read_settings
from desk.jobfile.save import sweep


class Overtaken(Exception):
    """job.json is no longer what the window last saw; house.json, where it `is_flat`."""

    def __init__(self, *, is_flat: bool = False) -> None:
        super().__init__()
        self.is_flat = is_flat


class JobKeeper:
    """One job folder; safe to use from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock, self._storing = threading.Lock(), threading.Lock()
        #: The revision of a job begun here whose units nobody has asked for yet.
        self._open_units = ""

    def open_or_start(self, units: str | None = None) -> bool:
        """Make sure there is a readable job; returns whether a new one was begun. units: its units, where this machine
        has kept none of an earlier job; None leaves them to `settle_units`. Raises JobFileError."""
        if (self.folder / JOB_NAME).is_file():
            read_job(self.folder)
            sweep(self.folder)
            sweep(self.folder / PHOTO_DIR)
            return False
        if self.folder.exists() and not self.folder.is_dir():
            raise file_error("no-job", gettext(
                "{folder} is not a folder; name the folder of a job, or a new one.", folder=self.folder))
        kept = read_settings()[0].show or units
        write_job(self.folder, parse_job(new_tree(self.folder.name, kept)))
        self._open_units = self._revision() if kept is None else ""
        return True

    def settle_units(self, units: str | None) -> None:
        """The units of a job that was begun here in none that anybody asked for, while nobody has changed it; asked
        once. None: they stay metric. Raises JobFileError."""
        with self._lock:
            if units and self._open_units and self._open_units == self._revision():
                write_job(self.folder, with_keys(parse_job(read_tree(self.folder)), show=units))
            self._open_units = ""

    def load(self) -> tuple[dict[str, Any], str]:
        """(job as JSON data, revision). Raises JobFileError."""
        with self._lock:
            return read_tree(self.folder), self._revision()

    def revision(self) -> str:
        """The digest of job.json as it lies on the disk."""
        with self._lock:
            return self._revision()

    def save(self, tree: Any, *, revision: str) -> str:
        """Save a job that was edited from `revision`; returns the new revision. Raises JobFileError, Overtaken.

        A plan kept in it and the log of the day stay: windows edit the rest only, so that undoing an edit never brings
        an earlier plan back or loses an entry.
        """
        job = parse_job(tree)
        with self._lock:
            there_now = self._revision()
            if revision and not there_now:
                raise file_error("job-gone", gettext(
                    "{folder} is no longer there, so nothing can be saved. Put the folder back and this window saves "
                    "by itself, or download a copy of the job here and open the desk where the folder is now.",
                    folder=self.folder / JOB_NAME))
            if revision != there_now:
                raise Overtaken()
            there = read_tree(self.folder) if revision else {}
            kept = {key: there[key] for key in ("plan", "day") if there.get(key) is not None}
            write_job(self.folder, with_keys(job, **kept) if kept else job)
            return self._revision()

    def keep(self, made: Job, *, instead_of: Job) -> str:
        """Save a job with a plan put into it or taken out; returns the new revision.

        instead_of: the job as it was read before the plan was made. Raises JobFileError, also if the job is no longer
        that.
        """
        with self._lock:
            if read_tree(self.folder) != instead_of.data:
                raise file_error("overtaken", gettext(
                    "The job was changed while its plan was made, so the plan was not kept; keep the plan of the job "
                    "as it is now."))
            write_job(self.folder, made)
            return self._revision()

    def add_photo(self, data: bytes, *, name: str,
                  tell: Callable[[bytes, str], PhotoFacts] = tell_picture) -> PhotoFacts:
        """Keep a picture's own bytes in photos/; a picture that is there already is found again and not kept twice.

        tell: decodes it, somewhere else where that matters; no lock is held meanwhile. Raises CaptureError for what is
        no picture (nothing is then written), JobFileError if the disk refuses.
        """
        name = PurePath(name).name[:80] or gettext("the picture")
        refuse_linked(self.folder)
        facts = tell(data, name)
        with self._storing:
            file = self._find_same(data) or store_photo(self.folder, data, name=name)
        return dataclasses.replace(facts, file=file)

    def _find_same(self, data: bytes) -> str:
        folder = self.folder / PHOTO_DIR
        files = folder.iterdir() if folder.is_dir() else ()
        # What begins with a full stop is on its way to the disk, or was left there by a write that was cut off.
        same = (p for p in files if not p.name.startswith(".") and p.is_file() and p.stat().st_size == len(data)
                and p.read_bytes() == data)
        return next((f"{PHOTO_DIR}/{p.name}" for p in same), "")

    def _revision(self) -> str:
        try:
            return hashlib.sha256((self.folder / JOB_NAME).read_bytes()).hexdigest()[:20]
        except FileNotFoundError:
            return ""


def title_of(name: str) -> str:
    """What the folder's name says as a title; "" where it says nothing."""
    return name.replace("-", " ").replace("_", " ").strip().capitalize()


def new_tree(name: str, show: str | None = None) -> dict[str, Any]:
    """A job with nothing in it yet; show: its units, else those of this machine's last job, else metric."""
    title = title_of(name) or gettext("My room")
    return {"format": FORMAT, "version": VERSION, "title": gettext("My room") if name == "tapegroove-job" else title,
            "show": show or read_settings()[0].show or "metric", "outline": [], "photos": [], "tape": []}
