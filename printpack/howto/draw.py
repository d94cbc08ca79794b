"""A scene drawn with the display list: one strong tone for what is added, light grey for what lies already.

Tones are told apart in black and white: 0.3 over 0.86 over white; the dark one stands 3:1 or more against both (WCAG
2.2, 1.4.11), and every outline is black.
"""
from __future__ import annotations

from dataclasses import replace
from math import hypot

from printpack.drawing.hatch import hatch
from printpack.drawing.page_layout import BODY, SMALL
from printpack.drawing.sheet import FINE, NONE, Circle, Item, Line, Pen, Point, Poly, Text
from printpack.howto.scene import HEIGHT, WIDTH, Part, Ring, Round, Scene, Stroke, Thing, Verdict, Word

NEW_GREY, LAID_GREY = 0.3, 0.86
_OUTLINE = Pen(0.3)
_FILLS = {"laid": LAID_GREY, "new": NEW_GREY, "tool": 1.0, "wedge": 0.0}
_PENS = {"saw": Pen(0.7, 0.0, (2.0, 1.2)), "string": Pen(0.35, 0.0, (0.6, 1.0)), "measure": Pen(0.35),
         "push": Pen(0.6), "plain": FINE}
_GHOST = Pen(0.3, 0.0, (1.0, 0.8))
_STRUCK = Pen(1.1)
#: Under it and under saw lines, so that they stand out from a dark part.
_CLEARED = Pen(2.2, 1.0)
_HEAD_MM, _HEAD_HALF_MM = 2.6, 1.1


def drawn(scene: Scene, scale: float = 1.0) -> tuple[tuple[Item, ...], float, float]:
    """(items, width, height). Words keep their size at any scale."""
    return (tuple(item for thing in scene.things for item in _thing(_scaled(thing, scale))), scale * WIDTH,
            scale * HEIGHT)


def _scaled(thing: Thing, scale: float) -> Thing:
    def ring(points: Ring) -> Ring:
        return tuple((scale * x, scale * y) for x, y in points)
    match thing:
        case Part():
            return Part(thing.kind, ring(thing.ring))
        case Stroke():
            return Stroke(thing.kind, ring(thing.points))
        case Word():
            return replace(thing, at=ring((thing.at,))[0])
        case Verdict():
            left, top, right, bottom = (scale * v for v in thing.box)
            return Verdict(thing.right, (left, top, right, bottom))
        case Round():
            return Round(thing.kind, ring((thing.centre,))[0], scale * thing.radius)


def _thing(thing: Thing) -> list[Item]:
    match thing:
        case Part():
            return _part(thing)
        case Stroke():
            return _stroke(thing)
        case Word():
            return [Text(thing.at, thing.text, BODY if thing.bold else SMALL, thing.anchor, thing.bold,
                         turn_deg=90.0 if thing.upright else 0.0, layer="word")]
        case Verdict():
            return _verdict(thing)
        case Round():
            return [Circle(thing.centre, thing.radius, _OUTLINE, 1.0 if thing.kind == "hole" else 0.0, thing.kind)]


def _part(part: Part) -> list[Item]:
    if part.kind == "ghost":
        return [Poly(part.ring, _GHOST, None, True, "ghost")]
    if part.kind in ("wall", "floor"):
        return [*hatch((part.ring,), spacing_mm=1.5, pen=Pen(0.18)), Poly(part.ring, _OUTLINE, None, True, part.kind)]
    return [Poly(part.ring, _OUTLINE, _FILLS[part.kind], True, part.kind)]


def _stroke(stroke: Stroke) -> list[Item]:
    pen = _PENS[stroke.kind]
    items: list[Item] = [Poly(stroke.points, _CLEARED, None, False, stroke.kind)] if stroke.kind == "saw" else []
    items.append(Poly(stroke.points, pen, None, False, stroke.kind))
    if stroke.kind in ("push", "measure"):
        items.append(_head(stroke.points[-2], stroke.points[-1]))
    if stroke.kind == "measure":
        items.append(_head(stroke.points[1], stroke.points[0]))
    return items


def _head(back: Point, tip: Point) -> Poly:
    """An arrow's head at `tip`."""
    long = hypot(tip[0] - back[0], tip[1] - back[1]) or 1.0
    dx, dy = (tip[0] - back[0]) / long, (tip[1] - back[1]) / long
    foot = (tip[0] - _HEAD_MM * dx, tip[1] - _HEAD_MM * dy)
    return Poly((tip, (foot[0] - _HEAD_HALF_MM * dy, foot[1] + _HEAD_HALF_MM * dx),
                 (foot[0] + _HEAD_HALF_MM * dy, foot[1] - _HEAD_HALF_MM * dx)), NONE, 0.0, True, "head")


def _verdict(verdict: Verdict) -> list[Item]:
    left, top, right, bottom = verdict.box
    if verdict.right:
        across, down = right - left, bottom - top
        return [Poly(((left, top + 0.55 * down), (left + 0.35 * across, bottom), (right, top)), _STRUCK, None, False,
                     "right")]
    strokes = (((left, top), (right, bottom)), ((left, bottom), (right, top)))
    return [Line(start, end, pen, "wrong") for pen in (_CLEARED, _STRUCK) for start, end in strokes]
