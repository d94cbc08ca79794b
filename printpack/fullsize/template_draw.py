"""A template as items at full size, in the board's frame (mm, near edge up, y down).

Layers: "cut" what is sawn or drilled, "wedge" the saw lines that free the back piece, "edge" the piece's sides to
align, "centre" centre lines, "align" the line for a pencil mark, "collar" the least size of a collar, "hatch" waste.
"""
from __future__ import annotations

from math import dist

from capture.language.messages import marked, worded
from layout.plan import Cut, Piece, Plan, Point
from printpack.drawing.page_layout import BODY, SMALL
from printpack.drawing.hatch import hatch
from printpack.drawing.metrics import CAP, text_box
from printpack.drawing.label_placement import Placer
from printpack.drawing.frames import in_board
from printpack.words.piece_outline import (
    frame_of, new_sides, straight_ends, until_outline, wall_foot)
from printpack.drawing.sheet import HAIR, NONE, Box, Circle, Item, Line, Pen, Poly, Text, circle_as_poly
from printpack.fullsize.templates import Template
from printpack.units import Units
from printpack.words.cut_phrases import anchors, piece_side_distance, runs_over

#: What a side is called, and shorter, by the side and whether it is the factory's own.
_SIDE_NAMES = {
    ("near", True): (marked("↑ wall edge, towards the START WALL"), marked("↑ wall edge")),
    ("near", False): (marked("↑ wall edge, towards the START WALL"), marked("↑ wall edge")),
    ("far", True): (marked("your edge (factory)"), marked("your edge")),
    ("far", False): (marked("your edge (sawn)"), marked("your edge")),
    ("left", True): (marked("left end (factory)"), marked("left end")),
    ("left", False): (marked("left end (sawn)"), marked("left end")),
    ("right", True): (marked("right end (factory)"), marked("right end")),
    ("right", False): (marked("right end (sawn)"), marked("right end"))}
_MARK = {"left": marked("M: {length} from the left end"), "right": marked("M: {length} from the right end")}
_TO = {"left": marked("{length} to left end"), "right": marked("{length} to right end"),
       "near": marked("{length} to wall edge"), "far": marked("{length} to your edge")}

#: What is sawn is the one thick line.
_CUT = Pen(0.7)
_FACTORY = Pen(0.35)
_SAWN = Pen(0.3, 0.0, (3.0, 1.2))
_WEDGE = Pen(0.3, 0.0, (4.0, 1.0))
_CENTRE = Pen(0.2, 0.0, (6.0, 1.2))
_COLLAR = Pen(0.2, 0.4, (1.0, 1.0))

#: A collar covers its hole when it is wider by this, mm (common practice, no source).
COLLAR_LAP_MM = 10.0
#: The two saw lines to a pipe open by this much towards the wall, each, mm, so that the back piece wedges tight.
WEDGE_MM = 2.0
#: Room outside the piece's edges for their names, mm.
_ROOM_MM = 8.0


def window_of(template: Template) -> Box:
    """(left, top, right, bottom) of the drawing in the board's frame; a hole over an edge is in it whole."""
    holes = [(cut.centre[1], cut.diameter / 2 + 2.0) for cut in template.cuts if cut.kind == "hole"]
    top = min(template.near_mm - _ROOM_MM, *(y - r for y, r in holes), template.near_mm)
    bottom = max(template.far_mm + _ROOM_MM, *(y + r for y, r in holes), template.far_mm)
    return template.left_mm, top, template.right_mm, bottom


def template_items(template: Template, plan: Plan, units: Units) -> tuple[Item, ...]:
    """Everything on the template; lines may reach over its window and are cut off there."""
    placer = Placer(window_of(template))
    notches = [cut for cut in template.cuts if cut.kind in ("notch", "line")]
    holes = [cut for cut in template.cuts if cut.kind == "hole"]
    items: list[Item] = []
    for cut in holes:
        r = cut.diameter / 2 + 1.0
        placer.block((cut.centre[0] - r, cut.centre[1] - r, cut.centre[0] + r, cut.centre[1] + r))
    items += _edges(plan, template, placer)
    align = _align(template, placer, units)
    items += align[:1]
    for cut in notches:
        items += _notch(plan, template.piece, cut)
    for cut in holes:
        items += _hole(plan, template.piece, cut)
    for cut in holes:
        items += _hole_words(template.piece, cut, placer, units)
    return (*items, *align[1:])


def _edges(plan: Plan, template: Template, placer: Placer) -> list[Item]:
    """The sides to line up with, and their names."""
    piece, frame = template.piece, frame_of(plan, template.piece)
    ends = straight_ends(plan, piece)
    items: list[Item] = []
    for name in ("near", "far", *ends):
        a, b = frame.side(name)
        if name in ("near", "far"):
            a = a if "left" in ends else _along(a, b, template.left_mm)
            b = b if "right" in ends else _along(a, b, template.right_mm)
        pen = _FACTORY if name in piece.keeps else _SAWN
        items.append(Line(a, b, pen, "edge"))
        items += placer.first(_side_names(name, template, a, b))
    return items


def _along(a: Point, b: Point, x: float) -> Point:
    return x, a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])


def _side_names(name: str, template: Template, a: Point, b: Point) -> list[Text]:
    said = [worded(words) for words in _SIDE_NAMES[name, name in template.piece.keeps]]
    if name in ("near", "far"):
        left, right = max(a[0], template.left_mm), min(b[0], template.right_mm)
        out, back = (-2.6, 2.4 + CAP * SMALL) if name == "near" else (2.4 + CAP * SMALL, -2.6)
        return [Text((left + share * (right - left), (a[1] + b[1]) / 2 + dy), text, SMALL, "middle", True)
                for dy in (out, back) for share in (0.5, 0.3, 0.7, 0.15, 0.85) for text in said]
    x = (a[0] + b[0]) / 2 + (-2.6 if name == "left" else 2.4 + CAP * SMALL)
    y = (a[1] + b[1]) / 2
    return [Text((x, y + dy), text, SMALL, "middle", True, 90.0)
            for text in said for dy in (0.0, 15.0, -15.0)]


