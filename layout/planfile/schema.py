"""The keys of a plan's answer and what each holds: types that the writer is checked against and the schema is made
from.

Lengths mm, places [x, y] in the plan unless a line says otherwise, angles in degrees.
"""
from __future__ import annotations

from typing import Annotated, Literal, NotRequired

from annotated_types import Len
from typing_extensions import TypedDict  # as pydantic asks for before Python 3.12

Place = Annotated[list[float], Len(2, 2)]
Ring = list[Place]


class PolygonShape(TypedDict):
    """A region: outline anticlockwise, first corner not repeated."""

    outline: Ring
    holes: list[Ring]


class CoverShape(TypedDict):
    """What the boards cover: the floor less its gaps, pipes not subtracted."""

    polygons: list[PolygonShape]


class BoardsShape(TypedDict):
    """Boards of one length in a pack."""

    length: float
    count: int


class BoardShape(TypedDict):
    """The board as bought, and how many come in a pack; `lengths` of a pack that holds several (`length` is then the
    longest)."""

    length: float
    width: float
    thickness: float
    pack: int
    lengths: NotRequired[list[BoardsShape]]


class RulesShape(TypedDict):
    """Least distance of end joints in neighbouring rows, least length of a piece, least width of a row."""

    stagger: float
    shortest: float
    narrowest: float


#: A straight saw line: one distance from an end or edge, or two (at the near and the far edge, or at the left and the
#: right end) if it is tapered; mitre: the saw's angle from square, degrees.
StraightCutShape = TypedDict("StraightCutShape", {"kind": Literal["cross", "rip"], "from": str, "at": "float | Place",
                                                  "mitre": NotRequired[float]})


class NotchShape(TypedDict):
    """A square box out of a side of the board: along it between two places, so deep; shape: the wood it takes, in
    the board's frame."""

    kind: Literal["notch"]
    edge: str
    span: Place
    deep: float
    shape: Ring


class LineShape(TypedDict):
    """Wood taken out along a line only a template tells: its corners in the board's frame."""

    kind: Literal["line"]
    points: Ring


class HoleCutShape(TypedDict):
    """A pipe's hole, its centre in the board's frame; to: the side its two wedge cuts run to ("" for a half hole)."""

    kind: Literal["hole"]
    pipe: str
    x: float
    y: float
    diameter: float
    to: str


# "from" is a word of the language, so these are written as calls.
_PieceSpan = TypedDict("_PieceSpan", {"from": float, "to": float, "near": float, "far": float})


class PieceShape(_PieceSpan):
    """A piece as laid; from, to, near, far: where it was in its board. takes: the offcut it is cut from, "" for a
    new board. lay, why: only of a piece that cannot be tilted in."""

    id: str
    board: int
    takes: str
    outline: Ring
    holes: list[Ring]
    keeps: list[str]
    cuts: list[StraightCutShape | NotchShape | LineShape | HoleCutShape]
    leaves: list[str]
    lay: NotRequired[Literal["flat"]]
    why: NotRequired[str]


class RunShape(TypedDict):
    """An unbroken stretch of a row, from left to right; gaps: from its two ends to the wall."""

    pieces: list[PieceShape]
    gaps: NotRequired[list[float]]


class RowShape(TypedDict):
    """A row from the start wall on, and its strip across the rows; joined_by: the later row that joins its stretches,
    where they begin apart."""

    row: int
    near: float
    far: float
    runs: list[RunShape]
    joined_by: NotRequired[int]


class OffcutShape(_PieceSpan):
    """A rest that is kept, where it was in its board, the piece whose sawing made it and the one made of it (""
    none)."""

    label: str
    board: int
    keeps: list[str]
    cut_by: str
    used_by: str


class HoleShape(TypedDict):
    """A pipe's hole in the floor and the pieces it is cut from."""

    pipe: str
    centre: Place
    pipe_diameter: float
    diameter: float
    pieces: list[str]


