"""A fitter who has only the paper: reads booklet.pdf and cuts.csv, saws simulated boards and lays them in a simulated
room.

Nothing of the planner or of printpack is used to read it back: text comes out of the PDF by PDFium, tables by `csv`,
shapes are shapely's. Figures for straight cuts, sizes, gap and order come from the booklet's text, as a person reads
them, rounded to the millimetre; notches and holes, which a person traces from templates, and the place a piece had in
its board from cuts.csv.

Rows lie in the row frame (s right, t away from the start wall, mm). The fitter puts row 1 along the start wall, spacers
to it; each run's first piece goes against spacers, the next ones click on, and the last one is measured in place where
the booklet says so: from the joint to the spacer at its near and its far edge, or from the row before to the spacer at
its two ends.
"""
from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np
import pypdfium2
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

FAR = 1e5
_HAIR_MM = 1.0
#: What the table rounds to: wood thinner than that beside a notch is none.
_TABLE_MM = 0.001
#: Boards of one batch err in width together (EN 13329 as quoted by trade handbooks: +-0.1 mm), each in length alone
#: (+-0.5 mm).
WIDTH_PM_MM, LENGTH_PM_MM = 0.1, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSheet:
    """What the booklet's text says of one piece. crosses, rips: (kept side, first mm, second mm). lines: saw lines by
    their corners, (end, edge, ((from that end, from that edge), ...)). place, width: what to expect in place as
    ((first, least, most), (second, least, most)), or None where nothing is measured."""

    name: str
    takes: str
    crosses: tuple[tuple[str, float, float], ...] = ()
    rips: tuple[tuple[str, float, float], ...] = ()
    place: tuple[tuple[float, float, float], ...] | None = None
    width: tuple[tuple[float, float, float], ...] | None = None
    lines: tuple[tuple[str, str, tuple[tuple[float, float], ...]], ...] = ()
    cut_out: bool = False
    pencils: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Booklet:
    """The booklet as read: board, gap, laying order, pieces row by row in the order they are laid."""

    board_mm: tuple[float, float]
    boards: int
    gap_mm: float
    rightwards: bool
    rows: tuple[tuple[PieceSheet, ...], ...]


def read_booklet(pdf: bytes) -> Booklet:
    """The booklet of a job in millimetres. Raises ValueError where a sentence that is needed is not there."""
    document = pypdfium2.PdfDocument(pdf)
    texts = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    document.close()
    size = _found(r"The board must be (\d+) mm × ([\d.]+) mm", " ".join(texts))
    boards = _found(r"(\d+) boards, \d+ packs", " ".join(texts))
    gap = _found(r"Spacers: (\d+) mm at both ends", " ".join(texts))
    pages = [(match[1], text) for text in texts if (match := re.match(r"Row (\d+)(?: of \d+| \(continued\))", text))]
    rows = [" ".join(text for _, text in same) for _, same in groupby(pages, key=lambda page: page[0])]
    return Booklet(board_mm=(float(size[1]), float(size[2])), boards=int(boards[1]), gap_mm=float(gap[1]),
                   rightwards="Lay from left to right" in rows[0], rows=tuple(tuple(_read_row(text)) for text in rows))


def _found(pattern: str, text: str) -> re.Match[str]:
    match = re.search(pattern, text)
    if match is None:
        raise ValueError(f"the booklet does not say {pattern!r}")
    return match


def _read_row(text: str) -> list[PieceSheet]:
    """The pieces of one row, in laying order. A piece's number stands before its "Take", then its picture and its
    label."""
    text = re.sub(r" When row \d+ is down.*", "", text, count=1)
    pencil = r"Pencil (\w+) on the offcut: \d+ mm long, (?:for \d+\.\d+|a spare)\."
    sheets: list[PieceSheet] = []
    parts = re.split(r"\bTake ", text)
    for before, said in zip(parts, parts[1:]):
        several = re.match(r"(\d+) new boards, lay them whole((?: \d+\.\d+)+)", said)
        if several:
            names = several[2].split()[:int(several[1])]
            sheets += [PieceSheet(name=name, takes="") for name in names]
            continue
        tail = before.rsplit("click", 1)[-1] if not sheets else before
        name = re.findall(r"(?<![\d.])(\d+\.\d+)(?![\d.])", re.sub(pencil, "", tail))[-1]
        labels = tuple(re.findall(pencil, before.rsplit("Keeps its click", 1)[-1]))
        sheets.append(_read_piece(name, said, labels))
    return sheets


