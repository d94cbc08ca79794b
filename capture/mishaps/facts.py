"""What probably went wrong with a survey as a whole, as facts: each names what to change and words itself in
`mishaps.wording`."""
from __future__ import annotations

from dataclasses import dataclass

from capture.readings.findings import LettersMixed


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenThrough:
    """A photo shows a corner through a wall."""

    photo: str
    corner: str
    wall: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderMixed:
    """The corners are not listed in the order round the room: with `points` swapped (or, of one, put elsewhere) the
    walls no longer cross, and no corner is seen through one. crossing: two walls that cross as listed; through: a
    corner seen through a wall as listed, where none cross; outline: the order that fits."""

    points: tuple[str, ...]
    crossing: tuple[tuple[str, str], tuple[str, str]] | None
    outline: tuple[str, ...]
    through: SeenThrough | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OneCorner:
    """Two letters are one corner by the readings; away_mm: how far apart they came out."""

    kept: str
    dropped: str
    away_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StrangePhoto:
    """All readings but those of one photo agree."""

    photo: str


Mishap = LettersMixed | OrderMixed | OneCorner | StrangePhoto
