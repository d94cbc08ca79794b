"""What touches on a printed sheet, by raster alone (PDFium through pypdfium2, components by OpenCV): no text runs into
another, no line into a text, no ink outside the printable box."""
from __future__ import annotations

import datetime
from dataclasses import replace

import cv2
import numpy as np

from printpack.drawing.metrics import text_box
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.sheet import Sheet, Text
from printpack.paper import MARGIN_MM
from tests.support.looks import ink, texts

#: Greys that carry words are paler than that; every line is darker.
_DARK = 0.35
#: What of a letter reaches beyond its text's box, mm: the raster's own width and a letter's overhang.
_OVER_MM = 0.45
#: Pixels of a line in a text that are none, at the edge of both.
_PIXELS = 2


def clashes(sheet: Sheet, *, dpi: int = 100) -> list[str]:
    """What touches on one sheet, a line each; [] if nothing does."""
    words = [item for item in sheet.items if isinstance(item, Text)]
    lines = tuple(item for item in sheet.items if not isinstance(item, Text))
    pdf = pdf_bytes(tuple(replace(sheet, items=items, bookmark="") for items in (sheet.items, tuple(words), lines)),
                    title="t", date=datetime.date(2026, 3, 5))
    (every, across, down), (letters, _, _), (drawn, _, _) = (ink(pdf, number, dpi) for number in range(3))
    boxes = [(text, np.array(text_box(text)) * (across, down, across, down)) for text in texts(sheet)]
    return [*_outside(every, across, down), *_merged(letters > _DARK, boxes, _OVER_MM * across),
            *_crossed((letters > _DARK) & (drawn > _DARK), boxes)]


def _outside(dark: np.ndarray, across: float, down: float) -> list[str]:
    free = dark.copy()
    x, y = int(MARGIN_MM * across) - 1, int(MARGIN_MM * down) - 1
    free[y:-y, x:-x] = 0.0
    return ["ink outside the printable box"] if (free > _DARK).any() else []


def _merged(letters: np.ndarray, boxes: list[tuple[Text, np.ndarray]], over: float) -> list[str]:
    """Components of the texts that lie in no one text's box: letters of two texts grown together."""
    count, _, stats, _ = cv2.connectedComponentsWithStats(letters.astype(np.uint8), connectivity=8)
    found = []
    for left, top, wide, tall, _ in stats[1:count]:
        if not any(b[0] - over <= left and b[1] - over <= top and left + wide <= b[2] + over
                   and top + tall <= b[3] + over for _, b in boxes):
            near = [text.text for text, b in boxes if b[0] < left + wide and left < b[2] and b[1] < top + tall
                    and top < b[3]]
            found.append(f"texts touch: {near}")
    return found


def _crossed(both: np.ndarray, boxes: list[tuple[Text, np.ndarray]]) -> list[str]:
    """Texts that a line runs into."""
    found = []
    for text, (left, top, right, bottom) in boxes:
        if both[int(top):int(bottom) + 1, int(left):int(right) + 1].sum() > _PIXELS:
            found.append(f"a line runs into {text.text!r}")
    return found
