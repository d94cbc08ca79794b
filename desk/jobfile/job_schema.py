"""The keys of job.json and what each may hold, as `parse` reads them: types that the schema is made from.

Lengths mm, angles degrees, photo places px. A key that need not be there may also hold null, which says nothing. Keys
named nowhere here are kept and not read. `tests/desk/jobfile/test_schema.py` holds these types and the parser together:
the same keys at every place, the same verdict on drawn jobs.
"""
from __future__ import annotations

from typing import Annotated, Any, Literal, NotRequired, TypedDict

from desk.jobfile.day_schema import DayEntryShape
from desk.jobfile.json_reader import LARGEST
from desk.jobfile.kinds import Auto, File, Length, LengthFrom1, Name, Number, Pair, Place, Spread, Whole


class CameraShape(TypedDict):
    """What is known of a lens beforehand; focal_sd is relative."""

    focal_px: NotRequired[LengthFrom1]
    focal_sd: NotRequired[Spread]
    k1: NotRequired[Annotated[float, ("minimum", -2), ("maximum", 2)]]
    k1_sd: NotRequired[Spread]


class MarkShape(TypedDict):
    """A click on a named floor point."""

    point: Name
    x: Number
    y: Number
    sd: NotRequired[Spread]


class EdgeShape(TypedDict):
    """Clicks along the floor line of a wall."""

    wall: Pair
    points: NotRequired[list[Place]]
    sd: NotRequired[Spread]


class PhotoShape(TypedDict):
    """A picture by its path inside the job's folder; size: width and height of the upright picture, px."""

    file: File
    camera: NotRequired[Name]
    size: NotRequired[Annotated[list[Whole], ("minItems", 2), ("maxItems", 2)]]
    marks: NotRequired[list[MarkShape]]
    edges: NotRequired[list[EdgeShape]]


class OutlineClickShape(TypedDict):
    """A click on a traced outline: a corner, or with `arc` a place the arc between its neighbours runs through."""

    x: Number
    y: Number
    arc: NotRequired[bool]


class CloseupShape(TypedDict):
    """A picture of a casing or a pipe with a sheet, card or printed target beside it, and what was clicked in it,
    px."""

    file: File
    of: NotRequired[Name]
    beside: NotRequired[Literal["a4", "letter", "card", "target", "A4 sheet", "Letter sheet", "blank ID-1 card",
                                "floor target"]]
    camera: NotRequired[Name]
    corners: NotRequired[Annotated[list[Place], ("minItems", 4), ("maxItems", 4)]]
    outline: NotRequired[list[OutlineClickShape]]
    closed: NotRequired[bool]
    leg: NotRequired[Literal["left", "right"]]
    mirror: NotRequired[bool]
    ring: NotRequired[list[Place]]
    sides: NotRequired[list[Annotated[list[Place], ("minItems", 2), ("maxItems", 2)]]]
    edges: NotRequired[list[EdgeShape]]
    height: NotRequired[Length]
    click_sd: NotRequired[Spread]


class TargetsShape(TypedDict):
    """Printed floor targets lie on the floor; size: side of their black square."""

    size: NotRequired[Annotated[float, ("minimum", 20), ("maximum", LARGEST)]]


class PaperShape(TypedDict):
    """A sheet of paper on the floor, its corners in order round it, the sides 1-2 and 2-3."""

    size: (Annotated[str, ("pattern", "^([aA][34]|[lL][eE][tT][tT][eE][rR])$")]
           | Annotated[list[Annotated[float, ("minimum", 50), ("maximum", LARGEST)]], ("minItems", 2), ("maxItems", 2)])
    corners: Annotated[list[Name], ("minItems", 4), ("maxItems", 4), ("uniqueItems", True)]


class TapeErrorShape(TypedDict):
    """What the whole tape may be off: a share of every length, and the same mm for every reading."""

    scale_sd: NotRequired[Spread]
    hook_sd: NotRequired[Spread]


class LengthShape(TypedDict):
    """A length in mm; typed: the text a person wrote."""

    mm: LengthFrom1
    typed: NotRequired[Any]


class TypedLengthShape(TypedDict):
    """A length as a person wrote it."""

    mm: NotRequired[None]
    typed: str


class RulersShape(TypedDict):
    """What the two long rulers of the printed check sheet measure."""

    across: LengthShape | TypedLengthShape
    down: LengthShape | TypedLengthShape


class _Straight(TypedDict):
    between: Pair
    point: NotRequired[None]
    wall: NotRequired[None]
    sd: NotRequired[Spread]


class StraightShape(_Straight):
    """A tape length between two points."""

    mm: Spread
    typed: NotRequired[str]


class TypedStraightShape(_Straight):
    """A tape length between two points, as a person wrote it."""

    mm: NotRequired[None]
    typed: str


class _Offset(TypedDict):
    point: Name
    wall: Pair
    sd: NotRequired[Spread]


class OffsetShape(_Offset):
    """The distance of a point square off a wall."""

    mm: Number
    typed: NotRequired[str]


class TypedOffsetShape(_Offset):
    """The distance of a point square off a wall, as a person wrote it."""

    mm: NotRequired[None]
    typed: str


class OnWallShape(TypedDict):
    """A named point on a wall's line."""

    point: Name
    wall: Pair
    sd: NotRequired[Spread]


class IslandEntryShape(TypedDict):
    """A part of the floor that is not covered."""

    name: Name
    corners: NotRequired[list[Name]]


class PipeShape(TypedDict):
    """A pipe: its centre is the point of its name, or `at` in the plan."""

    name: Name
    diameter: LengthFrom1
    at: NotRequired[Place]


