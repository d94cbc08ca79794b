"""One page a row: where it is, the row to scale, what to take and saw for each piece, and what to check.

A row with more pieces than one page holds goes on under the same number. Everything a person needs for one piece stands
in its own ruled block, in laying order.
"""
from __future__ import annotations

from itertools import groupby

from layout.plan import Piece, Relaxed, Ring, Row
from printpack.fit import Fit, Reach, end_pm95_mm, far_pm95_mm
from printpack.flow import (BODY, FIGURE, LEADING, SMALL, TITLE, Block, Page, column_width, page_title, pages_of, point, stacked,
                            text_lines, tick_box)
from printpack.hatch import hatch
from printpack.job import PackJob
from printpack.legend import board_picture, legend
from printpack.metrics import ASCENT, CAP, text_width
from printpack.paper import Paper
from printpack.places import View, box_of, doorway_of, in_rows, is_first_in_room, label_spot, length_of, row_width
from printpack.plan_view import row_map
from printpack.shapes import frame_of
from printpack.sheet import FINE, MEDIUM, STRONG, Item, Line, Pen, Poly, Text
from printpack.units import NO_BREAK, Units
from printpack.words import SAME_MM, cut_words, keeps_words, offcut_words, take_words

_MAP = (54.0, 38.0)
_NAMES = 21.0
_PICTURE = 65.0
_STUB = 7.0
#: Baseline of a block's first line: `text_lines` puts it there for a line that starts 2 mm down.
_FIRST_LINE = 2.0 + FIGURE * (ASCENT + (LEADING - 1.0) / 2)
#: A row's average piece is drawn at least this long, else the row is drawn in several bands, mm.
_LEAST_PIECE_MM = 18.0


def row_pages(job: PackJob, row: Row, paper: Paper, templates: dict[str, tuple[str, ...]], fit: Fit) -> tuple[Page, ...]:
    """The page or pages of one row. `templates`: the templates' names by piece id."""
    width = column_width(paper)
    pieces = row.pieces if job.plan.lay == "left-to-right" else row.pieces[::-1]
    blocks = [_head(job, row, width), *_bands(job, row, width), legend(width)]
    for group in _groups(row, pieces):
        blocks.append(_whole_boards(group, width) if len(group) > 2 else
                      stacked(_piece_block(job, row, piece, width, templates.get(piece.id, ()), fit) for piece in group))
    blocks += _checks(job, row, width, fit)
    name = f"Row {row.number}"
    return pages_of(blocks, paper, bookmark=name, again=lambda k: page_title(f"{name} (continued)", width))


def _head(job: PackJob, row: Row, width: float) -> Block:
    """The row's number, its figures and the small plan."""
    room = width - _MAP[0] - 6.0
    number = Text((0.0, 1.0 + ASCENT * 1.4 * TITLE), f"Row {row.number}", 1.4 * TITLE, bold=True)
    beside = text_width(number.text, number.size_mm, bold=True) + 3.0
    items: list[Item] = [number, Text((beside, number.at[1]), f"of {len(job.plan.rows)}", FIGURE)]
    y = 1.0 + 1.4 * TITLE
    for text, size in _facts(job, row):
        lines, used = text_lines(text, 0.0, y + 1.0, room, size=size)
        items += lines
        y += used + 0.6
    items += row_map(job.plan, row, width - _MAP[0], 2.0, *_MAP)
    items.append(Text((width - _MAP[0] / 2, _MAP[1] + 6.0), "black: this row · grey: already down", SMALL, "middle"))
    return Block(height_mm=max(y, _MAP[1] + 7.0) + 1.0, items=tuple(items))


