"""The plan as a DXF drawing in mm (INSUNITS 4), in plan coordinates (x right, y up), one layer a kind of thing.

Written with fixed dates and identifiers, so the same plan gives the same bytes.
"""
from __future__ import annotations

import io

import ezdxf
from ezdxf.document import Drawing

from layout.plan import Point, Ring
from layout.room import Door
from printpack.job import PackJob

LAYERS = ("walls", "cover", "boards", "board numbers", "pipe holes", "doors", "corner names", "wall lengths")
_MILLIMETRES = 4
_TEXT_MM = 40.0


def plan_dxf(job: PackJob) -> bytes:
    """The drawing as DXF R2007 text (UTF-8)."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        drawing = _drawing(job)
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


def _drawing(job: PackJob) -> Drawing:
    drawing = ezdxf.new("R2007", setup=False)
    drawing.header["$INSUNITS"] = _MILLIMETRES
    drawing.header["$MEASUREMENT"] = 1
    for layer in LAYERS:
        drawing.layers.add(layer)
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
    return drawing


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


def _text(drawing: Drawing, text: str, at: Point, layer: str) -> None:
    drawing.modelspace().add_text(text, height=_TEXT_MM, dxfattribs={"layer": layer}).set_placement(at)


def _middle(ring: Ring) -> Point:
    return sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring)