class LegsShape(TypedDict):
    """Footprints of a casing's legs as traced: [away from the opening, into the room] places, mm."""

    left: NotRequired[Annotated[list[Place], ("minItems", 3)]]
    right: NotRequired[Annotated[list[Place], ("minItems", 3)]]


class CasingShape(TypedDict):
    """A door casing; pm: half a 95 % interval of its traced legs; cut: "scribe" saws the boards round it, as a metal
    frame needs."""

    width: Length
    thickness: Length
    legs: NotRequired[LegsShape]
    pm: NotRequired[Length]
    cut: NotRequired[Literal["undercut", "scribe"]]


# "from" is a word of the language, so this is written as a call.
_DoorFrom = TypedDict("_DoorFrom", {"from": Length})


class DoorShape(_DoorFrom):
    """A door opening: from the first corner of its wall to where it begins, its width, how deep the opening is, and how
    high the floor behind it lies over the bare floor of this room."""

    name: Name
    wall: Pair
    width: LengthFrom1
    reveal: NotRequired[Length]
    next_floor: NotRequired[Number]
    casing: NotRequired[CasingShape]


class GivenFloorShape(TypedDict):
    """A floor known beforehand; sd: how sure every coordinate is, exact without it."""

    outline: list[Place]
    holes: NotRequired[list[list[Place]]]
    points: NotRequired[dict[str, Place]]
    sd: NotRequired[Spread]


class InAPackShape(TypedDict):
    """How many boards of one length a pack holds."""

    length: Length
    count: Whole


class BoardEntryShape(TypedDict):
    """The board as bought."""

    length: Length
    width: Length
    thickness: NotRequired[Length]
    pack: NotRequired[Whole]
    lengths: NotRequired[list[InAPackShape]]


class MixedBoardEntryShape(TypedDict):
    """Boards of several lengths in one pack; length and pack, if told, are the longest and all of them."""

    lengths: Annotated[list[InAPackShape], ("minItems", 1)]
    length: NotRequired[Length]
    width: Length
    thickness: NotRequired[Length]
    pack: NotRequired[Whole]


class RollShape(TypedDict):
    """A roll of underlay."""

    length: LengthFrom1
    width: LengthFrom1


class UnderlayShape(TypedDict):
    """Underlay."""

    thickness: Annotated[float, ("minimum", 0.1), ("maximum", LARGEST)]
    roll: RollShape


class RulesEntryShape(TypedDict):
    """Least distance of end joints, least length of a piece, least width of a row."""

    stagger: NotRequired[Length]
    shortest: NotRequired[Length]
    narrowest: NotRequired[Length]


class ClimateShape(TypedDict):
    """Relative humidity in percent: least and most in a year, and on the day of laying."""

    low: Length
    high: Length
    laid: NotRequired[Length]


class BeadingEntryShape(TypedDict):
    """Length of a bar of beading, and how wide it covers the floor."""

    bar: NotRequired[LengthFrom1]
    width: NotRequired[LengthFrom1]


class OwnPieceShape(TypedDict):
    """Pieces of the same board that are at hand."""

    length: LengthFrom1
    keeps: list[Literal["left", "right", "near", "far"]]
    count: NotRequired[Whole]


class FlooringShape(TypedDict):
    """How the floor is to be laid; direction: a wall, or an angle in degrees from plan x."""

    board: NotRequired[BoardEntryShape | MixedBoardEntryShape]
    underlay: NotRequired[UnderlayShape]
    gap: NotRequired[Auto | Length]
    gap_least: NotRequired[Length]
    gap_most: NotRequired[Length]
    light: NotRequired[Pair]
    kerf: NotRequired[Length]
    rules: NotRequired[RulesEntryShape]
    direction: NotRequired[Auto | Pair | Number]
    start: NotRequired[Auto | Pair]
    first_row: NotRequired[Auto | LengthFrom1]
    pattern: NotRequired[Literal["fewest", "thirds", "halves"]]
    lay: NotRequired[Literal["left-to-right", "right-to-left"]]
    climate: NotRequired[ClimateShape]
    longest: NotRequired[LengthFrom1]
    subfloor: NotRequired[Literal["mineral", "timber"]]
    beading: NotRequired[BeadingEntryShape]
    stock: NotRequired[list[OwnPieceShape]]


class _Head(TypedDict):
    format: NotRequired[Literal["tapegroove-job"]]
    version: NotRequired[Literal[1]]


class JobShape(_Head):
    """A job: job.json in its folder."""

    title: NotRequired[str]
    date: NotRequired[Annotated[str, ("format", "date")]]
    show: NotRequired[Literal["metric", "imperial"]]
    outline: NotRequired[list[Name]]
    islands: NotRequired[list[IslandEntryShape]]
    cameras: NotRequired[dict[str, CameraShape]]
    photos: NotRequired[list[PhotoShape]]
    closeups: NotRequired[list[CloseupShape]]
    targets: NotRequired[TargetsShape]
    papers: NotRequired[list[PaperShape]]
    tape: NotRequired[list[StraightShape | TypedStraightShape | OffsetShape | TypedOffsetShape]]
    tape_error: NotRequired[TapeErrorShape]
    rulers: NotRequired[RulersShape]
    square: NotRequired[list[Name]]
    square_sd: NotRequired[Spread]
    on_wall: NotRequired[list[OnWallShape]]
    straight: NotRequired[list[Pair]]
    pipes: NotRequired[list[PipeShape]]
    doors: NotRequired[list[DoorShape]]
    floor: NotRequired[GivenFloorShape]
    flooring: NotRequired[FlooringShape]
    plan: NotRequired[dict[str, Any]]
    day: NotRequired[list[DayEntryShape]]
    house: NotRequired[Any]
