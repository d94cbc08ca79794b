"""The photos that show best which corner is which, for the booklet: small, grey, without EXIF, their marks with
them."""
from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from capture.errors import CaptureError
from capture.image.photo import decode_photo, preview_jpeg
from desk.jobfile.job import Job
from desk.jobfile.photo_entries import PhotoEntry
from desk.store.photos import read_photo
from desk.problem import JobFileError
from printpack.job import MarkedPhoto

#: Long side of a photo in the booklet, px (some 190 dpi across the text), and how many there are at most.
LONG_SIDE_PX, MOST = 1400, 4


def marked_photos(folder: Path, job: Job) -> tuple[MarkedPhoto, ...]:
    """The photos of a job in this folder; see `choose_photos`."""
    return choose_photos(job, lambda photo, named: marked_photo(folder, photo, named))


def choose_photos(job: Job, make: Callable[[PhotoEntry, set[str]], MarkedPhoto | None]) -> tuple[MarkedPhoto, ...]:
    """The fewest photos in which every marked corner and pipe shows, as a greedy choice finds them.

    make: one of them with the named marks; None for a picture that cannot be read, which is left out.
    """
    if job.floor is not None:
        return ()
    named = {*job.outline, *(pipe.name for pipe in job.pipes),
             *(name for island in job.islands for name in island.corners)}
    found: list[MarkedPhoto] = []
    left = [photo for photo in job.photos if photo.marks]
    missing = {mark.point for photo in left for mark in photo.marks} & named
    while left and missing and len(found) < MOST:
        best = max(left, key=lambda photo: len(missing & {mark.point for mark in photo.marks}))
        left.remove(best)
        shown = missing & {mark.point for mark in best.marks}
        if not shown:
            break
        made = make(best, named)
        if made is not None:
            missing -= shown
            found.append(made)
    return tuple(found)


def marked_photo(folder: Path, photo: PhotoEntry, named: set[str]) -> MarkedPhoto | None:
    """One photo, small and grey, with those of its marks that are named; None if it cannot be read."""
    try:
        data = read_photo(folder, photo.file)
        decoded = decode_photo(data, name=photo.file)
        jpeg = preview_jpeg(data, name=photo.file, long_side_px=LONG_SIDE_PX, grey=True)
    except (CaptureError, JobFileError):
        return None
    # (0, 0) is the centre of the first pixel.
    marks = {mark.point: ((mark.x_px + 0.5) / decoded.width_px, (mark.y_px + 0.5) / decoded.height_px)
             for mark in photo.marks}
    inside = {name: at for name, at in marks.items() if name in named and 0 <= at[0] <= 1 and 0 <= at[1] <= 1}
    return MarkedPhoto(name=photo.file, jpeg=jpeg, width_px=decoded.width_px, height_px=decoded.height_px,
                       marks=tuple((name, *at) for name, at in inside.items()))
