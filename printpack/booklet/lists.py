"""Pages that are lists: shopping with tools, and the offcuts with squared paper for notes."""
from __future__ import annotations

from capture.language.messages import all_of, gettext, listed, marked, worded
from layout.plan import Offcut
from layout.room import OwnPiece
from printpack.booklet.safety import tool_points
from printpack.booklet.tools import tool_boxes
from printpack.drawing.page_layout import (
    TITLE, Block, Page, column_width, continued, heading, pages_of, paragraph, room_mm, table)
from printpack.drawing.sheet import HAIR, Item, Line
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import how_many
from printpack.words.cut_phrases import SIDES, kept_for

#: Squared paper: its step, and the least height worth printing, mm.
_SQUARE_MM, _LEAST_NOTES_MM = 5.0, 40.0
_OFFCUTS = marked("Offcuts")


def shopping_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """What to buy, with the rule each number comes from, and the tools."""
    width = column_width(paper)
    rows = [(line.what, how_many(line.quantity, line.unit), line.why) for line in job.to_buy]
    head, title = (gettext("what"), gettext("how many"), gettext("why this many")), gettext("Shopping list")
    blocks = [*bought_together(job, width), paragraph(board_words(job), width),
              *table(head, rows, (56.0, 26.0, width - 90.0), ticks=True),
              heading(gettext("Tools"), width), tool_boxes(tool_points(job), width)]
    return pages_of(blocks, paper, bookmark=title, title=title)


def bought_together(job: PackJob, width: float) -> list[Block]:
    """That the list of a room of a flat is a part of the flat's; nothing for a floor by itself."""
    said = together_words(job)
    return [paragraph(said, width, bold=True)] if said else []


def together_words(job: PackJob) -> str:
    """The same in words; "" for a floor by itself."""
    if not job.shared_with:
        return ""
    return gettext("Buy by the list of the whole flat: boards and all else are bought once for this room and {rooms}. "
                   "Below is this room's share of it.", rooms=listed(job.shared_with))


def board_words(job: PackJob) -> str:
    """Which boards to buy."""
    board, units = job.plan.board, job.units
    if board.mix:
        held = ", ".join(gettext("{count} of {length}", count=count, length=units.length(length))
                         for length, count in board.mix)
        return gettext(
            "The boards must be {width} wide and {thickness} thick, and a pack must hold {held}. Packs may differ from "
            "their label: before row 1 open them all, sort the boards by length and count them. If there are fewer of "
            "a length than the plan uses, type what a pack holds and plan again. Buy all packs from one batch.",
            width=units.fine(board.width_mm), thickness=units.fine(board.thickness_mm), held=held)
    return gettext(
        "The board must be {length} × {width} × {thickness}, {pack} in a pack. Another size needs a new plan. Buy all "
        "packs from one batch.", length=units.length(board.length_mm), width=units.fine(board.width_mm),
        thickness=units.fine(board.thickness_mm), pack=board.pack)


