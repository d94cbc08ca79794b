"""The display list and its two writers: true lengths, page boxes, the no-scaling request, the same bytes twice."""
from __future__ import annotations

import datetime
import re
import xml.etree.ElementTree as ET

import numpy as np
import pypdfium2
import pytest

from printpack.drawing.metrics import text_box, text_width, wrapped
from printpack.paper import PAPERS
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.sheet import Circle, Line, Pen, Poly, Sheet, Text, mapped, rectangle
from printpack.drawing.svg import svg_text
from tests.support.looks import all_text, ink, pages, vectors

DATE = datetime.date(2026, 3, 5)


def sheet_of(*items, width=210.0, height=297.0, bookmark="") -> Sheet:
    return Sheet(width_mm=width, height_mm=height, items=items, bookmark=bookmark)


def pdf_of(*sheets: Sheet, title="Küche & Höfchen “très longue”") -> bytes:
    return pdf_bytes(sheets, title=title, date=DATE)


def test_lines_are_true_in_x_in_y_and_across():
    """0.01 mm by vectors (pdfplumber), the project's own limit."""
    lines = [Line((20.0, 30.0), (120.0, 30.0)), Line((20.0, 30.0), (20.0, 230.0)), Line((20.0, 30.0), (140.0, 190.0))]
    found = sorted(np.hypot(x1 - x0, y1 - y0) for x0, y0, x1, y1 in vectors(pages(pdf_of(sheet_of(*lines)))[0]))
    assert found == pytest.approx([100.0, 200.0, 200.0], abs=0.01)


def test_a_square_is_true_in_a_second_reader():
    """0.05 mm in a 600 dpi raster (pypdfium2): the middle of each side's ink, 100 mm apart."""
    dark, across, down = ink(pdf_of(sheet_of(rectangle(50.0, 60.0, 100.0, 100.0, pen=Pen(0.3)))), 0, dpi=600)
    band = dark[int(90 * down):int(130 * down)].mean(axis=0)
    tall = dark[:, int(80 * across):int(120 * across)].mean(axis=1)
    assert _gap(band) / across == pytest.approx(100.0, abs=0.05)
    assert _gap(tall) / down == pytest.approx(100.0, abs=0.05)


def _gap(profile: np.ndarray) -> float:
    """Distance in pixels between the middles of the first and second half's ink."""
    half = len(profile) * profile.nonzero()[0].mean() / len(profile)
    places = np.arange(len(profile))
    low, high = profile * (places < half), profile * (places >= half)
    return (high @ places) / high.sum() - (low @ places) / low.sum()


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_page_boxes_are_the_papers_own(paper):
    page = pypdfium2.PdfDocument(pdf_of(sheet_of(width=paper.width_mm, height=paper.height_mm)))[0]
    assert page.get_size() == pytest.approx((paper.width_mm / 25.4 * 72, paper.height_mm / 25.4 * 72), abs=0.01)
    assert page.get_mediabox() == page.get_cropbox()


def test_the_file_asks_for_no_scaling_and_carries_its_title_date_and_language():
    raw = pdf_of(sheet_of(bookmark="Row 1"), sheet_of(bookmark="Row 2"))
    assert re.search(rb"/PrintScaling\s*/None", raw) and b"/Lang" in raw
    document = pypdfium2.PdfDocument(raw)
    assert document.get_metadata_value("Title") == "Küche & Höfchen “très longue”"
    assert document.get_metadata_value("CreationDate").startswith("D:20260305")
    assert [mark.get_title() for mark in document.get_toc()] == ["Row 1", "Row 2"]


def test_the_same_sheets_give_the_same_bytes():
    sheet = sheet_of(Text((20.0, 20.0), "Reihe 1: ½ Ø 35"), Circle((50.0, 50.0), 20.0), bookmark="Row 1")
    assert pdf_of(sheet) == pdf_of(sheet)
    assert svg_text(sheet, title="a") == svg_text(sheet, title="a")


