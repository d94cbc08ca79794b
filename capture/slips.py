"""What a person probably did where a length is wrong: misread the tape by whole marks of it, swapped two digits, mixed
up units, typed it to another corner.

Each is a hypothesis that tells what the length should have been, and so fits the other readings or does not. They are
weighed by Bayes: how often people do it times how well it fits, as -2 log in the units of an adjustment's cost. unit:
"metric" or "imperial", the marks of the tape in the reader's hand. How often each slip is made is our own guess from
common practice, no source.
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log, pi, sqrt
from typing import Literal

from capture.readings.findings import LEAST_TOLERANCE_MM, Finding, LengthOff
from capture.tape import INCH_MM

#: Of all wrong lengths, how many are misread by whole marks, have digits swapped, belong to one certain other pair of
#: points (to a wall that is one of few without a length: where did that one go?), are in another unit (or a decimal
#: place off), lack the tape's case; and how many are of no usual kind, with the range they may have.
_MISREAD, _SWAPPED, _OTHER_PAIR, _WANTED_PAIR, _UNIT, _CASE = 0.3, 0.1, 0.015, 0.3, 0.15, 0.05
_ANY_SLIP_SHARE, _SLIP_RANGE_MM = 0.3, 2000.0
#: A foot in metres, exact by the international yard and pound agreement of 1959.
_FOOT_IN_M = float(12 * INCH_MM / 1000)

Mistake = Literal["misread", "decimal", "swapped", "case", "cm-as-mm", "m-as-mm", "inch-side", "inches-as-cm",
                  "feet-as-m", "m-as-feet", "other-pair"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A mistake and the length it was made of; step: by what mark of the tape it was misread ("10 cm"), if it was."""

    mistake: Mistake
    meant_mm: float
    step: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Weighed:
    """A slip, its share of all, and how far it misses what the other readings have, in the sd of that, mm."""

    slip: Slip
    share: float
    gap_mm: float
    sd_mm: float

    @property
    def density(self) -> float:
        """How likely this slip makes such a length, per mm."""
        return self.share * exp(-0.5 * (self.gap_mm / self.sd_mm) ** 2) / (self.sd_mm * sqrt(2.0 * pi))

    @property
    def explains(self) -> bool:
        return abs(self.gap_mm) <= max(3.0 * self.sd_mm, LEAST_TOLERANCE_MM)


def likely_slip(off: LengthOff, unit: str) -> Slip | None:
    """The likeliest slip that would explain a wrong length, if one does; "other-pair" is that of `off.measures`."""
    fitting = [one for one in _weighed(off, unit) if one.explains]
    return max(fitting, key=lambda one: one.density).slip if fitting else None


def oddity(how: Finding, unit: str) -> float:
    """-2 log of how likely a slip of this size is: people misread a tape by whole marks of it more often than by any
    other length.

    It only orders readings that the others cannot tell apart.
    """
    density = _ANY_SLIP_SHARE / _SLIP_RANGE_MM
    if isinstance(how, LengthOff):
        density += sum(one.density for one in _weighed(how, unit))
    return -2.0 * log(density)


def _weighed(off: LengthOff, unit: str) -> Iterator[_Weighed]:
    """Every mistake thought of, beside what the other readings have."""
    least = LEAST_TOLERANCE_MM / 3.0
    for share, slips in _slips(off.value_mm, unit):
        for slip in slips:
            if slip.meant_mm > 0:
                # What was meant is known as well as what was typed, and scales with it.
                rate = slip.meant_mm / off.value_mm if slip.mistake in _SCALED else 1.0
                sd = max(sqrt(off.expected_sd_mm**2 + (rate * off.sd_mm) ** 2), least)
                yield _Weighed(slip=slip, share=share / len(slips), gap_mm=slip.meant_mm - off.expected_mm, sd_mm=sd)
    if off.measures is not None:
        yield _Weighed(slip=Slip(mistake="other-pair", meant_mm=off.expected_mm), gap_mm=off.pair_gap_mm,
                       sd_mm=max(off.pair_sd_mm, least), share=_WANTED_PAIR if off.pair_wanted else _OTHER_PAIR)


#: Mistakes that multiply a length.
_SCALED: dict[Mistake, float] = {
    "decimal": 0.1, "cm-as-mm": 10.0, "m-as-mm": 1000.0, "inch-side": 2.54, "inches-as-cm": 1.0 / 2.54,
    "feet-as-m": _FOOT_IN_M, "m-as-feet": 1.0 / _FOOT_IN_M}


def _slips(value: float, unit: str) -> list[tuple[float, list[Slip]]]:
    """Every mistake thought of, by its kind, with the kind's share."""
    swaps = [Slip(mistake="swapped", meant_mm=swapped) for swapped in _digit_swaps(value) if unit != "imperial"]
    cases = [Slip(mistake="case", meant_mm=value + case) for case in (60.0, 70.0, 75.0, 80.0, 90.0)]
    return [(_MISREAD, _misread(value, unit)), (_SWAPPED, swaps), (_CASE, cases),
            (_UNIT, [Slip(mistake=mistake, meant_mm=value * factor) for mistake, factor in _SCALED.items()])]


def _misread(value: float, unit: str) -> list[Slip]:
    """Readings one whole mark of the tape off, the commoner first."""
    inch = float(INCH_MM)
    steps = ([(12 * inch, "1 ft"), (inch, "1 in"), (10 * inch, "10 in")] if unit == "imperial" else
             [(100.0, "10 cm"), (1000.0, "1 m"), (200.0, "20 cm"), (10.0, "1 cm")])
    return [Slip(mistake="misread", meant_mm=value + sign * step, step=name) for step, name in steps
            for sign in (1, -1)]


def _digit_swaps(value: float) -> list[float]:
    digits = str(round(value))
    swaps = [digits[:i] + digits[i + 1] + digits[i] + digits[i + 2:] for i in range(len(digits) - 1)]
    return [float(swap) for swap in swaps if swap != digits and swap[0] != "0"]