def _read_piece(name: str, said: str, labels: tuple[str, ...]) -> PieceSheet:
    take = _found(r"^(?:new board|offcut (\w+)|your own piece (\w+))", said)
    crosses = [(m[2], float(m[1]), float(m[1])) for m in re.finditer(r"Saw across (\d+) mm from its (LEFT|RIGHT) end",
                                                                     said)]
    crosses += [(m[1], float(m[2]), float(m[3])) for m in re.finditer(
        r"Saw across, from its (LEFT|RIGHT) end: NEAR (-?\d+) mm, FAR (-?\d+) mm", said)]
    rips = [(m[2], float(m[1]), float(m[1])) for m in re.finditer(r"Saw along (\d+) mm from its (NEAR|FAR) edge", said)]
    rips += [(m[1], float(m[2]), float(m[3]))
             for m in re.finditer(r"Saw along, from its (NEAR|FAR) edge: LEFT (-?\d+) mm, RIGHT (-?\d+) mm", said)]
    lines = [
        (m[1], m[2], tuple(tuple(map(float, pair.split("/"))) for pair in m[3].split("→")))
        for m in re.finditer(
            r"Saw this line \(mm from its (LEFT|RIGHT) end / its (NEAR|FAR) edge\): ([-\d]+ / [-\d]+(?: → [-\d]+ / [-\d]+)+)",
            said,
        )
    ]
    return PieceSheet(name=name, takes=take[1] or take[2] or "", crosses=tuple(crosses), rips=tuple(rips),
                      lines=tuple(lines), pencils=labels, cut_out="Tape its cut-out first" in said,
                      place=_read_expected(r"Expect (?:its place to be )?", said),
                      width=_read_expected(r"Expect its width to be ", said))


def _read_expected(lead: str, said: str) -> tuple[tuple[float, float, float], ...] | None:
    one = re.search(lead + r"(\d+) mm, (\d+) to (\d+)", said)
    two = re.search(lead + r"[A-Z]+ (\d+) mm \((\d+) to (\d+)\), [A-Z]+ (\d+) mm \((\d+) to (\d+)\)", said)
    if one:
        return (tuple(map(float, one.groups())),) * 2
    return (tuple(map(float, two.groups()[:3])), tuple(map(float, two.groups()[3:]))) if two else None


def read_cuts(text: str) -> dict[str, list[dict[str, str]]]:
    """The lines of cuts.csv by piece."""
    pieces: dict[str, list[dict[str, str]]] = {}
    for line in csv.DictReader(io.StringIO(text)):
        pieces.setdefault(line["piece"], []).append(line)
    return pieces


def number(line: dict[str, str], name: str) -> float:
    """One number of a line."""
    return float(line[name])


