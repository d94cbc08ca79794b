"""The room's photos with the letters of its corners, so that nobody has to ask which corner is B."""
from __future__ import annotations

from math import atan2, ceil, cos, pi, sin

from capture.language.messages import marked, worded
from printpack.drawing.page_layout import (
    HEADING, SIDE_MM, TOP_MM, Page, column_width, page_title, paragraph, room_mm, stacked)
from printpack.job import MarkedPhoto, PackJob
from printpack.drawing.metrics import text_width
from printpack.paper import Paper
from printpack.drawing.sheet import FINE, STRONG, Box, Item, Line, Pen, Picture, Point, Text, moved, rectangle

PHOTO_TITLE = marked("Which corner is which")
_SAYS = marked(
    "The letters in this booklet stand for these corners of the floor. A cross is where the corner was marked.")
_APART_MM = 5.0
_ARM_MM, _AWAY_MM, _TALL_MM = 2.2, 10.0, 7.0
_WHITE = Pen(STRONG.width_mm + 0.8, 1.0)


def corner_photo_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """All photos on one page, every marked point with its letter; no page without photos."""
    if not job.photos:
        return ()
    width = column_width(paper)
    head = stacked([page_title(worded(PHOTO_TITLE), width), paragraph(worded(_SAYS), width, after=3.0)])
    top = TOP_MM + head.height_mm
    items, pictures = photo_grid(job.photos, (SIDE_MM, top, width, TOP_MM + room_mm(paper) - top))
    return (Page(items=(*(moved(item, SIDE_MM, TOP_MM) for item in head.items), *items),
                 bookmark=worded(PHOTO_TITLE), pictures=pictures),)


def photo_grid(photos: tuple[MarkedPhoto, ...], room: Box) -> tuple[tuple[Item, ...], tuple[Picture, ...]]:
    """The photos with their letters in a room (x, y, width, height), in one to three columns: as large as they go."""
    boxes = max((_boxes(photos, room, columns) for columns in (1, 2, 3)),
                key=lambda found: sum(box[2] * box[3] for box in found))
    items: list[Item] = []
    for photo, box in zip(photos, boxes):
        items += [rectangle(*box, pen=FINE, layer="photo"), *_letters(photo, box)]
    return tuple(items), tuple(Picture(box, photo.jpeg) for photo, box in zip(photos, boxes))


def _boxes(photos: tuple[MarkedPhoto, ...], room: Box, columns: int) -> list[Box]:
    """Each photo's place, row by row."""
    rows = ceil(len(photos) / columns)
    wide, tall = ((room[2] - _APART_MM * (columns - 1)) / columns, (room[3] - _APART_MM * (rows - 1)) / rows)
    return [_fitted(photo, (room[0] + (k % columns) * (wide + _APART_MM), room[1] + (k // columns) * (tall + _APART_MM),
                            wide, tall)) for k, photo in enumerate(photos)]


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
