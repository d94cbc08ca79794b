"""The plan as a drawing: start wall at the top, rows reading like lines of text.

`plan_drawing` is the full one (cover, plan.svg): pieces with their numbers, walls with their lengths, doors, pipes.
`row_map` is the small one on a row's page: what is laid grey, this row black. Labels that would overprint are left out;
the page with the survey lists every wall.
"""
from __future__ import annotations

from math import atan2, cos, degrees, hypot, radians, sin

from capture.floor import Length
from capture.language.messages import gettext
from layout.plan import Plan, Point, Row
from layout.room import Door
from layout.region.baseline import start_wall
from printpack.drawing.clip import clip_ring
from printpack.drawing.page_layout import BODY, SMALL
from printpack.job import PackJob
from printpack.drawing.metrics import CAP, text_box, text_width
from printpack.drawing.label_placement import Placer
from printpack.drawing.wall_labels import WallLabels
from printpack.drawing.frames import View, box_of, fitted, floor_rings, in_rows, label_spot
from printpack.drawing.sheet import (
    DASHED, FINE, MEDIUM, NONE, STRONG, THIN, Circle, Item, Line, Pen, Poly, Text, rectangle)

_WALL = Pen(0.7)
_LABEL_ROOM = 11.0


def plan_drawing(job: PackJob, left: float, top: float, width: float, height: float) -> tuple[Item, ...]:
    """The whole plan inside a paper rectangle."""
    rings = floor_rings(job.plan)
    view = fitted(box_of(*rings), left + _LABEL_ROOM, top + _LABEL_ROOM, width - 2 * _LABEL_ROOM,
                  height - 2 * _LABEL_ROOM)
    placer = Placer((left, top, left + width, top + height))
    items: list[Item] = [Poly(view.ring(ring), _WALL, None, True, "wall") for ring in rings]
    items += _pieces(job.plan, view)
    items += _profiles(job.plan, view, placer)
    items += _pipes(job, view, placer)
    items += _island_names(job, view, placer)
    items += _piece_names(job, view, placer)
    labels = WallLabels(placer, (view.ring(ring) for ring in rings))
    start = _start(job)
    items.append(Line(view.at(start[0]), view.at(start[1]), Pen(1.6), "start"))
    for door in job.room.doors:
        items += _door(job, door, view, labels)
    items += _start_name(view, start, labels)
    items += _corner_names(job, view, placer)
    items += _wall_lengths(job, view, labels)
    return tuple(items)


def row_map(plan: Plan, row: Row, left: float, top: float, width: float, height: float) -> tuple[Item, ...]:
    """The small plan of a row's page."""
    rings = floor_rings(plan)
    box = box_of(*rings)
    view = fitted(box, left, top, width, height)
    far = 1e9
    laid: list[Item] = []
    for part in plan.cover:
        ring = clip_ring(in_rows(plan, part.outline), (-far, -far, far, row.near_mm))
        laid += [Poly(view.ring(ring), NONE, 0.8, True, "laid")] if len(ring) >= 3 else []
    holes = [Poly(view.ring(ring), THIN, 1.0) for ring in rings[1:]]
    now = [Poly(view.ring(in_rows(plan, piece.outline_mm)), NONE, 0.0, True, "now") for piece in row.pieces]
    corner = view.at((box[0], box[1]))
    wall = Line((corner[0], corner[1] - 1.2), (view.at((box[2], box[1]))[0], corner[1] - 1.2), STRONG)
    return (*laid, *holes, *now, Poly(view.ring(rings[0]), MEDIUM), wall)


def _pieces(plan: Plan, view: View) -> list[Item]:
    return [Poly(view.ring(in_rows(plan, piece.outline_mm)), THIN, None, True, "piece") for piece in plan.pieces]


def _profiles(plan: Plan, view: View, placer: Placer) -> list[Item]:
    """Expansion profiles as dashed lines with their name beside them."""
    items: list[Item] = []
    for profile in plan.profiles:
        a, b = (plan.to_row_frame(end) for end in profile.ends)
        items += [Line(view.at(a), view.at(b), DASHED, "profile"),
                  *placer.put(_edge_label(view, a, b, gettext("expansion profile"), 1.2))]
    return items


