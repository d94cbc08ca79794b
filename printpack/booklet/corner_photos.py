"""The room's photos with the letters of its corners, so that nobody has to ask which corner is B."""
from __future__ import annotations

from math import atan2, cos, pi, sin

from printpack.drawing.page_layout import (
    BOTTOM_MM, FOOT_MM, HEADING, SIDE_MM, TOP_MM, Page, column_width, page_title, paragraph, stacked)
from printpack.job import MarkedPhoto, PackJob
from printpack.drawing.metrics import text_width
from printpack.paper import Paper
from printpack.drawing.sheet import FINE, STRONG, Box, Item, Line, Pen, Picture, Point, Text, moved, rectangle

_APART_MM = 5.0
_ARM_MM, _AWAY_MM, _TALL_MM = 2.2, 10.0, 7.0
_WHITE = Pen(STRONG.width_mm + 0.8, 1.0)


def corner_photo_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Two photos a page, every marked point with its letter; no page without photos."""
    return tuple(_page(job.photos[k:k + 2], paper, first=k == 0) for k in range(0, len(job.photos), 2))


def _page(photos: tuple[MarkedPhoto, ...], paper: Paper, *, first: bool) -> Page:
    width, title = column_width(paper), "Which corner is which"
    says = "The letters in this booklet stand for these corners of the floor. A cross is where the corner was marked."
    head = stacked([page_title(title if first else f"{title} (continued)", width), paragraph(says, width, after=3.0)])
    top = TOP_MM + head.height_mm
    tall = (paper.height_mm - top - BOTTOM_MM - FOOT_MM - _APART_MM) / 2
    boxes = [_fitted(photo, (SIDE_MM, top + k * (tall + _APART_MM), width, tall)) for k, photo in enumerate(photos)]
    items = [moved(item, SIDE_MM, TOP_MM) for item in head.items]
    for photo, box in zip(photos, boxes):
        items += [rectangle(*box, pen=FINE, layer="photo"), *_letters(photo, box)]
    pictures = tuple(Picture(box, photo.jpeg) for photo, box in zip(photos, boxes))
    return Page(items=tuple(items), bookmark=title if first else "", pictures=pictures)


def _fitted(photo: MarkedPhoto, room: Box) -> Box:
    """The largest box of the photo's shape at the left of the room."""
    x, y, wide, tall = room
    scale = min(wide / photo.width_px, tall / photo.height_px)
    return x, y, scale * photo.width_px, scale * photo.height_px


def _letters(photo: MarkedPhoto, box: Box) -> list[Item]:
    """A cross at each place and the name beside it; dark on white, whatever the photo shows."""
    places = [(name, (box[0] + across * box[2], box[1] + down * box[3])) for name, across, down in photo.marks]
    taken = [(x - _ARM_MM, y - _ARM_MM, 2 * _ARM_MM, 2 * _ARM_MM) for _, (x, y) in places]
    items: list[Item] = []
    for name, at in places:
        plate = _free_plate(at, text_width(name, HEADING, bold=True) + 3.0, box, taken)
        taken.append(plate)
        items += _pointer(at, plate)
        items += [rectangle(*plate, pen=FINE, fill=1.0, layer="mark"),
                  Text((plate[0] + plate[2] / 2, plate[1] + _TALL_MM / 2 + 0.36 * HEADING), name, HEADING, "middle",
                       True, layer="mark")]
    return items


def _free_plate(at: Point, wide: float, box: Box, taken: list[Box]) -> Box:
    """Where the name goes: of places round the mark, near ones first and towards the picture's middle, the one that
    covers least."""
    inward = atan2(box[1] + box[3] / 2 - at[1], box[0] + box[2] / 2 - at[0])
    turns = sorted((k * pi / 4 for k in range(8)), key=lambda turn: -cos(turn - inward))
    places = [(at[0] + away * cos(turn) - wide / 2, at[1] + away * sin(turn) - _TALL_MM / 2, wide, _TALL_MM)
              for away in (_AWAY_MM, 1.5 * _AWAY_MM, 2.0 * _AWAY_MM) for turn in turns]
    return min(places, key=lambda plate: sum(_shared(plate, other) for other in taken)
               + 2.0 * (plate[2] * plate[3] - _shared(plate, box)))


def _shared(a: Box, b: Box) -> float:
    """Area that two boxes have in common, mm2."""
    wide, tall = (min(a[k] + a[k + 2], b[k] + b[k + 2]) - max(a[k], b[k]) for k in (0, 1))
    return max(wide, 0.0) * max(tall, 0.0)


def _pointer(at: Point, plate: Box) -> list[Item]:
    x, y = at
    middle = plate[0] + plate[2] / 2, plate[1] + plate[3] / 2
    lines = (((x - _ARM_MM, y), (x + _ARM_MM, y)), ((x, y - _ARM_MM), (x, y + _ARM_MM)), (at, middle))
    return [Line(a, b, pen, "mark") for pen in (_WHITE, FINE) for a, b in lines]
