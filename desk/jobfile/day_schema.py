"""The entries of a job's `day` and what each may hold, as `parse_day` reads them: types that the schema is made from.

Lengths mm; left and right are those of the fitter who faces the start wall.
"""
from __future__ import annotations

from typing import Annotated, Any, Literal, NotRequired, TypedDict

from desk.jobfile.kinds import Length, LengthFrom1, Name, Number, Place, Whole, WholeFrom0


class _Entry(TypedDict):
    on: NotRequired[Any]
    said: NotRequired[str]


class RowDownShape(_Entry):
    """A row is down, and with it every row before it."""

    what: Literal["row-down"]
    row: Whole


class PieceCutShape(_Entry):
    """A piece was cut to another length than the plan's."""

    what: Literal["piece-cut"]
    piece: Name
    mm: LengthFrom1


class BoardsSpoiledShape(_Entry):
    """So many boards are of no use."""

    what: Literal["boards-spoiled"]
    count: Whole


class OffcutGoneShape(_Entry):
    """An offcut is lost, broken or used elsewhere."""

    what: Literal["offcut-gone"]
    offcut: Name


class OffcutShortShape(_Entry):
    """An offcut does not reach where it was to go and stays on hand; the piece comes from a new board."""

    what: Literal["offcut-short"]
    offcut: Name
    piece: Name


class OffcutFoundShape(_Entry):
    """A piece of the same board turned up."""

    what: Literal["offcut-found"]
    offcut: Name
    mm: LengthFrom1
    keeps: Annotated[list[Literal["left", "right"]], ("minItems", 1)]


class SideSightShape(TypedDict):
    """A distance to the far wall at the middle of the row's first or last piece."""

    side: Literal["left", "right"]
    at: NotRequired[Any]
    mm: Length


class PlaceSightShape(TypedDict):
    """A distance to the far wall at a place from the row's left end."""

    side: NotRequired[None]
    at: Length
    mm: Length


class ToFarWallShape(_Entry):
    """Distances from a row's far edge to the far wall; row 0 is the start wall itself."""

    what: Literal["to-far-wall"]
    row: WholeFrom0
    distances: Annotated[list[SideSightShape | PlaceSightShape], ("minItems", 1)]


class _Obstacle(_Entry):
    what: Literal["obstacle"]
    name: Name
    row: WholeFrom0
    left: Length
    ahead: Length


class NewPipeShape(_Obstacle):
    """A pipe the plan does not know, by its centre."""

    diameter: LengthFrom1
    size: NotRequired[Any]


class NewBoxShape(_Obstacle):
    """A box the plan does not know, by its near left corner; size along and across the rows."""

    diameter: NotRequired[None]
    size: Place


class BoardsLeftShape(_Entry):
    """So many boards are left."""

    what: Literal["boards-left"]
    count: WholeFrom0


class FloorPushedShape(_Entry):
    """What lies was pushed, so far towards the start wall."""

    what: Literal["floor-pushed"]
    towards_start: Number


class FirstRowWidthShape(_Entry):
    """The first row was sawn to this width."""

    what: Literal["first-row"]
    mm: LengthFrom1


class UndoShape(_Entry):
    """An earlier entry does not count."""

    what: Literal["undo"]
    entry: Whole


DayEntryShape = (RowDownShape | PieceCutShape | BoardsSpoiledShape | OffcutGoneShape | OffcutShortShape
                 | OffcutFoundShape | ToFarWallShape | NewPipeShape | NewBoxShape | BoardsLeftShape | FloorPushedShape
                 | FirstRowWidthShape | UndoShape)
