"""The check sheet and the check lines: how a reader finds out that a printer or viewer has changed the size.

Two long rulers, the sides of one rectangle; stubs along its diagonals; a square; the outline of a card (ISO/IEC 7810
ID-1, 85.60 x 53.98). `printpack.words.printer_scale` says how long they are and what readings off them mean.
"""
from __future__ import annotations

from math import cos, pi, sin

from capture.language.messages import figure, gettext
from printpack.drawing.page_layout import BODY, SMALL, TITLE, text_lines
from printpack.job import PackJob
from printpack.drawing.metrics import ASCENT
from printpack.paper import MARGIN_MM, Paper
from printpack.words.printer_scale import Rulers, rulers_of
from printpack.drawing.sheet import HAIR, Item, Line, Pen, Poly, Sheet, Text, mapped, moved, rectangle
from printpack.units import Units

CARD_MM = (85.60, 53.98)
CARD_RADIUS_MM = 3.18
_RULE = Pen(0.25)
#: Length of the marks at the corners that point along a diagonal, as a share of half of it.
_STUB = 0.12


def check_sheet(job: PackJob, paper: Paper) -> Sheet:
    """The first sheet of the templates: measure it before anything is traced."""
    sx, sy = job.paper_scale
    rulers = rulers_of(job.show)
    left = (paper.width_mm - sx * rulers.across_mm) / 2
    top = paper.height_mm - MARGIN_MM - sy * rulers.down_mm - 0.5
    items = [mapped(item, sx, sy, left, top) for item in (*_rectangle(rulers, job.units), *_square(rulers, job.units),
                                                          *_card())]
    heading = Text((left, MARGIN_MM + ASCENT * 0.7 * TITLE), gettext("Check the print first"), 0.7 * TITLE, bold=True)
    words, _ = text_lines(_advice(job), 0.0, 0.0, rulers.across_mm - 30.0, size=BODY)
    steps = [moved(item, left + 15.0, top + 180.0 * sy) for item in words]
    how = gettext("Print at 100 % (“actual size”), not “fit to page”.")
    line = Text((left, MARGIN_MM + 13.6), how, BODY, bold=True)
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, items=(heading, line, *items, *steps),
                 bookmark=gettext("Check the print"))


def _advice(job: PackJob) -> str:
    if job.show == "metric":
        first = gettext("Measure both long rulers with the tape you will use for the floor. Within half a millimetre: "
                        "go on.")
    else:
        first = gettext("Measure both long rulers with the tape you will use for the floor. Within {near}: go on.",
                        near='1/32"')
    skew = gettext("Diagonals unequal by more than {most}: the printer skews; try another.",
                   most="1 mm" if job.show == "metric" else job.units.plain(25.4 / 16))
    return " ".join((first, _further_off(job), skew))


def _further_off(job: PackJob) -> str:
    """What to do when the rulers are off; of sheets that are corrected already, by how much."""
    if job.paper_scale == (1.0, 1.0):
        return gettext("Further off: find “actual size” in the print window. Still off: tell the tool what both rulers "
                       "measure and print again; it corrects every template.")
    across, down = (f"{figure((scale - 1) * 100, '+.2f')} %".replace("-", "−") for scale in job.paper_scale)
    return gettext(
        "These sheets are corrected for your printer ({across} across, {down} down), so every figure should now be "
        "right, the card too. If not: take your two readings out, print this sheet and measure anew.", across=across,
        down=down)


def _rectangle(rulers: Rulers, units: Units) -> list[Item]:
    """The two rulers with their marks, closed to a rectangle, and stubs along its diagonals."""
    w, h = rulers.across_mm, rulers.down_mm
    items: list[Item] = [rectangle(0.0, 0.0, w, h, pen=_RULE, layer="check")]
    for x, y in ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)):
        items.append(Line((x, y), (x + _STUB * (w / 2 - x), y + _STUB * (h / 2 - y)), HAIR, "diagonal"))
    items += [Line((x, 0.0), (x, long), HAIR) for x, long in _ticks(w, rulers)]
    items += [Line((0.0, y), (long, y), HAIR) for y, long in _ticks(h, rulers)]
    across = gettext("{length} across, corner to corner", length=units.plain(w))
    down = gettext("{length} down, corner to corner", length=units.plain(h))
    both = gettext("both diagonals, corner to corner, {length}", length=units.plain(rulers.diagonal_mm))
    return [*items, Text((w / 2, 11.0), across, BODY, "middle", True),
            Text((10.5, h / 2), down, BODY, "middle", True, 90.0),
            Text((w / 2, h - 4.0), both, BODY, "middle", True)]


def _ticks(length: float, rulers: Rulers) -> list[tuple[float, float]]:
    """(place, length) of each mark along a ruler."""
    return [(k * rulers.tick_mm, 4.0 if k % rulers.long_tick else 6.0)
            for k in range(1, round(length / rulers.tick_mm - 0.01) + 1) if k * rulers.tick_mm < length - 0.1]


def _square(rulers: Rulers, units: Units) -> list[Item]:
    x, y, d = 62.0, 17.0, rulers.line_mm
    return [rectangle(x, y, d, d, pen=_RULE, layer="check"),
            Text((x + 3.0, y + 6.0), gettext("{side} square", side=units.plain(d)), BODY, bold=True)]


def _card() -> list[Item]:
    """A bank card laid here should just cover the outline."""
    x, y, (w, h), r = 62.0, 122.0, CARD_MM, CARD_RADIUS_MM
    ring = [(x + cx + r * cos(turn + k * pi / 36), y + cy - r * sin(turn + k * pi / 36))
            for cx, cy, turn in ((w - r, r, 0.0), (r, r, pi / 2), (r, h - r, pi), (w - r, h - r, 1.5 * pi))
            for k in range(19)]
    return [Poly(tuple(ring), _RULE, None, True, "card"),
            Text((x + 4.0, y + 8.0), gettext("a bank card covers this exactly"), BODY, bold=True),
            Text((x + 4.0, y + 14.0), f"{figure(w, '.2f')} × {figure(h, '.2f')} mm", SMALL)]


def check_lines(show: str, scale: tuple[float, float], corner: tuple[float, float]) -> tuple[Item, ...]:
    """The check lines both ways of every template sheet, from their shared corner (bottom left) upwards and to the
    right."""
    sx, sy = scale
    tick, long = 1.5, rulers_of(show).line_mm
    across = [Line((0.0, 0.0), (long, 0.0), _RULE, "check"), *(Line((x, -tick), (x, tick), _RULE) for x in (0.0, long))]
    down = [Line((0.0, 0.0), (0.0, -long), _RULE, "check"), *(Line((-tick, y), (tick, y), _RULE) for y in (0.0, -long))]
    return tuple(mapped(item, sx, sy, *corner) for item in (*across, *down))
