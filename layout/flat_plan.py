"""The plan of a flat: its rooms' plans in the order of laying, the offcuts that go from room to room, and what is
bought once for all. Types only.

A *floor* is what is laid as one: a room, or rooms that boards run through. An offcut that goes to another floor bears
the name of the piece it will be there, room first: "kitchen 4.2".
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from layout.plan import SPARE_BOARDS, BarPiece, Item, Plan
from layout.room import Board

#: How the room one leaves by is known: it was named; it alone has a door that leads to no room of the flat; most
#: doorways lead to it.
EntranceRule = Literal["named", "outer-door", "most-doorways"]
#: Why boards run through a doorway or end at a profile: it was written so; by the joined floor's extent against the
#: longest run; the rooms' boards differ; rooms that already are one floor meet there again.
PassageRule = Literal["asked", "longest-run", "other-boards", "second-opening"]
#: How the thickness of a wall is known: measured in the doorway; from both doors' depths to the threshold; nothing was
#: measured, and only how the rooms lie around it tells.
ThicknessRule = Literal["typed", "reveals", "rooms"]
#: What may be wrong with a doorway: a door's distance from its corner, or the thickness of the wall.
DoubtedReading = Literal["from", "thickness"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Travel:
    """An offcut that one floor leaves and a later one takes: what is pencilled on it, the piece whose sawing leaves it,
    the piece made of it, and its length, mm."""

    label: str
    from_floor: str
    cut_by: str
    to_floor: str
    used_by: str
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorPlan:
    """A floor of the flat: its name, its plan, and how many boards it takes planned alone."""

    name: str
    plan: Plan
    alone: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardKind:
    """Boards of one kind over all floors that take them.

    boards: taken by these plans, with offcuts carried from floor to floor, which is what is bought; alone: the floors
    take planned one by one; bound: no plan of these rows takes fewer. packs: hold what the floors take; packs_alone:
    bought floor by floor, spares included.
    """

    board: Board
    floors: tuple[str, ...]
    boards: int
    alone: int
    bound: int
    packs: int
    packs_alone: int

    @property
    def proven(self) -> bool:
        """Whether no plan of these rows takes fewer boards."""
        return self.boards == self.bound

    @property
    def packs_to_buy(self) -> int:
        """`packs`, and one more where they hold fewer than `SPARE_BOARDS` beyond those that are cut: the spares of a
        flat are counted once a kind of board, however many rooms it has, for boards of one kind serve every room."""
        return self.packs + (self.packs * self.board.pack - self.boards < SPARE_BOARDS)

    @property
    def spare(self) -> int:
        """Boards left whole of what is bought."""
        return self.packs_to_buy * self.board.pack - self.boards


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatBars:
    """How the beading of all floors is sawn out of bars of one length: each bar's pieces with the floor they are for,
    and a proven least number. alone: bars bought floor by floor."""

    bar_mm: float
    kerf_mm: float
    width_mm: float
    bars: tuple[tuple[tuple[str, BarPiece], ...], ...]
    bound: int
    alone: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatPlan:
    """A flat, floor by floor in the order of laying. shopping: one list for all of it."""

    floors: tuple[FloorPlan, ...]
    kinds: tuple[BoardKind, ...]
    travels: tuple[Travel, ...]
    bars: tuple[FlatBars, ...]
    shopping: tuple[Item, ...]

    def plan_of(self, name: str) -> Plan:
        """The plan of a floor. Raises KeyError for one that is not there."""
        return {floor.name: floor.plan for floor in self.floors}[name]


@dataclass(frozen=True, slots=True, kw_only=True)
class LayingOrder:
    """Rooms in the order they are laid, the one they are left by last (`entrance`) and how that is known. named: the
    order was asked for."""

    rooms: tuple[str, ...]
    entrance: str
    rule: EntranceRule
    named: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageChoice:
    """How a doorway is laid and why: its two rooms and doors, whether boards run through, the rule, and how far the
    joined floor would reach along or across the rows at most against the limit, mm (0 where nothing was measured)."""

    rooms: tuple[str, str]
    doors: tuple[str, str]
    through: bool
    rule: PassageRule
    extent_mm: float = 0.0
    longest_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredDoorway:
    """One opening as both rooms measured it, after the adjustment of all doorways; mm, sds one standard deviation.

    widths_mm: by either room; most_apart_mm: how far two sound ones differ at most; from_mm: where the opening begins
    in either room's wall, from the corner it is taped from; thickness_by: where the wall's thickness comes from.
    """

    rooms: tuple[str, str]
    doors: tuple[str, str]
    widths_mm: tuple[float, float]
    most_apart_mm: float
    width_mm: float
    width_sd_mm: float
    from_mm: tuple[float, float]
    thickness_mm: float
    thickness_sd_mm: float
    thickness_by: ThicknessRule

    @property
    def agrees(self) -> bool:
        """Whether the two widths differ by no more than measuring does."""
        return abs(self.widths_mm[0] - self.widths_mm[1]) <= self.most_apart_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class RingClosure:
    """How well a ring of rooms closes at one of its doorways, by the other doorways alone: the far room's side of it
    lies along_mm off along the wall and across_mm off the wall, each with its sd. score: how much that is beside its
    uncertainty, over the critical value; above 1 a reading is wrong. most_mm: how much measuring explains that way."""

    rooms: tuple[str, str]
    doors: tuple[str, str]
    along_mm: float
    along_sd_mm: float
    across_mm: float
    across_sd_mm: float
    score: float
    most_mm: float

    @property
    def off_mm(self) -> float:
        """How far apart the two sides lie."""
        return math.hypot(self.along_mm, self.across_mm)

    @property
    def closes(self) -> bool:
        """Whether it closes within what measuring allows."""
        return self.score <= 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwayDoubt:
    """A reading of a doorway that the others contradict: what it says, and what it should be with the sd of that, mm.

    room, door, corner: whose door, and the corner it is taped from ("" for a thickness). left_out: it alone explains
    the misclosure, and the rooms are placed without it.
    """

    rooms: tuple[str, str]
    reading: DoubtedReading
    room: str
    door: str
    corner: str
    told_mm: float
    should_mm: float
    should_sd_mm: float
    left_out: bool
