"""Standard outside diameters of pipes, and which of them a measured diameter can be.

Sizes: EN 1057 (copper, named by its outside diameter), ASTM B88 (copper, 1/8 in more than its name), EN 10255 (steel):
trade fact sheet of this project, section 6. Every size is taken as equally likely beforehand: what a room has is not
known here.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, pi

from capture.language.messages import Message, lazy_gettext


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeSize:
    """A standard size: how it is called and its outside diameter, mm."""

    called: Message
    diameter_mm: float

    @property
    def name(self) -> str:
        """How it is called, in the reader's language."""
        return str(self.called)


_COPPER = tuple(PipeSize(called=lazy_gettext("{size} mm copper (EN 1057)", size=size), diameter_mm=float(size))
                for size in (6, 8, 10, 12, 14, 15, 16, 18, 22, 25, 28, 35))
_STEEL = tuple(PipeSize(called=lazy_gettext("{size} steel (EN 10255)", size=name), diameter_mm=size) for name, size in (
    ("3/8 in", 17.2), ("1/2 in", 21.3), ("3/4 in", 26.9), ("1 in", 33.7)))
_US_COPPER = tuple(PipeSize(called=lazy_gettext("{size} in copper (ASTM B88)", size=name), diameter_mm=size)
                   for name, size in (
    ("1/4", 9.525), ("3/8", 12.7), ("1/2", 15.875), ("3/4", 22.225), ("1", 28.575), ("1 1/4", 34.925)))
#: Sizes sold where people measure in these units.
SIZES = {"metric": (*_COPPER, *_STEEL), "imperial": (*_US_COPPER, *_STEEL)}
#: What a pipe is off its standard size, paint included, one standard deviation, mm (EN 1057 allows 0.04 to 0.07; paint
#: from memory).
_TRUE_TO_SIZE_MM = 0.1
#: From these odds on a size is taken as known: 98 of 100 are to be named right without being asked about.
SURE = 0.98


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeMatch:
    """What a diameter can be, likeliest first: (size, odds from 0 to 1). fits: whether the likeliest is within 3.3
    standard deviations."""

    odds: tuple[tuple[PipeSize, float], ...]
    fits: bool

    @property
    def best(self) -> PipeSize:
        """The likeliest size."""
        return self.odds[0][0]

    @property
    def sure(self) -> bool:
        """Whether it is one size and no other, at `SURE`."""
        return self.fits and self.odds[0][1] >= SURE


def match_size(diameter_mm: float, sd_mm: float, sizes: Sequence[PipeSize] = SIZES["metric"]) -> SizeMatch:
    """Which of these standard sizes a measured outside diameter can be. Bayes with equal odds beforehand; sizes below
    1 % are left out."""
    spread = (sd_mm**2 + _TRUE_TO_SIZE_MM**2) ** 0.5
    off = [(size, (diameter_mm - size.diameter_mm) / spread) for size in sizes]
    nearest = min(abs(w) for _, w in off)
    weight = [(size, exp(-0.5 * (w**2 - nearest**2))) for size, w in off]
    total = sum(share for _, share in weight)
    ranked = sorted(((size, share / total) for size, share in weight), key=lambda pair: -pair[1])
    return SizeMatch(odds=tuple(pair for pair in ranked if pair[1] >= 0.01), fits=nearest <= 3.29)


def girth_mm(size: PipeSize) -> float:
    """Length of a strip of paper that just goes round it."""
    return pi * size.diameter_mm
