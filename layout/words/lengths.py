"""Lengths and areas in sentences about a plan: millimetres and metres, or feet and inches to 1/16.

What rounds to no inches at all is left in mm.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from capture.tape import format_length

Show = Literal["metric", "imperial"]
#: Holds a length together when its line is broken.
NO_BREAK = "\u00a0"
METRE_MM, FOOT_MM, INCH_MM = 1000.0, 304.8, 25.4


@dataclass(frozen=True, slots=True)
class Lengths:
    """`show` is "metric" or "imperial". Figures are mm (mm2) and come back with their unit."""

    show: str

    def mm(self, mm: float) -> str:
        """As given: "10 mm", "12.7 mm"."""
        return self._mm(f"{mm:g}", mm)

    def whole(self, mm: float) -> str:
        """To the millimetre."""
        return self._mm(f"{mm:.0f}", mm)

    def tenth(self, mm: float) -> str:
        """To a tenth of a millimetre."""
        return self._mm(f"{mm:.1f}", mm)

    def by(self, *sizes_mm: float) -> str:
        """Sizes side by side: "1285 x 192 x 8 mm"."""
        return self._several(" x ", [f"{mm:g}" for mm in sizes_mm], sizes_mm)

    def to(self, least_mm: float, *most_mm: float) -> str:
        """From one size to another, sizes side by side behind it: "400 to 1285 x 192 x 8 mm"."""
        if self.is_imperial:
            return f"{self.mm(least_mm)} to {self.by(*most_mm)}"
        return f"{least_mm:g} to {self.by(*most_mm)}"

    def place(self, at_mm: tuple[float, float]) -> str:
        """A place in the plan: "120, 3400 mm"."""
        return self._several(", ", [f"{mm:.0f}" for mm in at_mm], at_mm)

    def metres(self, mm: float, digits: int | None = None) -> str:
        """With so many decimals (None: as many as it takes)."""
        figure = f"{mm / METRE_MM:g}" if digits is None else f"{mm / METRE_MM:.{digits}f}"
        return self.feet(mm, "." in figure) if self.is_imperial else f"{figure} m"

    def metres_sum(self, lengths_mm: tuple[float, ...]) -> str:
        """A sum of metres: "1.20 + 0.90 m"."""
        if self.is_imperial:
            return " + ".join(self.feet(mm, True) for mm in lengths_mm)
        return " + ".join(f"{mm / METRE_MM:.2f}" for mm in lengths_mm) + " m"

    def m2(self, mm2: float, digits: int | None = None) -> str:
        """An area of floor."""
        figure = f"{mm2 / METRE_MM ** 2:g}" if digits is None else f"{mm2 / METRE_MM ** 2:.{digits}f}"
        if self.is_imperial:
            return f"{mm2 / FOOT_MM ** 2:.{1 if '.' in figure else 0}f}{NO_BREAK}sq{NO_BREAK}ft"
        return f"{figure} m2"

    def cm2(self, mm2: float) -> str:
        """A small area."""
        if self.is_imperial:
            return f"{mm2 / INCH_MM ** 2:.1f}{NO_BREAK}sq{NO_BREAK}in"
        return f"{mm2 / 100:.0f} cm2"

    @property
    def is_imperial(self) -> bool:
        """Whether lengths are feet and inches."""
        return self.show == "imperial"

    def feet(self, mm: float, tenths: bool) -> str:
        """Feet, to a tenth or whole."""
        return f"{mm / FOOT_MM:.{1 if tenths else 0}f}{NO_BREAK}ft"

    def _mm(self, figure: str, mm: float) -> str:
        if not self.is_imperial:
            return f"{figure} mm"
        inches = format_length(mm, show="imperial").replace(" ", NO_BREAK)
        return f"{figure}{NO_BREAK}mm" if inches == '0"' and float(figure) else inches

    def _several(self, between: str, figures: list[str], sizes_mm: tuple[float, ...]) -> str:
        if self.is_imperial:
            return between.join(self._mm(figure, mm) for figure, mm in zip(figures, sizes_mm))
        return f"{between.join(figures)} mm"
