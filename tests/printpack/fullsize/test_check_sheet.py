"""The check sheet and the check lines of every template sheet, measured; and what is refused."""
from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest

from printpack.fullsize.check_sheet import CARD_MM, check_sheet
from printpack.errors import PrintError
from printpack.paper import A4, LETTER, PAPERS
from printpack.drawing.pdf import pdf_bytes
from printpack.words.printer_scale import INCHES, METRIC, rulers_of, scale_from_rulers
from printpack.fullsize.template_sheets import template_sheets
from printpack.fullsize.templates import find_templates
from tests.support.looks import all_text, overprints, pages, strays, vectors
from tests.support.plans import breast_job

JOB = breast_job()


def lengths(page) -> list[float]:
    return sorted(hypot(x1 - x0, y1 - y0) for x0, y0, x1, y1 in vectors(page))


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
@pytest.mark.parametrize("show", ["metric", "imperial"])
def test_the_rulers_measure_what_they_say(paper, show):
    page = pages(pdf_bytes((check_sheet(replace(JOB, show=show), paper),), title="t", date=JOB.date))[0]
    sides, rulers = lengths(page), rulers_of(show)
    for wanted in (rulers.across_mm, rulers.down_mm, rulers.line_mm):
        assert sum(abs(side - wanted) < 0.01 * wanted / 100 for side in sides) >= 2
    corners = sorted({(round(p[0], 2), round(p[1], 2)) for x0, y0, x1, y1 in vectors(page)
                      for p in ((x0, y0), (x1, y1)) if abs(abs(y1 - y0) - rulers.down_mm) < 0.02})
    assert hypot(corners[-1][0] - corners[0][0], corners[-1][1] - corners[0][1]) == pytest.approx(
        rulers.diagonal_mm, abs=0.03
    )


def test_every_check_length_stands_on_its_tape():
    """Whole centimetres, or whole quarters of an inch, and a 3-4-5 triangle, so that nothing is rounded when it is
    read."""
    for rulers, step in ((METRIC, 10.0), (INCHES, 6.35)):
        sides = (rulers.across_mm, rulers.down_mm, rulers.diagonal_mm)
        assert all(abs(side / step - round(side / step)) < 1e-9 for side in (*sides, rulers.line_mm))
        assert hypot(*sides[:2]) == pytest.approx(sides[2], abs=1e-9) and sides[0] / sides[1] == pytest.approx(0.75)


def test_the_card_is_an_id_1_card():
    """ISO/IEC 7810: 85.60 x 53.98 mm, corner radius 2.88 to 3.48."""
    card = next(item for item in check_sheet(JOB, A4).items if getattr(item, "layer", "") == "card")
    xs, ys = zip(*card.points)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((85.60, 53.98), abs=1e-6) and CARD_MM == (
        85.60,
        53.98,
    )
    top = [x for x, y in card.points if abs(y - min(ys)) < 1e-6]
    assert 2.88 <= min(top) - min(xs) <= 3.48


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda p: p.name)
def test_every_sheet_has_its_check_lines_both_ways(paper):
    sheets = template_sheets(JOB, find_templates(JOB.plan), paper)[1:]
    for page in pages(pdf_bytes(sheets, title="t", date=JOB.date)):
        straight = [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in vectors(page)]
        assert any(abs(abs(dx) - 100.0) < 0.01 and abs(dy) < 1e-6 for dx, dy in straight)
        assert any(abs(abs(dy) - 100.0) < 0.01 and abs(dx) < 1e-6 for dx, dy in straight)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
@pytest.mark.parametrize("scale", [(1.0, 1.0), (1 / 0.97, 1 / 0.97), (1 / 1.03, 0.985)])
@pytest.mark.parametrize("show", ["metric", "imperial"])
def test_nothing_leaves_the_printable_box_or_overprints(paper, scale, show):
    job = replace(JOB, paper_scale=scale, show=show, title="A rather long title for a back bedroom (invented)")
    for sheet in template_sheets(job, find_templates(job.plan, show=show), paper):
        assert not strays(sheet) and not overprints(sheet)


@pytest.mark.parametrize("show", ["metric", "imperial"])
def test_the_rulers_undo_the_printer(show):
    """A printer that shrinks to 99.6 % across and 98.8 % down: the corrected sheet, so printed, measures right."""
    across, down = 0.996, 0.988
    rulers = rulers_of(show)
    scale = scale_from_rulers(rulers.across_mm * across, rulers.down_mm * down, show=show)
    page = pages(pdf_bytes((check_sheet(replace(JOB, paper_scale=scale, show=show), A4),), title="t", date=JOB.date))[0]
    printed = sorted(hypot(across * (x1 - x0), down * (y1 - y0)) for x0, y0, x1, y1 in vectors(page))
    for wanted in (rulers.across_mm, rulers.down_mm, rulers.line_mm):
        assert sum(abs(side - wanted) < 0.02 for side in printed) >= 2


@pytest.mark.parametrize("across, down, named",
                         [(170.0, 240.0, "across"), (180.0, 250.0, "down"), (0.0, 240.0, "across"),
                          (float("nan"), 240.0, "across")])
def test_a_ruler_far_off_is_refused_with_the_way_out(across, down, named):
    with pytest.raises(PrintError) as refusal:
        scale_from_rulers(across, down)
    assert refusal.value.slug == "printer-scale" and named in str(refusal.value) and "actual size" in str(refusal.value)


def test_a_job_with_a_scale_far_off_is_refused():
    with pytest.raises(PrintError) as refusal:
        replace(JOB, paper_scale=(1.0, 1.06))
    assert refusal.value.slug == "printer-scale" and "1.060" in str(refusal.value)
    with pytest.raises(PrintError):
        replace(JOB, show="cubits")


def test_the_words_that_save_the_day_are_on_the_sheets():
    text = all_text(pdf_bytes(template_sheets(JOB, find_templates(JOB.plan), A4), title="t", date=JOB.date))
    for words in ("actual size", "bank card", "both diagonals", "180 mm across", "240 mm down", "decor face"):
        assert words in text
