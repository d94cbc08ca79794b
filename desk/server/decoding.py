"""Pictures decoded for the desk in processes of their own: a small file can say that it is a hundred megapixels.

There are two lanes. Pictures as most phones take them go in one, two at a time; larger ones in another, one at a time,
so that none of them keeps the others waiting and no two of them fill the memory. A picture that is too much even so
ends its process, not the desk. Floor corners are looked for in a lane of their own: a picture can be marked before that
is done.
"""
from __future__ import annotations

import copy
import multiprocessing
import os
import threading
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from capture.errors import CaptureError
from capture.language.messages import gettext
from desk.limited_pool import LimitedPool, Death, Limits
from desk.jobfile.job import Job
from desk.jobfile.photo_entries import PhotoEntry
from desk.store.photos import PhotoFacts, photo_facts, photo_pixels, photo_preview, read_photo, tell_picture
from desk.problem import JobFileError, file_error
from desk.server.worker import Replaced

if TYPE_CHECKING:
    from capture.image.snap import Snap
    from capture.seeing.proposals import Proposals
    from capture.seeing.tapped_corner import TappedCorner, TapView
    from desk.actions.closeups import Founds
    from printpack.job import MarkedPhoto

#: Pictures of more pixels than this take turns.
USUAL_PIXELS = 25_000_000
#: Address space that threads of the libraries may reserve, MB: glibc's arena and stack for each, of which hardly
#: anything is ever used.
_THREADS_MB = 72.0 * (os.cpu_count() or 1)
#: What reading one picture may take. Address space: some 480 MB are taken before it begins; 120 megapixels take 480
#: decoded, 360 as an array.
USUAL = Limits(seconds=120.0, memory_mb=1000.0 + _THREADS_MB)
LARGE = Limits(seconds=120.0, memory_mb=1600.0 + _THREADS_MB)
#: What looking for corners in one picture may take.
LOOKING = Limits(seconds=60.0, memory_mb=1900.0 + _THREADS_MB)
_NICE = 5


