"""What a job tells of what is laid and what stands in its way: boards, underlay, rules; pipes and doors. Lengths mm,
angles degrees.

READ_AS: what a field counts as where a job is compared with an earlier one, each with what that is where nothing is
said (... for what is always told).
"""
from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Strict, Tag
from pydantic_core import core_schema

from capture.language.messages import Message, lazy_gettext, marked
from desk.jobfile.kinds import (
    Entry, Length, LengthFrom1, Name, Number, OrAuto, Pair, Place, Placed, Ring, Side, Stored, Whole, described, like,
    unfit, words, wrong)
from layout.room import LONGEST_FLOOR, LONGEST_LABEL, PIECE_ID
from layout.validation import MOST_OWNED

#: More pieces at hand than this are no list of anybody's: the job is not read.
MOST_LISTED = 10_000

_LegRing = Annotated[Ring, words(marked("a list of three or more [away from the opening, into the room] places in mm"),
                                 min_length=3)]
_Humidity = Annotated[Length, words(marked("a humidity in percent, such as 45"))]
_Gap = Annotated[Annotated[Literal["auto"], Tag("auto")] | Annotated[Length, Tag("length")],
                 Discriminator(lambda value: "auto" if value == "auto" else "length")]
_Direction = Annotated[Annotated[Pair, Tag("wall")] | Annotated[Number, Tag("angle")],
                       Discriminator(lambda value: "wall" if isinstance(value, (list, tuple)) else "angle")]


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeEntry(Placed):
    """A pipe; its centre is the point of its name, or `at` in the plan if that is given."""

    name: Annotated[Name, words(marked("the name of the point at its centre"))]
    diameter_mm: Annotated[LengthFrom1, like(15)]
    at_mm: Place | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LegsEntry(Entry):
    """Footprints of a casing's legs as traced, left and right as one faces the door from inside the room: [away from
    the opening, into the room off the wall line] places, mm."""

    left: _LegRing | None = None
    right: _LegRing | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CasingEntry(Entry):
    """A door casing; pm: half a 95 % interval of its traced legs; cut: "scribe" saws the boards round it, as a metal
    frame needs, and does not undercut it."""

    width_mm: Annotated[Length, like(57)]
    thickness_mm: Annotated[Length, like(15)]
    legs: LegsEntry = LegsEntry()
    pm_mm: Annotated[Length, like(0.5)] = 0.0
    cut: Literal["undercut", "scribe"] = "undercut"


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorEntry(Placed):
    """A door opening: from the first corner of its wall to where it begins, its width, how deep the opening is, and how
    high the floor behind it lies over the bare floor of this room (null: not asked)."""

    READ_AS: ClassVar = {"casing": {"casing_mm": None, "legs": (), "legs_pm_mm": 0.0, "scribe": False}}

    name: Annotated[Name, words(marked('a name, such as "D1"'))]
    wall: Annotated[Pair, words(marked('the wall it is in, such as ["C", "D"]'))]
    from_mm: Annotated[Length, like(640)]
    width_mm: Annotated[LengthFrom1, like(762)]
    reveal_mm: Annotated[Length, like(110)] = 0.0
    next_floor_mm: Annotated[Number, words(
        marked("how high the floor behind the door lies over the bare floor, in mm, such as 14"))] | None = None
    casing: CasingEntry | None = None

    @property
    def casing_mm(self) -> tuple[float, float] | None:
        """Width and thickness of the casing."""
        return (self.casing.width_mm, self.casing.thickness_mm) if self.casing else None

    @property
    def legs(self) -> tuple[tuple[Side, Ring], ...]:
        """Footprints of the legs that were traced, each with its side."""
        traced = self.casing.legs if self.casing else LegsEntry()
        sides: tuple[tuple[Side, Ring | None], ...] = (("left", traced.left), ("right", traced.right))
        return tuple((side, ring) for side, ring in sides if ring is not None)

    @property
    def legs_pm_mm(self) -> float:
        """Half a 95 % interval of the legs' shape."""
        return self.casing.pm_mm if self.casing else 0.0

    @property
    def scribe(self) -> bool:
        """Whether the boards are sawn round the casing."""
        return self.casing is not None and self.casing.cut == "scribe"