def test_text_comes_back_as_written():
    words = "Écran d’été: 1' 4 1/4\" ± 3 mm, “łóżko”, ø"
    assert words in all_text(pdf_of(sheet_of(Text((20.0, 20.0), words), Text((60.0, 90.0), "turned", turn_deg=90.0))))


@pytest.mark.parametrize("bold", [False, True])
def test_text_widths_are_those_of_the_pdf(bold):
    """pdfplumber's own character boxes say how wide the text was printed."""
    words = "Saw across 861 mm, Ärger & Öl"
    page = pages(pdf_of(sheet_of(Text((20.0, 50.0), words, 5.0, bold=bold))))[0]
    width = (max(c["x1"] for c in page.chars) - min(c["x0"] for c in page.chars)) * 25.4 / 72
    assert width == pytest.approx(text_width(words, 5.0, bold=bold), abs=0.02)


@pytest.mark.parametrize("anchor, share", [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_anchors(anchor, share):
    page = pages(pdf_of(sheet_of(Text((100.0, 50.0), "anchored", 5.0, anchor))))[0]
    left = min(c["x0"] for c in page.chars) * 25.4 / 72
    assert left == pytest.approx(100.0 - share * text_width("anchored", 5.0), abs=0.02)


def test_turned_text_lies_in_its_box():
    text = Text((100.0, 100.0), "up the wall", 6.0, "middle", True, 90.0)
    dark, across, down = ink(pdf_of(sheet_of(text)), 0)
    ys, xs = dark.nonzero()
    x0, y0, x1, y1 = text_box(text)
    assert x0 - 0.2 < xs.min() / across and xs.max() / across < x1 + 0.2
    assert y0 - 0.2 < ys.min() / down and ys.max() / down < y1 + 0.2
    assert (ys.max() - ys.min()) / down == pytest.approx(y1 - y0, abs=1.5)


def test_wrapping_keeps_every_word_and_the_width():
    words = "Saw across 1' 4 1/4\" from its RIGHT end " * 4 + "unbreakably" * 9
    lines = wrapped(words, 4.0, 50.0)
    assert all(text_width(line, 4.0) <= 50.0 for line in lines)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")


def test_svg_speaks_millimetres_once():
    """Root in mm, viewBox in mm, inner numbers unitless (SVG 1.1, 7.7 and 7.10: user units are then mm)."""
    sheet = sheet_of(Line((10.0, 20.0), (110.0, 20.0), layer="cut"),
                     Poly(((1.0, 1.0), (2.0, 1.0), (2.0, 2.0)), fill=0.5), Circle((30.0, 40.0), 17.5),
                     Text((9.0, 9.0), "A & B <1>", turn_deg=90.0), width=180.5, height=100.0)
    root = ET.fromstring(svg_text(sheet, title="T1 & more").encode())
    name = "{http://www.w3.org/2000/svg}"
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("180.5mm", "100mm", "0,0,180.5,100")
    line, circle = root.find(f"{name}line"), root.find(f"{name}circle")
    assert [float(line.get(k)) for k in ("x1", "y1", "x2", "y2")] == [10.0, 20.0, 110.0,
                                                                      20.0] and line.get("class") == "cut"
    assert (circle.get("cx"), circle.get("cy"), circle.get("r")) == ("30", "40", "17.5")
    assert root.find(f"{name}text").text == "A & B <1>" and root.find(f"{name}title").text == "T1 & more"
    inner = [v for element in root.iter() if element is not root for v in element.attrib.values()]
    assert not [v for v in inner if re.search(r"\d(mm|px|pt|cm|in)\b", v)]


def test_an_unequally_scaled_circle_becomes_its_ellipse():
    poly = mapped(Circle((10.0, 10.0), 5.0), 1.02, 0.99, 0.0, 0.0)
    xs, ys = zip(*poly.points)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((10.2, 9.9), abs=1e-6)