class ChoiceShape(TypedDict):
    """A way of laying that was weighed."""

    u_deg: float
    first_row: float
    last_row: float
    boards: int
    cuts: int
    narrowest: float
    says: str
    packs: NotRequired[int]


class ItemShape(TypedDict):
    """A line of the shopping list and the rule its number comes from."""

    what: str
    quantity: float
    unit: str
    why: str


class ShoppingShape(TypedDict):
    """What to buy."""

    items: list[ItemShape]


class BeadingPieceShape(TypedDict):
    """A stretch of beading with the saw's angle at its ends."""

    where: str
    length: float
    start_deg: float
    end_deg: float


class BarsShape(TypedDict):
    """How the beading is sawn from bars, and a proven least number of bars."""

    length: float
    kerf: float
    width: float
    bound: int
    cut: list[list[BeadingPieceShape]]


class BeadingShape(TypedDict):
    """Beading along the walls; bars where it is cut from any."""

    pieces: list[BeadingPieceShape]
    bars: NotRequired[BarsShape]


class DoorwayShape(TypedDict):
    """A doorway the boards run into, its depth, and the undercut of its frame."""

    door: str
    outline: Ring
    depth: float
    under: float
    undercut: float
    undercut_deep: float


class ProfileShape(TypedDict):
    """An expansion profile: the ends of its middle line, and how far the boards stop short of it."""

    ends: Annotated[list[Place], Len(2, 2)]
    clear: float
    says: str


class LeftOutShape(TypedDict):
    """A strip too thin to saw."""

    outline: Ring
    width: float


class OwnedShape(TypedDict):
    """A piece at hand; board 0 if it is not used."""

    label: str
    length: float
    keeps: list[str]
    board: int


class RelaxedShape(TypedDict):
    """A rule that gave way: what was asked and what was had."""

    rule: str
    where: str
    asked: float
    had: float
    says: str


class DoubtsShape(TypedDict):
    """What is to be doubted in the survey that the plan rests on."""

    verdict: str
    doubts: list[str]


class UnseenWallShape(TypedDict):
    """A wall that no reading shows, by its two corners, and the question to its reader: the floor is a guess there."""

    wall: list[str]
    says: str


# "from" is a word of the language, so this is written as a call.
OnWallShape = TypedDict("OnWallShape", {"wall": list[str], "from": float})


class ChalkShape(TypedDict):
    """The far edge of a row as a line between two walls."""

    row: int
    ends: list[OnWallShape]


class PlanShape(TypedDict):
    """The answer of `tapegroove plan --json`, and plan.json of a pack. Readers of version 1 pass over keys they do
    not know."""

    format: Literal["tapegroove-plan"]
    version: Literal[1]
    floor: PolygonShape
    cover: CoverShape
    board: BoardShape
    kerf: float
    gap: float
    gap_least: NotRequired[float]
    gap_most: NotRequired[float]
    rules: RulesShape
    u: Place
    v: Place
    start: Place
    lay: str
    pattern: str
    boards: int
    bound: int
    bound_says: str
    proven: bool
    packs: int
    waste_percent: float
    rows: list[RowShape]
    offcuts: list[OffcutShape]
    cutouts: list[HoleShape]
    says: list[str]
    choices: list[ChoiceShape]
    shopping: ShoppingShape
    beading: BeadingShape
    longest: NotRequired[float]
    doorways: NotRequired[list[DoorwayShape]]
    profiles: NotRequired[list[ProfileShape]]
    left_out: NotRequired[list[LeftOutShape]]
    owned: NotRequired[list[OwnedShape]]
    cautions: list[str]
    warnings: list[str]
    relaxed: list[RelaxedShape]
    board_lengths: NotRequired[list[float]]
    least_packs: NotRequired[int]
    chalk_line: NotRequired[ChalkShape]
    survey: NotRequired[DoubtsShape]
    unseen: NotRequired[list[UnseenWallShape]]