def offcut_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Every offcut by what is pencilled on it, and squared paper in what is left of the page."""
    width, title, notes = column_width(paper), offcuts_title(), _notes()
    above, lines = _offcuts(job, width)
    pages = pages_of([*above, *lines], paper, bookmark=title, title=title,
                     again=lambda k: continued(title, width, lines[0]))
    used = (1.28 * TITLE + 3.0) + sum(block.height_mm for block in (*above, *lines))
    room = room_mm(paper) - used - 16.0
    if len(pages) == 1 and room >= _LEAST_NOTES_MM:
        return pages_of([*above, *lines, heading(notes, width), _squares(width, room)], paper,
                        bookmark=gettext("Offcuts, notes"), title=title)
    return (*pages, *notes_pages(paper))


def notes_pages(paper: Paper) -> tuple[Page, ...]:
    """A page of squared paper."""
    notes = _notes()
    return pages_of([_squares(column_width(paper), room_mm(paper) - 18.0)], paper, bookmark=notes, title=notes)


def offcut_blocks(job: PackJob, width: float) -> list[Block]:
    """The lists of pieces at hand and of offcuts."""
    above, lines = _offcuts(job, width)
    return [*above, *lines]


def offcuts_title() -> str:
    """What these lists are called."""
    return worded(_OFFCUTS)


def _notes() -> str:
    return gettext("Notes")


def _offcuts(job: PackJob, width: float) -> tuple[list[Block], list[Block]]:
    """(pieces at hand and what is said of offcuts, the table of these)."""
    blocks = _own_pieces(job, width)
    if not job.plan.offcuts:
        return [*blocks, paragraph(gettext("This plan keeps no offcuts."), width)], []
    widths = tuple((width - 8.0) * share for share in (0.16, 0.18, 0.18, 0.18, 0.30))
    blocks.append(paragraph(gettext("Pencilled on the face as soon as it is sawn; ticked when it is laid."), width))
    head = (gettext("pencil"), gettext("length"), gettext("width"), gettext("sawn from"), gettext("clicks at"))
    return blocks, table(head, [row[:5] for row in offcut_rows(job)], widths, ticks=True)


def offcut_rows(job: PackJob) -> list[tuple[str, ...]]:
    """(what is pencilled on it, length, width, sawn from, clicks at, goes to) of every offcut that is kept."""
    units = job.units
    return [(offcut.for_piece or gettext("spare"), units.length(offcut.to_mm - offcut.from_mm),
             units.length(offcut.far_mm - offcut.near_mm), offcut.cut_by, _keeps(offcut),
             _fate(offcut)) for offcut in job.plan.offcuts]


def _fate(offcut: Offcut) -> str:
    """What becomes of an offcut."""
    if offcut.goes_to is not None:
        return kept_for(offcut.goes_to)
    return gettext("piece {piece}", piece=offcut.used_by) if offcut.used_by else gettext("keep as a spare")


def _own_pieces(job: PackJob, width: float) -> list[Block]:
    """The pieces at hand before the first board: the reader's own, with the labels this plan gives them, and what other
    rooms left."""
    own, came = ([piece for piece in job.plan.owned if (piece.came_from is not None) is elsewhere]
                 for elsewhere in (False, True))
    blocks = _list_of(job, own, gettext("Your own pieces: pencil these labels on them before you start."), width)
    return blocks + _list_of(job, came, gettext("Offcuts from other rooms, which bear these labels."), width)


def _list_of(job: PackJob, pieces: list[OwnPiece], says: str, width: float) -> list[Block]:
    if not pieces:
        return []
    taken = {piece.takes: piece.id for piece in job.plan.pieces}
    rows = [(own.label, job.units.length(own.length_mm),
             str(all_of([worded(SIDES[end]) for end in own.keeps])) if own.keeps else "-",
             gettext("piece {piece}", piece=taken[own.label]) if own.board else gettext("not needed, keep as a spare"))
            for own in pieces]
    shares = tuple((width - 8.0) * share for share in (0.14, 0.24, 0.3, 0.32))
    head = (gettext("label"), gettext("length"), gettext("clicks at"), gettext("goes to"))
    return [paragraph(says, width), *table(head, rows, shares, ticks=True)]


def _keeps(offcut: Offcut) -> str:
    ends = [side for side in ("left", "right") if side in offcut.keeps]
    edges = [side for side in ("near", "far") if side in offcut.keeps]
    words = [worded(SIDES[side]) for side in ends]
    if len(edges) < 2:
        words += [gettext("near edge") if side == "near" else gettext("far edge") for side in edges]
    return ", ".join(words) or gettext("edges only")


def _squares(width: float, room: float) -> Block:
    """Blank squared paper."""
    across, down = int(width / _SQUARE_MM), int(room / _SQUARE_MM)
    items: list[Item] = [Line((k * _SQUARE_MM, 0.0), (k * _SQUARE_MM, down * _SQUARE_MM), HAIR)
                         for k in range(across + 1)]
    items += [Line((0.0, k * _SQUARE_MM), (across * _SQUARE_MM, k * _SQUARE_MM), HAIR) for k in range(down + 1)]
    return Block(height_mm=down * _SQUARE_MM, items=tuple(items))
