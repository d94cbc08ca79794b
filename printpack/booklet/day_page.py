"""The day on one page: the rules, what to do when a check fails, and every row in a line."""
from __future__ import annotations

from itertools import groupby

from layout.plan import Piece, Row
from printpack.howto.cells import named
from printpack.booklet.check_page import check_points
from printpack.drawing.frames import row_width
from printpack.drawing.page_layout import Page, column_width, continued, heading, pages_of, point, table
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import counted
from printpack.words.row_words import CHECK_PAGE

DAY_TITLE = "The day on one page"
#: Width of the names of what can fail, mm.
_NAMES_MM = 46.0
#: What one person new to it lays in an hour, m2 (from memory, no source).
_PACE_M2 = (1.0, 2.0)


def summary_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page; a second one if there are very many rows."""
    width = column_width(paper)
    blocks = [point(text, width, after=1.0) for text in summary_points(job)]
    failed = [named(lead, text, width, _NAMES_MM) for lead, text in check_points(job)]
    widths = (16.0, width - 8.0 - 16.0 - 46.0 - 36.0, 46.0, 36.0)
    lines = table(("row", "take, in laying order", "last piece", "width"), [_row(job, row) for row in job.plan.rows],
                  widths, ticks=True)
    return pages_of([*blocks, heading(CHECK_PAGE, width), *failed, heading("Rows", width), *lines], paper,
                    bookmark=DAY_TITLE, title=DAY_TITLE, again=lambda k: continued(DAY_TITLE, width, lines[0]))


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
    pieces = row.pieces if job.plan.lay == "left-to-right" else row.pieces[::-1]
    takes = ", ".join(_run_of(what, len(list(same))) for what, same in groupby(_new(job, piece) for piece in pieces))
    last = job.units.length(pieces[-1].to_mm - pieces[-1].from_mm)
    return str(row.number), takes, last, job.units.length(row_width(row))


def _run_of(what: str, count: int) -> str:
    return what if count == 1 else f"{count} {what}"
