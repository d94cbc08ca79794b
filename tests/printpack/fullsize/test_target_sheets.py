"""Floor targets on paper: measured by an outside PDF reader, read back by OpenCV's own detector from the printed
raster."""
from __future__ import annotations

import datetime

import cv2
import numpy as np
import pytest

from capture.image.targets import MOST_TARGETS
from printpack.errors import PrintError
from printpack.paper import A4, LETTER, PAPERS
from printpack.drawing.pdf import pdf_bytes
from printpack.fullsize.target_sheets import FEWEST_USEFUL, QUIET_MM, SIDE_OF_SQUARE_MM, target_sheets
from tests.support.looks import POINT, all_text, ink, overprints, pages, strays, vectors

DATE = datetime.date(2026, 3, 5)


def printed(paper, count=6) -> bytes:
    return pdf_bytes(target_sheets(paper, count=count), title="Floor targets", date=DATE)


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda p: p.name)
def test_the_black_square_measures_150_mm(paper):
    for page in pages(printed(paper))[1:]:
        square = max((*page.rects, *page.curves), key=lambda r: float(r["width"]))
        assert (float(square["width"]) * POINT, float(square["height"]) * POINT) == pytest.approx(
            (150.0, 150.0), abs=0.05
        )
        assert any(abs(abs(x1 - x0) - 100.0) < 0.05 and y0 == y1 for x0, y0, x1, y1 in vectors(page))


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda p: p.name)
def test_the_printed_sheets_are_read_back_with_their_names_and_size(paper):
    """OpenCV's detector on the raster of another PDF reader; 0.5 mm allows for its corner refinement at 4 px a mm."""
    pdf, words = printed(paper), [all_text_of(page) for page in pages(printed(paper))]
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50))
    for number in range(6):
        dark, per_mm_x, _ = ink(pdf, number + 1, dpi=100)
        corners, numbers, _ = detector.detectMarkers((255 * (1 - dark)).astype(np.uint8))
        assert np.ravel(numbers).tolist() == [number] and f"Target T{number}" in words[number + 1]
        sides = np.hypot(*(np.roll(corners[0][0], -1, axis=0) - corners[0][0]).T) / per_mm_x
        assert sides == pytest.approx(np.full(4, SIDE_OF_SQUARE_MM), abs=0.5)


def all_text_of(page) -> str:
    return " ".join((page.extract_text() or "").split())


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_nothing_leaves_the_sheet_and_the_square_stays_in_white(paper):
    for sheet in target_sheets(paper, count=MOST_TARGETS):
        assert not strays(sheet) and not overprints(sheet)
    dark, across, down = ink(printed(paper), 1, dpi=50)
    left, top = (paper.width_mm - SIDE_OF_SQUARE_MM) / 2, np.flatnonzero(dark[:, dark.shape[1] // 2 - 60]
                                                                         > 0.9)[0] / down
    quiet = dark[int((top - QUIET_MM) * down) + 2:int((top + SIDE_OF_SQUARE_MM + QUIET_MM) * down) - 1,
                 int((left - QUIET_MM) * across) + 2: int((left + SIDE_OF_SQUARE_MM + QUIET_MM) * across) - 1].copy()
    inset = int(QUIET_MM * down) - 4
    quiet[inset:-inset, inset:-inset] = 0
    assert quiet.max() < 0.05


def test_the_first_sheet_says_how_to_lay_them():
    words = all_text(printed(A4))
    for said in ("actual size", "tape it down", "not all in one line", "Do not move one between photos",
                 "The tape rules", "weak hint"):
        assert said in words


@pytest.mark.parametrize("count", [0, FEWEST_USEFUL - 1, MOST_TARGETS + 1])
def test_a_useless_number_of_targets_is_refused_in_one_sentence(count):
    with pytest.raises(PrintError, match=f"^{count} targets? cannot be printed") as caught:
        target_sheets(A4, count=count)
    assert caught.value.slug == "target-count"
