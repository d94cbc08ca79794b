"""What a person probably did where a length is wrong: misread the tape by whole marks of it, swapped two digits, mixed
up units.

unit: "metric" or "imperial", the marks of the tape in the reader's hand. Which slips are common is common practice, no
source.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from capture.readings.findings import Finding, LengthOff
from capture.tape import INCH_MM

#: Share of slips that are of no usual size, and the range they may have; our own guess, no source.
_ANY_SLIP_SHARE, _SLIP_RANGE_MM = 0.3, 2000.0
#: A foot in metres, exact by the international yard and pound agreement of 1959.
_FOOT_IN_M = float(12 * INCH_MM / 1000)

Mistake = Literal["misread", "decimal", "swapped", "case", "cm-as-mm", "m-as-mm", "inch-side", "inches-as-cm",
                  "feet-as-m", "m-as-feet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A mistake and the length it was made of; step: by what mark of the tape it was misread ("10 cm"), if it was."""

    mistake: Mistake
    meant_mm: float
    step: str = ""


def likely_slip(off: LengthOff, unit: str) -> Slip | None:
    """The commonest slip that would explain a wrong length, if one does."""
    expected, tolerance = off.expected_mm, off.tolerance_mm
    tries = [slip for slip in _slips(off.value_mm, unit) if slip.meant_mm > 0]
    best = min(tries, key=lambda slip: abs(slip.meant_mm - expected))
    first = next((slip for slip in tries if abs(slip.meant_mm - expected) <= tolerance), None)
    if first and abs(first.meant_mm - expected) < abs(best.meant_mm - expected) + 0.7 * tolerance:
        return first
    return best if abs(best.meant_mm - expected) <= tolerance else None


def oddity(how: Finding, unit: str) -> float:
    """-2 log of how likely a slip of this size is: people misread a tape by whole marks of it more often than by any
    other length.

    It only orders readings that the others cannot tell apart.
    """
    density = _ANY_SLIP_SHARE / _SLIP_RANGE_MM
    if isinstance(how, LengthOff):
        usual = _misread(how.value_mm, unit)
        gaps = np.array([slip.meant_mm - how.expected_mm for slip in usual]) / how.spread_mm
        density += (
            (1.0 - _ANY_SLIP_SHARE)
            / len(usual)
            * float(np.sum(np.exp(-0.5 * gaps**2)))
            / (how.spread_mm * np.sqrt(2.0 * np.pi))
        )
    return -2.0 * float(np.log(density))


def _slips(value: float, unit: str) -> list[Slip]:
    """Every mistake thought of, the commoner first."""
    tries = [*_misread(value, unit), Slip(mistake="decimal", meant_mm=value / 10.0)]
    tries += [Slip(mistake="swapped", meant_mm=swapped) for swapped in _digit_swaps(value) if unit != "imperial"]
    tries += [Slip(mistake="case", meant_mm=value + case) for case in (60.0, 70.0, 75.0, 80.0, 90.0)]
    return [*tries, Slip(mistake="cm-as-mm", meant_mm=value * 10.0), Slip(mistake="m-as-mm", meant_mm=value * 1000.0),
            Slip(mistake="inch-side", meant_mm=value * 2.54), Slip(mistake="inches-as-cm", meant_mm=value / 2.54),
            Slip(mistake="feet-as-m", meant_mm=value * _FOOT_IN_M),
            Slip(mistake="m-as-feet", meant_mm=value / _FOOT_IN_M)]


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
    return [float(s) for s in swaps if s != digits]
