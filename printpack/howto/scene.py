"""What a step's drawing shows, before it is drawn: parts laid, the part added, tools, arrows, words.

Frame: mm on paper at scale 1, origin at the scene's top left, x right, y down. Seen from above, the start wall is at
the top and the fitter at the bottom; in section, the start wall is at the left and the fitter at the right: the view
never turns between steps. One thing is added in each step and only that is dark (Heiser, Phan, Agrawala, Tversky,
Hanrahan 2003, quoted second-hand).
"""
from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

Point = tuple[float, float]
Ring = tuple[Point, ...]

#: A scene's size: half an A4 page's column.
WIDTH, HEIGHT = 88.0, 44.0


@dataclass(frozen=True, slots=True)
class Part:
    """A thing with an outline. kind: "laid" (was there), "new" (added now), "wall", "floor", "tool", "wedge" or "ghost"
    (where it will come to lie)."""

    kind: str
    ring: Ring


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line. kind: "saw", "string", "measure" (arrow heads at both ends), "push" (a head at its end) or "plain"."""

    kind: str
    points: Ring


@dataclass(frozen=True, slots=True)
class Word:
    """A few words beside what they speak of; "start", "middle" or "end" of them is at `at`, on their baseline. bold:
    a step's number. upright: read from below to above."""

    at: Point
    text: str
    anchor: str = "start"
    bold: bool = False
    upright: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """Right (a tick) or wrong: what lies in the box (left, top, right, bottom) is struck out."""

    right: bool
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Round:
    """A pipe, or a hole round it."""

    kind: str
    centre: Point
    radius: float


Thing = Part | Stroke | Word | Verdict | Round


@dataclass(frozen=True, slots=True)
class Scene:
    """One drawing, `WIDTH` x `HEIGHT`: things in drawing order."""

    things: tuple[Thing, ...]


def box(left: float, top: float, right: float, bottom: float) -> Ring:
    """An upright rectangle's corners."""
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def moved(ring: Ring, dx: float, dy: float) -> Ring:
    """The ring shifted."""
    return tuple((x + dx, y + dy) for x, y in ring)


def turned(ring: Ring, about: Point, degrees: float) -> Ring:
    """The ring turned anticlockwise as the reader sees it."""
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return tuple((about[0] + c * (x - about[0]) + s * (y - about[1]),
                  about[1] - s * (x - about[0]) + c * (y - about[1])) for x, y in ring)


def mirrored(ring: Ring, x: float) -> Ring:
    """The ring turned end for end about an upright line."""
    return tuple((2 * x - px, py) for px, py in reversed(ring))


def arc(centre: Point, radius: float, start_deg: float, end_deg: float) -> Ring:
    """Points of an arc; degrees anticlockwise from the right as the reader sees them."""
    steps = 12
    return tuple((centre[0] + radius * cos(radians(start_deg + (end_deg - start_deg) * k / steps)),
                  centre[1] - radius * sin(radians(start_deg + (end_deg - start_deg) * k / steps)))
                 for k in range(steps + 1))

