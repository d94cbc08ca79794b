"""What is seen in a job's photos: corners and floor lines proposed, letters for them. Nothing in the job changes.

The network's weights are a file of this package; the photos are read here, the seeing is pure
(`capture.seeing.proposals`). `look_in_bytes` takes and gives plain values, so that it can run in a process that is
dropped when nobody waits for it any more.
"""
from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from capture.errors import CaptureError
from capture.seeing.contradictions import Contradiction, Marked, contradictions
from capture.seeing.known_letters import MARKED_SHARE, NEW, known_letters
from capture.seeing.proposals import Proposals, propose
from capture.seeing.same_room import Letters, letter_corners
from desk.jobfile.job import Job
from desk.jobfile.photo_entries import PhotoEntry
from desk.store.photos import Photos, read_photo
from desk.problem import JobFileError

if TYPE_CHECKING:
    from capture.seeing.places import PlaceFinder
    from capture.seeing.segmentation import Segmenter


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLooked:
    """What was seen in one photo, and the seconds of work it took; `fault` says why it could not be read."""

    file: str
    found: Proposals
    seconds: float
    fault: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """All photos of a job, letters for their corners, the order of the outline."""

    photos: tuple[PhotoLooked, ...]
    letters: Letters


@cache
def segmenter() -> Segmenter:
    """The network, loaded once a process."""
    from capture.seeing.segmentation import Segmenter
    return Segmenter((resources.files("desk") / "floor_corners.onnx").read_bytes())


@cache
def place_finder() -> PlaceFinder:
    """The network that places corners, loaded once a process."""
    from capture.seeing.places import PlaceFinder
    return PlaceFinder((resources.files("desk") / "corner_places.onnx").read_bytes())


def look_in_bytes(data: bytes, name: str, focal_px: float | None = None, k1: float = 0.0) -> Proposals:
    """What is seen in a picture file's bytes. focal_px None takes EXIF's. Raises CaptureError for bytes that are no
    picture."""
    from capture.image.photo import decode_photo
    photo = decode_photo(data, name=name)
    return propose(photo.rgb(), segmenter(), place_finder(), focal_px=focal_px or photo.focal_px, k1=k1)


def look_at_job(folder: Path, job: Job, facts: Photos) -> Looked:
    """What is seen in every photo of a job; a photo that cannot be read is told of and the others are looked at."""
    looked = tuple(_looked(folder, job, photo) for photo in job.photos)
    targets = [{sighting.number: np.array(sighting.corners_px) for sighting in facts[photo.file].targets}
               for photo in job.photos]
    given = [_given(photo, one.found) for photo, one in zip(job.photos, looked)]
    return Looked(photos=looked, letters=letter_corners([one.found for one in looked], targets=targets, given=given))


def lens_of(job: Job, file: str) -> tuple[float | None, float]:
    """Focal length (None: EXIF's holds) and k1 that the job tells for a photo."""
    photo = next((photo for photo in job.photos if photo.file == file), None)
    camera = next((camera for camera in job.cameras if photo is not None and camera.name == photo.camera), None)
    return (camera.focal_px, camera.k1 or 0.0) if camera else (None, 0.0)


def letters_of(job: Job, seen: Mapping[str, Proposals], facts: Photos) -> dict[str, tuple[str | None, ...]]:
    """Letters the job already has for the corners seen in its photos, by file; `NEW` for one nobody has named, None
    where neither is clear."""
    photos = [photo for photo in job.photos if photo.file in seen]
    found = [seen[photo.file] for photo in photos]
    targets = [{sighting.number: np.array(sighting.corners_px) for sighting in facts[photo.file].targets}
               for photo in photos]
    letters = letter_corners(found, targets=targets, given=[_given(*one) for one in zip(photos, found)])
    known = {mark.point for photo in job.photos for mark in photo.marks}
    corners = set(job.outline)
    marks = [{mark.point: (mark.x_px, mark.y_px) for mark in photo.marks if mark.point in corners} for photo in photos]
    by_marks = known_letters(found, marks)
    is_all_seen = all(photo.file in seen for photo in job.photos if photo.marks)
    told = {photo.file: [_one_letter(point if point in known else None, other, is_all_seen)
                         for point, other in zip(points, others)]
            for photo, points, others in zip(photos, letters.points, by_marks)}
    return {file: tuple(point if point == NEW or points.count(point) == 1 else None for point in points)
            for file, points in told.items()}


def _one_letter(by_corners: str | None, by_marks: str | None, is_all_seen: bool) -> str | None:
    """What both ways of telling a corner's letter allow; nothing is new while a photo with marks was not looked at."""
    if by_corners is None:
        return by_marks if is_all_seen or by_marks != NEW else None
    return by_corners if by_marks in (None, by_corners) else None


def marks_against(job: Job, seen: Mapping[str, Proposals]) -> list[Contradiction]:
    """What contradicts itself in the marks of a job; photos by their number in the job. While corners are still being
    marked nothing is taped yet, and the last one need not be the first one's neighbour."""
    photos = [_marked(photo, seen.get(photo.file)) for photo in job.photos]
    taped = [(tape.between[0], tape.between[1]) for tape in job.tapes]
    lined = [(edge.wall[0], edge.wall[1]) for photo in job.photos for edge in photo.edges]
    return contradictions(photos, job.outline, taped=taped, lined=lined, closed=bool(taped))


def _marked(photo: PhotoEntry, found: Proposals | None) -> Marked:
    """The marks of a photo; which way is up only where the floor was seen."""
    marks = {mark.point: (mark.x_px, mark.y_px) for mark in photo.marks}
    if found is None or not found.corners:
        size = found.size_px if found is not None else photo.size or (1600, 1200)
        return Marked(marks=marks, size_px=size, focal_px=1.0)
    return Marked(marks=marks, size_px=found.size_px, focal_px=found.focal_px, up=found.up)


def _looked(folder: Path, job: Job, photo: PhotoEntry) -> PhotoLooked:
    begun = time.process_time()
    try:
        found = look_in_bytes(read_photo(folder, photo.file), photo.file, *lens_of(job, photo.file))
    except (CaptureError, JobFileError) as error:
        return PhotoLooked(file=photo.file, found=Proposals(), seconds=0.0, fault=str(error))
    return PhotoLooked(file=photo.file, found=found, seconds=time.process_time() - begun)


def _given(photo: PhotoEntry, found: Proposals) -> Mapping[int, str]:
    """Letters of corners a person has marked, by the proposal they lie on."""
    reach = MARKED_SHARE * max(found.size_px)
    given: dict[int, str] = {}
    for mark in photo.marks:
        off = [float(np.hypot(corner.x_px - mark.x_px, corner.y_px - mark.y_px)) for corner in found.corners]
        if off and min(off) <= reach:
            given[int(np.argmin(off))] = mark.point
    return given
