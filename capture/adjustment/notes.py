"""What a survey's reader must know besides its figures, as facts; `capture.words` words them."""
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from capture.fact import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How far a floor can be trusted, mm at 95 %: its corners, and the wall that is known least. The gravest doubt
    counts: another floor fits (ambiguous), a reading looks wrong (suspect), a slip would stay unseen (unchecked); else
    it is good enough to cut from (cut), to buy boards from (buy), or for neither (rough)."""

    corner_pm_mm: float
    wall: tuple[str, str]
    wall_pm_mm: float
    trust: Literal["ambiguous", "suspect", "unchecked", "cut", "buy", "rough"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Note(Fact):
    """Something about the whole survey; a subclass is a kind of note."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarePhoto(Note):
    """A photo with too few marks to be placed."""

    slug: ClassVar[str] = "bare-photo"
    photo: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement(Note):
    """The readings disagree more than they should, by this factor, and the covariance is widened."""

    slug: ClassVar[str] = "disagreement"
    sigma0: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLeftOrRight(Note):
    """The mirror image of the floor fits as well; it is taken as named anticlockwise."""

    slug: ClassVar[str] = "no-left-or-right"


@dataclass(frozen=True, slots=True, kw_only=True)
class AnotherFloor(Note):
    """Another floor fits almost as well; the corner where the two differ most, and by how much."""

    slug: ClassVar[str] = "another-floor"
    corner: str
    away_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughPoints(Note):
    """Points that are no corners and known too badly to cut anything for them; the worst half width at 95 %."""

    slug: ClassVar[str] = "rough-points"
    names: tuple[str, ...]
    pm95_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class VagueLens(Note):
    """A lens whose focal length is hardly known; focal_sd is relative. told: the picture's file, or the job, told it
    before the survey."""

    slug: ClassVar[str] = "vague-lens"
    camera: str
    focal_sd: float
    told: bool = False
