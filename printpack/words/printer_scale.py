"""How long the check sheet's rulers are, and what a template must be multiplied by when they measure something else.

A long ruler across and one down are the sides of one rectangle three parts wide and four high, so that its diagonals
are five parts and a skewed print shows as two unequal ones. Why long: a reading error of 0.25 mm is 0.14 % of 180 mm
but 0.25 % of 100 mm. For a tape in inches every length is one that stands on that tape: a ruler of 180 mm would read 7
1/16", 0.6 mm off.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import figure, lazy_gettext
from printpack.errors import PrintError
from printpack.job import WORST_SCALE
from printpack.units import NO_BREAK, Units


#: What is said of a ruler that is too far off.
_OFF = {
    "across": lazy_gettext(
        "The ruler across the check sheet should measure {true} and you read {read}, more than 3 % off: no printer "
        "errs that much, so the viewer is scaling the page, or the reading slipped. Print the check sheet again at "
        "100 % (“actual size”), then measure once more."),
    "down": lazy_gettext(
        "The ruler down the check sheet should measure {true} and you read {read}, more than 3 % off: no printer errs "
        "that much, so the viewer is scaling the page, or the reading slipped. Print the check sheet again at 100 % "
        "(“actual size”), then measure once more.")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rulers:
    """What the check sheet measures when it is printed true, mm. `line_mm`: the short line both ways on every template
    sheet, and the side of the square. `tick_mm`: from one mark of a ruler to the next; every `long_tick`-th is
    longer."""

    across_mm: float
    down_mm: float
    diagonal_mm: float
    line_mm: float
    tick_mm: float
    long_tick: int


METRIC = Rulers(across_mm=180.0, down_mm=240.0, diagonal_mm=300.0, line_mm=100.0, tick_mm=10.0, long_tick=5)
#: 6 3/4, 9 and 11 1/4 inches; 4 inches; a mark every half inch.
INCHES = Rulers(across_mm=6.75 * 25.4, down_mm=9 * 25.4, diagonal_mm=11.25 * 25.4, line_mm=4 * 25.4, tick_mm=12.7,
                long_tick=2)


def rulers_of(show: str) -> Rulers:
    """The check lengths of a job shown in "metric" or "imperial"."""
    return INCHES if show == "imperial" else METRIC


def scale_from_rulers(across_mm: float, down_mm: float, *, show: str = "metric") -> tuple[float, float]:
    """What templates must be multiplied by (across, down) when the two long rulers measure this on paper.

    Raises PrintError (printer-scale) for a ruler more than 3 % off or not a length.
    """
    rulers, units = rulers_of(show), Units(show)
    scales = []
    for name, read, true in (("across", across_mm, rulers.across_mm), ("down", down_mm, rulers.down_mm)):
        if not abs(read / true - 1.0) <= WORST_SCALE:
            raise PrintError("printer-scale", _OFF[name].filled(true=_words(true, units), read=_words(read, units)),
                             where=f"rulers.{name}")
        scales.append(true / read)
    return scales[0], scales[1]


def _words(mm: float, units: Units) -> str:
    return units.plain(mm).replace(NO_BREAK, " ") if units.show == "imperial" else f"{figure(mm, 'g')} mm"
