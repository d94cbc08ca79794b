"""What is bought, as facts: which thing, and what its number comes from; `layout.words.purchases` words them."""
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from capture.fact import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase(Fact):
    """A line of the shopping list; a subclass is a kind of thing. unit: what it is counted in."""

    unit: ClassVar[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Boards(Purchase):
    """Packs of boards of one length: their size, boards the plan uses and a pack holds, how many the packs leave to
    spare, whether one pack is bought for these, labels of the pieces at hand that are used first."""

    slug: ClassVar[str] = "boards"
    unit: ClassVar[str] = "packs"
    size_mm: tuple[float, float, float]
    boards: int
    pack: int
    spare: int
    pack_more: bool
    owned: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedBoards(Purchase):
    """Packs of boards of several lengths: their width and thickness, and (length, how many the plan uses, how many the
    packs hold), shortest first; spare, pack_more as of `Boards`."""

    slug: ClassVar[str] = "mixed-boards"
    unit: ClassVar[str] = "packs"
    face_mm: tuple[float, float]
    lengths: tuple[tuple[float, int, int], ...]
    spare: int
    pack_more: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Underlay(Purchase):
    """Underlay of an unknown kind, by the floor's area."""

    slug: ClassVar[str] = "underlay"
    unit: ClassVar[str] = "m2"


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderlayRolls(Purchase):
    """Rolls of underlay: thickness and the size of a roll, the floor's area, and the sheets laid across the rows."""

    slug: ClassVar[str] = "underlay-rolls"
    unit: ClassVar[str] = "rolls"
    thickness_mm: float
    roll_mm: tuple[float, float]
    floor_m2: float
    sheets: int
    laid_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Film(Purchase):
    """Moisture film: its sheets and their length in all; sure: the subfloor is known to be mineral."""

    slug: ClassVar[str] = "film"
    unit: ClassVar[str] = "m2"
    sheets: int
    wide_mm: float
    laid_mm: float
    sure: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeRoll(Purchase):
    """Tape, where the joints are not known."""

    slug: ClassVar[str] = "tape-roll"
    unit: ClassVar[str] = "rolls"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointTape(Purchase):
    """Rolls of tape for the joints of underlay, film or both: how long these are, and a roll."""

    slug: ClassVar[str] = "joint-tape"
    unit: ClassVar[str] = "rolls"
    joints_mm: float
    roll_mm: float
    underlay: bool
    film: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spacers(Purchase):
    """Wall spacers."""

    slug: ClassVar[str] = "spacers"
    unit: ClassVar[str] = "pieces"


@dataclass(frozen=True, slots=True, kw_only=True)
class BeadingBars(Purchase):
    """Bars of beading: their length, what is sawn from them in all, the saw's width, how many are taken and how few can
    do, and how much floor the beading must cover."""

    slug: ClassVar[str] = "beading-bars"
    unit: ClassVar[str] = "bars"
    bar_mm: float
    sawn_mm: float
    kerf_mm: float
    bars: int
    bound: int
    least_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpansionProfiles(Purchase):
    """Expansion profiles, by their lengths."""

    slug: ClassVar[str] = "expansion-profiles"
    unit: ClassVar[str] = "m"
    lengths_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold(Purchase):
    """The threshold profile of a door."""

    slug: ClassVar[str] = "threshold"
    unit: ClassVar[str] = "pieces"
    door: str
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Collars(Purchase):
    """Collars of pipes, and how far across they must be."""

    slug: ClassVar[str] = "collars"
    unit: ClassVar[str] = "pieces"
    pipes: tuple[str, ...]
    across_mm: float
