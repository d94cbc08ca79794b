"""A sheet as SVG text: root size in mm, viewBox in mm, every inner number unitless, so nothing can be misread as
pixels.

svgwrite stays behind this one function. Numbers are written to a thousandth of a millimetre.
"""
from __future__ import annotations

import svgwrite
from svgwrite.base import BaseElement

from printpack.drawing.sheet import Circle, Item, Line, Pen, Poly, Sheet, Text, clean

_FAMILY = "'DejaVu Sans Condensed', 'DejaVu Sans', Verdana, sans-serif"


def svg_text(sheet: Sheet, *, title: str) -> str:
    """The sheet as one SVG document with a title element."""
    size = (f"{_number(sheet.width_mm)}mm", f"{_number(sheet.height_mm)}mm")
    drawing = svgwrite.Drawing(size=size, profile="full", debug=False)
    drawing.viewbox(0, 0, _number(sheet.width_mm), _number(sheet.height_mm))
    drawing.set_desc(title=clean(title))
    drawing["font-family"] = _FAMILY
    for item in sheet.items:
        element = _element(drawing, item)
        if item.layer:
            element["class"] = item.layer
        drawing.add(element)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + drawing.tostring() + "\n"


def _number(value: float) -> float | int:
    rounded = round(float(value), 3)
    return int(rounded) if rounded == int(rounded) else rounded


def _pair(point: tuple[float, float]) -> tuple[float | int, float | int]:
    return _number(point[0]), _number(point[1])


def _grey(level: float) -> str:
    return f"#{round(255 * level):02x}" + 2 * f"{round(255 * level):02x}"


def _look(pen: Pen, fill: float | None) -> dict[str, object]:
    look: dict[str, object] = {"fill": "none" if fill is None else _grey(fill)}
    if pen.width_mm > 0:
        look |= {"stroke": _grey(pen.grey), "stroke_width": _number(pen.width_mm)}
    if pen.dash:
        look["stroke_dasharray"] = ",".join(str(_number(d)) for d in pen.dash)
    return look


def _element(drawing: svgwrite.Drawing, item: Item) -> BaseElement:
    if isinstance(item, Line):
        return drawing.line(_pair(item.start), _pair(item.end), **_look(item.pen, None))
    if isinstance(item, Poly):
        make = drawing.polygon if item.closed else drawing.polyline
        return make([_pair(p) for p in item.points], **_look(item.pen, item.fill))
    if isinstance(item, Circle):
        return drawing.circle(_pair(item.centre), _number(item.radius_mm), **_look(item.pen, item.fill))
    return _text(drawing, item)


def _text(drawing: svgwrite.Drawing, item: Text) -> BaseElement:
    look: dict[str, object] = {"font_size": _number(item.size_mm), "fill": _grey(item.grey)}
    if item.anchor != "start":
        look["text_anchor"] = item.anchor
    if item.bold:
        look["font_weight"] = "bold"
    if item.turn_deg:
        x, y = _pair(item.at)
        look["transform"] = f"rotate({_number(-item.turn_deg)} {x} {y})"
    return drawing.text(item.text, insert=_pair(item.at), **look)
