"""Lengths and areas in as many figures as they are sure of: "about 2.7 m" while a floor is loose."""
from __future__ import annotations

from capture.language.messages import figure, gettext
from capture.tape import format_length
from printpack.units import Units

#: From these plus-minuses on (95 %, mm) a length is said to 10 mm, 100 mm, 1 m: the last figure said is then about as
#: large as what the length may be off, our own choice.
_TO_CM, _TO_DM, _TO_M = 10.0, 40.0, 400.0
#: The same for inches, feet.
_TO_THE_FOOT = "' 0\""
_INCH, _FOOT = 25.4, 304.8
#: From these on an area is said to 0.1 and to whole square metres (m2), or to whole square feet.
_TO_TENTHS_M2, _TO_WHOLE_M2 = 0.1, 0.7


def length_and_spread(mm: float, pm95_mm: float, units: Units) -> tuple[str, str]:
    """A surveyed length for a table in `units.bare`'s units, and its plus-minus; where it is loose "about" so much with
    its own unit, and no plus-minus, which the word stands for."""
    if pm95_mm < _TO_CM:
        return units.bare(mm), units.spread(pm95_mm) if pm95_mm > 0 else ""
    if units.show == "imperial":
        step = _INCH if pm95_mm < _TO_DM else 6 * _INCH if pm95_mm < _TO_M else _FOOT
        said = format_length(max(round(mm / step), 1) * step, show="imperial")
        return gettext("about {length}", length=said.replace(_TO_THE_FOOT, " ft")), ""
    digits = 2 if pm95_mm < _TO_DM else 1 if pm95_mm < _TO_M else 0
    metres = f"{figure(mm / 1000, f'.{digits}f')} m"
    return gettext("about {length}", length=metres), ""


def area_words(mm2: float, pm_mm2: float, units: Units) -> str:
    """A floor's area with its plus-minus; where it is loose "about" so much."""
    pm_m2 = pm_mm2 / 1e6
    if pm_m2 < _TO_TENTHS_M2:
        return units.area(mm2, pm_mm2)
    if units.show == "imperial":
        area = f"{mm2 / _FOOT**2:.0f} sq ft"
    else:
        area = figure(mm2 / 1e6, ".1f" if pm_m2 < _TO_WHOLE_M2 else ".0f") + " m²"
    return gettext("about {area}", area=area)
