"""The day on one page: the rules, what to do when a check fails, and every row in a line."""
from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from capture.language.messages import gettext, listed, marked, ngettext, worded
from layout.plan import Piece, Row
from printpack.howto.cells import named, names_width
from printpack.booklet.check_page import check_points
from printpack.drawing.frames import row_width
from printpack.drawing.page_layout import (
    Block, Page, abreast, column_width, continued, heading, page_title, pages_of, paragraph, point, room_mm, stacked,
    table)
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.words.cut_phrases import came_from
from printpack.words.row_words import CHECK_PAGE, laying_order

DAY_TITLE = marked("The day on one page")
#: Width of the names of what can fail, mm.
_NAMES_MM = 46.0
#: Between columns of rows, mm.
_BETWEEN_MM = 7.0
#: What one person new to it lays in an hour, m2 (from memory, no source).
_PACE_M2 = (1.0, 2.0)


def summary_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page, its rows in as many columns as that takes; a second one if there are very many rows."""
    width, title = column_width(paper), worded(DAY_TITLE)
    blocks = [point(text, width, after=1.0) for text in summary_points(job)]
    failed = check_blocks(check_points(job), width)
    return _with_rows(job, [*blocks, heading(worded(CHECK_PAGE), width), *failed], paper, title)


def room_day_pages(job: PackJob, above: list[Block], paper: Paper, *, title: str) -> tuple[Page, ...]:
    """The day of one room of a flat: what is said of it (`above`), and every row in a line."""
    return _with_rows(job, above, paper, title)


def check_blocks(checks: Iterable[tuple[str, str]], width: float) -> list[Block]:
    """What can fail, and what is done then."""
    points = list(checks)
    names_mm = names_width((lead for lead, _ in points), _NAMES_MM)
    return [named(lead, text, width, names_mm) for lead, text in points]


def _with_rows(job: PackJob, above: list[Block], paper: Paper, title: str) -> tuple[Page, ...]:
    """Blocks and the rows under them, in as many columns as one page takes."""
    width = column_width(paper)
    above = [*above, heading(gettext("Rows"), width)]
    room = room_mm(paper) - page_title(title, width).height_mm - sum(block.height_mm for block in above)
    for lines in (_rows(job, width), *([_in_columns(job, width, count)] for count in (2, 3))):
        if sum(block.height_mm for block in lines) <= room:
            return pages_of([*above, *lines], paper, bookmark=title, title=title)
    lines = _rows(job, width)
    return pages_of([*above, *lines], paper, bookmark=title, title=title,
                    again=lambda k: continued(title, width, lines[0]))


def _rows(job: PackJob, width: float) -> list[Block]:
    """A line a row: what it takes, its last piece, its width."""
    widths = (16.0, width - 8.0 - 16.0 - 46.0 - 36.0, 46.0, 36.0)
    head = (gettext("row"), gettext("take, in laying order"), gettext("last piece"), gettext("width"))
    return table(head, [_row(job, row) for row in job.plan.rows], widths, ticks=True)


def _in_columns(job: PackJob, width: float, count: int) -> Block:
    """The same in columns beside one another, offcuts by their names alone; widths that differ in a line above."""
    wide = (width - _BETWEEN_MM * (count - 1)) / count
    last = 22.0 if job.show == "imperial" else 16.0
    rows = job.plan.rows
    each = -(-len(rows) // count)
    said = paragraph(_widths(job), width)
    head = (gettext("row"), gettext("take"), gettext("last"))
    columns = [stacked(table(head, [_short_row(job, row) for row in rows[k:k + each]],
                             (13.0, wide - 8.0 - 13.0 - last, last), ticks=True)) for k in range(0, len(rows), each)]
    return stacked((said, abreast(columns, width, _BETWEEN_MM)))


def _widths(job: PackJob) -> str:
    """How wide the rows are: most of them a board's width, the others by their numbers."""
    units, board = job.units, job.units.length(job.plan.board.width_mm)
    other = [gettext("row {row} {width}", row=row.number, width=units.length(row_width(row))) for row in job.plan.rows
             if units.length(row_width(row)) != board]
    if other:
        return gettext("Rows are {width} wide; {others}. A number with a dot is the offcut that bears it.", width=board,
                       others=listed(other))
    return gettext("Rows are {width} wide. A number with a dot is the offcut that bears it.", width=board)


def _short_row(job: PackJob, row: Row) -> tuple[str, ...]:
    pieces = laying_order(job, row)
    takes = _takes((piece.takes if came_from(piece.takes, job.plan) else piece.id) if piece.takes else _new(job, piece)
                   for piece in pieces)
    return str(row.number), takes, job.units.bare(pieces[-1].to_mm - pieces[-1].from_mm)


def summary_points(job: PackJob) -> tuple[str, ...]:
    """The day in a few sentences."""
    plan, units = job.plan, job.units
    slow, quick = (round(job.floor.area()[0] / 1e6 / pace) for pace in _PACE_M2)
    amounts = {"boards": ngettext("{count}\u00a0board", "{count}\u00a0boards", plan.boards), "quick": max(quick, 1),
               "rows": ngettext("{count}\u00a0row", "{count}\u00a0rows", len(plan.rows)), "slow": max(slow, 2)}
    return (gettext("Gap {gap} at every wall, pipe and frame; from {least} to {most} will do. End joints of "
                    "neighbouring rows at least {stagger} apart.", gap=units.length(plan.gap_mm),
                    least=units.bare(plan.gap_least_mm), most=units.length(plan.gap_most_mm),
                    stagger=units.length(plan.rules.stagger_mm)),
            gettext("{boards}, {packs}, {rows}: about {quick} to {slow} hours of laying, alone and new to it. Stop "
                    "only at the end of a row.", packs=ngettext("{count}\u00a0pack", "{count}\u00a0packs",
                                                                plan.packs_to_buy), **amounts)
            if not job.shared_with else
            gettext("{boards}, {rows}: about {quick} to {slow} hours of laying, alone and new to it. Stop only at the "
                    "end of a row.", **amounts),
            gettext("What a row leaves is pencilled at once with the piece it will be, and kept by the start wall."))


def _new(job: PackJob, piece: Piece) -> str:
    """A new board, and how long it is where they differ; or an offcut by what is pencilled on it."""
    if piece.takes:
        elsewhere = came_from(piece.takes, job.plan) is not None
        return gettext("offcut {piece}", piece=piece.takes if elsewhere else piece.id)
    if not job.plan.board.mix:
        return gettext("new")
    return gettext("new {length}", length=job.units.bare(job.plan.board_of(piece.board).length_mm))


def _row(job: PackJob, row: Row) -> tuple[str, ...]:
    pieces = laying_order(job, row)
    takes = _takes(_new(job, piece) for piece in pieces)
    last = job.units.length(pieces[-1].to_mm - pieces[-1].from_mm)
    return str(row.number), takes, last, job.units.length(row_width(row))


def _takes(pieces: Iterable[str]) -> str:
    """What a row is made of, piece by piece; alike ones that follow one another counted."""
    return ", ".join(_run_of(what, len(list(same))) for what, same in groupby(pieces))


def _run_of(what: str, count: int) -> str:
    return what if count == 1 else f"{count} {what}"
