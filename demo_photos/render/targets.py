"""The printed floor targets that lie about in the room: which, where, and what is on the paper.

Paper frame: mm, origin at the sheet's top left, x right, y down. A sheet lies printed side up, `turn_deg` anticlockwise
from plan x to its own x; its place is that of the middle of its black square. What is printed is what `tapegroove
targets` writes.
"""
from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from demo_photos.render.camera import View, in_picture, project
from demo_photos.render.room import Point
from demo_photos.render.sight import free_sight
from printpack.paper import A4
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.sheet import Sheet
from printpack.fullsize.target_sheets import QUIET_MM, SIDE_OF_SQUARE_MM, target_sheets

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A target on the floor: its number, the middle of its black square in plan, mm, and its turn."""

    number: int
    centre: Point
    turn_deg: float


#: Clear of the sun, of corners, pipes and the close-ups; each is in two photos at least.
LAID = (
    Laid(number=0, centre=(1352.0, 1912.0), turn_deg=13.0), Laid(number=1, centre=(2655.0, 1052.0), turn_deg=-76.5),
    Laid(number=2, centre=(3462.0, 1921.0), turn_deg=98.0), Laid(number=3, centre=(1288.0, 2634.0), turn_deg=-7.5),
    Laid(number=4, centre=(1172.0, 692.0), turn_deg=31.0), Laid(number=5, centre=(3374.0, 2771.0), turn_deg=41.0),
)
PAPER_UP_MM, TAPE_UP_MM = 0.2, 0.35
#: Masking tape across a sheet's corner, mm: as long, as wide.
TAPE_MM = (62.0, 24.0)
#: How much of the light ink and paper send back.
INK, PAPER = 0.045, 0.80
_PX_PER_MM = 5.0


def corners_mm(laid: Laid) -> Array:
    """(4, 2) plan corners of the black square in the order of the print: top left, top right, bottom right, bottom
    left."""
    (left, top), (right, bottom) = _square(_sheets()[laid.number])
    return on_plan(laid, np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))


def quiet_mm(laid: Laid) -> Array:
    """(4, 2) plan corners of the square with the white that must stay round it."""
    middle = np.array(laid.centre)
    return middle + (corners_mm(laid) - middle) * (1 + 2 * QUIET_MM / SIDE_OF_SQUARE_MM)


def sheet_mm(laid: Laid) -> Array:
    """(4, 2) plan corners of the paper: bottom left, bottom right, top right, top left of the print."""
    width, height = A4.width_mm, A4.height_mm
    return on_plan(laid, np.array([(0, height), (width, height), (width, 0), (0, 0)]))


def strips_mm(laid: Laid) -> list[Array]:
    """The four strips of masking tape, (4, 2) plan corners each, stuck across the sheet's corners as a hand does it."""
    rng = np.random.default_rng(900 + laid.number)
    middle, strips = sheet_mm(laid).mean(axis=0), []
    for corner in sheet_mm(laid):
        outward = (corner - middle) / np.hypot(*(corner - middle))
        turn = np.arctan2(outward[1], outward[0]) + np.pi / 2 + rng.normal(0, 0.16)
        along = np.array([np.cos(turn), np.sin(turn)])
        across = np.array([-along[1], along[0]])
        at = corner - outward * rng.uniform(2.0, 8.0) + along * rng.normal(0, 3.0)
        ends = TAPE_MM[0] / 2 * rng.uniform(0.8, 1.15)
        strips.append(np.array([at + i * ends * along + j * TAPE_MM[1] / 2 * across
                                for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]))
    return strips


def on_plan(laid: Laid, paper_mm: Array) -> Array:
    """(k, 2) plan places of (k, 2) paper places."""
    (left, top), (right, bottom) = _square(_sheets()[laid.number])
    turn = np.radians(laid.turn_deg)
    right_mm, up_mm = (np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)]))
    off = paper_mm - np.array([(left + right) / 2, (top + bottom) / 2])
    return np.array(laid.centre) + off[:, :1] * right_mm - off[:, 1:] * up_mm


def corners_px(view: View, laid: Laid) -> Array | None:
    """(4, 2) true px of the black square's corners; None unless the square and its white stand free in the picture."""
    white = np.column_stack([quiet_mm(laid), np.full(4, PAPER_UP_MM)])
    if not np.all(in_picture(view, project(view, white), border=4.0)) or not all(free_sight(view, place)
                                                                                 for place in white):
        return None
    return project(view, np.column_stack([corners_mm(laid), np.full(4, PAPER_UP_MM)]))


def picture(laid: Laid) -> NDArray[np.float32]:
    """(h, w, 3) reflectance of the sheet, first line at its top: the page of the PDF a person prints."""
    page = pypdfium2.PdfDocument(_pdf())[1 + laid.number].render(scale=_PX_PER_MM * 25.4 / 72)
    return (INK + (PAPER - INK) * page.to_numpy()[..., :3] / 255).astype(np.float32)


@lru_cache(maxsize=1)
def _pdf() -> bytes:
    return pdf_bytes(target_sheets(A4, count=len(LAID)), title="Floor targets", date=datetime.date(2026, 11, 25))


@lru_cache(maxsize=1)
def _sheets() -> tuple[Sheet, ...]:
    return target_sheets(A4, count=len(LAID))[1:]


def _square(sheet: Sheet) -> tuple[Array, Array]:
    """(2,) upper left and lower right corner of the black square on paper."""
    points = np.array(next(item for item in sheet.items if getattr(item, "layer", "") == "target").points)
    return points.min(axis=0), points.max(axis=0)
