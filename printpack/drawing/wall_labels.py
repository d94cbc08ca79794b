"""Labels along the walls of a plan: clear of every wall, and slanted ones by the room they truly take."""
from __future__ import annotations

from collections.abc import Iterable
from math import ceil, cos, hypot, radians, sin

from layout.plan import Point, Ring
from printpack.drawing.clip import clip_line, inside
from printpack.drawing.label_placement import Placer
from printpack.drawing.metrics import ASCENT, DESCENT, text_width
from printpack.drawing.sheet import Box, Text

_UPRIGHT_DEG = 0.5
#: Between a text and the middle of a wall's line, mm.
_CLEAR_MM = 0.6


class WallLabels:
    """Puts texts where a placer lets them stand and no wall (a ring on paper, mm) runs through them."""

    def __init__(self, placer: Placer, rings: Iterable[Ring]) -> None:
        self.placer = placer
        self.walls = [(a, b) for ring in rings for a, b in zip(ring, ring[1:] + ring[:1])]

    def first(self, candidates: Iterable[Text]) -> tuple[Text, ...]:
        """The first candidate that stands free, or ()."""
        return next(((text,) for text in candidates if self._stands(text)), ())

    def _stands(self, text: Text) -> bool:
        wide = text_width(text.text, text.size_mm, bold=text.bold)
        left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
        frame = (left, -ASCENT * text.size_mm, left + wide, DESCENT * text.size_mm)
        clear = (frame[0] - _CLEAR_MM, frame[1] - _CLEAR_MM, frame[2] + _CLEAR_MM, frame[3] + _CLEAR_MM)
        if any(clip_line(_in_text(a, text), _in_text(b, text), clear) for a, b in self.walls):
            return False
        if abs(text.turn_deg) % 90.0 < _UPRIGHT_DEG:
            return bool(self.placer.put(text))
        boxes = _squares(text, frame)
        if not all(inside(box, self.placer.window) and not any(_meet(box, other) for other in self.placer.taken)
                   for box in boxes):
            return False
        for box in boxes:
            self.placer.block(box)
        return True


def _in_text(point: Point, text: Text) -> Point:
    """A place on paper in the text's own frame: right along its baseline, down across it."""
    c, s = cos(radians(text.turn_deg)), sin(radians(text.turn_deg))
    x, y = point[0] - text.at[0], point[1] - text.at[1]
    return c * x - s * y, s * x + c * y


def _squares(text: Text, frame: Box) -> list[Box]:
    """Upright squares along a slanted text that cover it."""
    c, s = cos(radians(text.turn_deg)), sin(radians(text.turn_deg))
    tall = frame[3] - frame[1]
    count, y = ceil((frame[2] - frame[0]) / tall), (frame[1] + frame[3]) / 2
    half = hypot(tall, tall) / 2
    places = [(frame[0] + (k + 0.5) * (frame[2] - frame[0]) / count, y) for k in range(count)]
    spots = [(text.at[0] + c * x + s * v, text.at[1] - s * x + c * v) for x, v in places]
    return [(x - half, v - half, x + half, v + half) for x, v in spots]


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
