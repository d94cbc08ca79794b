"""What can be wrong with a reading, as facts: which one, by how much, what it probably should have been.
`capture.words` words them."""
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from capture.fact import Fact

#: A length nearer than this to another is that one, however well both are known, mm; our own choice, no source.
LEAST_TOLERANCE_MM = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Fact):
    """Something about one reading; a subclass is a kind of finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradicted(Finding):
    """A reading that the others contradict, of which nothing more is known."""

    slug: ClassVar[str] = "contradicted"


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthOff(Finding):
    """A length, mm: as read, and as the others have it with its standard deviation. measures: two points, one of them
    right, that lie as far apart as was read and were not taped; pair_gap_mm, pair_sd_mm: what was read less their
    distance, with its standard deviation; pair_wanted: they are a wall, and one of few without a tape."""

    slug: ClassVar[str] = "length-off"
    value_mm: float
    sd_mm: float
    expected_mm: float
    expected_sd_mm: float
    measures: tuple[str, str] | None = None
    pair_gap_mm: float = 0.0
    pair_sd_mm: float = 0.0
    pair_wanted: bool = False

    @property
    def spread_mm(self) -> float:
        """Standard deviation of the difference."""
        return float(np.hypot(self.expected_sd_mm, self.sd_mm))

    @property
    def tolerance_mm(self) -> float:
        """How near to what the others have that must lie which was meant."""
        return max(3.0 * self.spread_mm, LEAST_TOLERANCE_MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkOff(Finding):
    """A mark, by its distance from where the others put its point; None where the photo cannot see that. at: another
    point seen there. strange: it is far off, at no point at all, and nothing checks the rest of its photo without it:
    the photo may as well be of another room."""

    slug: ClassVar[str] = "mark-off"
    off_px: float | None
    at: str = ""
    strange: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LettersMixed(Finding):
    """Marks of one photo have one another's letters: two that are swapped, all of them round the other way (a mirror),
    or each the letter of the next corner. renamed: (place in the job, letter as told, letter it should have) of each
    mark that changes."""

    slug: ClassVar[str] = "letters-mixed"
    photo: str
    way: Literal["swapped", "mirrored", "shifted"]
    renamed: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeOff(Finding):
    """The printed size of the first target: as told, and as the others have it."""

    slug: ClassVar[str] = "size-off"
    value_mm: float
    expected_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HardlyChecked(Finding):
    """A sound reading that the others hardly check: the slip that would stay unseen, mm, and two points whose distance
    would check it."""

    slug: ClassVar[str] = "hardly-checked"
    hidden_mm: float
    check: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt(Finding):
    """A reading that the others contradict, how, and its residual when that was found. left_out: it stands alone as
    wrong and is left out of the floor; otherwise it is one of several that may be, all kept, and `cost` is that of the
    floor without it."""

    slug: ClassVar[str] = "doubt"
    how: Finding
    residual: float
    left_out: bool
    cost: float = 0.0