def sawn(lines: list[dict[str, str]], board_mm: tuple[float, float], crosses=None, rips=None) -> Polygon:
    """One piece in its board's frame: the stock, less what its cuts take off. crosses, rips: figures that stand in for
    the table's own, in the table's order, as (kept, first, second)."""
    first, width = lines[0], board_mm[1]
    stock = (number(first, "stock_from_mm"), number(first, "stock_to_mm"))
    piece = box(stock[0], 0.0, stock[1], width)
    middle = tuple((number(first, a) + number(first, b)) / 2 for a, b in (("from_mm", "to_mm"), ("near_mm", "far_mm")))
    for kept, near, far in _straight(lines, "cross") if crosses is None else crosses:
        a, b = (stock[0] + d if kept.lower() == "left" else stock[1] - d for d in (near, far))
        slope = (b - a) / width
        beyond = Polygon([(a - slope * FAR, -FAR), (a + slope * FAR, FAR), (FAR * 3, FAR), (FAR * 3, -FAR)])
        piece = piece.intersection(beyond) if middle[0] > a + slope * middle[1] else piece.difference(beyond)
    for kept, left, right in _straight(lines, "rip") if rips is None else rips:
        a, b = (d if kept.lower() == "near" else width - d for d in (left, right))
        x0, x1 = number(first, "from_mm"), number(first, "to_mm")
        slope = (b - a) / (x1 - x0)
        deep = 2 * FAR * (1 + abs(slope))
        half = Polygon([(x0 - FAR, a - FAR * slope), (x1 + FAR, b + FAR * slope), (x1 + FAR, deep), (x0 - FAR, deep)])
        piece = piece.difference(half) if kept.lower() == "near" else piece.intersection(half)
    for line in lines:
        if line["cut"] in ("notch", "line"):
            notch = Polygon([tuple(map(float, pair.split())) for pair in line["shape_mm"].split(";")])
            piece = piece.difference(notch.buffer(_TABLE_MM, join_style="mitre"))
    # A hair of wood left between two saw lines, because one of them was rounded, falls off.
    opened = piece.buffer(-_HAIR_MM, join_style="mitre").buffer(_HAIR_MM,
                                                                join_style="mitre") if crosses is not None else piece
    return max(getattr(opened, "geoms", [opened]), key=lambda part: part.area)


def ripped(sheet: PieceSheet, lines: list[dict[str, str]], width: float) -> list[tuple[str, float, float]]:
    """The rips the sheet names: by distances at the ends, or by the two corners of a saw line, carried on to the
    ends."""
    found, table, first = list(sheet.rips), _straight(lines, "rip"), lines[0]
    x0, x1, near, far = (number(first, key) for key in ("from_mm", "to_mm", "near_mm", "far_mm"))
    for (end, edge, corners), (kept, _, _) in zip([line for line in sheet.lines if len(line[2]) == 2],
                                                  table[len(found):]):
        (ax, ay), (bx, by) = ((x0 + along if end == "LEFT" else x1 - along, near + off if edge == "NEAR" else far - off)
                              for along, off in corners)
        at = [ay + (by - ay) * (x - ax) / (bx - ax) for x in (x0, x1)]
        found.append((kept.upper(), *(at if kept == "near" else [width - y for y in at])))
    if len(found) != len(table):
        raise ValueError(f"the booklet does not say every rip of piece {sheet.name}")
    return found


def _straight(lines: list[dict[str, str]], kind: str) -> list[tuple[str, float, float]]:
    return [(line["kept"], number(line, "at_first_mm"), number(line, "at_second_mm")) for line in lines
            if line["cut"] == kind]


@dataclass(slots=True)
class Hand:
    """How well the fitter works. cut_sd_mm: each mark of a straight cut; measures: whether closing pieces are
    measured in place."""

    rng: np.random.Generator
    cut_sd_mm: float = 1.0
    measures: bool = True
    boards_err: bool = True

    def slip(self) -> float:
        """The error of one sawn mark, mm."""
        return float(self.rng.normal(0.0, self.cut_sd_mm)) if self.cut_sd_mm else 0.0


@dataclass(slots=True)
class Laid:
    """The floor as it came out: shapes by piece in the row frame, and how often a measured place was outside what
    was expected."""

    shapes: dict[str, Polygon] = field(default_factory=dict)
    measured: int = 0
    outside: int = 0


def lay(booklet: Booklet, cuts: dict[str, list[dict[str, str]]], room: Polygon, hand: Hand) -> Laid:
    """Lay every piece of the booklet in a room (row frame, its start wall already where row 1 expects it)."""
    free = room.buffer(-booklet.gap_mm, join_style="mitre")
    laid, wide = Laid(), float(hand.rng.uniform(-WIDTH_PM_MM, WIDTH_PM_MM)) if hand.boards_err else 0.0
    for row_number, row in enumerate(booklet.rows):
        for _, run in groupby(row, key=lambda sheet: cuts[sheet.name][0]["run"]):
            _lay_run(list(run), booklet, cuts, free, hand, laid, row_number * wide)
    return laid


