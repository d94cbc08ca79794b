"""Lines across, down and on both diagonals are true on every paper and over every seam, sheets joined by their crosses
alone.

Read back with pdfplumber; the 600 dpi raster of the same net, and a baseline, are in `tests.bench.printpack.run_scale`.
"""
from __future__ import annotations

import datetime

import pytest

from printpack.paper import PAPERS
from printpack.drawing.pdf import pdf_bytes
from tests.bench.printpack.run_scale import Vectors, measure, sheets_of


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_a_net_over_many_sheets_is_true(paper):
    """0.01 mm, as is asked per 100 mm; a step at a seam too."""
    scale = (1 / 0.996, 1 / 1.004)
    tiles, sheets = sheets_of(paper, scale)
    found = measure(Vectors(pdf_bytes(sheets, title="net", date=datetime.date(2026, 3, 5))), tiles, scale)
    assert set(found) == {"x", "y", "rising", "falling", "seam"} and max(found.values()) <= 0.01
