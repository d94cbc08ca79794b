"""The display list: what stands on a sheet, before any file format.

Frame: mm, origin at the sheet's top left, x right, y down. Angles of text in degrees, anticlockwise as the reader sees
them. Grey runs from 0 (black) to 1 (white). A pen of width 0 draws nothing. Nothing here knows PDF or SVG. `layer` says
what an item stands for ("cut", "edge", "hatch", ...): tests and other writers pick by it.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, pi, sin

Point = tuple[float, float]
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Pen:
    """Line width mm, grey, and dash lengths (on, off) mm; no dash means a full line."""

    width_mm: float = 0.25
    grey: float = 0.0
    dash: tuple[float, ...] = ()


THIN = Pen(0.15, 0.35)
FINE = Pen(0.25)
MEDIUM = Pen(0.4)
STRONG = Pen(0.8)
HAIR = Pen(0.12, 0.55)
DASHED = Pen(0.25, 0.0, (2.0, 1.2))
NONE = Pen(0.0)


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    start: Point
    end: Point
    pen: Pen = FINE
    layer: str = ""


@dataclass(frozen=True, slots=True)
class Poly:
    """A chain of corners; closed makes it a polygon, `fill` its grey (None: not filled)."""

    points: tuple[Point, ...]
    pen: Pen = FINE
    fill: float | None = None
    closed: bool = True
    layer: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point
    radius_mm: float
    pen: Pen = FINE
    fill: float | None = None
    layer: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text: `at` is on its baseline at its "start", "middle" or "end"; `size_mm` is the em.

    No-break spaces matter to wrapping only and become plain ones here, so that printed text can be searched.
    """

    at: Point
    text: str
    size_mm: float = 3.9
    anchor: str = "start"
    bold: bool = False
    turn_deg: float = 0.0
    grey: float = 0.0
    layer: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "text", clean(self.text))


def clean(text: str) -> str:
    """The text as it can stand in any of the files: control characters and no-break spaces become plain spaces."""
    if text.isprintable():  # then it holds none of them; nearly every text, and this is asked of every text drawn
        return text
    return "".join(" " if ord(letter) < 32 or 127 <= ord(letter) <= 160
                   or 0xd800 <= ord(letter) <= 0xdfff else letter for letter in text)


Item = Line | Poly | Circle | Text


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph, JPEG bytes, in an upright box (x, y, width, height) mm."""

    box: Box
    jpeg: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One page: its size and what stands on it, in drawing order, pictures under everything. `bookmark` lists it in
    the PDF's outline."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    bookmark: str = ""
    pictures: tuple[Picture, ...] = ()


def rectangle(x: float, y: float, width: float, height: float, *, pen: Pen = FINE, fill: float | None = None,
              layer: str = "") -> Poly:
    """An upright rectangle by its top left corner."""
    return Poly(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), pen, fill, True, layer)


def moved(item: Item, dx: float, dy: float) -> Item:
    """The item shifted by (dx, dy)."""
    # Called for every line of every page, several times: made anew in full, which `replace` takes three times as long
    # for.
    if isinstance(item, Line):
        (x0, y0), (x1, y1) = item.start, item.end
        return Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), item.pen, item.layer)
    if isinstance(item, Poly):
        return Poly(tuple([(x + dx, y + dy) for x, y in item.points]), item.pen, item.fill, item.closed, item.layer)
    return mapped(item, 1.0, 1.0, dx, dy)


def mapped(item: Item, scale_x: float, scale_y: float, dx: float, dy: float) -> Item:
    """The item with x -> scale_x x + dx, y -> scale_y y + dy. Sizes of text, and pens, stay as they are.

    A circle becomes a many-cornered polygon when the two scales differ, so that it prints as a true ellipse.
    """
    def go(point: Point) -> Point:
        return scale_x * point[0] + dx, scale_y * point[1] + dy

    if isinstance(item, Line):
        return Line(go(item.start), go(item.end), item.pen, item.layer)
    if isinstance(item, Poly):
        return Poly(tuple([go(p) for p in item.points]), item.pen, item.fill, item.closed, item.layer)
    if isinstance(item, Text):
        return Text(go(item.at), item.text, item.size_mm, item.anchor, item.bold, item.turn_deg, item.grey, item.layer)
    if scale_x == scale_y:
        return replace(item, centre=go(item.centre), radius_mm=scale_x * item.radius_mm)
    return mapped(circle_as_poly(item), scale_x, scale_y, dx, dy)


def circle_as_poly(circle: Circle, corners: int = 360) -> Poly:
    """The circle as a regular polygon through it; with 360 corners it leaves a 50 mm radius by 0.002 mm at most."""
    ring = tuple((circle.centre[0] + circle.radius_mm * cos(2 * pi * k / corners),
                  circle.centre[1] + circle.radius_mm * sin(2 * pi * k / corners)) for k in range(corners))
    return Poly(ring, circle.pen, circle.fill, True, circle.layer)
