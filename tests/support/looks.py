"""Ways to look at printed sheets: what stands on a display list, and what a reader of the PDF measures.

`Reading` uses pdfplumber (vectors), `ink` pypdfium2 (raster): neither shares code with the writer.
"""
from __future__ import annotations

import io

import numpy as np
import pdfplumber
import pypdfium2

from printpack.drawing.metrics import text_box
from printpack.paper import MARGIN_MM
from printpack.drawing.sheet import Circle, Line, Sheet, Text

POINT = 25.4 / 72


def texts(sheet: Sheet) -> list[Text]:
    """The sheet's texts that print something."""
    return [item for item in sheet.items if isinstance(item, Text) and item.text.strip()]


def overprints(sheet: Sheet, slack_mm: float = 0.3) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes (capitals and descenders) overlap by more than `slack_mm` both ways."""
    found, boxes = [], [(item.text, text_box(item)) for item in texts(sheet)]
    for i, (one, a) in enumerate(boxes):
        for other, b in boxes[i + 1:]:
            if min(a[2], b[2]) - max(a[0], b[0]) > slack_mm and min(a[3], b[3]) - max(a[1], b[1]) > slack_mm:
                found.append((one, other))
    return found


def strays(sheet: Sheet, margin_mm: float = MARGIN_MM) -> list[object]:
    """Items that leave the printable box."""
    limits = (margin_mm - 1e-6, margin_mm - 1e-6, sheet.width_mm - margin_mm + 1e-6, sheet.height_mm - margin_mm + 1e-6)
    return [item for item in sheet.items if not _holds(limits, _extent(item))]


def _extent(item) -> tuple[float, float, float, float]:
    if isinstance(item, Text):
        return text_box(item)
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius_mm
        return x - r, y - r, x + r, y + r
    points = (item.start, item.end) if isinstance(item, Line) else item.points
    return min(p[0] for p in points), min(p[1] for p in points), max(p[0] for p in points), max(p[1] for p in points)


def _holds(limits, box) -> bool:
    return limits[0] <= box[0] and limits[1] <= box[1] and limits[2] >= box[2] and limits[3] >= box[3]


def pages(pdf: bytes) -> list:
    """The pages as pdfplumber sees them."""
    return pdfplumber.open(io.BytesIO(pdf)).pages


def vectors(page) -> list[tuple[float, float, float, float]]:
    """Every straight line of a page as (x0, y0, x1, y1) in mm, y down, whatever way it was written."""
    found = []
    for thing in (*page.lines, *page.curves, *page.rects):
        points = [(x * POINT, y * POINT) for x, y in thing["pts"]]
        points += points[:1] if thing in page.rects or thing["path"][-1][0] == "h" else []
        found += [(*a, *b) for a, b in zip(points, points[1:])]
    return found


def all_text(pdf: bytes) -> str:
    """Every word of a PDF, single-spaced."""
    document = pypdfium2.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)


def ink(pdf: bytes, number: int, dpi: int = 150) -> tuple[np.ndarray, float, float]:
    """(darkness 0..1 by pixel, pixels per mm across, pixels per mm down) of one page, counted from 0."""
    page = pypdfium2.PdfDocument(pdf)[number]
    width, height = (v * POINT for v in page.get_size())
    grey = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    grey = grey[..., 0] if grey.ndim == 3 else grey
    return 1.0 - grey / 255.0, grey.shape[1] / width, grey.shape[0] / height