def _piece_names(job: PackJob, view: View, placer: Placer) -> list[Item]:
    """Each piece's number in it, beside the line of a door that runs through it."""
    names = WallLabels(placer, (tuple(map(view.at, _opening(job, door))) for door in job.room.doors))
    items: list[Item] = []
    for piece in job.plan.pieces:
        ring = view.ring(in_rows(job.plan, piece.outline_mm))
        wide, tall = text_width(piece.id, SMALL), CAP * SMALL
        spot = label_spot(ring, wide + 0.8, tall + 0.6)
        if spot:
            spots = [spot, *((spot[0] + dx, spot[1]) for dx in (1.2 * wide, -1.2 * wide)
                             if label_spot(ring, 2.4 * abs(dx) + wide, tall)),
                     *((spot[0], spot[1] + dy) for dy in (1.5 * tall, -1.5 * tall)
                       if label_spot(ring, wide, 2 * abs(dy) + tall))]
            items += names.first(Text((x, y + tall / 2), piece.id, SMALL, "middle") for x, y in spots)
    return items


def _island_names(job: PackJob, view: View, placer: Placer) -> list[Item]:
    items: list[Item] = []
    for island in job.floor.islands:
        ring = view.ring(tuple(_row_place(job, name) for name in island.corners))
        spot = label_spot(ring, text_width(island.name, SMALL) + 1.0, CAP * SMALL + 0.6)
        if spot:
            items += placer.put(Text((spot[0], spot[1] + CAP * SMALL / 2), island.name, SMALL, "middle"))
    return items


def _pipes(job: PackJob, view: View, placer: Placer) -> list[Item]:
    items: list[Item] = []
    spots = [(hole, view.at(job.plan.to_row_frame(hole.centre_mm))) for hole in job.plan.holes]
    for hole, (x, y) in spots:
        r = max(view.scale * hole.diameter_mm / 2, 0.6)
        items.append(Circle((x, y), r, MEDIUM, 1.0, "pipe"))
        placer.block((x - r, y - r, x + r, y + r))
    for hole, (x, y) in spots:
        r = max(view.scale * hole.diameter_mm / 2, 0.6)
        places = ((r + 0.4, 1.2, "start"), (-r - 0.4, 1.2, "end"), (0.0, -r - 0.6, "middle"), (0.0, r + 3.2, "middle"),
                  (r + 1.3, 4.4, "start"), (0.0, CAP * SMALL / 2, "middle"))
        for name in placer.first(Text((x + dx, y + dy), hole.pipe, SMALL, anchor, True) for dx, dy, anchor in places):
            left, top, right, bottom = text_box(name)
            items += [rectangle(left, top, right - left, bottom - top, pen=NONE, fill=1.0), name]
    return items


def _edge_label(view: View, a: Point, b: Point, text: str, away: float, *, size: float = SMALL,
                bold: bool = False) -> Text:
    """A text along a wall, outside it by `away` mm, never upside down. The floor lies to the wall's left in the
    plan."""
    (x0, y0), (x1, y1) = view.at(a), view.at(b)
    length = hypot(x1 - x0, y1 - y0) or 1.0
    out = (-(y1 - y0) / length, (x1 - x0) / length)
    turn = degrees(atan2(y0 - y1, x1 - x0))
    turn = turn - 180 if turn > 90.01 else turn + 180 if turn <= -89.99 else turn
    up = (-sin(radians(turn)), -cos(radians(turn)))
    rise = away if out[0] * up[0] + out[1] * up[1] > 0 else away + CAP * size
    return Text(((x0 + x1) / 2 + out[0] * rise, (y0 + y1) / 2 + out[1] * rise), text, size, "middle", bold, turn)


def _row_place(job: PackJob, name: str) -> Point:
    x, y = job.floor.at(name)
    return job.plan.to_row_frame((float(x), float(y)))


def _wall_lengths(job: PackJob, view: View, labels: WallLabels) -> list[Item]:
    """Each wall's length outside it: at its middle, else nearer one of its ends."""
    items: list[Item] = []
    for wall in sorted(job.floor.walls(), key=lambda w: -w.length_mm):
        (x0, y0), (x1, y1) = _row_place(job, wall.a), _row_place(job, wall.b)
        room, words = view.scale * wall.length_mm, wall_words(job, wall)
        share = (text_width(words, SMALL) + 1.0) / max(room, 1e-9)
        if share > 1.0:
            continue
        spans = [(low, low + share) for low in (0.5 - share / 2, *(k * (1.0 - share) for k in (0.2, 0.8, 0.0, 1.0)))]
        items += labels.first(_edge_label(view, (x0 + low * (x1 - x0), y0 + low * (y1 - y0)),
                                          (x0 + high * (x1 - x0), y0 + high * (y1 - y0)), words, 1.6)
                              for low, high in spans)
    return items


