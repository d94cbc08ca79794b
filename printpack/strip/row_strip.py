"""The row as it will lie, from wall to wall: whole boards grey, sawn pieces white with their figure, walls named.

Widths are shared out so that every piece can be read: a whole board gives way to a short piece's figure. The wall edge
is at the top. A row that is too long for one strip goes on in the next.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import gettext
from layout.plan import Piece, Plan, Point, Ring, Row, Run
from printpack.drawing.frames import box_of, in_rows, label_spot, within
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.drawing.page_layout import BODY, FIGURE, SMALL, tick_box
from printpack.drawing.sheet import NONE, Circle, Item, Line, Pen, Poly, Text
from printpack.job import PackJob
from printpack.strip.axis import shared_out
from printpack.strip.card_parts import MAIN, Panel, arrow
from printpack.strip.step import Step, is_plain
from printpack.units import Units
from printpack.words.tolerances import Fit

#: Height of the row itself, usual and where there is little room; above it and below it, mm.
BAND, LOW_BAND = 21.0, 13.0
_HEAD, _FEET = 7.6, 11.2
#: A wall's bar and its name beside the row's end, what a whole board takes at least, and half an outline's width, mm.
_WALL, _WHOLE, _EDGE = 9.0, 11.0, 0.5
_GREY = 0.9
_SAWN = Pen(0.9)
_BAR = Pen(1.5)
_TICK = 5.0
#: Half a hole's width, mm.
_HOLE = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class RowFacts:
    """What the strip of a row shows: its steps by piece, and the names of what each run ends at, left and right.
    start_gap_mm: how thick the spacers at the start wall are, where they are not the usual ones, else 0."""

    plan: Plan
    row: Row
    steps: dict[str, tuple[Step, ...]]
    ends: tuple[tuple[str, str], ...]
    start_gap_mm: float = 0.0


def run_ends(job: PackJob, row: Row, fit: Fit) -> tuple[tuple[str, str], ...]:
    """(what stands at its left end, at its right end) of each run: a wall, a door, an island by its name; ""
    unknown."""
    return tuple((_named(job, row, run.pieces[0], "left", fit), _named(job, row, run.pieces[-1], "right", fit))
                 for run in row.runs)


def _named(job: PackJob, row: Row, piece: Piece, side: str, fit: Fit) -> str:
    ring = in_rows(job.plan, piece.outline_mm)
    left, near, right, far = box_of(ring)
    for door in job.plan.doorways:
        tip = (left + 1.0 if side == "left" else right - 1.0, (near + far) / 2)
        if within(tip, in_rows(job.plan, door.outline)):
            return gettext("door {name}", name=door.door)
    reach = next((reach for share in (0.5, 0.8, 0.2)
                  if (reach := fit.to_end_wall((left + right) / 2, near + share * (far - near), side))), None)
    if reach is None:
        return ""
    island = next((island.name for island in job.floor.islands if reach.edge[0] in island.corners), "")
    return island or gettext("wall {a}–{b}", a=reach.edge[0], b=reach.edge[1])


@dataclass(frozen=True, slots=True)
class Look:
    """How high the row is drawn, whether it has boxes to tick, and whether figures stand in its pieces too."""

    band: float = BAND
    ticks: bool = True
    figures: bool = True


def row_strips(facts: RowFacts, units: Units, width: float, look: Look) -> tuple[Panel, ...]:
    """The row in one strip, or in as many as it takes to read every piece."""
    bands = _bands(facts, units if look.figures else None, width)
    return tuple(_strip(facts, units, band, width, look, first=k == 0) for k, band in enumerate(bands))


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece in a strip, with the names of what it ends at ("" where the row goes on)."""

    piece: Piece
    before: str
    after: str
    need: float


