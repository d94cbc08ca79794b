"""Lengths and areas in sentences about a plan: millimetres and metres, or inches.

Inches go to the nearest 1/8, what a tape is read to on the floor, and to 1/16 below 1/2 inch (gaps) and for what is
bought by its size. Up to 8 ft they stand alone, as on the tape (44 7/8"); beyond, feet go before them (common practice,
no source). What rounds to no inches at all is left in mm.
"""
from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from capture.language.messages import figure, gettext, localised
from layout.words.terms import NO_BREAK, Terms, terms_for

Show = Literal["metric", "imperial"]
METRE_MM, FOOT_MM, INCH_MM = 1000.0, 304.8, 25.4
#: Parts of an inch lengths are told to.
EIGHTH, SIXTEENTH = 8, 16
#: Inches stand without feet up to this.
_ALONE_IN = 96
#: Below this an eighth is too coarse, inches.
_SMALL_IN = Fraction(1, 2)


def inches(mm: float, parts: int, alone_in: float = _ALONE_IN) -> str:
    """To the nearest 1/`parts` inch, half a part up; without feet up to `alone_in` inches."""
    parts = SIXTEENTH if abs(mm) < _SMALL_IN * INCH_MM else parts
    found = Fraction(int(abs(mm) / INCH_MM * parts + 0.5), parts)
    sign = "-" if mm < 0 and found else ""
    feet, found = divmod(found, 12) if found > alone_in else (0, found)
    whole, part = divmod(found, 1)
    # After feet a nought keeps 9 ft 5/8 in from being read as 9 5/8.
    small = " ".join(text for text in (f"{whole}" if whole or feet or not part else "", f"{part}" if part else "")
                     if text) + '"'
    return (f"{sign}{feet}' {small}" if feet else sign + small).replace(" ", NO_BREAK)


@dataclass(frozen=True, slots=True)
class Lengths:
    """`show` is "metric" or "imperial". Figures are mm (mm2) and come back with their unit."""

    show: str

    def mm(self, mm: float) -> str:
        """As given: "10 mm", "12.7 mm"."""
        return self._mm(figure(mm, "g"), mm)

    def whole(self, mm: float) -> str:
        """To the millimetre."""
        return self._mm(f"{mm:.0f}", mm)

    def short_of(self, had_mm: float, asked_mm: float) -> str:
        """What was had where more was asked: never the figure that stands for what was asked."""
        asked = self.mm(asked_mm)
        return self.whole(had_mm) if self.whole(had_mm) != asked else gettext("just under {length}", length=asked)

    def more_than(self, asked_mm: float, had_mm: float) -> str:
        """What was asked where less was had: never the figure that stands for what was had."""
        had = self.mm(had_mm)
        return self.mm(asked_mm) if self.mm(asked_mm) != had else gettext("just over {length}", length=had)

    def tenth(self, mm: float) -> str:
        """To a tenth of a millimetre."""
        return self._mm(figure(mm, ".1f"), mm)

    def by(self, *sizes_mm: float) -> str:
        """Sizes of a thing that is bought, side by side: "1285 x 192 x 8 mm"."""
        return self._several(" x ", [figure(mm, "g") for mm in sizes_mm], sizes_mm, SIXTEENTH)

    def to(self, least_mm: float, *most_mm: float) -> str:
        """From one size to another, sizes side by side behind it: "400 to 1285 x 192 x 8 mm"."""
        if self.is_imperial:
            return gettext("{least} to {most}", least=self.by(least_mm), most=self.by(*most_mm))
        return gettext("{least} to {most}", least=figure(least_mm, "g"), most=self.by(*most_mm))

    def place(self, at_mm: tuple[float, float]) -> str:
        """A place in the plan: "120, 3400 mm"."""
        return self._several(", ", [f"{mm:.0f}" for mm in at_mm], at_mm, EIGHTH)

    def metres(self, mm: float, digits: int | None = None) -> str:
        """With so many decimals (None: as many as it takes)."""
        plain = _plain(mm / METRE_MM, digits)
        return self.feet(mm, "." in plain) if self.is_imperial else f"{localised(plain)} m"

    def metres_sum(self, lengths_mm: tuple[float, ...]) -> str:
        """A sum of metres: "1.20 + 0.90 m"."""
        if self.is_imperial:
            return " + ".join(self.feet(mm, True) for mm in lengths_mm)
        return " + ".join(figure(mm / METRE_MM, ".2f") for mm in lengths_mm) + " m"

    def m2(self, mm2: float, digits: int | None = None) -> str:
        """An area of floor."""
        plain = _plain(mm2 / METRE_MM ** 2, digits)
        if self.is_imperial:
            return f"{figure(mm2 / FOOT_MM ** 2, '.1f' if '.' in plain else '.0f')}{NO_BREAK}sq{NO_BREAK}ft"
        return f"{localised(plain)} m2"

    def cm2(self, mm2: float) -> str:
        """A small area."""
        if self.is_imperial:
            return f"{figure(mm2 / INCH_MM ** 2, '.1f')}{NO_BREAK}sq{NO_BREAK}in"
        return f"{mm2 / 100:.0f} cm2"

    @property
    def terms(self) -> Terms:
        """The words that go with these lengths."""
        return terms_for(self.show)

    @property
    def is_imperial(self) -> bool:
        """Whether lengths are feet and inches."""
        return self.show == "imperial"

    def feet(self, mm: float, tenths: bool) -> str:
        """Feet, to a tenth or whole."""
        return f"{figure(mm / FOOT_MM, '.1f' if tenths else '.0f')}{NO_BREAK}ft"

    def _mm(self, told_mm: str, mm: float, parts: int = EIGHTH) -> str:
        if not self.is_imperial:
            return f"{told_mm} mm"
        told = inches(mm, parts)
        return f"{told_mm}{NO_BREAK}mm" if told == '0"' and told_mm.strip("-0.,") else told

    def _several(self, between: str, figures: list[str], sizes_mm: tuple[float, ...], parts: int) -> str:
        if self.is_imperial:
            return between.join(self._mm(told_mm, mm, parts) for told_mm, mm in zip(figures, sizes_mm))
        return f"{between.join(figures)} mm"


def _plain(value: float, digits: int | None) -> str:
    """With so many decimals (None: as many as it takes), a point before them."""
    return f"{value:g}" if digits is None else f"{value:.{digits}f}"
