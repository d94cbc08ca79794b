"""Beading along the walls: its stretches, and how they are sawn out of bars."""
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BeadingPiece:
    """One stretch of beading along a wall or island edge: length, mm, and the saw angle (degrees) at its two ends.
    stretch: its number on that edge, and how many there are (doors part them).

    An angle is what the saw is set to (45 at a square corner); 0 is a plain square end (at a door opening).
    """

    where: str
    length_mm: float
    start_deg: float
    end_deg: float
    stretch: tuple[int, int] = (1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPiece:
    """A length sawn from a beading bar, along its longest edge, mm; `where` and `stretch` are those of its stretch in
    `Plan.beading`, angles as there. part: its number in that stretch, and how many are joined."""

    where: str
    length_mm: float
    start_deg: float
    end_deg: float
    stretch: tuple[int, int] = (1, 1)
    part: tuple[int, int] = (1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """How the beading is sawn out of bars of one length: the pieces of each bar in the order they are sawn, and a
    proven least number."""

    bar_mm: float
    kerf_mm: float
    width_mm: float
    bars: tuple[tuple[BarPiece, ...], ...]
    bound: int
