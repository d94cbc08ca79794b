"""Pages that changed while the floor was being laid, marked with the letter of their revision.

A first sheet says why, lists what changed and which old pages to strike out; then the changed rows' pages and the
templates of their pieces. The letter stands white on black in a corner of every page: it must catch the eye beside a
pile of earlier ones.
"""
from __future__ import annotations

from dataclasses import replace

from capture.language.messages import gettext, listed, ngettext
from layout.plan import Row
from printpack.words.tolerances import Fit
from printpack.drawing.page_layout import (
    FIGURE, SIDE_MM, TITLE, Block, Page, bound, column_width, heading, pages_of, paragraph, point, text_lines)
from printpack.job import PackJob
from printpack.drawing.metrics import CAP, text_width
from printpack.paper import Paper
from printpack.drawing.pdf import pdf_bytes
from printpack.booklet.plan_view import plan_drawing
from printpack.booklet.row_page import row_page
from printpack.drawing.sheet import NONE, Item, Sheet, Text, rectangle
from printpack.fullsize.template_sheets import template_sheets
from printpack.fullsize.templates import Template, find_templates, names_by_piece

_BADGE_MM = 13.0
_MAP_MM = 110.0


def revision_pdf(job: PackJob, rows: tuple[int, ...], letter: str, why: str, paper: Paper) -> bytes:
    """The changed pages as a PDF. rows: numbers of the rows whose page changed; why: a sentence for the first sheet."""
    return pdf_bytes(revision_sheets(job, rows, letter, why, paper), title=gettext(
        "{title}: revision {letter}", title=job.title, letter=letter), date=job.date)


def revision_sheets(job: PackJob, rows: tuple[int, ...], letter: str, why: str, paper: Paper) -> tuple[Sheet, ...]:
    """The first sheet, the changed rows' pages, and full-size templates where their pieces need them."""
    templates = find_templates(job.plan, show=job.show)
    fit, names = Fit(job), names_by_piece(templates)
    changed = [row for row in job.plan.rows if row.number in rows]
    pages: list[Page] = [*_first_page(job, changed, letter, why, paper)]
    for row in changed:
        pages.append(row_page(job, row, paper, names, fit))
    sheets = bound([_badged(page, letter, paper) for page in pages], paper, title=job.title, foot=lambda title: gettext(
        "{title} · revision {letter} · {day} · strike out the older pages", title=title, letter=letter, day=job.day))
    needed = _needed(templates, changed)
    more = template_sheets(job, needed, paper) if needed else ()
    return sheets + tuple(replace(sheet, items=(*sheet.items, *_badge(letter, sheet.width_mm))) for sheet in more)


def _first_page(job: PackJob, rows: list[Row], letter: str, why: str, paper: Paper) -> tuple[Page, ...]:
    width = column_width(paper)
    name = gettext("Revision {letter}", letter=letter)
    title, used = text_lines(name, 0.0, 0.0, width - _BADGE_MM - 4.0, size=TITLE, bold=True)
    strike = ngettext("Strike out the page of row {rows} and put this in its place.",
                      "Strike out the pages of rows {rows} and put these in their place.", len(rows),
                      rows=_numbers([row.number for row in rows]))
    blocks = [Block(height_mm=used + 3.0, items=title), paragraph(why, width, size=FIGURE, after=4.0),
              heading(gettext("What to do with the booklet"), width), point(strike, width, tick=True),
              point(gettext("Rows that lie, and pages not listed here, stay as they are."), width),
              *(point(text, width, tick=True) for text in _pencil_anew(job, rows))]
    drawing = Block(height_mm=_MAP_MM + 4.0, items=plan_drawing(job, 0.0, 4.0, width, _MAP_MM))
    return pages_of([*blocks, drawing], paper, bookmark=name)


def _pencil_anew(job: PackJob, rows: list[Row]) -> list[str]:
    """Offcuts that bear a name another has now, then those sawn in rows that stay, with the piece each is for now."""
    changed = {piece.id for row in rows for piece in row.pieces}
    length, users = job.units.length, {offcut.for_piece for offcut in job.plan.offcuts}
    struck = [gettext("The rest of piece {piece}, {length} long: strike {label} off it, it is a spare now.",
                      piece=offcut.cut_by, length=length(offcut.to_mm - offcut.from_mm), label=offcut.pencilled)
              for offcut in job.plan.offcuts if offcut.pencilled and offcut.pencilled in users]
    return struck + [gettext("The rest of piece {piece}, {length} long: pencil {label} on it.", piece=offcut.cut_by,
                             length=length(offcut.to_mm - offcut.from_mm), label=offcut.used_by)
                     for offcut in job.plan.offcuts if offcut.used_by in changed and offcut.cut_by not in changed]


def _numbers(numbers: list[int]) -> str:
    """Rows without a gap by the first and the last."""
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return gettext("{first} to {last}", first=numbers[0], last=numbers[-1])
    return listed([str(number) for number in numbers])


def _badged(page: Page, letter: str, paper: Paper) -> Page:
    return replace(page, items=(*page.items, *_badge(letter, paper.width_mm)))


def _badge(letter: str, sheet_mm: float) -> tuple[Item, ...]:
    """The letter on black in the corner that no page of the booklet uses."""
    wide = max(_BADGE_MM, text_width(letter, TITLE, bold=True) + 5.0)
    left, top = sheet_mm - SIDE_MM - wide, 3.0
    return (rectangle(left, top, wide, 8.5, pen=NONE, fill=0.0, layer="revision"),
            Text((left + wide / 2, top + 4.25 + CAP * FIGURE / 2), letter, FIGURE, "middle", True, grey=1.0,
                 layer="revision"))


def _needed(templates: tuple[Template, ...], rows: list[Row]) -> tuple[Template, ...]:
    """Templates that serve a piece of a changed row."""
    changed = {piece.id for row in rows for piece in row.pieces}
    return tuple(template for template in templates if template.piece.id in changed)
