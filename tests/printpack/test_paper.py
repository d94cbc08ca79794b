"""Paper sizes against the standards, and papers by name."""
from __future__ import annotations

import pytest

from printpack.errors import PrintError
from printpack.paper import A3, A4, LEGAL, LETTER, PAPERS, TABLOID, paper_named


def iso_216(number: int) -> tuple[int, int]:
    """Sheet A<number> in mm: A0 is 841 x 1189, each next one halves the long side, rounded down (ISO 216)."""
    width, height = 841, 1189
    for _ in range(number):
        width, height = height // 2, width
    return width, height


@pytest.mark.parametrize("paper, number", [(A4, 4), (A3, 3)])
def test_iso_sheets(paper, number):
    assert (paper.width_mm, paper.height_mm) == iso_216(number)


@pytest.mark.parametrize("paper, inches", [(LETTER, (8.5, 11)), (LEGAL, (8.5, 14)), (TABLOID, (11, 17))])
def test_inch_sheets(paper, inches):
    """ANSI/ASME Y14.1 sizes A (Letter) and B (Tabloid); Legal by US custom."""
    assert (paper.width_mm, paper.height_mm) == pytest.approx([25.4 * v for v in inches], abs=1e-9)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_a_paper_is_found_by_its_name_in_any_case(paper):
    assert paper_named(f" {paper.name.upper()} ") is paper


def test_an_unknown_paper_is_refused_with_the_papers_there_are():
    with pytest.raises(PrintError) as refusal:
        paper_named("foolscap")
    assert refusal.value.slug == "unknown-paper" and refusal.value.where == "paper"
    assert "foolscap" in str(refusal.value) and all(paper.name in str(refusal.value) for paper in PAPERS)