def _align(template: Template, placer: Placer, units: Units) -> list[Item]:
    """The line that goes on a pencil mark, when the end itself is not shown."""
    side, away = template.mark
    if away == 0:
        return []
    x = template.piece.from_mm + away if side == "left" else template.piece.to_mm - away
    words = worded(_MARK[side], length=units.plain(away))
    tall = (template.piece.near_mm + template.piece.far_mm) / 2
    line = Line((x, template.piece.near_mm), (x, template.piece.far_mm), Pen(0.3, 0.0, (6.0, 2.0)), "align")
    named = placer.first(Text((x + dx, tall + dy), words, SMALL, "middle", True, 90.0)
                         for dx in (-1.4, 1.4 + CAP * SMALL) for dy in (0.0, 30.0, -30.0))
    placer.block((x - 0.5, template.piece.near_mm, x + 0.5, template.piece.far_mm))
    return [line, *_on_white(named)]


def _notch(plan: Plan, piece: Piece, cut: Cut) -> list[Item]:
    """The wood taken out: hatched, the sides that are sawn as cut lines, the others as hairlines."""
    sawn = new_sides(plan, piece, cut)
    items: list[Item] = list(hatch((cut.shape,), spacing_mm=4.0))
    for side in zip(cut.shape, cut.shape[1:] + cut.shape[:1]):
        items.append(Line(*side, _CUT, "cut") if side in sawn else Line(*side, HAIR, "outer"))
    return items


def _hole(plan: Plan, piece: Piece, cut: Cut) -> list[Item]:
    """The hole, its collar, its centre lines, and the saw lines that free the back piece."""
    ring = circle_as_poly(Circle(cut.centre, cut.diameter / 2), 72).points
    items: list[Item] = [*hatch((ring,), spacing_mm=4.0), Circle(cut.centre, cut.diameter / 2, _CUT, None, "cut"),
                         Circle(cut.centre, (cut.diameter + COLLAR_LAP_MM) / 2, _COLLAR, None, "collar")]
    for side in anchors(cut.centre, piece):
        items.append(Line(cut.centre, foot(piece, side, cut.centre), _CENTRE, "centre"))
    reach = cut.diameter / 2 + 3.0
    (x, y) = cut.centre
    items += [Line((x - reach, y), (x + reach, y), Pen(0.2), "centre"),
              Line((x, y - reach), (x, y + reach), Pen(0.2), "centre")]
    return items if runs_over(cut, piece) else items + _wedge(plan, piece, cut)


def _wedge(plan: Plan, piece: Piece, cut: Cut) -> list[Item]:
    """Two saw lines from the hole to the nearest wall, opening a little, cut off at the piece's outline."""
    foot = wall_foot(plan, piece, cut.centre)
    far, r = dist(cut.centre, foot), cut.diameter / 2
    along = ((foot[0] - cut.centre[0]) / far, (foot[1] - cut.centre[1]) / far)
    lines: list[Item] = []
    for turn in (-1.0, 1.0):
        side = (-turn * along[1], turn * along[0])
        start = (cut.centre[0] + r * side[0], cut.centre[1] + r * side[1])
        towards = (along[0] + WEDGE_MM / far * side[0], along[1] + WEDGE_MM / far * side[1])
        lines.append(Line(start, until_outline(start, towards, in_board(plan, piece)[0]), _WEDGE, "wedge"))
    return lines


def foot(piece: Piece, side: str, point: Point) -> Point:
    """The place on a side of the piece's box square off a point."""
    return {"left": (piece.from_mm, point[1]), "right": (piece.to_mm, point[1]),
            "near": (point[0], piece.near_mm), "far": (point[0], piece.far_mm)}[side]


def _hole_words(piece: Piece, cut: Cut, placer: Placer, units: Units) -> list[Item]:
    """The pipe's name at the hole and the two distances along its centre lines, each on white."""
    x, y = cut.centre
    r = cut.diameter / 2 + 6.0
    names = [Text((x + dx, y + dy), cut.pipe, BODY, anchor, True) for dx, dy, anchor in ((r, -r / 2, "start"),
                                                                                         (-r, -r / 2, "end"),
                                                                                         (0.0, r + 3.0, "middle"),
                                                                                         (0.0, -r, "middle"))]
    items: list[Item] = [*_on_white(placer.first(names))]
    end, edge = anchors(cut.centre, piece)
    for side in (end, edge):
        fx, fy = foot(piece, side, cut.centre)
        words = worded(_TO[side], length=units.plain(piece_side_distance(side, cut.centre, piece)))
        level = side in ("left", "right")
        spots = [((fx + k * (x - fx), y + dy) if level else (x + dy, fy + k * (y - fy))) for k in (0.5, 0.3, 0.7)
                 for dy in ((-1.4, 1.6 + CAP * SMALL, -6.0, 7.0) if level else (-1.4, 1.6 + CAP * SMALL))]
        items += _on_white(placer.first(Text(at, words, SMALL, "middle", False, 0.0 if level else 90.0)
                                        for at in spots))
    return items


def _on_white(texts: tuple[Text, ...]) -> list[Item]:
    items: list[Item] = []
    for text in texts:
        x0, y0, x1, y1 = text_box(text)
        items += [Poly(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), NONE, 1.0, True, "ground"), text]
    return items
