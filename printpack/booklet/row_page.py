"""One page a row: where it is, the row to scale, what to take and saw for each piece, and what to check.

A row with more pieces than one page holds goes on under the same number. Everything a person needs for one piece stands
in its own ruled block, in laying order.
"""
from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from layout.plan import Piece, Plan, Ring, Row
from printpack.words.tolerances import Fit
from printpack.drawing.page_layout import (
    BODY, FIGURE, LEADING, SMALL, TITLE, Block, Page, column_width, page_title, pages_of, point, stacked, text_lines,
    tick_box)
from printpack.drawing.hatch import hatch
from printpack.job import PackJob
from printpack.booklet.legend import board_picture, legend
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.paper import Paper
from printpack.drawing.frames import View, box_of, in_rows, label_spot, length_of
from printpack.booklet.plan_view import row_map
from printpack.words.row_words import above_row, at_wall, laying_order, pencil_words, piece_words, row_checks, row_facts
from printpack.drawing.sheet import FINE, MEDIUM, STRONG, Item, Line, Pen, Poly, Text

_NAMES = 21.0
_STUB = 7.0
#: A row's average piece is drawn at least this long, else the row is drawn in several bands, mm.
_LEAST_PIECE_MM = 18.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """How close a page is set: the small plan's box, the width of boards' pictures, the lines' leading, and the
    space after a sentence, mm."""

    map_mm: tuple[float, float]
    picture_mm: float
    leading: float
    after_mm: float

    @property
    def first_line(self) -> float:
        """Baseline of a block's first line: `text_lines` puts it there for a line that starts 2 mm down."""
        return 2.0 + FIGURE * (ASCENT + (self.leading - 1.0) / 2)


_USUAL = _Setting(map_mm=(48.0, 32.0), picture_mm=65.0, leading=LEADING, after_mm=0.4)
#: For a row that would else run over its page by a little.
_CLOSE = _Setting(map_mm=(48.0, 24.0), picture_mm=50.0, leading=1.13, after_mm=0.2)


def row_pages(
    job: PackJob, row: Row, paper: Paper, templates: dict[str, tuple[str, ...]], fit: Fit
) -> tuple[Page, ...]:
    """The page or pages of one row, set closer if that keeps it on one. `templates`: the templates' names by piece
    id."""
    usual = _set(job, row, paper, templates, fit, _USUAL)
    if len(usual) == 1:
        return usual
    close = _set(job, row, paper, templates, fit, _CLOSE)
    return close if len(close) < len(usual) else usual


def _set(job: PackJob, row: Row, paper: Paper, templates: dict[str, tuple[str, ...]], fit: Fit,
         setting: _Setting) -> tuple[Page, ...]:
    width = column_width(paper)
    blocks = [_head(job, row, width, setting), *row_bands(job, row, width), legend(width)]
    for group in _groups(job.plan, row, laying_order(job, row)):
        blocks.append(_whole_boards(job, group, width, setting) if len(group) > 1
                      else stacked(_piece_block(job, row, piece, width, templates.get(piece.id, ()), fit, setting)
                                   for piece in group))
    blocks.append(_checks(job, row, width, fit, setting))
    name = f"Row {row.number}"
    return pages_of(blocks, paper, bookmark=name, again=lambda k: page_title(f"{name} (continued)", width))


def _head(job: PackJob, row: Row, width: float, setting: _Setting) -> Block:
    """The row's number, its figures and the small plan."""
    map_width, map_height = setting.map_mm
    room = width - map_width - 6.0
    number = Text((0.0, 1.0 + ASCENT * 1.4 * TITLE), f"Row {row.number}", 1.4 * TITLE, bold=True)
    beside = text_width(number.text, number.size_mm, bold=True) + 3.0
    items: list[Item] = [number, Text((beside, number.at[1]), f"of {len(job.plan.rows)}", FIGURE)]
    y = 1.0 + 1.4 * TITLE
    for said in row_facts(job, row):
        lines, used = text_lines(said.text, 0.0, y + 1.0, room, size=FIGURE if said.large else BODY,
                                 leading=setting.leading)
        items += lines
        y += used + 0.6
    items += row_map(job.plan, row, width - map_width, 2.0, map_width, map_height)
    items.append(Text((width, map_height + 6.0), "black: this row · grey: already down", SMALL, "end"))
    return Block(height_mm=max(y, map_height + 7.0) + 1.0, items=tuple(items))


