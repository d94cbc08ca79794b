"""One row as the paper draws it, for the page: the same picture, lines and checks."""
from __future__ import annotations

from typing import Any

from capture.language.messages import gettext
from printpack.drawing.inline_svg import inline_svg
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.job import PackJob
from printpack.strip.on_screen import desk_picture, hand_picture
from printpack.strip.row_picture import row_facts
from printpack.strip.spoken import picture_words
from printpack.words.row_words import row_checks, row_lines, special_lines
from printpack.words.tolerances import Fit


def show_row(job: PackJob, number: int, *, narrow: bool) -> dict[str, Any]:
    """The row with that number, or the nearest there is. svg: the picture; special, lines, checks: sentences."""
    fit = Fit(job)
    row = min(job.plan.rows, key=lambda row: abs(row.number - number))
    facts = row_facts(job, row, fit, names_by_piece(find_templates(job.plan, show=job.show)))
    picture = (hand_picture if narrow else desk_picture)(facts, job.units)
    label = gettext("Row {row}: {picture}", row=row.number, picture=picture_words(picture, job.units))
    return {"row": row.number, "rows": len(job.plan.rows), "special": special_lines(job, row, fit),
            "svg": inline_svg(picture.items, picture.width_mm, picture.height_mm, label=label),
            "lines": row_lines(job, row, fit), "checks": row_checks(job, row, fit)}