def _lay_run(run: list[PieceSheet], booklet: Booklet, cuts, free: Polygon, hand: Hand, laid: Laid,
             drift: float) -> None:
    joint = None
    for sheet in run:
        shape = _made(sheet, cuts[sheet.name], joint, booklet, free, hand, laid, drift)
        laid.shapes[sheet.name] = shape
        grown = float(hand.rng.uniform(-LENGTH_PM_MM, LENGTH_PM_MM)) if hand.boards_err and not sheet.crosses else 0.0
        joint = shape.bounds[2] + grown if booklet.rightwards else shape.bounds[0] - grown


def _made(sheet: PieceSheet, lines, joint: float | None, booklet: Booklet, free: Polygon, hand: Hand, laid: Laid,
          drift: float) -> Polygon:
    """One piece, measured in place as far as its sheet says so, sawn and laid."""
    shift = (number(lines[0], "left_mm") - number(lines[0], "from_mm"),
             number(lines[0], "top_mm") + drift - number(lines[0], "near_mm"))
    asked = ripped(sheet, lines, booklet.board_mm[1])
    crosses = [(side, a + hand.slip(), b + hand.slip()) for side, a, b in sheet.crosses]
    rips = [(side, a + hand.slip(), b + hand.slip()) for side, a, b in asked]
    nominal = _against(affinity.translate(sawn(lines, booklet.board_mm, sheet.crosses, asked), *shift), joint,
                       booklet.rightwards, free)
    if hand.measures and sheet.place:
        crosses = _measured_ends(sheet, crosses, nominal, joint, booklet, free, laid)
    if hand.measures and sheet.width:
        rips = _measured_edges(sheet, rips, nominal, free, laid)
    shape = affinity.translate(sawn(lines, booklet.board_mm, crosses, rips), *shift)
    if hand.measures and sheet.cut_out:
        straight = ("cross",) if sheet.lines else ("cross", "rip")
        bare = [line for line in lines if line["cut"] in straight] or [lines[0] | {"cut": "none"}]
        blank = affinity.translate(sawn(bare, booklet.board_mm, crosses, [] if sheet.lines else rips), *shift)
        placed = _against(shape, joint, booklet.rightwards, free)
        return _scribed(affinity.translate(blank, placed.bounds[0] - shape.bounds[0], 0.0), placed, free, hand)
    return _against(shape, joint, booklet.rightwards, free)


def _scribed(blank: Polygon, shape: Polygon, free: Polygon, hand: Hand) -> Polygon:
    """A cut-out sawn where the tape says: the blank cut to the walls less the gap, each way off by the hand's slip,
    near the lines listed."""
    waste = blank.difference(shape)
    reach = waste.buffer(40.0, join_style="mitre")
    walls = affinity.translate(free, hand.slip(), hand.slip())
    made = blank.difference(reach).union(blank.intersection(reach).intersection(walls)).buffer(0.01, join_style="mitre")
    return max(getattr(made, "geoms", [made]), key=lambda part: part.area)


def _against(shape: Polygon, joint: float | None, rightwards: bool, free: Polygon) -> Polygon:
    """The piece pushed against the joint, or against the spacers at its run's beginning."""
    if joint is not None:
        return affinity.translate(shape, joint - (shape.bounds[0] if rightwards else shape.bounds[2]), 0.0)
    shifts = []
    side, middle = 0 if rightwards else 1, (shape.bounds[0] + shape.bounds[2]) / 2
    for t in np.linspace(shape.bounds[1] + 1.0, shape.bounds[3] - 1.0, 13):
        mine, there = ([_span(area, t + d, through) for d in (-0.4, 0.4)]
                       for area, through in ((shape, None), (free, middle)))
        # Only where both the end and its wall run across the row: along a slanted edge a spacer tells nothing.
        if all((*mine, *there)) and all(abs(span[1][side] - span[0][side]) < 2.0 for span in (mine, there)):
            shifts.append(sum(span[side] for span in there) / 2 - sum(span[side] for span in mine) / 2)
    if not shifts:
        return shape
    # Where a notch and its wall do not begin at the same height, a station between them tells nothing of the end's own
    # place.
    near = [shift for shift in shifts if abs(shift - float(np.median(shifts))) < 20.0]
    return affinity.translate(shape, max(near) if rightwards else min(near), 0.0)