def row_bands(job: PackJob, row: Row, width: float) -> list[Block]:
    """The row to scale, in as many bands as it takes to keep a piece's number readable."""
    room = width - 2 * _STUB
    rings = {piece.id: in_rows(job.plan, piece.outline_mm) for piece in row.pieces}
    bands = _split(row, rings, room)
    spans = [(box_of(*(rings[piece.id] for piece in band))) for band in bands]
    scale = min(room / max(span[2] - span[0] for span in spans), 0.12)
    flat = View(scale=scale, x_mm=0.0, y_mm=0.0)
    lead = 6.0 if all(_name_in(piece, flat.ring(rings[piece.id])) for piece in row.pieces) else 9.5
    above = above_row(job, row)
    blocks = []
    for number, (band, span) in enumerate(zip(bands, spans), start=1):
        inset = 0.0 if len(bands) > 1 else (room - scale * (span[2] - span[0])) / 2
        view = View(scale=scale, x_mm=_STUB + inset - scale * span[0], y_mm=lead - scale * row.near_mm)
        part = f", part {number} of {len(bands)}" if len(bands) > 1 else ""
        note = Text((width / 2, 4.0), f"↑ {above}{part}", SMALL, "middle")
        items = [item for piece in band for item in _in_row(job, view, piece, at_wall(row, piece))] + _lengths(
            job, view, band, rings, width
        )
        blocks.append(Block(height_mm=scale * (row.far_mm - row.near_mm) + lead + 8.5, items=(note, *items)))
    return blocks


def _split(row: Row, rings: dict[str, Ring], room: float) -> list[list[Piece]]:
    """The row's pieces in bands of about equal length along the row."""
    boxes = {name: box_of(ring) for name, ring in rings.items()}
    left, right = min(box[0] for box in boxes.values()), max(box[2] for box in boxes.values())
    average = sum(box[2] - box[0] for box in boxes.values()) / len(boxes)
    count = max(1, round(_LEAST_PIECE_MM * (right - left) / room / average))
    bands = [[piece for piece in row.pieces if k <= count * (boxes[piece.id][0] - left) / (right - left) < k + 1]
             for k in range(count)]
    return [band for band in bands if band]


def _in_row(job: PackJob, view: View, piece: Piece, at_wall: bool) -> list[Item]:
    ring = view.ring(in_rows(job.plan, piece.outline_mm))
    x0, y0, x1, y1 = box_of(ring)
    items: list[Item] = [Poly(ring, MEDIUM, None, True, "piece")]
    for side, x, out in (("left", x0, -5.0), ("right", x1, 5.0)):
        if side in piece.keeps:
            items.append(Line((x, y0), (x, y1), Pen(0.9), "factory"))
        elif at_wall:
            stub = ((min(x, x + out), y0), (max(x, x + out), y0), (max(x, x + out), y1), (min(x, x + out), y1))
            items += hatch((stub,), spacing_mm=1.4)
    name = _name_in(piece, ring)
    if name:
        items.append(name)
    elif text_width(piece.id, SMALL, bold=True) < x1 - x0 - 1.0:
        items.append(Text(((x0 + x1) / 2, y0 - 1.0), piece.id, SMALL, "middle", True))
    return items


def _lengths(job: PackJob, view: View, band: list[Piece], rings: dict[str, Ring], width: float) -> list[Item]:
    """Each piece's length under it: where it is narrower than its figure, only if that does not come near its
    neighbours' or over the edge."""
    boxes = [box_of(view.ring(rings[piece.id])) for piece in band]
    placed: list[tuple[float, float]] = []
    items: list[Item] = []
    for piece, (x0, _, x1, y1) in sorted(zip(band, boxes), key=lambda entry: entry[1][0] - entry[1][2]):
        words, middle = job.units.bare(length_of(piece)), (x0 + x1) / 2
        half = text_width(words, FIGURE) / 2
        free = half <= middle <= width - half and all(right + 2.0 <= middle - half
                                                      or middle + half <= left - 2.0 for left, right in placed)
        if half < (x1 - x0) / 2 - 0.5 or (free and half <= x1 - x0):
            placed.append((middle - half, middle + half))
            items.append(Text((middle, y1 + 1.4 + ASCENT * FIGURE), words, FIGURE, "middle"))
    return items


