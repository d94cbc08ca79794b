"""Why a floor is laid as it is, as facts; `layout.words.reasons` words them."""
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from capture.fact import Fact

#: A wall, by its two corners in the order of the outline.
Wall = tuple[str, str]
#: Why a first row is as wide as it is: the floor is one row deep; a whole board leaves a last row wide enough; first
#: and last row share what is left; it keeps every row wide enough along the walls; no width does that and this one
#: comes nearest; the reader asked for it.
FirstRowRule = Literal["one-deep", "whole-board", "shared", "keeps-wide", "nearest", "asked"]
#: What proves that fewer boards (packs) cannot do: cuts of these rows, counted on arcs; the wood of boards of several
#: lengths; the wood alone.
BoundRule = Literal["cuts", "packs", "wood"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason(Fact):
    """Something that speaks for a plan; a subclass is a kind of reason."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowsRun(Reason):
    """The wall the rows run along, and the one they start at."""

    slug: ClassVar[str] = "rows-run"
    along: Wall
    start: Wall


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysWeighed(Reason):
    """How many ways of laying were weighed, and what this one needs, and the others at least and at most: boards or
    packs."""

    slug: ClassVar[str] = "ways-weighed"
    ways: int
    this: int
    least: int
    most: int
    what: Literal["boards", "packs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstRowWide(Reason):
    """Why the first row is so wide, mm; narrowest_mm: the rule for rows; in_doorway: the strip counted as row 1 begins
    in a doorway."""

    slug: ClassVar[str] = "first-row"
    rule: FirstRowRule
    narrowest_mm: float
    width_mm: float
    last_mm: float
    in_doorway: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StartWedge(Reason):
    """A first row sawn to a wedge, as its wall is so far out of line with the rows."""

    slug: ClassVar[str] = "start-wedge"
    row: int
    wedge_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StartBroken(Reason):
    """A first row that lies in so many stretches."""

    slug: ClassVar[str] = "start-broken"
    row: int
    stretches: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GapByRun(Reason):
    """A gap that follows from the longest run alone."""

    slug: ClassVar[str] = "gap-by-run"
    gap_mm: float
    run_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GapByClimate(Reason):
    """A gap that follows from how far the longest run can grow between two humidities (percent) and from the survey's
    doubt; damp: the air gets so moist that the rule asks for more."""

    slug: ClassVar[str] = "gap-by-climate"
    gap_mm: float
    run_mm: float
    growth_mm: float
    from_percent: float
    to_percent: float
    doubt_mm: float
    damp: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsNeeded(Reason):
    """Boards of the plan, and how few any plan of these rows needs; pattern: "fewest" or one the reader asked for."""

    slug: ClassVar[str] = "boards-needed"
    boards: int
    bound: int
    pattern: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PacksTaken(Reason):
    """Boards of several lengths: (length in mm, how many are used), the packs they come out of, and how few hold wood
    enough."""

    slug: ClassVar[str] = "packs-taken"
    used: tuple[tuple[float, int], ...]
    packs: int
    least_packs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnUsed(Reason):
    """Labels of the pieces at hand that are used before new boards."""

    slug: ClassVar[str] = "own-used"
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnIdle(Reason):
    """Labels of the pieces at hand that save no board."""

    slug: ClassVar[str] = "own-idle"
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestPlanned(Reason):
    """Rows 1 to `held` lie (0: none), the rest was planned with what is on hand; number and width of the last row."""

    slug: ClassVar[str] = "rest-planned"
    held: int
    last_row: int
    last_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsInAll(Reason):
    """Boards of a floor that is being laid, those already laid included."""

    slug: ClassVar[str] = "boards-in-all"
    boards: int
