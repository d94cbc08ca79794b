"""Lengths as the reader wants them: millimetres, or feet and inches to 1/16.

Everything inside is mm; only this module turns a length into words.
"""
from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from capture.tape import format_length


#: Holds a length together when its line is broken; the wrapping turns it back into a plain space.
NO_BREAK = "\u00a0"


def _whole(text: str) -> str:
    return text.replace(" ", NO_BREAK)


@dataclass(frozen=True, slots=True)
class Units:
    """`show` is "metric" or "imperial"."""

    show: str = "metric"

    def length(self, mm: float) -> str:
        """With its unit: "412 mm" or 1' 4 1/4"."""
        return _whole(format_length(mm, show=self.show))

    def plain(self, mm: float) -> str:
        """As `length`, but inches alone and no feet: as a short length is read off a tape, 11 1/4"."""
        if self.show != "imperial":
            return self.length(mm)
        whole, part = divmod(int(abs(mm) / 25.4 * 16 + 0.5), 16)
        return _whole(" ".join(text for text in (str(whole) if whole or not part else "",
                                                 f"{Fraction(part, 16)}" if part else "") if text) + '"')

    def bare(self, mm: float) -> str:
        """For tables whose heading names the unit: "412" or 1' 4 1/4"."""
        return self.length(mm).removesuffix(NO_BREAK + "mm")

    def fine(self, mm: float) -> str:
        """To half a tenth where a whole millimetre is too coarse (board sizes, kerfs): "2.4 mm" or 3/32"."""
        if self.show == "imperial" or abs(mm - round(mm)) < 0.05:
            return self.length(mm)
        return _whole(f"{mm:.1f} mm")

    def spread(self, mm: float) -> str:
        """A plus-minus, rounded up so that it never promises too much: "± 3 mm" or ± 1/8"."""
        if mm <= 0:
            return _whole("± 0")
        if self.show == "imperial":
            return _whole("± " + format_length(ceil(mm / 25.4 * 16 - 1e-9) * 25.4 / 16, show="imperial"))
        return _whole(f"± {ceil(mm * 10 - 1e-9) / 10:.1f} mm" if mm < 3 else f"± {ceil(mm - 1e-9)} mm")

    def area(self, mm2: float, pm_mm2: float = 0.0) -> str:
        """Square metres, or square feet, with its plus-minus where there is one."""
        size, name = (304.8 ** 2, "sq ft") if self.show == "imperial" else (1e6, "m²")
        digits = 1 if self.show == "imperial" else 2
        text = f"{mm2 / size:.{digits}f}"
        if pm_mm2 > 0:
            text += f" ± {max(ceil(pm_mm2 / size * 10 ** digits - 1e-9), 1) / 10 ** digits:.{digits}f}"
        return f"{text} {name}"
