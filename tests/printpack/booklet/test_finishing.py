"""The page of the work after the last row: one page, whatever the walls and bars of a room."""
from __future__ import annotations

from dataclasses import replace

import pytest

from layout.plan import BarPiece, Bars, BeadingPiece
from layout.words.purchases import stretch_words
from printpack.booklet.finishing import finishing_pages
from printpack.drawing.page_layout import SMALL, bound
from printpack.paper import PAPERS
from tests.support.looks import overprints, strays, texts
from tests.support.plans import breast_job


def beaded(walls: int, bars: int, show: str):
    """A job with so many walls to bead and so many bars to saw."""
    job = breast_job(show=show)
    names = [f"{a}-{b}" for a, b in zip("ABCDEFGH", "BCDEFGHA")]
    beading = tuple(BeadingPiece(where=names[k % 8], length_mm=1400.0 + 7 * k, start_deg=45.1, end_deg=44.9,
                                 stretch=(k // 8 + 1, -(-walls // 8))) for k in range(walls))
    sawn = tuple((BarPiece(where=names[k % 8], length_mm=1400.0, start_deg=45.0, end_deg=45.0, part=(2, 2)),
                  BarPiece(where=names[k % 8], length_mm=620.0, start_deg=45.0, end_deg=0.0)) for k in range(bars))
    return replace(job, plan=replace(job.plan, beading=beading, bars=Bars(
        bar_mm=2400.0, kerf_mm=3.0, width_mm=18.0, bars=sawn, bound=bars)))


@pytest.mark.parametrize("show", ["metric", "imperial"])
@pytest.mark.parametrize(("walls", "bars"), [(4, 3), (12, 9), (16, 14)])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_it_is_one_page_on_which_every_wall_and_bar_stands(paper, walls, bars, show):
    job = beaded(walls, bars, show)
    (sheet,) = bound(finishing_pages(job, paper), paper, title="t", foot=str)
    assert not overprints(sheet) and not strays(sheet)
    said = [text.text for text in texts(sheet)]
    assert {stretch_words(piece) for piece in job.plan.beading} <= set(said)
    assert {str(number) for number in range(1, bars + 1)} <= set(said)
    assert min(text.size_mm for text in texts(sheet)) >= SMALL - 1e-9


def test_a_palace_takes_more_pages_and_loses_nothing():
    job = beaded(24, 60, "metric")
    said = [text.text for page in finishing_pages(job, PAPERS[0]) for text in page.items if hasattr(text, "text")]
    assert {str(number) for number in range(1, 61)} <= set(said)
