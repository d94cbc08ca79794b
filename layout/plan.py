"""The plan: rows of pieces, where each comes from, and what to buy. Types only: the door of this room.

Two frames. *Plan*: mm, x right, y up. *Row frame*: s along `u` (left to right for a fitter facing the start wall),
t along `v` (from the start wall towards the fitter); ``v = (u.y, -u.x)``, so on paper s runs right and t runs down.
A *board frame* is the row frame moved: (0, 0) is the board's left end at its near edge (the edge towards the start
wall). A piece is never turned: it lies in the room as it lay in its board, only shifted.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees

from layout.facts.beading import BarPiece as BarPiece, Bars as Bars, BeadingPiece as BeadingPiece
from layout.facts.notes import Note, TightPlace
from layout.facts.purchases import Purchase
from layout.facts.reasons import BoundRule, Reason, Wall
from layout.frame import Frame, Point as Point
from layout.room import Board, Elsewhere, OwnPiece, Rules

Ring = tuple[Point, ...]

#: Boards to spare in what is bought: one for a miscut, one for a repair years from now (trade habit: 1 to 3).
SPARE_BOARDS = 2
#: Length of floor without an expansion profile in plans from before there were any: no limit, mm.
UNPARTED_MM = 1e6
#: An end slanted by less is set out by its two marks alone, degrees from square.
LEAST_MITRE_DEG = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygon:
    """A region of the plan, mm: outline anticlockwise, holes clockwise, first corner not repeated."""

    outline: Ring
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut, set out on the stock the piece is cut from (a whole board or an offcut).

    kind "cross": a straight saw line across; `kept` is "left" or "right", the factory end to measure from; `at` is the
      distance from it (at the near edge, at the far edge), mm.
    kind "rip": a straight saw line along; `kept` is "near" or "far", the edge to measure from; `at` is the distance
      (at the piece's left end, at its right end), mm.
    kind "notch": a square box taken out of the board's side `kept` after the straight cuts: along that side between the
      two of `at` (counted from the board's left end, or its near edge), `deep` mm into the board from that side;
      `shape`: the corners of the wood it takes from what the straight cuts left, board frame, mm.
    kind "line": wood taken out along a line that only a template tells; `shape` as with a notch. kind "hole": a round
    hole; `centre` in the board frame, `diameter` mm; `pipe` names the pipe; `kept` the side its two wedge cuts run to
      ("" for a half hole, which runs over the piece's edge).
    """

    kind: str
    kept: str = ""
    at: tuple[float, float] = (0.0, 0.0)
    shape: Ring = ()
    centre: Point = (0.0, 0.0)
    diameter: float = 0.0
    pipe: str = ""
    deep: float = 0.0

    def mitre_deg(self, width_mm: float) -> float:
        """What the saw is set to for a crosscut of a board so wide, from square, in degrees; 0 below `LEAST_MITRE_DEG`,
        where two marks tell the line better."""
        angle = degrees(atan2(abs(self.at[1] - self.at[0]), width_mm)) if self.kind == "cross" else 0.0
        return angle if angle >= LEAST_MITRE_DEG else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """What is left of a board and is kept for later. pencilled: what an earlier revision wrote on it, now of no use.

    from_/to/near/far: where it was in the board, mm. keeps: the factory ends and edges it still has.
    cut_by: id of the piece whose sawing made it; used_by: id of the piece made of it ("" not in this floor); goes_to:
    the piece of another floor that is made of it.
    """

    label: str
    board: int
    from_mm: float
    to_mm: float
    near_mm: float
    far_mm: float
    keeps: tuple[str, ...]
    cut_by: str
    used_by: str
    goes_to: Elsewhere | None = None
    pencilled: str = ""

    @property
    def for_piece(self) -> str:
        """What is to be written on it: the piece it becomes, its floor first where that is another; "" for a spare."""
        return self.goes_to.label if self.goes_to is not None else self.used_by


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece as laid.

    id: "row.number", counted from the left. board: source board, from 1. takes: "" for a new board, else an offcut's
    label. outline_mm/holes_mm: where it lies in the plan (outline anticlockwise). from_/to/near/far: its extent in the
    source board's frame, mm. keeps: any of "left", "right", "near", "far". leaves: labels of the offcuts its sawing
    makes. flat: why it is glued and pushed in flat (None: tilted in; `layout.planning.fitting.tight_places`).
    """

    id: str
    board: int
    takes: str
    outline_mm: Ring
    holes_mm: tuple[Ring, ...]
    from_mm: float
    to_mm: float
    near_mm: float
    far_mm: float
    keeps: tuple[str, ...]
    cuts: tuple[Cut, ...]
    leaves: tuple[str, ...] = ()
    flat: TightPlace | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """An unbroken stretch of a row, its pieces from left to right. gaps_mm: from its left and its right end to the
    wall, as planned within the edge window (() in plans from before it)."""

    pieces: tuple[Piece, ...]
    gaps_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: number from 1 at the start wall, its strip in the row frame (t from `near_mm` to `far_mm`), its runs.
    joined_by: of a row whose runs begin apart and are strung to one line, the later row that joins them (0: none)."""

    number: int
    near_mm: float
    far_mm: float
    runs: tuple[Run, ...]
    joined_by: int = 0

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """All pieces of the row from left to right."""
        return tuple(piece for run in self.runs for piece in run.pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A pipe's hole in the floor: centre in the plan and diameter, mm, and the pieces it is cut from."""

    pipe: str
    centre_mm: Point
    pipe_mm: float
    diameter_mm: float
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxed:
    """A rule that had to give way: which, where ("row 4", or a piece by its id), what was asked and what was had, mm.
    alone: the piece is the only one of its run."""

    rule: str
    where: str
    asked_mm: float
    had_mm: float
    alone: bool = False

    @property
    def row(self) -> int:
        """The row's number; 0 where it is about a piece."""
        word, _, number = self.where.partition(" ")
        return int(number) if word == "row" and number.isdecimal() else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Doorway:
    """A door opening the boards run into: the floor added to the room (plan, mm), its depth from the wall line to the
    middle of the threshold profile, how far the boards pass under the frame at its sides, and how high and deep that is
    undercut."""

    door: str
    outline: Ring
    depth_mm: float
    under_mm: float
    undercut_mm: float
    undercut_deep_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """An expansion profile: the two ends of its middle line (plan, mm), and how far the boards stop short of that
    line."""

    ends: tuple[Point, Point]
    clear_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWall:
    """A place on a wall: so far from its first corner, mm."""

    wall: tuple[str, str]
    from_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ChalkLine:
    """Where rows run along no wall: the far edge of a row as a line between two walls, left and right end."""

    row: int
    ends: tuple[OnWall, OnWall]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A strip of the floor too thin to saw, left to the gap and its beading: outline in the plan, greatest width,
    mm."""

    outline: Ring
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A line of the shopping list: what, with what its number comes from, and how many of its unit."""

    purchase: Purchase
    quantity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A way of laying that was weighed: heading of `u`, first row, and what it would cost.

    packs: where they do not follow from the number of boards (boards of several lengths), else None. along, start: the
    walls the rows run along and start at, where they are told.
    """

    u_deg: float
    first_row_mm: float
    last_row_mm: float
    boards: int
    cuts: int
    narrowest_mm: float
    packs: int | None = None
    along: Wall | None = None
    start: Wall | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How to lay the floor.

    floor: wall to wall, with the doorways that are laid; cover: what the boards cover (the union of all pieces; pipes
    not subtracted), one polygon a part. gap_mm: the gap asked for; a board's edge may lie from gap_least_mm to
    gap_most_mm off a wall. frame: the row frame. boards: how many are bought and cut, without `owned` ones. bound: no
    plan of these rows can use fewer boards (`bound_by` names the rule). reasons: why it is laid so. choices: the ways
    that were weighed, the one taken first. notes: what the reader must know or decide, beside `relaxed` and `profiles`.
    longest_mm: length of floor without a profile. lengths_mm: with boards of several lengths, the length of each that
    is bought and cut, by its number; least_packs: fewer packs hold less wood than the rows are long (0: not looked at,
    boards of one length). `proven` is then said of the packs. chalk: the line the first rows are held to, where they
    run along no wall.
    """

    floor: Polygon
    cover: tuple[Polygon, ...]
    board: Board
    kerf_mm: float
    gap_mm: float
    gap_least_mm: float
    gap_most_mm: float
    rules: Rules
    frame: Frame
    lay: str
    pattern: str
    rows: tuple[Row, ...]
    offcuts: tuple[Offcut, ...]
    holes: tuple[Hole, ...]
    boards: int
    bound: int
    bound_by: BoundRule
    proven: bool
    packs: int
    waste_percent: float
    reasons: tuple[Reason, ...]
    choices: tuple[Choice, ...]
    shopping: tuple[Item, ...]
    beading: tuple[BeadingPiece, ...]
    notes: tuple[Note, ...]
    relaxed: tuple[Relaxed, ...]
    longest_mm: float = UNPARTED_MM
    doorways: tuple[Doorway, ...] = ()
    profiles: tuple[Profile, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    owned: tuple[OwnPiece, ...] = ()
    bars: Bars | None = None
    lengths_mm: tuple[float, ...] = ()
    least_packs: int = 0
    chalk: ChalkLine | None = None

    def board_of(self, number: int) -> Board:
        """The board with that number."""
        return self.board.of_length(self.lengths_mm[number - 1]) if 0 < number <= len(self.lengths_mm) else self.board

    @property
    def packs_to_buy(self) -> int:
        """`packs`, and one more where they hold fewer than `SPARE_BOARDS` boards beyond those the plan uses."""
        return self.packs + (self.packs * self.board.pack - self.boards < SPARE_BOARDS)

    @property
    def u(self) -> Point:
        """Heading of the rows, left to right for a fitter who faces the start wall."""
        return self.frame.u

    @property
    def v(self) -> Point:
        """From the start wall into the room."""
        return self.frame.v

    @property
    def start_mm(self) -> Point:
        """Plan point of the row frame's origin."""
        return self.frame.start_mm

    @property
    def wood_mm(self) -> float:
        """Length of all boards that are bought and cut, mm."""
        return sum(self.lengths_mm) if self.lengths_mm else self.boards * self.board.length_mm

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every piece, row by row, from left to right."""
        return tuple(piece for row in self.rows for piece in row.pieces)

    def to_row_frame(self, point: Point) -> Point:
        """(s, t) of a plan point."""
        (u, v), (x, y) = (self.frame.u, self.frame.v), self.frame.start_mm
        dx, dy = point[0] - x, point[1] - y
        return dx * u[0] + dy * u[1], dx * v[0] + dy * v[1]

    def to_plan(self, s: float, t: float) -> Point:
        """Plan point of (s, t)."""
        (u, v), (x, y) = (self.frame.u, self.frame.v), self.frame.start_mm
        return x + s * u[0] + t * v[0], y + s * u[1] + t * v[1]
