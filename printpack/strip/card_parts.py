"""What a card is drawn with: settings, arrows, texts on white, where the wood stands."""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Point, Ring
from printpack.drawing.metrics import CAP, DESCENT, text_width
from printpack.drawing.sheet import NONE, Item, Line, Pen, Poly, Text, rectangle
from printpack.strip.axis import Axis
from printpack.strip.step import Bore, Step, Tape
from printpack.units import Units

#: Digits of a main figure stand this high at least, mm.
DIGITS_MM = 8.0
MAIN = DIGITS_MM / CAP
ARROW = Pen(0.6)
THIN = Pen(0.2)
HEAD_LONG, _HEAD_WIDE = 3.0, 1.1
#: What an arrow takes beside the figure that stands in it, mm.
IN_ARROW = 2 * HEAD_LONG + 3.0
#: Holes are drawn alike, whatever they measure, mm.
HOLE = 3.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Density:
    """How close a drawing is set, mm: height of digits, of the wood, of the heading, and of an arrow with nothing on
    it."""

    digits: float
    board: float
    heading: float
    arrow: float

    @property
    def main(self) -> float:
        """Size of type of the main figures."""
        return self.digits / CAP

    @property
    def lane(self) -> float:
        """Height of an arrow with its figure."""
        return 1.35 * self.digits


GRAND = Density(digits=12.0, board=28.0, heading=11.0, arrow=7.5)
ROOMY = Density(digits=9.0, board=20.0, heading=9.0, arrow=6.5)
CLOSE = Density(digits=DIGITS_MM, board=14.0, heading=7.4, arrow=5.0)
TIGHT = Density(digits=DIGITS_MM, board=11.0, heading=6.8, arrow=4.0)
LEAST = Density(digits=DIGITS_MM, board=9.0, heading=6.0, arrow=4.0)
#: In the hand, nearer to the eye than paper on the floor.
HANDHELD = Density(digits=5.2, board=14.0, heading=6.8, arrow=4.6)
#: From the roomiest on; the closest, `LEAST`, is for a page on which none of these goes.
USUAL = (GRAND, ROOMY, CLOSE, TIGHT)
_DESCENDERS = frozenset("gjpqyQ,;()")


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A drawing in its own box: mm, origin at its top left."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """Where the wood stands in a card."""

    x: Axis
    y: Axis
    box: tuple[float, float, float, float]

    def at(self, place: Point) -> Point:
        return self.x.at(place[0]), self.y.at(place[1])

    def ring(self, ring: Ring) -> Ring:
        return tuple(self.at(place) for place in ring)


def beyond(step: Step) -> tuple[float, float]:
    """Room above and below the wood for half holes whose centre lies beyond it."""
    near, far = min(y for _, y in step.wood), max(y for _, y in step.wood)
    return (8.0 if any(bore.centre[1] < near for bore in step.bores) else 0.0,
            8.0 if any(bore.centre[1] > far for bore in step.bores) else 0.0)


def wide_of(tape: Tape, units: Units, density: Density) -> float:
    return text_width(words_of(tape, units), density.main, bold=True)


def words_of(tape: Tape, units: Units) -> str:
    return units.figure(tape.mm)


def bore_words(bore: Bore, units: Units) -> str:
    return f"Ø {units.bare(bore.diameter)}"


def in_a_line(step: Step) -> bool:
    """Whether the widths of neighbours stand side by side below them."""
    return any(tape.lane in ("joint", "under") for tape in step.tapes)


def lanes(step: Step, lane: str) -> int:
    return sum(tape.lane == lane for tape in step.tapes)


def on_white(text: Text, pad: float = 0.7) -> list[Item]:
    """A text on a white ground of its own, under what hangs below its line too."""
    wide, tall = text_width(text.text, text.size_mm, bold=text.bold), CAP * text.size_mm
    hang = DESCENT * text.size_mm if _DESCENDERS & set(text.text) else 0.0
    left = text.at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    return [rectangle(left - pad, text.at[1] - tall - pad, wide + 2 * pad, tall + hang + 2 * pad, pen=NONE, fill=1.0,
                      layer="ground"), text]


def arrow(start: Point, end: Point) -> list[Item]:
    """A level or upright arrow with a bar where the tape is hooked."""
    (x0, y0), (x1, y1) = start, end
    level = abs(x1 - x0) >= abs(y1 - y0)
    sign = (1.0 if x1 > x0 else -1.0) if level else (1.0 if y1 > y0 else -1.0)
    long = min(HEAD_LONG, max(abs(x1 - x0), abs(y1 - y0)))
    back, w = sign * long, _HEAD_WIDE
    head = ((x1, y1), (x1 - back, y1 - w), (x1 - back, y1 + w)) if level else ((x1, y1), (x1 - w, y1 - back),
                                                                              (x1 + w, y1 - back))
    bar = ((x0, y0 - 1.8), (x0, y0 + 1.8)) if level else ((x0 - 1.8, y0), (x0 + 1.8, y0))
    stop = (x1 - back, y1) if level else (x1, y1 - back)
    return [Line(start, stop, ARROW, "tape"), Line(*bar, ARROW, "hook"), Poly(head, NONE, 0.0, True, "head")]
