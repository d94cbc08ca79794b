"""The day on one page: the rules, what to do when a check fails, and every row in a line."""
from __future__ import annotations

from itertools import groupby

from layout.plan import Piece, Row
from printpack.howto.cells import named
from printpack.booklet.check_page import check_points
from printpack.drawing.frames import row_width
from printpack.drawing.page_layout import (
    Block, Page, abreast, column_width, continued, heading, page_title, pages_of, paragraph, point, room_mm, stacked,
    table)
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import counted
from printpack.words.cut_phrases import listed
from printpack.words.row_words import CHECK_PAGE, laying_order

DAY_TITLE = "The day on one page"
#: Width of the names of what can fail, mm.
_NAMES_MM = 46.0
#: Between columns of rows, mm.
_BETWEEN_MM = 7.0
#: What one person new to it lays in an hour, m2 (from memory, no source).
_PACE_M2 = (1.0, 2.0)


def summary_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page, its rows in as many columns as that takes; a second one if there are very many rows."""
    width = column_width(paper)
    blocks = [point(text, width, after=1.0) for text in summary_points(job)]
    failed = [named(lead, text, width, _NAMES_MM) for lead, text in check_points(job)]
    above = [*blocks, heading(CHECK_PAGE, width), *failed, heading("Rows", width)]
    room = room_mm(paper) - page_title(DAY_TITLE, width).height_mm - sum(block.height_mm for block in above)
    for lines in (_rows(job, width), *([_in_columns(job, width, count)] for count in (2, 3))):
        if sum(block.height_mm for block in lines) <= room:
            return pages_of([*above, *lines], paper, bookmark=DAY_TITLE, title=DAY_TITLE)
    lines = _rows(job, width)
    return pages_of([*above, *lines], paper, bookmark=DAY_TITLE, title=DAY_TITLE,
                    again=lambda k: continued(DAY_TITLE, width, lines[0]))


def _rows(job: PackJob, width: float) -> list[Block]:
    """A line a row: what it takes, its last piece, its width."""
    widths = (16.0, width - 8.0 - 16.0 - 46.0 - 36.0, 46.0, 36.0)
    return table(("row", "take, in laying order", "last piece", "width"), [_row(job, row) for row in job.plan.rows],
                 widths, ticks=True)


def _in_columns(job: PackJob, width: float, count: int) -> Block:
    """The same in columns beside one another, offcuts by their names alone; widths that differ in a line above."""
    wide = (width - _BETWEEN_MM * (count - 1)) / count
    last = 22.0 if job.show == "imperial" else 16.0
    rows = job.plan.rows
    each = -(-len(rows) // count)
    said = paragraph(_widths(job), width)
    columns = [stacked(table(("row", "take", "last"), [_short_row(job, row) for row in rows[k:k + each]],
                             (13.0, wide - 8.0 - 13.0 - last, last), ticks=True)) for k in range(0, len(rows), each)]
    return stacked((said, abreast(columns, width, _BETWEEN_MM)))


def _widths(job: PackJob) -> str:
    """How wide the rows are: most of them a board's width, the others by their numbers."""
    units, board = job.units, job.units.length(job.plan.board.width_mm)
    other = [f"row {row.number} {units.length(row_width(row))}" for row in job.plan.rows
             if units.length(row_width(row)) != board]
    told = f"Rows are {board} wide" + (f"; {listed(other)}" if other else "")
    return f"{told}. A number with a dot is the offcut that bears it."


def _short_row(job: PackJob, row: Row) -> tuple[str, ...]:
    number, takes, _, _ = _row(job, row)
    last = laying_order(job, row)[-1]
    return number, takes.replace("offcut ", ""), job.units.bare(last.to_mm - last.from_mm)


def summary_points(job: PackJob) -> tuple[str, ...]:
    """The day in a few sentences."""
    plan, units = job.plan, job.units
    slow, quick = (round(job.floor.area()[0] / 1e6 / pace) for pace in _PACE_M2)
    return (f"Gap {units.length(plan.gap_mm)} at every wall, pipe and frame; from {units.bare(plan.gap_least_mm)} to "
            f"{units.length(plan.gap_most_mm)} will do. End joints of neighbouring rows at least "
            f"{units.length(plan.rules.stagger_mm)} apart.",
            f"{counted(plan.boards, 'board')}, {counted(plan.packs_to_buy, 'pack')}, "
            f"{counted(len(plan.rows), 'row')}: about {max(quick, 1)} to {max(slow, 2)} hours of laying, alone and new "
            "to it. Stop only at the end of a row.",
            "What a row leaves is pencilled at once with the piece it will be, and kept by the start wall.")


def _new(job: PackJob, piece: Piece) -> str:
    """A new board, and how long it is where they differ; or an offcut by what is pencilled on it."""
    if piece.takes:
        return f"offcut {piece.id}"
    return f"new {job.units.bare(job.plan.board_of(piece.board).length_mm)}" if job.plan.board.mix else "new"


def _row(job: PackJob, row: Row) -> tuple[str, ...]:
    pieces = laying_order(job, row)
    takes = ", ".join(_run_of(what, len(list(same))) for what, same in groupby(_new(job, piece) for piece in pieces))
    last = job.units.length(pieces[-1].to_mm - pieces[-1].from_mm)
    return str(row.number), takes, last, job.units.length(row_width(row))


def _run_of(what: str, count: int) -> str:
    return what if count == 1 else f"{count} {what}"
