"""By raster: on a row's page no text runs into another, no line into a text, and all ink lies in the printable box.

Few pages of few rooms; all pages of 3 to 60 rows of 1 to 20 pieces, and planned rooms: `print` and `rows` of
`tests.bench.printpack.run_pack`.
"""
from __future__ import annotations

import pytest

from printpack.drawing.sheet import Line, Pen, Sheet, Text
from printpack.paper import PAPERS
from tests.bench.printpack.run_pack import job_with, off_the_sheet, row_pages, touches
from tests.support.plans import breast_job


@pytest.mark.parametrize("show", ["metric", "imperial"])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_nothing_touches_on_any_paper(paper, show):
    for job, step in ((breast_job(show=show), 5), (job_with(8, 9, show=show), 7)):
        sheets = tuple(row_pages(job, paper, job.plan.rows[::step]))
        assert {sheet.bookmark: found for sheet in sheets if (found := touches(sheet))} == {}
        assert off_the_sheet(sheets, job) == 0


def sheet_of(*items) -> Sheet:
    return Sheet(width_mm=100.0, height_mm=60.0, items=items)


def test_what_touches_is_seen():
    """The raster's own check: figures grown together, a line through a digit, ink beyond the margin."""
    figure, line = Text((30.0, 30.0), "123", 10.0, bold=True), Line((25.0, 27.0), (60.0, 27.0), Pen(0.4))
    assert touches(sheet_of(figure, Text((60.0, 30.0), "45", 10.0))) == []
    assert ("45", "123") in touches(sheet_of(figure, Text((44.0, 27.0), "45", 10.0, bold=True)))
    assert touches(sheet_of(figure, line)) == [("123", "a line")]
    assert off_the_sheet((sheet_of(Line((5.0, 20.0), (40.0, 20.0), Pen(0.4))),), breast_job()) == 1
