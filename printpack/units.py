"""Lengths as the reader wants them: millimetres, or inches.

Everything inside is mm; only this module and `layout.words.lengths` turn a length into words. Inches go to the nearest
1/8, what a tape is read to on the floor, and to 1/16 below 1/2 inch (gaps) and for what is bought by its size or drawn
on a template (`fine`, `plain`). Up to 8 ft they stand alone, as on the tape (44 7/8"); beyond, feet go before them
(common practice, no source).
"""
from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

from capture.language.messages import figure, ngettext
from capture.tape import format_length
from layout.words.lengths import EIGHTH, INCH_MM, SIXTEENTH, inches
from layout.words.terms import NO_BREAK as NO_BREAK
from layout.words.terms import Terms, terms_for

#: What is cut from a roll is cut to such a step, mm and inches.
_ROUGH_MM, _ROUGH_IN = 50.0, 2.0

#: Units that are counted, in the plural.
_COUNTED: dict[str, Callable[[int], str]] = {
    "packs": lambda count: ngettext("{count}\u00a0pack", "{count}\u00a0packs", count),
    "rolls": lambda count: ngettext("{count}\u00a0roll", "{count}\u00a0rolls", count),
    "pieces": lambda count: ngettext("{count}\u00a0piece", "{count}\u00a0pieces", count),
    "bars": lambda count: ngettext("{count}\u00a0bar", "{count}\u00a0bars", count)}


#: Fractions that the fonts have as one sign, its digits more than half as high as the others, and where they stand.
_EIGHTHS = {"1/8": "⅛", "1/4": "¼", "3/8": "⅜", "1/2": "½", "5/8": "⅝", "3/4": "¾", "7/8": "⅞"}
_EIGHTHS_BEHIND = re.compile(rf"(?:(?<=\d){NO_BREAK})?\b({'|'.join(_EIGHTHS)})\b")


def _whole(text: str) -> str:
    return text.replace(" ", NO_BREAK)


@dataclass(frozen=True, slots=True)
class Units:
    """`show` is "metric" or "imperial"."""

    show: str = "metric"

    @property
    def terms(self) -> Terms:
        """The words that go with these lengths."""
        return terms_for(self.show)

    def length(self, mm: float) -> str:
        """With its unit, for the tape: "412 mm" or 16 1/4"."""
        return inches(mm, EIGHTH) if self.show == "imperial" else _whole(format_length(mm))

    def bare(self, mm: float) -> str:
        """For tables whose heading names the unit: "412" or 16 1/4"."""
        return self.length(mm).removesuffix(NO_BREAK + "mm")

    def figure(self, mm: float) -> str:
        """A large figure of a picture: as `bare`, but inches alone without their mark and fractions as one sign: "412"
        or 16¼, as tapes have it."""
        told = _EIGHTHS_BEHIND.sub(lambda found: _EIGHTHS[found[1]], self.bare(mm))
        return told if "'" in told else told.removesuffix('"')

    def fine(self, mm: float) -> str:
        """For what is bought by its size or drawn true to scale: "2.4 mm", to half a tenth, or 3/32" to 1/16."""
        if self.show == "imperial":
            return inches(mm, SIXTEENTH)
        return self.length(mm) if abs(mm - round(mm)) < 0.05 else _whole(f"{figure(mm, '.1f')} mm")

    def at_least(self, mm: float) -> str:
        """As `fine`, rounded up: what must be free, or sawn away."""
        step = INCH_MM / SIXTEENTH if self.show == "imperial" else 0.5
        return self.fine(ceil(mm / step - 1e-9) * step)

    def plain(self, mm: float) -> str:
        """As `length`, but inches to 1/16 and never feet: a printed ruler's length."""
        return inches(mm, SIXTEENTH, alone_in=1e9) if self.show == "imperial" else self.length(mm)

    def roughly(self, mm: float) -> str:
        """What is cut from a roll: up to the next 50 mm, or 2 inches."""
        step = _ROUGH_IN * INCH_MM if self.show == "imperial" else _ROUGH_MM
        return self.length(ceil(mm / step - 1e-9) * step)

    def spread(self, mm: float) -> str:
        """A plus-minus, rounded up so that it never promises too much: "± 3 mm" or ± 1/8"."""
        if mm <= 0:
            return _whole("± 0")
        if self.show == "imperial":
            step = INCH_MM / SIXTEENTH
            return _whole("± ") + inches(ceil(mm / step - 1e-9) * step, SIXTEENTH)
        return _whole(f"± {figure(ceil(mm * 10 - 1e-9) / 10, '.1f')} mm" if mm < 3 else f"± {ceil(mm - 1e-9)} mm")

    def area(self, mm2: float, pm_mm2: float = 0.0) -> str:
        """Square metres, or square feet, with its plus-minus where there is one."""
        size, name = (304.8 ** 2, "sq ft") if self.show == "imperial" else (1e6, "m²")
        digits = 1 if self.show == "imperial" else 2
        text = figure(mm2 / size, f".{digits}f")
        if pm_mm2 > 0:
            text += f" ± {figure(max(ceil(pm_mm2 / size * 10 ** digits - 1e-9), 1) / 10 ** digits, f'.{digits}f')}"
        return f"{text} {name}"


def how_many(quantity: float, unit: str) -> str:
    """A line of the shopping list: "1 roll", "2 rolls", "12.5 m". unit: in the plural, as the planner has it."""
    if unit not in _COUNTED:
        return f"{figure(quantity, 'g')}{NO_BREAK}{unit}"
    return _COUNTED[unit](round(quantity))


def capitalised(words: str) -> str:
    """With a capital letter in front; the others as they are."""
    return words[:1].upper() + words[1:]
