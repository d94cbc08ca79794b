"""The plan, and the templates, as DXF drawings in mm (INSUNITS 4), y up, one layer a kind of thing.

The plan stands in plan coordinates. The templates stand under one another as they lie on the board's decor face, each
with its near edge up and its board's left end at x = 0. Written with fixed dates and identifiers: the same plan gives
the same bytes.
"""
from __future__ import annotations

import io
from collections.abc import Callable
from functools import partial

import ezdxf
from ezdxf.document import Drawing

from capture.language.messages import worded
from layout.plan import Point, Ring
from layout.room import Door
from printpack.drawing.clip import clipped
from printpack.job import PackJob
from printpack.drawing.sheet import Circle, Item, Line, Poly
from printpack.fullsize.template_draw import template_items, window_of
from printpack.fullsize.templates import FACE, Template, template_title, template_words
from printpack.units import NO_BREAK

LAYERS = ("walls", "cover", "boards", "board numbers", "pipe holes", "doors", "corner names", "wall lengths")
_MILLIMETRES = 4
_TEXT_MM = 40.0
TEMPLATE_LAYERS = ("cut", "wedge", "edge", "centre", "align", "collar", "words")
_WORDS_MM = 5.0
_BETWEEN_MM = 40.0


def plan_dxf(job: PackJob) -> bytes:
    """The plan as DXF R2007 text (UTF-8)."""
    return _dxf_bytes(LAYERS, partial(_draw_plan, job))


def templates_dxf(job: PackJob, templates: tuple[Template, ...]) -> bytes:
    """All templates at full size as DXF R2007 text (UTF-8); hatching is left out, the printer's own error is not put
    in."""
    return _dxf_bytes(TEMPLATE_LAYERS, partial(_draw_templates, job, templates))


def _dxf_bytes(layers: tuple[str, ...], draw: Callable[[Drawing], None]) -> bytes:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        drawing = ezdxf.new("R2007", setup=False)
        drawing.header["$INSUNITS"] = _MILLIMETRES
        drawing.header["$MEASUREMENT"] = 1
        for layer in layers:
            drawing.layers.add(layer)
        draw(drawing)
        _order_classes(drawing)
        text = io.StringIO()
        drawing.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return text.getvalue().encode()


def _order_classes(drawing: Drawing) -> None:
    """Left alone, the library lists the classes in the order of a set, which changes from process to process."""
    for name in sorted(drawing.entitydb.dxf_types_in_use()):
        drawing.classes.add_class(name)


def _draw_plan(job: PackJob, drawing: Drawing) -> None:
    plan = job.plan
    for ring in (plan.floor.outline, *plan.floor.holes):
        _ring(drawing, ring, "walls")
    for part in plan.cover:
        for ring in (part.outline, *part.holes):
            _ring(drawing, ring, "cover")
    for piece in plan.pieces:
        for ring in (piece.outline_mm, *piece.holes_mm):
            _ring(drawing, ring, "boards")
        _text(drawing, piece.id, _middle(piece.outline_mm), "board numbers")
    for hole in plan.holes:
        drawing.modelspace().add_circle(hole.centre_mm, hole.diameter_mm / 2, dxfattribs={"layer": "pipe holes"})
    for door in job.room.doors:
        drawing.modelspace().add_line(*_opening(job, door), dxfattribs={"layer": "doors"})
    _walls(drawing, job)


def _draw_templates(job: PackJob, templates: tuple[Template, ...], drawing: Drawing) -> None:
    """Each template below the one before it, under its name and the words that say how it lies."""
    top = 0.0
    for template in templates:
        left, near, _, far = window = window_of(template)
        words = (template_title(template), worded(FACE),
                 *template_words(template, job.plan, job.units))
        for line in words:
            top -= _WORDS_MM * 1.7
            _text(drawing, line.replace(NO_BREAK, " "), (left, top), "words", _WORDS_MM)
        shift = top - _WORDS_MM + near
        for item in template_items(template, job.plan, job.units):
            for part in clipped(item, window) if item.layer in TEMPLATE_LAYERS else ():
                _item(drawing, part, shift)
        top = shift - far - _BETWEEN_MM


def _item(drawing: Drawing, item: Item, shift: float) -> None:
    """A line or curve of a template; y is turned up and `shift` added."""
    space, look = drawing.modelspace(), {"layer": item.layer}
    if isinstance(item, Line):
        space.add_line((item.start[0], shift - item.start[1]), (item.end[0], shift - item.end[1]), dxfattribs=look)
    elif isinstance(item, Circle):
        space.add_circle((item.centre[0], shift - item.centre[1]), item.radius_mm, dxfattribs=look)
    elif isinstance(item, Poly):
        space.add_lwpolyline([(x, shift - y) for x, y in item.points], close=item.closed, dxfattribs=look)


def _walls(drawing: Drawing, job: PackJob) -> None:
    for name in job.floor.outline:
        _text(drawing, name, _place(job, name), "corner names")
    for wall in job.floor.walls():
        a, b = _place(job, wall.a), _place(job, wall.b)
        _text(drawing, job.units.length(wall.length_mm), ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), "wall lengths")


def _place(job: PackJob, name: str) -> Point:
    x, y = job.floor.at(name)
    return float(x), float(y)


def _opening(job: PackJob, door: Door) -> tuple[Point, Point]:
    (x0, y0), (x1, y1) = _place(job, door.wall[0]), _place(job, door.wall[1])
    long = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    def along(mm: float) -> Point:
        return x0 + (x1 - x0) * mm / long, y0 + (y1 - y0) * mm / long
    return along(door.from_mm), along(door.from_mm + door.width_mm)


def _ring(drawing: Drawing, ring: Ring, layer: str) -> None:
    drawing.modelspace().add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})


def _text(drawing: Drawing, text: str, at: Point, layer: str, height_mm: float = _TEXT_MM) -> None:
    drawing.modelspace().add_text(text, height=height_mm, dxfattribs={"layer": layer}).set_placement(at)


def _middle(ring: Ring) -> Point:
    return sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring)
