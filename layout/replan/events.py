"""What happens while a floor is laid, told entry by entry. Types only.

Lengths mm. Left and right are those of the fitter who faces the start wall. Rows and pieces are those of the plan in
force.
"""
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RowDown:
    """A row is down, and with it every row before it."""

    row: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RowBegun:
    """Pieces of a row lie: it is to be finished on its joints."""

    row: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceCut:
    """A piece was cut to another length than the plan's, measured along its longest edge, and is down or about to
    be."""

    piece: str
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceMeasured:
    """The place of a piece that closes a row, from the joint to the spacer, measured before the piece is sawn; it may
    be longer than a board. piece: the one it is for (said of a row of one stretch: the piece that closes the row being
    laid)."""

    piece: str = ""
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsSpoiled:
    """So many boards are of no use: damaged in the pack, or miscut."""

    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutGone:
    """An offcut on hand is lost, broken or used elsewhere."""

    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutShort:
    """An offcut does not reach where it was to go: that piece comes from a new board, the offcut stays on hand.
    piece: the one it was for."""

    label: str
    piece: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutFound:
    """A piece of the same board turned up: its label, length, and the factory ends it keeps ("left", "right")."""

    label: str
    length_mm: float
    keeps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """One reading: from a row's far edge straight on to the wall. side: "left" or "right", the middle of the row's
    first or last piece; at_mm, if given, is the place instead, from the row's left end."""

    distance_mm: float
    side: str = ""
    at_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToFarWall:
    """Distances from a row's far edge to the far wall; row 0 is the start wall itself, before anything is laid."""

    row: int
    sights: tuple[Sight, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """Something the boards must go round that the plan does not know: a pipe (diameter), or a box along the rows
    (along, deep).

    left_mm: from the left end of row `row` to the pipe's centre or the box's left side; ahead_mm: from that row's far
    edge to the pipe's centre or the box's near side (row 0: from the start wall).
    """

    name: str
    row: int
    left_mm: float
    ahead_mm: float
    diameter_mm: float = 0.0
    size_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsLeft:
    """So many whole boards are left, packs not yet opened included; 0 says the fitter is out of boards."""

    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstRowWidth:
    """Row 1 is to be ripped to this width instead; nothing else is down."""

    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorPushed:
    """The laid rows were pushed together, so far towards the start wall (negative: away from it)."""

    towards_start_mm: float


Event = (RowDown | RowBegun | PieceCut | PlaceMeasured | BoardsSpoiled | OffcutGone | OffcutShort | OffcutFound
         | ToFarWall | Obstacle | BoardsLeft | FirstRowWidth | FloorPushed)
