"""What the reader of a plan must know or decide, as facts; `layout.words.notes` words them."""
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from capture.fact import Fact

#: What keeps a piece from being tilted in.
TightPlace = Literal["between casings", "under a casing", "in a recess"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Note(Fact):
    """Something to know or decide; a subclass is a kind of note."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InParts(Note):
    """Less its gap the floor falls into so many parts."""

    slug: ClassVar[str] = "in-parts"
    parts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BareAlcove(Note):
    """A part of the floor too narrow for boards with a gap on both sides: a place in it and its area."""

    slug: ClassVar[str] = "bare-alcove"
    at_mm: tuple[float, float]
    area_mm2: float
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StripsLeftOut(Note):
    """Strips too thin to saw, left to the gap: how many, the widest and where it is."""

    slug: ClassVar[str] = "strips-left-out"
    strips: int
    widest_mm: float
    at_mm: tuple[float, float]
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BeadingNarrow(Note):
    """Beading that does not cover the gap: its width, and the least there must be."""

    slug: ClassVar[str] = "beading-narrow"
    width_mm: float
    least_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GapNarrow(Note):
    """A gap under the rule of trade for the longest run."""

    slug: ClassVar[str] = "gap-narrow"
    gap_mm: float
    run_mm: float
    asked_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InFields(Note):
    """A floor that expansion profiles part into fields, none longer than `longest_mm`."""

    slug: ClassVar[str] = "in-fields"
    longest_mm: float
    fields: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LongFloor(Note):
    """A floor in one piece that many leaflets want parted."""

    slug: ClassVar[str] = "long-floor"
    long_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwayLaid(Note):
    """A doorway the boards run into, so deep from the wall line to the middle of its profile."""

    slug: ClassVar[str] = "doorway-laid"
    door: str
    depth_mm: float
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwayBlocked(Note):
    """A doorway that runs into another part of the floor, so that the plan stops at the wall line."""

    slug: ClassVar[str] = "doorway-blocked"
    door: str
    depth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwayOpen(Note):
    """A doorway of unknown depth, where the plan stops at the wall line."""

    slug: ClassVar[str] = "doorway-open"
    door: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CasingUndercut(Note):
    """How a door's casing is undercut: at the height of board and underlay (0: none known) and a little, so deep that
    boards reach `tuck_mm` under it at the sides of a laid doorway, and `lap_mm` (0 or less: not) from the room."""

    slug: ClassVar[str] = "casing-undercut"
    door: str
    high_mm: float
    board_mm: float
    underlay_mm: float
    gap_mm: float
    tuck_mm: float
    lap_mm: float
    laid: bool


#: Notes about one door, `door`.
OfADoor = DoorwayLaid | DoorwayBlocked | DoorwayOpen | CasingUndercut


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidFlat(Note):
    """Pieces that cannot be tilted in, for one reason, and are glued and pushed in flat."""

    slug: ClassVar[str] = "laid-flat"
    pieces: tuple[str, ...]
    why: TightPlace


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeClear(Note):
    """A pipe that stands clear of the boards."""

    slug: ClassVar[str] = "pipe-clear"
    pipe: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseSurvey(Note):
    """A survey whose lengths are less sure than a piece must fit; half a 95 % interval."""

    slug: ClassVar[str] = "loose-survey"
    pm95_mm: float
