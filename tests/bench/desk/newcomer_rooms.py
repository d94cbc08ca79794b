"""Rooms that a scripted newcomer has never seen: pictures, and where the corners are in each.

Corners have names of the room's own; the newcomer learns the page's letters for them as the page gives them. The demo
is rendered; an L and a room with breast and bay are drawn from a seed, their pictures show nothing.
"""
from __future__ import annotations

import io
import json
import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import ExifTags, Image

import demo_photos
from tests.support.simulate import OUT_OF_SQUARE_MM, Case, draw_determined, is_determined, survey_room

DEMO = Path(demo_photos.__file__).parent
#: Width of a drawn room's door, mm (common practice, no source).
DOOR_MM = 762
#: Rooms drawn at most until one shows every corner.
MOST_DRAWN = 200
#: The room with a chimney breast and a bay, mm, before it is put out of square.
BREAST_AND_BAY = [(0, 0), (4600, 0), (4600, 1150), (4220, 1150), (4220, 2560), (4600, 2560), (4600, 3700), (3300, 3700),
                  (2850, 4250), (1650, 4250), (1200, 3700), (0, 3700)]
Place = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Room:
    """pictures, and in each where corners are (px); places: where they are, mm, in order round the room; door: its
    wall, where it begins, how wide it is; is_drawn: by tape alone, on the sheet; shows: the pictures show the room."""

    pictures: tuple[Path, ...] = ()
    marks: tuple[dict[str, Place], ...] = ()
    places: dict[str, Place]
    door: tuple[tuple[str, str], int, int]
    is_drawn: bool = False
    shows: bool = False


def demo_room(_: Path) -> Room:
    """The demo's photos and marks; its corners' true places."""
    job, truth = (json.loads((DEMO / name).read_text("utf-8")) for name in ("job.json", "truth.json"))
    door = job["doors"][0]
    return Room(pictures=tuple(DEMO / photo["file"] for photo in job["photos"]),
                marks=tuple({m["point"]: (m["x"], m["y"]) for m in photo["marks"] if m["point"] in job["outline"]}
                            for photo in job["photos"]),
                places={name: tuple(truth["points"][name][:2]) for name in job["outline"]},
                door=(tuple(door["wall"]), door["from"], door["width"]), shows=True)


def l_room(folder: Path) -> Room:
    """An L that nobody tuned anything to."""
    rng = np.random.default_rng(2611)
    drawn = (draw_determined(rng, shape="L", photos=5) for _ in range(MOST_DRAWN))
    return _of_case(next(filter(_shows_all, drawn), None), folder)


def breast_and_bay(folder: Path) -> Room:
    """Twelve corners, walls of 0.4 to 4.6 m."""
    rng = np.random.default_rng(2612)
    drawn = (survey_room(rng, np.array(BREAST_AND_BAY) + rng.normal(0, OUT_OF_SQUARE_MM, (12, 2)), "chimney", photos=7)
             for _ in range(MOST_DRAWN))
    return _of_case(next((case for case in drawn if _shows_all(case) and is_determined(case)), None), folder)


def sheet_l(folder: Path) -> Room:
    """The L by tape alone."""
    return replace(l_room(folder), pictures=(), marks=(), is_drawn=True)


def sheet_breast_and_bay(folder: Path) -> Room:
    """Breast and bay by tape alone."""
    return replace(breast_and_bay(folder), pictures=(), marks=(), is_drawn=True)


ROOMS = {"demo": demo_room, "L": l_room, "breast-and-bay": breast_and_bay, "L-by-tape": sheet_l,
         "breast-and-bay-by-tape": sheet_breast_and_bay}


def _shows_all(case: Case) -> bool:
    """Whether every corner is in a photo, and every photo shows three."""
    marks = [(mark.photo, mark.point) for mark in case.network.marks if mark.point in case.names]
    return {point for _, point in marks} >= set(case.names) and all(
        sum(number == photo.name for number, _ in marks) > 2 for photo in case.network.photos)


def _of_case(case: Case | None, folder: Path) -> Room:
    if case is None:
        raise RuntimeError(f"None of {MOST_DRAWN} drawn rooms shows every corner.")
    marks = tuple({mark.point: (mark.x_px, mark.y_px) for mark in case.network.marks
                   if mark.photo == photo.name and mark.point in case.names} for photo in case.network.photos)
    places = {name: (float(x), float(y)) for name, (x, y) in zip(case.names, case.corners)}
    return Room(pictures=tuple(_grain(number, folder) for number in range(len(marks))), marks=marks, places=places,
                door=_door_in(places))


def _grain(number: int, folder: Path) -> Path:
    """A picture that shows nothing: the script knows where the corners are."""
    noise = np.random.default_rng(number).normal(120, 12, (1200, 1600, 1)).clip(0, 255).astype(np.uint8)
    tags, target = Image.Exif(), io.BytesIO()
    tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = 26
    Image.fromarray(noise.repeat(3, axis=2)).save(target, "JPEG", quality=60, exif=tags)
    file = folder / f"{number + 1}.jpg"
    file.write_bytes(target.getvalue())
    return file


def _door_in(places: dict[str, Place]) -> tuple[tuple[str, str], int, int]:
    """A door in the middle of the longest wall."""
    ring = list(places)
    wall = max(zip(ring, ring[1:] + ring[:1]), key=lambda ends: math.dist(places[ends[0]], places[ends[1]]))
    return wall, round((math.dist(*(places[name] for name in wall)) - DOOR_MM) / 2), DOOR_MM