def wall_words(job: PackJob, wall: Length) -> str:
    """A wall's length with its 95 % plus-minus."""
    return f"{job.units.length(wall.length_mm)} {job.units.spread(wall.pm95_mm)}" if wall.pm95_mm else job.units.length(
        wall.length_mm)


def _corner_names(job: PackJob, view: View, placer: Placer) -> list[Item]:
    items: list[Item] = []
    names = job.floor.outline
    for before, name, after in zip(names[-1:] + names[:-1], names, names[1:] + names[:1]):
        a, p, b = (view.at(_row_place(job, n)) for n in (before, name, after))
        items += placer.first(_beside(p, _outward(a, p, b, k), name) for k in (1.0, 1.6, -1.0))
    return items


def _outward(a: Point, p: Point, b: Point, k: float) -> Point:
    """k times a unit step from corner p away from the floor (the walls run with the floor on their left in the
    plan)."""
    def normal(q: Point, r: Point) -> Point:
        d = hypot(r[0] - q[0], r[1] - q[1]) or 1.0
        return -(r[1] - q[1]) / d, (r[0] - q[0]) / d
    n, m = normal(a, p), normal(p, b)
    x, y = n[0] + m[0], n[1] + m[1]
    d = hypot(x, y) or 1.0
    return k * x / d, k * y / d


def _beside(p: Point, out: Point, name: str) -> Text:
    return Text((p[0] + 3.4 * out[0], p[1] + 3.4 * out[1] + CAP * SMALL / 2), name, SMALL, "middle", True)


def _start(job: PackJob) -> tuple[Point, Point]:
    """The ends of the start wall, row frame."""
    a, b = (_row_place(job, job.floor.names[k]) for k in start_wall(job.plan, job.floor))
    return a, b


def _start_name(view: View, wall: tuple[Point, Point], labels: WallLabels) -> tuple[Text, ...]:
    """The start wall's name: along it outside, else level beside it, else along it inside."""
    a, b = wall
    (x0, y0), (x1, y1) = view.at(a), view.at(b)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    name = gettext("START WALL")
    level = ((0.0, -5.4, "middle"), (3.0, -3.0, "start"), (-3.0, -3.0, "end"), (4.0, -8.0, "start"),
             (-4.0, -8.0, "end"))
    parts = [(a[0] + k * (b[0] - a[0]), a[1] + k * (b[1] - a[1])) for k in (0.0, 0.4, 0.6, 1.0)]
    spans = ((parts[0], parts[3]), (parts[0], parts[1]), (parts[2], parts[3]))
    return labels.first([*(_edge_label(view, *span, name, 5.4, size=BODY, bold=True) for span in spans),
                         *(Text((x + dx, y + dy), name, BODY, anchor, True) for dx, dy, anchor in level),
                         _edge_label(view, a, b, name, -1.6 - CAP * BODY, size=BODY, bold=True)])


def _door(job: PackJob, door: Door, view: View, labels: WallLabels) -> list[Item]:
    first, last = _opening(job, door)
    deep = view.scale * max((way.depth_mm for way in job.plan.doorways if way.door == door.name), default=0.0)
    name = gettext("door {name}", name=door.name)
    places = [_edge_label(view, first, last, name, away) for away in (5.4, deep + 1.6)]
    gap = Line(view.at(first), view.at(last), Pen(1.4, 1.0), "door")
    return [gap, Line(view.at(first), view.at(last), DASHED, "door"), *_ticks(view, first, last), *labels.first(places)]


def _opening(job: PackJob, door: Door) -> tuple[Point, Point]:
    """The ends of a door's opening along its wall, row frame."""
    a, b = _row_place(job, door.wall[0]), _row_place(job, door.wall[1])
    length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0

    def along(mm: float) -> Point:
        return a[0] + (b[0] - a[0]) * mm / length, a[1] + (b[1] - a[1]) * mm / length
    return along(door.from_mm), along(door.from_mm + door.width_mm)


def _ticks(view: View, first: Point, last: Point) -> list[Item]:
    (x0, y0), (x1, y1) = view.at(first), view.at(last)
    d = hypot(x1 - x0, y1 - y0) or 1.0
    out = (-(y1 - y0) / d * 2.2, (x1 - x0) / d * 2.2)
    return [Line((x - out[0] / 2, y - out[1] / 2), (x + out[0], y + out[1]), FINE, "door")
            for x, y in ((x0, y0), (x1, y1))]
