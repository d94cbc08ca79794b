"""One page a row: its picture as wide as the sheet, a few short lines, what to tape when it is down.

The picture (`printpack.strip`) says what is sawn and where; below it stand at most four
lines, on grey what is out of the ordinary, and a box to tick for the tape to the far wall.
"""
from __future__ import annotations

from dataclasses import replace
from itertools import product

from capture.language.messages import gettext, lazy_gettext
from layout.plan import Row
from printpack.booklet.plan_view import row_map
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.drawing.page_layout import (
    BODY, BOTTOM_MM, FIGURE, FOOT_MM, SIDE_MM, TOP_MM, Page, text_lines, tick_box)
from printpack.drawing.sheet import NONE, Item, Text, moved, rectangle
from printpack.errors import PrintError
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.strip.card_parts import LEAST, USUAL, Density
from printpack.strip.row_picture import row_facts, row_picture
from printpack.strip.row_strip import RowFacts
from printpack.words.row_words import is_sawn, row_checks, row_lines, special_lines
from printpack.words.tolerances import Fit

#: Size of the row's number, and the small plan's box, mm.
_NUMBER = 15.0
_MAP = (44.0, 22.0)
_HEAD = 24.0
_SPECIAL_GREY = 0.93
#: The line of a row with nothing to saw: its size, and its base below the picture, mm.
_LARGE, _NOTHING = 9.0, 16.0


def row_page(job: PackJob, row: Row, paper: Paper, templates: dict[str, tuple[str, ...]], fit: Fit) -> Page:
    """The page of one row, lying on its side, or upright where there is too much to saw. `templates`: the templates'
    names by piece id.

    Raises PrintError (page-too-small) for a row with more saw steps than a page can show.
    """
    facts = row_facts(job, row, fit, templates)
    for settings, lies, size in product((USUAL, (LEAST,)), (True, False), (FIGURE, BODY)):
        page = _page(job, facts, fit, paper.turned if lies else paper, size, settings)
        if page:
            return replace(page, lies=lies)
    sawn = sum(bool(piece.cuts) for piece in row.pieces)
    raise PrintError("page-too-small", lazy_gettext(
        "Row {row} has {sawn} sawn pieces, more than one {paper} page can show: choose a larger paper.",
        row=row.number, sawn=sawn, paper=paper.name), where="paper")


def _page(job: PackJob, facts: RowFacts, fit: Fit, sheet: Paper, size: float,
          settings: tuple[Density, ...]) -> Page | None:
    """The page on a sheet as it lies, with its lines in that size of type and its cards in one of these settings; None
    if it does not go on it."""
    row = facts.row
    width, height = sheet.width_mm - 2 * SIDE_MM, sheet.height_mm - TOP_MM - BOTTOM_MM - FOOT_MM
    head, special = _head(job, row, special_lines(job, row, fit), width)
    below, tall = _below(job, row, special, fit, width, size)
    picture = row_picture(facts, job.units, width, height - _HEAD - tall - 2.0, settings=settings)
    if picture is None:
        return None
    items = [*head, *(moved(item, 0.0, _HEAD) for item in picture.items)]
    if not is_sawn(row):
        items += _nothing(row_lines(job, row, fit)[0], _HEAD + picture.height_mm, width)
    items += [moved(item, 0.0, height - tall) for item in below]
    return Page(items=tuple(moved(item, SIDE_MM, TOP_MM) for item in items),
                bookmark=gettext("Row {row}", row=row.number), short=True)


def _head(job: PackJob, row: Row, special: tuple[str, ...], width: float) -> tuple[list[Item], tuple[str, ...]]:
    """(the row's number, the small plan, what is out of the ordinary between them; what did not fit there)."""
    number = Text((0.0, CAP * _NUMBER + 1.0), gettext("Row {row}", row=row.number), _NUMBER, bold=True)
    of = Text((text_width(number.text, _NUMBER, bold=True) + 3.0, number.at[1]),
              gettext("of {count}", count=len(job.plan.rows)), FIGURE)
    left = of.at[0] + text_width(of.text, FIGURE) + 8.0
    items: list[Item] = [number, of, *row_map(job.plan, row, width - _MAP[0], 1.5, *_MAP)]
    for size in (FIGURE, BODY):
        grey, tall = _special(special, left, width - _MAP[0] - 6.0 - left, size)
        if tall <= _HEAD - 2.0:
            return [*items, *grey], ()
    return items, special


def _nothing(said: str, y: float, width: float) -> list[Item]:
    """For a row that is laid as it comes: said as large as a figure."""
    size = min(_LARGE, _LARGE * width / text_width(said, _LARGE, bold=True))
    return [Text((0.0, y + _NOTHING), said, size, bold=True)]


def _below(job: PackJob, row: Row, special: tuple[str, ...], fit: Fit, width: float,
           size: float) -> tuple[list[Item], float]:
    """(the lines under the picture, their height): the usual ones and the checks at the left, what is out of the
    ordinary at the right if it did not go at the top."""
    room = (width - 8.0) / 2 if special else width
    items: list[Item] = []
    y = 0.0
    for text in row_lines(job, row, fit)[0 if is_sawn(row) else 1:]:
        lines, used = text_lines(text, 0.0, y, room, size=size)
        items += lines
        y += used
    for text in row_checks(job, row, fit):
        lines, used = text_lines(text, 8.0, y + 1.0, room - 8.0, size=size)
        items += [tick_box(0.3, y + 1.0 + ASCENT * size + 0.14 * size - 4.6, 5.0), *lines]
        y += used + 1.2
    grey, tall = _special(special, width - room, room, size)
    return [*items, *grey], max(y, tall)


def _special(texts: tuple[str, ...], x: float, width: float, size: float) -> tuple[list[Item], float]:
    """(the lines on grey, their height); ([], 0) for none."""
    if not texts:
        return [], 0.0
    lines: list[Item] = []
    y = 1.2
    for text in texts:
        more, used = text_lines(text, x + 3.0, y, width - 6.0, size=size)
        lines += more
        y += used + 0.6
    return [rectangle(x, 0.0, width, y + 0.8, pen=NONE, fill=_SPECIAL_GREY, layer="special"), *lines], y + 0.8
