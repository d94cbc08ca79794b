"""By raster: on a row's page no text runs into another, no line into a text, and all ink lies in the printable box.

Few pages of few rooms; every paper, both units, 3 to 60 rows of 1 to 20 pieces: `tests.bench.printpack.run_touch`.
"""
from __future__ import annotations

from dataclasses import replace

import pytest

from printpack.drawing.sheet import Line, Pen, Sheet, Text
from printpack.paper import PAPERS
from tests.bench.printpack.run_touch import grid_job, pages_of
from tests.support.plans import breast_job
from tests.support.raster_clash import clashes


@pytest.mark.parametrize("show", ["metric", "imperial"])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_nothing_touches_on_any_paper(paper, show):
    breast, grid = breast_job(show=show), replace(grid_job(8, 9), show=show)
    pages = [*pages_of(breast, paper, breast.plan.rows[::5]), *pages_of(grid, paper, grid.plan.rows[::7])]
    assert [page for page in pages if isinstance(page, str)] == []
    assert {page.bookmark: found for page in pages if (found := clashes(page))} == {}


def sheet_of(*items) -> Sheet:
    return Sheet(width_mm=100.0, height_mm=60.0, items=items)


def test_what_touches_is_seen():
    """The raster's own check: figures grown together, a line through a digit, ink beyond the margin."""
    figure = Text((30.0, 30.0), "123", 10.0, bold=True)
    assert clashes(sheet_of(figure, Text((60.0, 30.0), "45", 10.0))) == []
    assert "texts touch" in clashes(sheet_of(figure, Text((44.0, 27.0), "45", 10.0, bold=True)))[0]
    assert "a line runs into" in clashes(sheet_of(figure, Line((25.0, 27.0), (60.0, 27.0), Pen(0.4))))[0]
    assert clashes(sheet_of(Line((5.0, 20.0), (40.0, 20.0), Pen(0.4)))) == ["ink outside the printable box"]