def _facts(job: PackJob, row: Row) -> list[tuple[str, float]]:
    """(sentence, size) at the top of the page; what holds a length is large, here as everywhere on the page."""
    plan, units = job.plan, job.units
    pieces = row.pieces
    fresh = sum(not piece.takes for piece in pieces)
    first, last = ("left", "right") if plan.lay == "left-to-right" else ("right", "left")
    door = doorway_of(plan, row)
    facts = [(f"{_count(len(pieces), 'piece')}: {_count(fresh, 'new board')}, {_count(len(pieces) - fresh, 'offcut')}."
              f" Lay from {first} to {last}, facing the start wall.", BODY)]
    facts += [(f"This row lies in the opening of door {door}.", BODY)] if door else []
    if len(row.runs) > 1:
        facts.append((f"The row is broken: it has {len(row.runs)} separate stretches.", BODY))
    if row_width(row) < plan.board.width_mm - 0.5:
        facts.append((f"Narrow row: {units.length(row_width(row))} of a board's {units.fine(plan.board.width_mm)}.", FIGURE))
    facts.append((f"Spacers: {units.length(plan.gap_mm)} at both ends"
                  f"{', two a board along the start wall' if is_first_in_room(plan, row) else ''}.", FIGURE))
    return facts + [(relaxed.says, FIGURE) for relaxed in _relaxed(job, row)]


def _relaxed(job: PackJob, row: Row) -> list[Relaxed]:
    """The rules that had to give way in this row or one of its pieces."""
    places = {f"row {row.number}", str(row.number), *(piece.id for piece in row.pieces)}
    return [relaxed for relaxed in job.plan.relaxed if places & {relaxed.where, relaxed.where.removeprefix("piece ")}]


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number or 'no'} {what}s"


def _bands(job: PackJob, row: Row, width: float) -> list[Block]:
    """The row to scale, in as many bands as it takes to keep a piece's number readable."""
    room = width - 2 * _STUB
    rings = {piece.id: in_rows(job.plan, piece.outline_mm) for piece in row.pieces}
    bands = _split(row, rings, room)
    spans = [(box_of(*(rings[piece.id] for piece in band))) for band in bands]
    scale = min(room / max(span[2] - span[0] for span in spans), 0.12)
    flat = View(scale=scale, x_mm=0.0, y_mm=0.0)
    lead = 6.0 if all(_name_in(piece, flat.ring(rings[piece.id])) for piece in row.pieces) else 9.5
    above = _above(job, row)
    blocks = []
    for number, (band, span) in enumerate(zip(bands, spans), start=1):
        inset = 0.0 if len(bands) > 1 else (room - scale * (span[2] - span[0])) / 2
        view = View(scale=scale, x_mm=_STUB + inset - scale * span[0], y_mm=lead - scale * row.near_mm)
        part = f", part {number} of {len(bands)}" if len(bands) > 1 else ""
        note = Text((width / 2, 4.0), f"↑ {above}{part}", SMALL, "middle")
        items = [item for piece in band for item in _in_row(job, view, piece, _at_wall(row, piece))]
        blocks.append(Block(height_mm=scale * (row.far_mm - row.near_mm) + lead + 8.5, items=(note, *items)))
    return blocks


def _above(job: PackJob, row: Row) -> str:
    """What lies on the near side of a row."""
    if row.number == 1:
        door = doorway_of(job.plan, row)
        return f"threshold of door {door}" if door else "START WALL"
    joins = f"joins row {row.number - 1}"
    return f"START WALL; {joins} in the doorway" if is_first_in_room(job.plan, row) else joins


def _split(row: Row, rings: dict[str, Ring], room: float) -> list[list[Piece]]:
    """The row's pieces in bands of about equal length along the row."""
    boxes = {name: box_of(ring) for name, ring in rings.items()}
    left, right = min(box[0] for box in boxes.values()), max(box[2] for box in boxes.values())
    average = sum(box[2] - box[0] for box in boxes.values()) / len(boxes)
    count = max(1, round(_LEAST_PIECE_MM * (right - left) / room / average))
    bands = [[piece for piece in row.pieces if k <= count * (boxes[piece.id][0] - left) / (right - left) < k + 1] for k in range(count)]
    return [band for band in bands if band]


def _at_wall(row: Row, piece: Piece) -> bool:
    return any(piece in (run.pieces[0], run.pieces[-1]) for run in row.runs)


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
    words = job.units.bare(length_of(piece))
    if text_width(words, FIGURE) < x1 - x0 - 1.0:
        items.append(Text(((x0 + x1) / 2, y1 + 1.4 + ASCENT * FIGURE), words, FIGURE, "middle"))
    return items


