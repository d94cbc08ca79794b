"""The pictures of a job on disk: what can be told of each, adding one, and previews without its EXIF."""
from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.errors import CaptureError
from capture.language.messages import gettext
from capture.network import TargetSighting
from desk.jobfile.job import Job
from desk.problem import JobFileError, file_error
from desk.jobfile.save import write_whole

#: A picture file larger than this is not read.
LARGEST_BYTES = 100_000_000
PHOTO_DIR = "photos"
_SUFFIXES = (".jpg", ".jpeg", ".png", ".heic", ".heif")


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFacts:
    """What can be told of a picture file. `size` (upright, px) is None if it is missing or unreadable; `fault` then
    says why.

    targets: the printed floor targets seen in it, if they are to be looked for.
    """

    file: str
    size: tuple[int, int] | None = None
    focal_px: float | None = None
    focal_from: str = ""
    missing: bool = False
    fault: str = ""
    targets: Sequence[TargetSighting] = ()


class _Sought(Sequence[TargetSighting]):
    """The targets in a picture, looked for when somebody asks."""

    def __init__(self, data: bytes, pixels: Callable[[], NDArray[np.uint8]]) -> None:
        self._data, self._pixels = data, pixels

    def _found(self) -> tuple[TargetSighting, ...]:
        return _targets_in(self._data, self._pixels)

    def __getitem__(self, at: Any) -> Any:
        return self._found()[at]

    def __len__(self) -> int:
        return len(self._found())

    def __iter__(self) -> Iterator[TargetSighting]:
        return iter(self._found())

    def __eq__(self, other: object) -> bool:
        return self._found() == other

    def __hash__(self) -> int:
        return hash(self._found())

    def __reduce__(self) -> tuple[Any, ...]:
        return tuple, (self._found(),)


Photos = Mapping[str, PhotoFacts]

#: Targets found in this process, by the digest of the picture's bytes: the search takes a second in a large picture.
_found_targets: dict[bytes, tuple[TargetSighting, ...]] = {}


def look_at_photos(folder: Path, job: Job) -> dict[str, PhotoFacts]:
    """What can be told of each picture the job names, close-ups too, by file. A bad picture is a fact, not an error.

    Where the job keeps a plan, a survey is seldom made: targets are looked for when somebody asks for them.
    """
    beside = {closeup.file: photo_facts(folder, closeup.file) for closeup in job.closeups}
    return beside | {photo.file: photo_facts(folder, photo.file, targets=job.targets is not None, later=job.has_plan)
                     for photo in job.photos}


def photo_facts(folder: Path, file: str, *, targets: bool = False, later: bool = False) -> PhotoFacts:
    """What can be told of one picture; with `targets` the printed floor targets in it are looked for, if `later` only
    when they are asked for."""
    from capture.image.photo import decode_photo  # loads the image library, which the short commands do without
    try:
        decoded = decode_photo(read_photo(folder, file), name=file)
        seen: Sequence[TargetSighting] = _Sought(decoded.data, decoded.rgb) if targets else ()
        seen = seen if later else tuple(seen)
    except JobFileError as error:
        return PhotoFacts(file=file, missing=error.slug == "missing-photo", fault=str(error))
    except CaptureError as error:
        return PhotoFacts(file=file, fault=str(error))
    return PhotoFacts(file=file, size=(decoded.width_px, decoded.height_px), focal_px=decoded.focal_px,
                      focal_from=decoded.focal_from, targets=seen)


def _targets_in(data: bytes, pixels: Callable[[], NDArray[np.uint8]]) -> tuple[TargetSighting, ...]:
    """The targets in a picture, looked for once."""
    from capture.image.targets import find_targets
    digest = hashlib.sha256(data).digest()
    if digest not in _found_targets:
        _found_targets[digest] = find_targets(pixels())
    return _found_targets[digest]


def read_photo(folder: Path, file: str) -> bytes:
    """The bytes of a picture in the job's folder.

    Raises JobFileError: "missing-photo", "path-outside" for a path or link that leaves the folder, "unreadable-photo".
    """
    path = folder / file
    try:
        if not path.resolve().is_relative_to(folder.resolve()):
            raise file_error("path-outside",
                             gettext(
                                 "{file} leads out of the job's folder; copy the picture into {photos}/ and name "
                                 "it there.", file=file, photos=PHOTO_DIR))
        if not path.is_file():
            raise file_error("missing-photo",
                             gettext(
                                 "The picture {file} is not in the job's folder; copy it back, or remove the photo "
                                 "from the job.", file=file))
        if path.stat().st_size > LARGEST_BYTES:
            raise file_error("unreadable-photo",
                             gettext(
                                 "{file} is larger than {most} MB; save it smaller.", file=file,
                                 most=LARGEST_BYTES // 1_000_000))
        return path.read_bytes()
    except (OSError, ValueError, RuntimeError) as error:
        # RuntimeError: links that lead in a circle, before Python 3.13.
        raise file_error("unreadable-photo",
                         gettext(
                             "{file} cannot be opened ({why}); check that it may be read.", file=file,
                             why=error)) from error


def tell_picture(data: bytes, name: str) -> PhotoFacts:
    """What a picture is that lies in no folder yet, by its bytes; `name` is what it was called where it came from.

    Raises CaptureError for bytes that are no picture.
    """
    from capture.image.photo import decode_photo
    decoded = decode_photo(data, name=name)
    return PhotoFacts(file=name, size=(decoded.width_px, decoded.height_px), focal_px=decoded.focal_px,
                      focal_from=decoded.focal_from)


def store_photo(folder: Path, data: bytes, *, name: str) -> str:
    """Store a picture's bytes, unchanged, under a free name in photos/, and give that; of `name` only its ending is
    used.

    Raises JobFileError if the disk refuses.
    """
    file = _free_name(folder, Path(name).suffix.lower())
    write_whole(folder / file, data)
    return file


def photo_pixels(folder: Path, file: str) -> NDArray[np.uint8]:
    """(height, width, 3) pixels of the upright full-size picture. Raises JobFileError or CaptureError if it cannot
    be read."""
    from capture.image.photo import decode_photo
    return decode_photo(read_photo(folder, file), name=file).rgb()


def photo_preview(folder: Path, file: str, *, long_side_px: int) -> bytes:
    """An upright JPEG of a picture with no EXIF in it. Raises JobFileError or CaptureError if it cannot be read."""
    from capture.image.photo import preview_jpeg
    return preview_jpeg(read_photo(folder, file), name=file, long_side_px=long_side_px)


def refuse_linked(folder: Path) -> None:
    """Raise JobFileError (path-outside) where photos/ is a link that leads out of the job's folder: nothing is
    written or sought there."""
    try:
        inside = (folder / PHOTO_DIR).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        inside = False
    if not inside:
        raise file_error("path-outside", gettext(
            "{folder} is a link that leads out of the job's folder; put a folder {photos} in its place.",
            folder=folder / PHOTO_DIR, photos=PHOTO_DIR))


def _free_name(folder: Path, suffix: str) -> str:
    """photos/N.suffix with the lowest N that no picture of any kind has yet."""
    taken = {path.stem for path in (folder / PHOTO_DIR).glob("*")}
    number = next(n for n in range(1, len(taken) + 2) if str(n) not in taken)
    return f"{PHOTO_DIR}/{number}{suffix if suffix in _SUFFIXES else '.jpg'}"