def _name_in(piece: Piece, ring: Ring) -> Text | None:
    """The piece's number as large as it goes inside its outline; None if it goes nowhere."""
    for size in (FIGURE, BODY, SMALL):
        spot = label_spot(ring, text_width(piece.id, size, bold=True) + 1.5, CAP * size + 1.4)
        if spot:
            return Text((spot[0], spot[1] + CAP * size / 2), piece.id, size, "middle", True)
    return None


def _groups(plan: Plan, row: Row, pieces: tuple[Piece, ...]) -> list[tuple[Piece, ...]]:
    """Pieces in laying order, whole new boards that follow one another together; a run's first and last stand alone."""
    def kind(piece: Piece) -> str:
        return f"whole {plan.board_of(piece.board).length_mm}" if not (piece.cuts or piece.takes
                                                                       or at_wall(row, piece)) else piece.id
    return [tuple(group) for _, group in groupby(pieces, key=kind)]


def _as_long(job: PackJob, piece: Piece) -> str:
    """How long the board is, where they differ."""
    return f", {job.units.length(job.plan.board_of(piece.board).length_mm)} long" if job.plan.board.mix else ""


def _whole_boards(job: PackJob, pieces: tuple[Piece, ...], width: float, setting: _Setting) -> Block:
    """Several whole boards in one block, a tick box for each: beside the words if they fit there, else below."""
    words = Text((_NAMES, setting.first_line),
                 f"Take {len(pieces)} new boards{_as_long(job, pieces[0])}, lay them whole", FIGURE, bold=True)
    items: list[Item] = [Line((0.0, 0.0), (width, 0.0), FINE), words]
    steps = [13.5 + text_width(piece.id, FIGURE, bold=True) for piece in pieces]
    x, y = _NAMES + text_width(words.text, FIGURE, bold=True) + 8.0, setting.first_line - CAP * FIGURE / 2 - 2.75
    x, y = (x, y) if x + sum(steps) < width else (0.5, 9.6)
    for piece, step in zip(pieces, steps):
        if x + step > width:
            x, y = 0.5, y + 7.8
        items += [tick_box(x, y, 5.5), Text((x + 7.0, y + 2.75 + CAP * FIGURE / 2), piece.id, FIGURE, bold=True)]
        x += step
    return Block(height_mm=y + 8.0, items=tuple(items))


def _piece_block(job: PackJob, row: Row, piece: Piece, width: float, templates: tuple[str, ...], fit: Fit,
                 setting: _Setting) -> Block:
    """Tick box, number, what to take, saw lines; on the right the board's picture and the label to pencil."""
    whole, picture_mm = not (piece.cuts or piece.takes), setting.picture_mm
    picture, tall = ((), 0.0) if whole else board_picture(job.plan, piece, width - picture_mm, 2.0, picture_mm,
                                                          job.units)
    items: list[Item] = [Line((0.0, 0.0), (width, 0.0), FINE),
                         tick_box(0.5, setting.first_line - CAP * FIGURE / 2 - 2.75, 5.5),
                         Text((8.0, setting.first_line), piece.id, _id_size(piece.id), bold=True), *picture]
    right = 3.4 + tall
    for text in pencil_words(job, piece):
        lines, used = text_lines(text, width - picture_mm, right, picture_mm, size=FIGURE, bold=True,
                                 leading=setting.leading)
        items += lines
        right += used
    y = 2.0
    for said in piece_words(job, row, piece, templates, fit):
        room = width - _NAMES - (picture_mm + 5.0 if y < right else 0.0)
        lines, used = text_lines(said.text, _NAMES, y, room, size=FIGURE if said.large else BODY, bold=said.bold,
                                 leading=setting.leading)
        items += lines
        y += used + setting.after_mm
    return Block(height_mm=max(y, right) + 1.4, items=tuple(items))


def _id_size(name: str) -> float:
    """As large as the column of numbers allows."""
    return min(1.15 * FIGURE, 1.15 * FIGURE * (_NAMES - 9.5) / text_width(name, 1.15 * FIGURE, bold=True))


def _checks(job: PackJob, row: Row, width: float, fit: Fit, setting: _Setting) -> Block:
    """What to look at when the row is down, a tick box each."""
    head = Block(height_mm=8.6, items=(Line((0.0, 0.0), (width, 0.0), STRONG),
                                       Text((0.0, 2.6 + ASCENT * FIGURE), f"When row {row.number} is down", FIGURE,
                                            bold=True)))
    return stacked((head, *(point(text, width, tick=True, size=FIGURE, leading=setting.leading)
                            for text in row_checks(job, row, fit))))