def _name_in(piece: Piece, ring: Ring) -> Text | None:
    """The piece's number as large as it goes inside its outline; None if it goes nowhere."""
    for size in (FIGURE, BODY, SMALL):
        spot = label_spot(ring, text_width(piece.id, size, bold=True) + 1.5, CAP * size + 1.4)
        if spot:
            return Text((spot[0], spot[1] + CAP * size / 2), piece.id, size, "middle", True)
    return None


def _groups(row: Row, pieces: tuple[Piece, ...]) -> list[tuple[Piece, ...]]:
    """Pieces in laying order, whole new boards that follow one another together; a run's first and last stand alone."""
    def kind(piece: Piece) -> str:
        return "whole" if not (piece.cuts or piece.takes or _at_wall(row, piece)) else piece.id
    return [tuple(group) for _, group in groupby(pieces, key=kind)]


def _whole_boards(pieces: tuple[Piece, ...], width: float) -> Block:
    """Several whole boards in one block, a tick box for each."""
    items: list[Item] = [Line((0.0, 0.0), (width, 0.0), FINE),
                         Text((_NAMES, _FIRST_LINE), f"Take {len(pieces)} new boards, lay them whole", FIGURE, bold=True)]
    x, y = 0.5, 9.6
    for piece in pieces:
        step = 13.5 + text_width(piece.id, FIGURE, bold=True)
        if x + step > width:
            x, y = 0.5, y + 7.8
        items += [tick_box(x, y, 5.5), Text((x + 7.0, y + 2.75 + CAP * FIGURE / 2), piece.id, FIGURE, bold=True)]
        x += step
    return Block(height_mm=y + 8.0, items=tuple(items))


def _piece_block(job: PackJob, row: Row, piece: Piece, width: float, templates: tuple[str, ...], fit: Fit) -> Block:
    """Tick box, number, what to take, saw lines; on the right the board's picture and the label to pencil."""
    picture, tall = board_picture(job.plan, piece, width - _PICTURE, 2.0, _PICTURE, job.units)
    items: list[Item] = [Line((0.0, 0.0), (width, 0.0), FINE), tick_box(0.5, _FIRST_LINE - CAP * FIGURE / 2 - 2.75, 5.5),
                         Text((8.0, _FIRST_LINE), piece.id, _id_size(piece.id), bold=True), *picture]
    right = 3.4 + tall
    for text in _pencil(job, piece):
        lines, used = text_lines(text, width - _PICTURE, right, _PICTURE, size=FIGURE, bold=True)
        items += lines
        right += used
    y = 2.0
    for text, size, bold in _instructions(job, row, piece, templates, fit):
        room = width - _NAMES - (_PICTURE + 5.0 if y < right else 0.0)
        lines, used = text_lines(text, _NAMES, y, room, size=size, bold=bold)
        items += lines
        y += used + 0.4
    return Block(height_mm=max(y, right) + 1.4, items=tuple(items))


def _id_size(name: str) -> float:
    """As large as the column of numbers allows."""
    return min(1.15 * FIGURE, 1.15 * FIGURE * (_NAMES - 9.5) / text_width(name, 1.15 * FIGURE, bold=True))


def _pencil(job: PackJob, piece: Piece) -> list[str]:
    """Labels to pencil on the offcuts this piece leaves, and where they go."""
    leaves = {offcut.label: offcut for offcut in job.plan.offcuts}
    return [f"Pencil {label} on the offcut: {offcut_words(leaves[label], job.units)}." for label in piece.leaves if label in leaves]


def _instructions(job: PackJob, row: Row, piece: Piece, templates: tuple[str, ...], fit: Fit) -> list[tuple[str, float, bool]]:
    """(sentence, size, bold): what to take, each cut, the templates, what to expect, which click stays."""
    straight = [cut for cut in piece.cuts if cut.kind in ("cross", "rip")]
    shaped = [cut for cut in piece.cuts if cut.kind in ("notch", "hole")]
    lines = [(f"Take {take_words(piece)}" + ("" if piece.cuts else ", lay it whole"), FIGURE, True)]
    if sum(cut.kind == "cross" for cut in piece.cuts) > 1:
        lines.append(("Mark both ends before you saw.", BODY, True))
    lines += [(cut_words(cut, job.plan, piece, job.units), FIGURE, False) for cut in straight + shaped]
    if templates:
        lines.append((f"Use template {' and '.join(templates)}", FIGURE, True))
    lines += [(text, FIGURE, False) for text in _expect(job, row, piece, fit)]
    if piece.cuts:
        lines.append((keeps_words(piece) + ".", BODY, False))
    return lines