def _span(area: Polygon, t: float, through: float | None) -> tuple[float, float] | None:
    """(left, right) of the stretch of an area at height t: the widest one, or the one through a place."""
    parts = area.intersection(LineString([(-FAR, t), (FAR, t)]))
    spans = [part.bounds for part in getattr(parts, "geoms", [parts]) if not part.is_empty and part.length > 1e-6]
    if through is not None:
        spans = [span for span in spans if span[0] - 30.0 <= through <= span[2] + 30.0]
    best = max(spans, key=lambda span: span[2] - span[0], default=None)
    return (best[0], best[2]) if best else None


def _measured_ends(sheet, crosses, nominal: Polygon, joint: float | None, booklet: Booklet, free: Polygon, laid: Laid):
    """The wall-side crosscut put where the tape says: from the joint (or first spacer) to the spacer, near both
    edges."""
    wall_side = 1 if booklet.rightwards else 0
    offs = _offs(nominal, free, wall_side, 1.0 if booklet.rightwards else -1.0)
    towards = "LEFT" if booklet.rightwards else "RIGHT"
    which = next((k for k in range(len(crosses) - 1, -1, -1) if crosses[k][0] == towards or len(crosses) == 1), None)
    if offs is None or which is None:
        return crosses
    _tally(laid, offs, sheet.place)
    side, a, b = crosses[which]
    sign = 1.0 if side == towards else -1.0
    return [*crosses[:which], (side, a + sign * offs[0], b + sign * offs[1]), *crosses[which + 1:]]


def _measured_edges(sheet, rips, nominal: Polygon, free: Polygon, laid: Laid):
    """The wall-side rip put where the tape says: from the row before to the spacer (or the other way), near both
    ends."""
    swap = [0, 1, 1, 0, 0, 0]
    made = list(rips)
    for k, (side, a, b) in enumerate(rips):
        piece, floor = affinity.affine_transform(nominal, swap), affinity.affine_transform(free, swap)
        offs = _offs(piece, floor, 1, 1.0) if side == "NEAR" else _offs(piece, floor, 0, -1.0)
        if offs is not None:
            _tally(laid, offs, sheet.width)
            made[k] = (side, a + offs[0], b + offs[1])
    return made


def _offs(shape: Polygon, free: Polygon, side: int, sign: float) -> tuple[float, float] | None:
    """How much further the spacer stands than the piece as listed reaches, at the two edges of that side; None if
    neither can be taped. Tapes run 15 % inside the edges, the line through both is carried on; where one cannot be
    taped the other serves."""
    low, high = shape.bounds[1], shape.bounds[3]
    taped = []
    for share in (0.15, 0.85):
        t = low + share * (high - low)
        mine, there = _span(shape, t, None), _span(free, t, (shape.bounds[0] + shape.bounds[2]) / 2)
        off = sign * (there[side] - mine[side]) if mine and there else None
        taped.append(off if off is not None and abs(off) < 60.0 else None)
    known = [off for off in taped if off is not None]
    if not known:
        return None
    first, last = (known[0] if off is None else off for off in taped)
    tilt = (last - first) * 0.15 / 0.7
    return first - tilt, last + tilt


def _tally(laid: Laid, offs: tuple[float, float], expected) -> None:
    """Count a measured place, and whether it is outside what the booklet expects (to the millimetre a tape is read
    to)."""
    laid.measured += 1
    laid.outside += any(not low - 0.5 <= at + off <= high + 0.5 for off, (at, low, high) in zip(offs, expected))


def gaps(room: Polygon, floor, step_mm: float = 20.0) -> np.ndarray:
    """The gap at places every `step_mm` along the walls: distance from the wall to the nearest board."""
    found = []
    for ring in (room.exterior, *room.interiors):
        for k in range(max(1, int(ring.length / step_mm))):
            found.append(ring.interpolate((k + 0.5) * step_mm).distance(floor))
    return np.array(found)
