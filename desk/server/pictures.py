"""The job's pictures as the page sees them: taken in, shown, looked into for corners and targets. Decoded in other
processes."""
from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from capture.language.messages import gettext
from desk.jobfile.job import Job
from desk.problem import file_error
from desk.server.decoding import Decoding
from desk.server.packs import Download
from desk.server.previews import Previews
from desk.store.job_store import JobKeeper
from desk.store.photos import PhotoFacts

if TYPE_CHECKING:
    from capture.seeing.proposals import Proposals


class Pictures:
    """The pictures of one job folder; decoding: where they are decoded, if not in processes of their own."""

    def __init__(self, folder: Path, keeper: JobKeeper, decoding: Decoding | None = None) -> None:
        self._keeper = keeper
        self.decoding = decoding or Decoding(folder)
        self._previews = Previews(folder, self.decoding)
        self._founds: dict[object, Any] = {}
        self._seen: dict[str, Proposals] = {}

    def facts(self, job: Job) -> dict[str, PhotoFacts]:
        """What is known of every picture the job names."""
        return self._previews.all_facts(job)

    def facts_at_hand(self, job: Job) -> dict[str, PhotoFacts]:
        """What is known by now of the pictures the job names, for what cannot wait."""
        return self._previews.facts_at_hand(job)

    def add(self, data: bytes, *, name: str) -> dict[str, Any]:
        """Take a picture in; the page notes it in the job."""
        facts = self._keeper.add_photo(data, name=name, tell=self.decoding.tell)
        self._previews.remember(facts)
        says = "" if facts.focal_px else (
            gettext(
                "{name}: {focal_from}. It can be used; two or three tape lengths more will help. Photos sent as "
                "files, not as chat messages, keep what the phone noted.", name=name, focal_from=facts.focal_from))
        return {"file": facts.file, "size": facts.size, "says": says}

    def show(self, name: str, *, small: bool) -> tuple[Download, tuple[int, int]]:
        """A picture of photos/ for the page and the size of its upright original, px."""
        file = f"photos/{name}"
        facts = self._previews.facts(file)
        if facts.size is None:
            raise file_error("missing-photo" if facts.missing else "unreadable-photo", facts.fault, where=file)
        return Download(data=self._previews.jpeg(file, small=small), media="image/jpeg"), facts.size

    def snap(self, name: str, *, x_px: float, y_px: float) -> dict[str, Any]:
        """The foot of the corner beside a mark, looked for in the full-size picture of photos/, px; how far that is,
        and its edges.

        Raises CaptureError where there is none to trust, JobFileError.
        """
        snap = self.decoding.snap(f"photos/{name}", (x_px, y_px))
        return {"x": round(snap.x_px, 2), "y": round(snap.y_px, 2), "sd": round(snap.sd_px, 2),
                "moved": round(math.hypot(snap.x_px - x_px, snap.y_px - y_px), 1), "lines": snap.lines_px}

    def tapped(self, job: Job, name: str, *, x_px: float, y_px: float) -> dict[str, Any]:
        """The corner that both networks see at a mark in a picture of photos/, px: a better place than `snap` gives,
        and slower to come.

        Raises CaptureError where none is sure, JobFileError.
        """
        from desk.actions.look import lens_of
        file = f"photos/{name}"
        found = self.decoding.tapped(file, (x_px, y_px), lens_of(job, file)[0])
        return {"x": round(found.x_px, 2), "y": round(found.y_px, 2), "sd": round(found.sd_px, 2),
                "moved": round(math.hypot(found.x_px - x_px, found.y_px - y_px), 1)}

    def stroke(self, name: str, places_px: Sequence[tuple[float, float]]) -> dict[str, Any]:
        """Points on the floor line under a stroke of a finger, [x, y] each, px of the full-size picture of photos/.

        Raises CaptureError where no line is to be seen there, JobFileError.
        """
        points = self.decoding.stroke(f"photos/{name}", places_px)
        return {"points": [[round(x, 1), round(y, 1)] for x, y in points]}

    def targets_in(self, name: str) -> dict[str, Any]:
        """Names of the printed floor targets that are seen in a picture of photos/; none in one that cannot be read."""
        facts = self._previews.facts(f"photos/{name}", targets=True)
        return {"seen": [f"T{target.number}" for target in facts.targets]}

    def seen_in(self, job: Job, name: str) -> dict[str, Any]:
        """Corners and floor lines proposed in a picture of photos/, letters of the job that they seem to have, and what
        contradicts itself in the marks made so far. Waits until the picture was looked at, not for the others.

        Raises CaptureError, JobFileError where it cannot be read.
        """
        from desk.actions.look import lens_of, letters_of, marks_against
        from desk.text.say_look import show_seen
        file = f"photos/{name}"
        found = self._seen[file] = self._previews.proposals(file, *lens_of(job, file))
        seen = {photo.file: self._seen[photo.file] for photo in job.photos if photo.file in self._seen}
        letters = letters_of(job, seen, self.facts(job)).get(file, (None,) * len(found.corners))
        return show_seen(found, letters, marks_against(job, seen))

    @property
    def ups(self) -> dict[str, tuple[float, float, float]]:
        """Which way is up in the pictures that were looked at, by file, where their floor was seen."""
        return {file: found.up for file, found in list(self._seen.items()) if found.corners}

    def closeup(self, job: Job, options: Mapping[str, Any]) -> dict[str, Any]:
        """What one close-up tells, by its number from 0; with "keep": true also the job's parts as they are with
        that kept."""
        number = options.get("number")
        if not isinstance(number, int) or not 0 <= number < len(job.closeups):
            return {"shown": None}
        told, self._founds = self.decoding.closeup(job, number, keep=options.get("keep") is True, before=self._founds)
        return told