def _expect(job: PackJob, row: Row, piece: Piece, fit: Fit) -> list[str]:
    """For the piece that closes a run: what its place should measure, and when to stop."""
    run = next(run for run in row.runs if piece in run.pieces)
    closing = run.pieces[-1] if job.plan.lay == "left-to-right" else run.pieces[0]
    if piece is not closing:
        return []
    s0, _, s1, _ = box_of(in_rows(job.plan, piece.outline_mm))
    reach = fit.across((s0 + s1) / 2, (row.near_mm + row.far_mm) / 2)
    pm = end_pm95_mm(reach.sd_mm if reach else fit.fallback_sd, len(run.pieces) - 1)
    a, b, c, d = frame_of(job.plan, piece).corners
    place = _expected((b[0] - a[0], c[0] - d[0]), pm, job.units)
    if not any(cut.kind == "cross" for cut in piece.cuts):
        return [f"Expect its place to be {place}: measure it first. Outside that, stop and check."]
    return [f"Expect {place}: measure in place before you cut. Outside that, stop and check."]


def _expected(at: tuple[float, float], pm: float, units: Units) -> str:
    """A length with its bounds, or one for each edge where they differ."""
    if abs(at[0] - at[1]) < SAME_MM:
        return f"{units.length(at[0])}, {units.bare(at[0] - pm)} to {units.bare(at[0] + pm)}"
    return ", ".join(f"{edge}{NO_BREAK}{units.length(d)} ({units.bare(d - pm)} to {units.bare(d + pm)})"
                     for d, edge in zip(at, ("NEAR", "FAR")))


def _checks(job: PackJob, row: Row, width: float, fit: Fit) -> list[Block]:
    """What to look at when the row is down."""
    plan, units = job.plan, job.units
    texts = _far_wall(job, row, fit) if row is not plan.rows[-1] else []
    if is_first_in_room(plan, row):
        texts.append("The row is straight (string or long straightedge): every later row follows it.")
    where = "at both ends" if row is not plan.rows[-1] else "at both ends and along the far wall"
    texts.append(f"All joints closed, no edge stands proud; the gap is {units.length(plan.gap_mm)} {where}.")
    if row.number > 1:
        given = " but for the rule named at the top of this page" if _relaxed(job, row) else ""
        texts.append(f"End joints stand at least {units.length(plan.rules.stagger_mm)} from those of row {row.number - 1}{given}.")
    head = Block(height_mm=8.6, items=(Line((0.0, 0.0), (width, 0.0), STRONG),
                                       Text((0.0, 2.6 + ASCENT * FIGURE), f"When row {row.number} is down", FIGURE, bold=True)))
    return [stacked((head, *(point(text, width, tick=True, size=FIGURE) for text in texts)))]


def _far_wall(job: PackJob, row: Row, fit: Fit) -> list[str]:
    """The distance left, at the middle of the row's first and last piece, where its far edge has floor before it."""
    units, found = job.units, []
    for piece in (row.pieces[0], row.pieces[-1])[:len(row.pieces)]:
        left, _, right, far = box_of(in_rows(job.plan, piece.outline_mm))
        reach = fit.to_far_wall((left + right) / 2, far)
        if reach:
            away = f"{units.length(reach.length_mm)} {units.spread(far_pm95_mm(reach.sd_mm, row.number))}"
            found.append((f"{away} at the middle of {piece.id}", reach))
    if not found:
        return []
    return [f"Far edge to {_targets(job, [reach for _, reach in found])}: {', '.join(words for words, _ in found)}."
            " Outside that, stop and check."]


def _targets(job: PackJob, reaches: list[Reach]) -> str:
    """What the tape meets first: the far wall, or an island by its name."""
    names = [next((f"the {island.name}" for island in job.floor.islands if reach.edge[0] in island.corners), "the wall")
             for reach in reaches]
    return " and ".join(dict.fromkeys(names))
