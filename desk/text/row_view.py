"""One row as the paper draws it, for the page: the same picture, lines and checks."""
from __future__ import annotations

from typing import Any

from printpack.drawing.inline_svg import inline_svg
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.job import PackJob
from printpack.strip.row_picture import RowPicture, row_facts, row_picture
from printpack.strip.row_strip import RowFacts
from printpack.strip.spoken import picture_words
from printpack.units import Units
from printpack.words.row_words import row_checks, row_lines, special_lines
from printpack.words.tolerances import Fit

#: Widths of the drawing, mm: on a phone, on a wider screen; and wider for what does not go in those.
_NARROW, _WIDE = (82.0, 100.0, 125.0, 160.0, 210.0, 280.0), (190.0, 240.0, 300.0)


def show_row(job: PackJob, number: int, *, narrow: bool) -> dict[str, Any]:
    """The row with that number, or the nearest there is. svg: the picture; special, lines, checks: sentences."""
    fit = Fit(job)
    row = min(job.plan.rows, key=lambda row: abs(row.number - number))
    facts = row_facts(job, row, fit, names_by_piece(find_templates(job.plan, show=job.show)))
    picture = _picture(facts, job.units, _NARROW if narrow else _WIDE)
    label = f"Row {row.number}: {picture_words(picture, job.units)}"
    return {"row": row.number, "rows": len(job.plan.rows), "special": special_lines(job, row, fit),
            "svg": inline_svg(picture.items, picture.width_mm, picture.height_mm, label=label),
            "lines": row_lines(job, row, fit), "checks": row_checks(job, row, fit)}


def _picture(facts: RowFacts, units: Units, widths: tuple[float, ...]) -> RowPicture:
    for width in widths:
        picture = row_picture(facts, units, width, ticks=False)
        if picture:
            return picture
    raise AssertionError("no card is wider than the widest drawing")