def _bands(facts: RowFacts, units: Units | None, width: float) -> list[list[_Part]]:
    """Pieces, as many to a strip as can be read, about as many in each."""
    parts = [part for run, ends in zip(facts.row.runs, facts.ends) for part in _parts(facts, units, run, ends)]
    total = sum(_room(part) for part in parts)
    count = max(1, -(-int(total * 1000) // int(width * 1000)))
    while True:
        bands: list[list[_Part]] = [[]]
        share = total / count
        used = 0.0
        for part in parts:
            if bands[-1] and used + _room(part) / 2 > share * len(bands) and len(bands) < count:
                bands.append([])
            bands[-1].append(part)
            used += _room(part)
        if count >= len(parts) or all(sum(map(_room, band)) + 2 * _EDGE <= width for band in bands):
            return bands
        count += 1


def _parts(facts: RowFacts, units: Units | None, run: Run, ends: tuple[str, str]) -> list[_Part]:
    first, last = run.pieces[0], run.pieces[-1]
    left, right = (end or gettext("wall") for end in ends)
    return [_Part(piece, left if piece is first else "", right if piece is last else "",
                  _need(facts, units, piece)) for piece in run.pieces]


def _room(part: _Part) -> float:
    return part.need + _WALL * (bool(part.before) + bool(part.after))


def _need(facts: RowFacts, units: Units | None, piece: Piece) -> float:
    """How wide a piece must be drawn; units: None where no figure stands in it."""
    figure = _figure(facts, units, piece) if units else ""
    name = max(text_width(piece.id, SMALL, bold=True), _TICK) + 2.0
    return max(text_width(figure, MAIN, bold=True) + 3.6 if figure else _WHOLE, name)


def _figure(facts: RowFacts, units: Units, piece: Piece) -> str:
    """The length of a piece that is sawn to it once, square."""
    steps = facts.steps[piece.id]
    return units.figure(steps[0].tapes[0].mm) if steps and is_plain(steps[0]) else ""


def _strip(facts: RowFacts, units: Units, band: list[_Part], width: float, look: Look, *, first: bool) -> Panel:
    walls = _WALL * sum(bool(part.before) + bool(part.after) for part in band)
    lengths = [part.piece.to_mm - part.piece.from_mm for part in band]
    widths = shared_out(lengths, [part.need for part in band], width - walls - 2 * _EDGE)
    items: list[Item] = _directions(facts, units, width) if first else []
    x = _EDGE
    for part, wide in zip(band, widths):
        x += _WALL if part.before else 0.0
        items += _piece(facts, units, part, x, wide, look)
        for name, at, out in ((part.before, x, -1.0), (part.after, x + wide, 1.0)):
            items += _wall(name, at, out, look.band) if name else []
        x += wide + (_WALL if part.after else 0.0)
    return Panel(width_mm=width, height_mm=_HEAD + look.band + (_FEET if look.ticks else 5.0), items=tuple(items))


def _directions(facts: RowFacts, units: Units, width: float) -> list[Item]:
    """Where the start wall is, with the spacers that are its own, and an arrow the way the row is laid."""
    y = ASCENT * FIGURE + 0.4
    gap = facts.start_gap_mm
    words, size = (gettext("start wall: spacers {gap}", gap=units.length(gap)), BODY) if gap else (
        gettext("start wall"), FIGURE)
    half = text_width(words, size) / 2
    long = 34.0 if not gap else min(34.0, width / 2 - half - _WALL - 6.0)
    rightwards = facts.plan.lay == "left-to-right"
    a, b = (_WALL, _WALL + long) if rightwards else (width - _WALL, width - _WALL - long)
    foot = width / 2 - half
    up = Line((foot, y), (foot, y - 3.6), Pen(0.4))
    tip = Poly(((foot, y - 5.0), (foot - 1.0, y - 2.8), (foot + 1.0, y - 2.8)), NONE, 0.0)
    there = gap or half + long + _WALL + 3.0 < width / 2
    middle = Text((width / 2 + 3.0, y), words, size, "middle")
    return [*arrow((a, y - 1.6), (b, y - 1.6)), *((middle, up, tip) if there else ())]


def _piece(facts: RowFacts, units: Units, part: _Part, x: float, wide: float, look: Look) -> list[Item]:
    """One piece in its outline, its figure, its name and its tick box."""
    piece, steps = part.piece, facts.steps[part.piece.id]
    ring = _outline(facts, piece, x, wide, look.band)
    fill = _GREY if not piece.cuts and not piece.takes else 1.0
    items: list[Item] = [Poly(ring, _SAWN if piece.cuts else Pen(0.4), fill, True, "piece")]
    holes = [_spot(facts, piece, bore.centre, x, wide, look.band) for step in steps for bore in step.bores]
    items += [Circle(hole, _HOLE, Pen(0.5), 1.0, "hole") for hole in holes]
    items += _in_piece(facts, units if look.figures else None, piece, ring, holes)
    y = _HEAD + look.band + 0.8 + ASCENT * SMALL
    items.append(Text((x + wide / 2, y), piece.id, SMALL, "middle", bool(steps) or bool(piece.takes), layer="name"))
    if look.ticks:
        items.append(tick_box(x + wide / 2 - _TICK / 2, y + 1.4, _TICK))
    return items


def _in_piece(facts: RowFacts, units: Units | None, piece: Piece, ring: Ring, holes: list[Point]) -> list[Item]:
    """A piece's figure where it stands clear of its outline and its holes, or that it is an offcut; nothing in a whole
    board."""
    figure = _figure(facts, units, piece) if units else ""
    plain = gettext("offcut") if piece.takes else _length_of(facts, units, piece)
    for text, size in ((figure, MAIN), (plain, FIGURE)):
        wide, tall = text_width(text, size, bold=size == MAIN) + 1.6, CAP * size + 3.4
        spot = label_spot(ring, wide, tall) if text else None
        if spot and not any(abs(x - spot[0]) < wide / 2 + _HOLE and abs(y - spot[1]) < tall / 2 + _HOLE
                            for x, y in holes):
            return [Text((spot[0], spot[1] + CAP * size / 2), text, size, "middle", size == MAIN,
                         layer="figure" if size == MAIN else "")]
    return []


def _length_of(facts: RowFacts, units: Units | None, piece: Piece) -> str:
    """How long a new board is, where they differ."""
    mixed = facts.plan.board.mix and units and not piece.cuts
    return units.bare(facts.plan.board_of(piece.board).length_mm) if mixed and units else ""


def _outline(facts: RowFacts, piece: Piece, x: float, wide: float, band: float) -> Ring:
    return tuple(_place(facts, piece, place, (x, wide, band)) for place in in_rows(facts.plan, piece.outline_mm))


def _place(facts: RowFacts, piece: Piece, place: Point, box: tuple[float, float, float]) -> Point:
    """A place of the row frame in the strip: along to the piece's own width, across to the band. box: (left, width,
    height)."""
    x, wide, band = box
    left, _, right, _ = box_of(in_rows(facts.plan, piece.outline_mm))
    row = facts.row
    return (x + wide * (place[0] - left) / (right - left),
            _HEAD + band * (place[1] - row.near_mm) / max(row.far_mm - row.near_mm, 1.0))


def _spot(facts: RowFacts, piece: Piece, centre: Point, x: float, wide: float, band: float) -> Point:
    left, near, _, _ = box_of(in_rows(facts.plan, piece.outline_mm))
    along, across = _place(facts, piece, (centre[0] - piece.from_mm + left, centre[1] - piece.near_mm + near),
                           (x, wide, band))
    return min(max(along, x + 2.2), x + wide - 2.2), min(max(across, _HEAD + 2.2), _HEAD + band - 2.2)


def _wall(name: str, x: float, out: float, band: float) -> list[Item]:
    """A bar beside the row's end and the name of what stands there, reading upwards."""
    bar = x + out * 2.2
    size = SMALL
    while len(name) > 2 and text_width(name, size) > band + 4.0:
        name = name[:-2] + "…"
    base = bar + (-1.6 if out < 0 else 1.6 + CAP * size)
    return [Line((bar, _HEAD - 1.6), (bar, _HEAD + band + 1.6), _BAR, "wall"),
            Text((base, _HEAD + band / 2), name, size, "middle", turn_deg=90.0, layer="wall")]
