"""Check lines: how a reader finds out that a printer or viewer has changed the size.

A long ruler across (180) and one down (240), the sides of one rectangle whose diagonals are 300 (a 3-4-5 triangle, so a
skewed print shows as two unequal diagonals); a 100 mm square; the outline of a card (ISO/IEC 7810 ID-1, 85.60 x 53.98).
Why long: a reading error of 0.25 mm is 0.14 % of 180 mm but 0.25 % of 100 mm.
"""
from __future__ import annotations

from math import cos, pi, sin

from printpack.flow import BODY, SMALL, TITLE, text_lines
from printpack.job import WORST_SCALE, PackJob
from printpack.errors import PrintError
from printpack.metrics import ASCENT
from printpack.paper import MARGIN_MM, Paper
from printpack.sheet import HAIR, Item, Line, Pen, Poly, Sheet, Text, mapped, moved, rectangle
from printpack.units import Units

ACROSS_MM = 180.0
DOWN_MM = 240.0
DIAGONAL_MM = 300.0
SQUARE_MM = 100.0
CARD_MM = (85.60, 53.98)
CARD_RADIUS_MM = 3.18
_RULE = Pen(0.25)
#: Length of the marks at the corners that point along a diagonal, as a share of half of it.
_STUB = 0.12


def scale_from_rulers(across_mm: float, down_mm: float) -> tuple[float, float]:
    """What templates must be multiplied by (across, down) when the two long rulers measure this on paper.

    Raises PrintError (printer-scale) for a ruler more than 3 % off or not a length.
    """
    scales = []
    for name, read, true in (("across", across_mm, ACROSS_MM), ("down", down_mm, DOWN_MM)):
        if not abs(read / true - 1.0) <= WORST_SCALE:
            raise PrintError("printer-scale", f"The ruler {name} the sheet should measure {true:.0f} mm and you read {read:g} mm, more"
                             " than 3 % off: the viewer is scaling the page. Print it again at 100 % (“actual size”), then"
                             " measure once more.", where="paper_scale")
        scales.append(true / read)
    return scales[0], scales[1]


def check_sheet(job: PackJob, paper: Paper) -> Sheet:
    """The first sheet of the templates: measure it before anything is traced."""
    sx, sy = job.paper_scale
    left = (paper.width_mm - sx * ACROSS_MM) / 2
    top = paper.height_mm - MARGIN_MM - sy * DOWN_MM - 0.5
    items = [mapped(item, sx, sy, left, top) for item in (*_rectangle(job.units), *_square(job.units), *_card())]
    heading = Text((left, MARGIN_MM + ASCENT * 0.7 * TITLE), "Check the print first", 0.7 * TITLE, bold=True)
    words, _ = text_lines(_advice(job), 0.0, 0.0, 150.0, size=BODY)
    steps = [moved(item, left + 15.0, top + 183.0) for item in words]
    line = Text((left, MARGIN_MM + 13.6), "Print at 100 % (“actual size”), not “fit to page”.", BODY, bold=True)
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, items=(heading, line, *items, *steps), bookmark="Check the print")


def _advice(job: PackJob) -> str:
    said = "" if job.paper_scale == (1.0, 1.0) else \
        " These sheets are already corrected for your printer: every figure should now be right."
    return ("Measure both long rulers with the tape you will use for the floor. Within half a millimetre: go on. Further off: find"
            " “actual size” in the print window, or use another viewer or printer. Diagonals unequal by more than 1 mm: the"
            " printer skews; try another." + said)


def in_words(mm: float, units: Units) -> str:
    """A check length: always its mm, with the nearest 1/16 inch beside it where tapes are in inches."""
    return f"{mm:.0f} mm" if units.show == "metric" else f"{mm:.0f} mm (about {units.length(mm)})"


def _rectangle(units: Units) -> list[Item]:
    """The two rulers with centimetre ticks, closed to a rectangle, and marks along its diagonals."""
    w, h = ACROSS_MM, DOWN_MM
    items: list[Item] = [rectangle(0.0, 0.0, w, h, pen=_RULE, layer="check")]
    for x, y in ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)):
        items.append(Line((x, y), (x + _STUB * (w / 2 - x), y + _STUB * (h / 2 - y)), HAIR, "diagonal"))
    for mm in range(10, int(w), 10):
        items.append(Line((float(mm), 0.0), (float(mm), 4.0 if mm % 50 else 6.0), HAIR))
    for mm in range(10, int(h), 10):
        items.append(Line((0.0, float(mm)), (4.0 if mm % 50 else 6.0, float(mm)), HAIR))
    items += [Text((w / 2, 11.0), f"{in_words(w, units)} across, corner to corner", BODY, "middle", True),
              Text((10.5, h / 2), f"{in_words(h, units)} down, corner to corner", BODY, "middle", True, 90.0),
              Text((w / 2, h - 4.0), f"both diagonals, corner to corner, {in_words(DIAGONAL_MM, units)}", BODY, "middle", True)]
    return items


def _square(units: Units) -> list[Item]:
    x, y, d = 62.0, 17.0, SQUARE_MM
    return [rectangle(x, y, d, d, pen=_RULE, layer="check"),
            Text((x + 3.0, y + 6.0), f"{in_words(d, units)} square", BODY, bold=True)]


def _card() -> list[Item]:
    """A bank card laid here should just cover the outline."""
    x, y, (w, h), r = 62.0, 122.0, CARD_MM, CARD_RADIUS_MM
    ring = [(x + cx + r * cos(turn + k * pi / 36), y + cy - r * sin(turn + k * pi / 36))
            for cx, cy, turn in ((w - r, r, 0.0), (r, r, pi / 2), (r, h - r, pi), (w - r, h - r, 1.5 * pi)) for k in range(19)]
    return [Poly(tuple(ring), _RULE, None, True, "card"),
            Text((x + 4.0, y + 8.0), "a bank card covers this exactly", BODY, bold=True),
            Text((x + 4.0, y + 14.0), f"{w:.2f} × {h:.2f} mm", SMALL)]


def check_lines(scale: tuple[float, float], corner: tuple[float, float]) -> tuple[Item, ...]:
    """The 100 mm lines both ways of every template sheet, from their shared corner (bottom left) upwards and to the right."""
    sx, sy = scale
    tick = 1.5
    across = [Line((0.0, 0.0), (100.0, 0.0), _RULE, "check"), *(Line((x, -tick), (x, tick), _RULE) for x in (0.0, 100.0))]
    down = [Line((0.0, 0.0), (0.0, -100.0), _RULE, "check"), *(Line((-tick, y), (tick, y), _RULE) for y in (0.0, -100.0))]
    return tuple(mapped(item, sx, sy, *corner) for item in (*across, *down))
