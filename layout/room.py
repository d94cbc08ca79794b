"""What the planner is given: the room, what stands in it, the boards and the wishes. Types only.

Plan frame: mm, x right, y up; the outline runs anticlockwise.
"""
from __future__ import annotations

import re
from dataclasses import dataclass, field, fields, replace

import numpy as np
from numpy.typing import NDArray

from layout.rules import Rules as Rules

#: Gap at the walls where nothing is said, mm.
USUAL_GAP_MM = 10.0
#: Less than this (but nothing at all) never comes off an end or an edge: no saw holds such a strip, mm (common
#: practice, no source).
SLIVER_MM = 15.0
#: A floor of a flat is named by its rooms, as its folder is; what is pencilled on an offcut that goes there is that and
#: a piece. Letters.
LONGEST_FLOOR = 120
LONGEST_LABEL = LONGEST_FLOOR + 10
#: What a piece is called: its row and its place in it.
PIECE_ID = re.compile(r"[1-9][0-9]{0,3}[.][1-9][0-9]{0,3}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """A pipe through the floor: centre (mm) and outside diameter (mm)."""

    name: str
    centre_mm: tuple[float, float]
    diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Casing:
    """The frame round a door opening as it stands on the floor: width along the wall, thickness off it, mm."""

    width_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """A door opening in the wall between two corners: `from_mm` from the first corner, `width_mm` wide.

    reveal_mm: from the wall line to the middle of the threshold profile under the closed leaf; 0 stops the floor at the
    wall line. casing: of a frame that is undercut. legs: of its casing as traced: ("left" or "right" as one faces the
    door from inside the room, its footprint: away from the opening along the wall, off the wall line into the room, mm,
    an open chain). traced_pm_mm: half a 95 % interval of that shape. next_floor_mm: how high the floor behind the door
    lies over the bare floor here (None: not asked); it tells which profile covers the gap and nothing else.
    """

    name: str
    wall: tuple[str, str]
    from_mm: float
    width_mm: float
    reveal_mm: float = 0.0
    casing: Casing | None = None
    legs: tuple[tuple[str, tuple[tuple[float, float], ...]], ...] = ()
    traced_pm_mm: float = 0.0
    next_floor_mm: float | None = None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Room:
    """The floor wall to wall and what stands on it.

    names: corner names, outline_mm: (n, 2) their places, anticlockwise. islands: (name, (k, 2)) parts not covered.
    framed: names of islands that are casings the boards are sawn round: no beading goes there.
    length_sd_mm: one standard deviation of a wall-to-wall length in this survey (0 for a floor taken as exact).
    """

    names: tuple[str, ...]
    outline_mm: NDArray[np.float64]
    islands: tuple[tuple[str, NDArray[np.float64]], ...] = ()
    pipes: tuple[Pipe, ...] = ()
    doors: tuple[Door, ...] = ()
    length_sd_mm: float = 0.0
    framed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The board as bought: length and width of its face as laid, thickness, mm, and how many come in a pack.

    mix: of a pack that holds several lengths, each length with how many of it, shortest first; `length_mm` is then the
    longest and `pack` all of them together.
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    pack: int
    mix: tuple[tuple[float, int], ...] = ()

    def of_length(self, length_mm: float) -> Board:
        """One board of the pack."""
        return replace(self, length_mm=length_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Underlay:
    """Underlay thickness and the size of one roll, mm."""

    thickness_mm: float
    roll_length_mm: float
    roll_width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """Relative humidity of the room in percent: when the floor is laid (None: not known), and its least and most in
    a year."""

    low: float
    high: float
    laid: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Beading:
    """Beading or skirting as bought: length of a bar and how wide it covers the floor, mm."""

    bar_mm: float = 2400.0
    width_mm: float = 18.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Elsewhere:
    """A piece of another floor of the flat: the floor's name, and the piece's id there ("": a piece that was at hand
    there)."""

    floor: str
    piece: str

    @property
    def label(self) -> str:
        """What is pencilled on wood that goes there: "hall 3.1"."""
        return f"{self.floor} {self.piece}"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPiece:
    """A piece of the same board that is there already: what is pencilled on it ("": nothing yet), its length and the
    factory ends it keeps ("left", "right"); `board` its number if a plan uses it, else 0. from_mm: where the left end
    of one without a factory end lay in its board, else None. came_from: the piece of another floor whose sawing left
    it."""

    label: str = ""
    length_mm: float
    keeps: tuple[str, ...]
    board: int = 0
    from_mm: float | None = None
    came_from: Elsewhere | None = None

    @property
    def is_whole(self) -> bool:
        """Whether it is a whole board."""
        return len(self.keeps) == 2

    def stretch(self, board: Board) -> tuple[float, float]:
        """Where its wood lies in the board's frame."""
        if self.from_mm is not None:
            return self.from_mm, self.from_mm + self.length_mm
        return (0.0, self.length_mm) if "left" in self.keeps else (board.length_mm - self.length_mm, board.length_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How the floor is to be laid; None means the planner chooses and says why.

    gap_mm: at walls; None: from the longest run and the climate. gap_usual: nobody typed it, so it is wider where the
    longest run asks for that. longest_mm: length of floor without an expansion
    profile. gap_least_mm, gap_most_mm: the edge window, between which a board's edge may lie off a wall; None: from the
    gap and what covers it. step_mm: lengths to saw are whole multiples of this. subfloor: "mineral", "timber" or ""
    (not known). stock: pieces already owned, used before new boards. direction_rad: heading of `u` in the plan,
    anticlockwise from x. along: rows run along this wall instead. start: the wall of row 1. light: the wall with the
    main window. pattern: "fewest", "thirds" or "halves". lay: "left-to-right" or "right-to-left".
    """

    gap_mm: float | None = USUAL_GAP_MM
    gap_usual: bool = False
    gap_least_mm: float | None = None
    gap_most_mm: float | None = None
    step_mm: float = 1.0
    kerf_mm: float = 3.0
    rules: Rules = field(default_factory=Rules)
    direction_rad: float | None = None
    along: tuple[str, str] | None = None
    start: tuple[str, str] | None = None
    light: tuple[str, str] | None = None
    first_row_mm: float | None = None
    pattern: str = "fewest"
    lay: str = "left-to-right"
    underlay: Underlay | None = None
    climate: Climate | None = None
    longest_mm: float = 10_000.0
    subfloor: str = ""
    beading: Beading = Beading()
    stock: tuple[OwnPiece, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled(Wishes):
    """Wishes once the gap and its window are known: the reader's, or those the planner chose."""

    gap_mm: float = USUAL_GAP_MM
    gap_least_mm: float = USUAL_GAP_MM
    gap_most_mm: float = USUAL_GAP_MM

    @property
    def aim_mm(self) -> float:
        """The gap to aim for: the one asked for, but far enough from both ends of the window to round to whole mm."""
        if self.gap_most_mm - self.gap_least_mm < 2 * self.step_mm:
            return (self.gap_least_mm + self.gap_most_mm) / 2
        return min(max(self.gap_mm, self.gap_least_mm + self.step_mm), self.gap_most_mm - self.step_mm)


def settle(wishes: Wishes, gap_mm: float, window_mm: tuple[float, float]) -> Settled:
    """The wishes with this gap, and with (least, most) distance of a board's edge from a wall."""
    kept = {each.name: getattr(wishes, each.name) for each in fields(wishes)}
    return Settled(**kept | {"gap_mm": gap_mm, "gap_least_mm": window_mm[0], "gap_most_mm": window_mm[1]})
