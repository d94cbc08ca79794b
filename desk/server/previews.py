"""Pictures of a job made ready for the page, and what can be told of each: worked out once for every state of a
file."""
from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from desk.server.decoding import Decoding
from desk.jobfile.job import Job
from desk.store.photos import PhotoFacts

if TYPE_CHECKING:
    from capture.seeing.proposals import Proposals

T = TypeVar("T")

#: Long side of the picture that is marked and of the small one in the strip, px.
LARGE_PX, SMALL_PX = 2800, 240
_REMEMBERED = 80


class Previews:
    """What was made of the pictures in one folder; a file that changes is looked at afresh."""

    def __init__(self, folder: Path, decoding: Decoding) -> None:
        self._folder, self._decoding = folder, decoding
        self._made: OrderedDict[tuple[object, ...], Any] = OrderedDict()
        self._making: dict[tuple[object, ...], threading.Lock] = {}
        self._lock = threading.Lock()

    def facts(self, file: str, *, targets: bool = False) -> PhotoFacts:
        """Size and lens of one picture, and the printed targets in it if asked; a bad picture is a fact, not an
        error."""
        return self._once("facts and targets" if targets else "facts", file,
                          lambda: self._decoding.facts(file, targets=targets))

    def all_facts(self, job: Job) -> dict[str, PhotoFacts]:
        """The facts of every photo the job names, by file."""
        return {photo.file: self.facts(photo.file, targets=job.targets is not None) for photo in job.photos}

    def facts_at_hand(self, job: Job) -> dict[str, PhotoFacts]:
        """The facts that are known by now, by file; no picture is opened for it."""
        found = {}
        for photo in job.photos:
            state = _state(self._folder / photo.file)
            with self._lock:
                made = [self._made.get((what, photo.file, *state)) for what in ("facts", "facts and targets")]
            known = next((facts for facts in made if facts is not None), None)
            if known is not None:
                found[photo.file] = known
        return found

    def jpeg(self, file: str, *, small: bool) -> bytes:
        """The upright picture, without EXIF. Raises JobFileError or CaptureError if it cannot be read."""
        side = SMALL_PX if small else LARGE_PX
        return self._once(f"jpeg {side}", file, lambda: self._decoding.preview(file, long_side_px=side))

    def proposals(self, file: str, focal_px: float | None, k1: float) -> Proposals:
        """What is seen in one picture. Raises JobFileError or CaptureError if it cannot be read."""
        return self._once(f"proposals {focal_px} {k1}", file, lambda: self._decoding.look(file, focal_px, k1))

    def remember(self, facts: PhotoFacts) -> None:
        """Keep the facts of a picture that was just taken in, so that it is not decoded again for them."""
        self._keep(("facts", facts.file, *_state(self._folder / facts.file)), facts)

    def _once(self, what: str, file: str, make: Callable[[], T]) -> T:
        key = (what, file, *_state(self._folder / file))
        with self._lock:
            making = self._making.setdefault(key, threading.Lock())
        # Two requests for one picture wait for one another; requests for different pictures do not.
        with making:
            with self._lock:
                if key in self._made:
                    return self._made[key]
            made = make()
            self._keep(key, made)
        return made

    def _keep(self, key: tuple[object, ...], made: object) -> None:
        with self._lock:
            self._making.pop(key, None)
            self._made[key] = made
            while len(self._made) > _REMEMBERED:
                self._made.popitem(last=False)


def _state(path: Path) -> tuple[int, int]:
    """Time and size of a file; zeros for one that is not there."""
    try:
        told = path.stat()
    except (OSError, ValueError):
        return 0, 0
    return told.st_mtime_ns, told.st_size