class Decoding:
    """Everything the desk wants to know of pictures; safe to use from several threads. `close` it in the end."""

    def __init__(self, folder: Path, *, usual_pixels: int = USUAL_PIXELS) -> None:
        self._folder, self._usual_pixels = folder, usual_pixels
        self._usual, self._large = LimitedPool(2, USUAL), LimitedPool(1, LARGE)
        self._looking = LimitedPool(1, LOOKING)
        self._closed = threading.Event()

    def beside(self, folder: Path) -> Decoding:
        """For the pictures of another job, in the same processes: to close one is to close both."""
        other = copy.copy(self)
        other._folder = folder
        return other

    def warm_up(self) -> None:
        """Have the lane of usual pictures ready."""
        self._in(self._usual, _ready)

    def close(self) -> None:
        """Drop all work; whoever waits for some is told that it was replaced."""
        self._closed.set()
        self._usual.close()
        self._large.close()
        self._looking.close()

    def tell(self, data: bytes, name: str) -> PhotoFacts:
        """What a picture is that has just come in, by its bytes. Raises CaptureError, JobFileError (heavy-photo)."""
        return self._run(tell_picture, data, name)

    def facts(self, file: str, *, targets: bool = False) -> PhotoFacts:
        """As `desk.store.photos.photo_facts`."""
        try:
            return self._run(partial(photo_facts, targets=targets), self._folder, file)
        except JobFileError as error:
            return PhotoFacts(file=file, fault=str(error))

    def preview(self, file: str, *, long_side_px: int) -> bytes:
        """As `desk.store.photos.photo_preview`."""
        return self._run(partial(photo_preview, long_side_px=long_side_px), self._folder, file)

    def snap(self, file: str, at_px: tuple[float, float]) -> Snap:
        """As `capture.image.snap.snap_mark`, in the full-size picture."""
        return self._run(_snapped, self._folder, file, at_px)

    def tapped(self, file: str, at_px: tuple[float, float], focal_px: float | None) -> TappedCorner:
        """As `capture.seeing.tapped_corner.corner_at_tap`; the first tap in a picture waits until it was looked at."""
        return self._in(self._looking, _tapped, self._folder, file, at_px, focal_px)

    def stroke(self, file: str, stroke_px: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """As `capture.image.stroke.points_on_line`, in the full-size picture."""
        return self._run(_followed, self._folder, file, stroke_px)

    def look(self, file: str, focal_px: float | None, k1: float) -> Proposals:
        """As `desk.actions.look.look_in_bytes`; one picture after the other."""
        return self._in(self._looking, _proposed, self._folder, file, focal_px, k1)

    def marked(self, photo: PhotoEntry, named: set[str]) -> MarkedPhoto | None:
        """As `desk.store.corner_photos.marked_photo`."""
        try:
            return self._run(_marked, self._folder, photo.file, photo, named)
        except JobFileError:
            return None

    def closeup(self, job: Job, number: int, *, keep: bool, before: Founds) -> tuple[dict[str, Any], Founds]:
        """As `desk.text.closeup_view.tell_closeup`, and the references found before with what was found now."""
        return self._run(_closeup, self._folder, job.closeups[number].file, job, number, keep, before)

    def _run(self, work: Callable[..., Any], source: Path | bytes, file: str, *more: Any) -> Any:
        """`work(source, file, *more)` in the picture's lane. source: the job's folder, or the picture's bytes."""
        fits, result = self._in(self._usual, _if_usual, self._usual_pixels, work, source, file, more)
        return result if fits else self._in(self._large, _alone, work, source, file, more)

    def _in(self, lane: LimitedPool, work: Callable[..., Any], *arguments: Any) -> Any:
        """Raises the CaptureError or JobFileError that was raised there, JobFileError (heavy-photo), Replaced,
        RuntimeError for a fault."""
        if self._closed.is_set():
            raise Replaced("closed")
        asked = lane.submit(_told, work, arguments)
        if self._closed.is_set():  # in between
            lane.close()
        told = asked.result()
        if isinstance(told, Death):
            if self._closed.is_set():
                raise Replaced("closed")
            name = next((part for part in arguments if isinstance(part, str)), gettext("the picture"))
            raise file_error("heavy-photo", gettext(
                "{name}: reading this picture takes more memory or time than the desk gives to one; save it smaller, "
                "as a JPEG.", name=name), where=name)
        how, result = told
        if how == "refused":
            slug, message, where = result
            raise CaptureError(slug, message, where=where)
        if how == "file":
            raise JobFileError(result)
        if how == "fault":
            raise RuntimeError(result)
        return result


# What follows runs in those processes. --------------------------------------------------------------

#: The picture that marks are being snapped in: which, and its pixels.
_last: tuple[object, Any] | None = None


def _told(work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[str, Any]:
    """How the work ended, in plain data: an error of ours does not survive the way between processes as it is."""
    _stand_back()
    try:
        return "done", work(*arguments)
    except CaptureError as error:
        return "refused", (error.slug, error.message, error.where)
    except JobFileError as error:
        return "file", error.problems
    except MemoryError:
        raise
    except Exception as error:  # whatever it is, the one who asked is told
        return "fault", f"{type(error).__name__}: {error}"


def _stand_back() -> None:
    """The page comes before its pictures."""
    if hasattr(os, "nice") and multiprocessing.parent_process() is not None and os.nice(0) < _NICE:
        os.nice(_NICE)


def _ready() -> None:
    import capture.image.photo  # noqa: F401  loaded before it is wanted


def _if_usual(most: int, work: Callable[..., Any], source: Path | bytes, file: str,
              more: tuple[Any, ...]) -> tuple[bool, Any]:
    """(True, the result), or (False, None) with nothing decoded where the picture says that it is large."""
    from capture.image.photo import claimed_pixels
    try:
        data = source if isinstance(source, bytes) else read_photo(source, file)
        if claimed_pixels(data, name=file) > most:
            return False, None
    except (CaptureError, JobFileError):
        pass  # the work itself says what is wrong
    return True, _alone(work, source, file, more)


def _alone(work: Callable[..., Any], source: Path | bytes, file: str, more: tuple[Any, ...]) -> Any:
    """The result, with no other picture's pixels held meanwhile."""
    global _last
    if _last is not None and _last[0] != _state(source, file):
        _last = None
    return work(source, file, *more)


def _snapped(folder: Path, file: str, at_px: tuple[float, float]) -> Snap:
    from capture.image.snap import snap_mark
    return snap_mark(_kept_pixels(folder, file), at_px)


#: The picture that taps are answered in: which, and what they need of it.
_view: tuple[object, TapView] | None = None


def _tapped(folder: Path, file: str, at_px: tuple[float, float], focal_px: float | None) -> TappedCorner:
    from capture.seeing.tapped_corner import corner_at_tap, view_for_taps
    from desk.actions.look import place_finder, segmenter
    global _view
    state = _state(folder, file), focal_px
    if _view is None or _view[0] != state:
        _view = state, view_for_taps(photo_pixels(folder, file), segmenter(), focal_px)
    return corner_at_tap(_view[1], at_px, place_finder())


def _followed(folder: Path, file: str, stroke_px: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    import numpy as np
    from capture.image.stroke import points_on_line
    found = points_on_line(_kept_pixels(folder, file), np.array(stroke_px, dtype=float))
    return [(float(x), float(y)) for x, y in found]


def _kept_pixels(folder: Path, file: str) -> Any:
    """Marks are set one after the other in one picture: its pixels are kept until another comes."""
    global _last
    if _last is None:
        _last = _state(folder, file), photo_pixels(folder, file)
    return _last[1]


def _state(source: Path | bytes, file: str) -> object:
    if isinstance(source, bytes):
        return None
    try:
        told = (source / file).stat()
    except (OSError, ValueError):
        return None
    return source, file, told.st_mtime_ns, told.st_size


def _proposed(folder: Path, file: str, focal_px: float | None, k1: float) -> Proposals:
    from desk.actions.look import look_in_bytes
    return look_in_bytes(read_photo(folder, file), file, focal_px, k1)


def _marked(folder: Path, file: str, photo: PhotoEntry, named: set[str]) -> MarkedPhoto | None:
    from desk.store.corner_photos import marked_photo
    return marked_photo(folder, photo, named)


def _closeup(
    folder: Path, file: str, job: Job, number: int, keep: bool, before: Founds
) -> tuple[dict[str, Any], Founds]:
    from desk.text.closeup_view import tell_closeup
    return tell_closeup(folder, job, number, keep=keep, before=before), before