@dataclass(frozen=True, slots=True, kw_only=True)
class InAPackEntry(Entry):
    """How many boards of one length a pack holds."""

    length: Annotated[Length, like(1400)]
    count: Annotated[Whole, words(marked("how many boards of this length a pack holds, such as 2"))]


def _length_or_lengths(schema: dict[str, Any]) -> None:
    schema["required"].remove("length")
    schema["anyOf"] = [{"required": ["length"], "properties": {"length": {"type": "number"}}},
                       {"required": ["lengths"], "properties": {"lengths": {"type": "array", "minItems": 1}}}]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardEntry(Placed):
    """The board as bought; lengths: of a pack that holds several, each with how many of it (the longest of them stands
    for a length that is not told)."""

    __pydantic_config__ = described(_length_or_lengths)

    length_mm: Annotated[Length, like(1285)]
    width_mm: Annotated[Length, like(192)]
    thickness_mm: Annotated[Length | None, like(8)] = None
    pack: Annotated[Whole | None, words(marked("the number of boards in a pack, such as 8"))] = None
    lengths: Annotated[tuple[tuple[float, int], ...], Stored(tuple[InAPackEntry, ...], lambda found: tuple(
        (one.length, one.count) for one in found))] = ()

    @classmethod
    def told(cls, data: dict[str, Any]) -> dict[str, Any]:
        several = data.get("lengths")
        if data.get("length", 0) != 0 or not isinstance(several, list) or not several:
            return data
        found = [one.get("length") for one in several if isinstance(one, dict)]
        return data | {"length": max((one for one in found if isinstance(one, (int, float))), default=0.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class RollEntry(Entry):
    """The size of one roll of underlay."""

    roll_length_mm: Annotated[LengthFrom1, like(10000, alias="length")]
    roll_width_mm: Annotated[LengthFrom1, like(1000, alias="width")]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderlayEntry(Entry):
    """Underlay: its thickness and the size of one roll."""

    thickness_mm: Annotated[Length, like(3, ge=0.1)]
    roll: Annotated[RollEntry, words(marked('the size of a roll, such as {"length": 10000, "width": 1000}'))]


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesEntry(Entry):
    """Least distance of end joints, least length of a piece, least width of a row."""

    stagger_mm: Annotated[Length | None, like(300)] = None
    shortest_mm: Annotated[Length | None, like(300)] = None
    narrowest_mm: Annotated[Length | None, like(60)] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateEntry(Entry):
    """Relative humidity of the room in percent: least and most in a year, and on the day of laying."""

    low: _Humidity
    high: _Humidity
    laid: _Humidity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BeadingEntry(Entry):
    """Length of a bar of beading, and how wide it covers the floor."""

    bar_mm: Annotated[LengthFrom1 | None, like(2400)] = None
    width_mm: Annotated[LengthFrom1 | None, like(18)] = None


@dataclass(frozen=True, slots=True)
class _OneLine:
    """Text of one line that fits a pattern, in the words of what it must be."""

    wanted: str
    pattern: str
    longest: int

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_after_validator_function(self._fitting, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {**handler(schema), "description": self.wanted, "maxLength": self.longest,
                "pattern": f"^{self.pattern}$"}

    def _fitting(self, text: str) -> str:
        if len(text) > self.longest or not text.isprintable() or not re.fullmatch(self.pattern, text):
            raise wrong(Message(self.wanted))
        return text


_NO_BLANKS_ROUND = r"\S([^\x00-\x1f\x7f]*\S)?"
_Floor = Annotated[str, Strict(), _OneLine(marked("the name of the floor it comes from"), _NO_BLANKS_ROUND,
                                           LONGEST_FLOOR)]
_LeavesIt = Annotated[str, Strict(), _OneLine(marked('the piece whose sawing leaves it there, such as "4.2"'),
                                              f"({PIECE_ID.pattern})?", LONGEST_LABEL)]
_WoodLabel = Annotated[str, Strict(), _OneLine(marked("the label of the offcut"), f"({_NO_BLANKS_ROUND})?",
                                               LONGEST_LABEL)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ElsewhereEntry(Entry):
    """A piece of another floor of the flat; piece "": one that was at hand there."""

    floor: _Floor
    piece: _LeavesIt = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPieceEntry(Entry):
    """Pieces of the same board that are at hand, and the factory ends they keep; long edges named too are taken as
    whole. label: what is pencilled on it; from: the piece of another floor of the flat that leaves it."""

    length_mm: Annotated[LengthFrom1, like(640)]
    keeps: Annotated[tuple[str, ...], Stored(tuple[Literal["left", "right", "near", "far"], ...], lambda sides: tuple(
        side for side in ("left", "right") if side in sides)), words(marked(
            'a list of the factory ends it has, such as ["left"]'))]
    count: Annotated[Whole, words(marked("how many there are, such as 2"))] = 1
    label: _WoodLabel = ""
    came_from: Annotated[ElsewhereEntry | None, words(
        marked('the floor and piece it comes from, such as {"floor": "kitchen", "piece": "4.2"}'), alias="from")] = None


def _one_by_one(stock: tuple[OwnPieceEntry, ...]) -> tuple[OwnPieceEntry, ...]:
    """A few keystrokes tell of millions of pieces, which are not made one by one before somebody counts them."""
    count = sum(piece.count for piece in stock)
    if count > MOST_LISTED:
        raise unfit("wrong-field", lazy_gettext(
            "{count} pieces at hand are listed, but at most {most} are worth it; leave out the shortest.",
            count=count, most=MOST_OWNED))
    return tuple(replace(piece, count=1) for piece in stock for _ in range(piece.count))


@dataclass(frozen=True, slots=True, kw_only=True)
class FlooringEntry(Entry):
    """How the floor is to be laid. direction: the wall rows run along, or the heading of `u` from plan x; start: the
    wall of row 1; gap "auto": to be worked out from the longest run and the climate; light: the wall with the main
    window."""

    READ_AS: ClassVar = {"direction": {"direction_deg": None, "along": None},
                         "gap": {"gap_mm": None, "gap_auto": False}}

    board: BoardEntry | None = None
    underlay: UnderlayEntry | None = None
    gap: Annotated[_Gap | None, words(marked('"auto" or a length in mm, such as 10'))] = None
    gap_least_mm: Annotated[Length | None, like(8)] = None
    gap_most_mm: Annotated[Length | None, like(13)] = None
    light: Pair | None = None
    kerf_mm: Annotated[Length | None, like(3)] = None
    rules: RulesEntry = RulesEntry()
    direction: Annotated[_Direction | None, OrAuto(), words(marked('"auto", a wall such as ["A", "B"], or an angle in '
                                                            'degrees'))] = None
    start: Annotated[Pair | None, OrAuto(), words(marked('"auto" or a wall such as ["A", "B"]'))] = None
    first_row_mm: Annotated[LengthFrom1 | None, OrAuto(), words(marked('"auto" or a width in mm, such as 152'))] = None
    pattern: Literal["fewest", "thirds", "halves"] = "fewest"
    lay: Literal["left-to-right", "right-to-left"] = "left-to-right"
    climate: ClimateEntry | None = None
    longest_mm: Annotated[LengthFrom1 | None, like(10000)] = None
    subfloor: Annotated[str, Stored(Literal["mineral", "timber"], str)] = ""
    beading: BeadingEntry | None = None
    stock: Annotated[tuple[OwnPieceEntry, ...], Stored(tuple[OwnPieceEntry, ...], _one_by_one)] = ()

    @property
    def gap_auto(self) -> bool:
        """Whether the gap is to be worked out."""
        return self.gap == "auto"

    @property
    def gap_mm(self) -> float | None:
        """The gap that is asked for."""
        return None if self.gap is None or self.gap == "auto" else self.gap

    @property
    def along(self) -> Pair | None:
        """The wall that rows run along, if one is named."""
        return self.direction if isinstance(self.direction, tuple) else None

    @property
    def direction_deg(self) -> float | None:
        """The heading of `u` from plan x, if that is given."""
        return None if isinstance(self.direction, tuple) else self.direction
