"""A piece's straight outline from its cuts, what is sawn anew, and where walls are. Board frame, mm, y down.

A saw line is kept as two points; the four lines left, right, near and far meet in the frame's corners.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import dist

from layout.plan import Cut, Offcut, Piece, Plan, Point, Ring
from printpack.drawing.frames import board_shift, in_board, offcut_of, piece_called, stock_of, within

_BEYOND_MM = 3.0
#: A crosscut more out of square than this over the board's width gets a template.
SLANT_MM = 5.0
SLIVER_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The piece before notches and holes: its four straight sides, each as two points."""

    left: tuple[Point, Point]
    right: tuple[Point, Point]
    near: tuple[Point, Point]
    far: tuple[Point, Point]

    @property
    def corners(self) -> Ring:
        """Left near, right near, right far, left far."""
        return (_meet(self.left, self.near), _meet(self.right, self.near), _meet(self.right, self.far),
                _meet(self.left, self.far))

    def side(self, name: str) -> tuple[Point, Point]:
        """The side between its two corners: ends run from near to far, edges from left to right."""
        a, b, c, d = self.corners
        return {"left": (a, d), "right": (b, c), "near": (a, b), "far": (d, c)}[name]


def frame_of(plan: Plan, piece: Piece) -> Frame:
    """The piece's straight sides."""
    x0, x1, y0, y1 = piece.from_mm, piece.to_mm, piece.near_mm, piece.far_mm
    width = plan.board.width_mm
    sides = {"left": ((x0, 0.0), (x0, width)), "right": ((x1, 0.0), (x1, width)),
             "near": ((x0, y0), (x1, y0)), "far": ((x0, y1), (x1, y1))}
    for cut in piece.cuts:
        if cut.kind in ("cross", "rip"):
            sides[sawn_side(plan, piece, cut)] = (cross_line if cut.kind == "cross" else rip_line)(plan, piece, cut)
    return Frame(**sides)


def sawn_side(plan: Plan, piece: Piece, cut: Cut) -> str:
    """The side of the piece that a crosscut or a rip makes. A rip is set out from the wood it leaves, a crosscut
    from either end."""
    if cut.kind == "rip":
        return "near" if cut.kept == "far" else "far"
    return "left" if _is_right_of(cross_line(plan, piece, cut), _middle(plan, piece)) else "right"


def _middle(plan: Plan, piece: Piece) -> Point:
    """The mean of the piece's corners, board frame: on the wood's side of every straight cut."""
    ring = in_board(plan, piece)[0]
    return sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring)


def _is_right_of(line: tuple[Point, Point], place: Point) -> bool:
    """Whether a place lies right of a line across the board, which runs from the near edge to the far one."""
    (a, t0), (b, t1) = line
    return place[0] > a + (b - a) * (place[1] - t0) / (t1 - t0)


def straight_ends(plan: Plan, piece: Piece) -> tuple[str, ...]:
    """The ends a template can be lined up with: factory ends, and ends sawn square (to 5 mm) before it is laid or
    before it was taken."""
    sawn = {sawn_side(plan, piece, cut) for cut in piece.cuts if cut.kind == "cross" and not is_slanted(cut)}
    return tuple(side for side in ("left", "right") if side in sawn or side in piece.keeps
                 or side in _ends_as_taken(plan, piece))


def _ends_as_taken(plan: Plan, piece: Piece) -> tuple[str, ...]:
    """Ends where an offcut is used up to its own end, sawn square when the piece before was cut."""
    offcut = offcut_of(plan, piece)
    if offcut is None or any(map(is_slanted, _cuts_that_left(plan, offcut))):
        return ()
    ends = (("left", piece.from_mm, offcut.from_mm), ("right", piece.to_mm, offcut.to_mm))
    return tuple(side for side, at, end in ends if abs(at - end) < SLIVER_MM)


def hooked_ends(plan: Plan, piece: Piece) -> tuple[str, ...]:
    """The ends of the wood that a tape may count from: factory ends, those sawn for this piece, and an offcut's other
    end where it was sawn square. What is drawn as an offcut is its square part, so a slanted end is none; both if
    there is no other."""
    offcut = offcut_of(plan, piece)
    if offcut is None:
        return "left", "right"
    square = all(cut.kind != "line" and (cut.kind != "cross" or abs(cut.at[0] - cut.at[1]) < SLIVER_MM)
                 for cut in _cuts_that_left(plan, offcut))
    sawn = {sawn_side(plan, piece, cut) for cut in piece.cuts if cut.kind == "cross"}
    found = tuple(side for side in ("left", "right") if square or side in offcut.keeps or side in sawn)
    return found or ("left", "right")


def _cuts_that_left(plan: Plan, offcut: Offcut) -> tuple[Cut, ...]:
    """The cuts of the piece whose sawing made an offcut."""
    cutter = piece_called(plan, offcut.cut_by)
    return cutter.cuts if cutter is not None else ()


def is_slanted(cut: Cut) -> bool:
    """Whether a crosscut is far enough out of square for a template."""
    return cut.kind == "cross" and abs(cut.at[0] - cut.at[1]) > SLANT_MM


def cross_line(plan: Plan, piece: Piece, cut: Cut) -> tuple[Point, Point]:
    """A crosscut from the board's near edge to its far edge; its distances count from an end of the piece's stock."""
    left, _, right, _ = stock_of(plan, piece)
    a, b = (left + d if cut.kept == "left" else right - d for d in cut.at)
    return (a, 0.0), (b, plan.board.width_mm)


def rip_line(plan: Plan, piece: Piece, cut: Cut) -> tuple[Point, Point]:
    """A rip from the piece's left end to its right end."""
    a, b = (d if cut.kept == "near" else plan.board.width_mm - d for d in cut.at)
    return (piece.from_mm, a), (piece.to_mm, b)


def bare(plan: Plan, piece: Piece, place: Point) -> bool:
    """Whether no board lies at a place given in the piece's board frame: it is gap, wall or beyond."""
    ds, dt = board_shift(plan, piece)
    spot = plan.to_plan(place[0] - ds, place[1] - dt)
    return not any(within(spot, part.outline) and not any(within(spot, hole) for hole in part.holes)
                   for part in plan.cover)


def wall_foot(plan: Plan, piece: Piece, centre: Point) -> Point:
    """The nearest place of the piece's outline that has a wall beyond it, from a place inside the piece (board frame).

    With no wall round the piece, the nearest place of its outline.
    """
    ring = in_board(plan, piece)[0]
    feet = sorted((_foot(centre, side) for side in zip(ring, ring[1:] + ring[:1])), key=lambda foot: dist(centre, foot))
    return next((foot for foot in feet if bare(plan, piece, _past(centre, foot))), feet[0])


def _past(centre: Point, foot: Point) -> Point:
    far = dist(centre, foot) or 1.0
    k = (far + _BEYOND_MM) / far
    return centre[0] + k * (foot[0] - centre[0]), centre[1] + k * (foot[1] - centre[1])


def _foot(point: Point, side: tuple[Point, Point]) -> Point:
    """The nearest place of a side, which may have no length: two corners a hair apart fall on one place."""
    (x0, y0), (x1, y1) = side
    dx, dy = x1 - x0, y1 - y0
    share = ((point[0] - x0) * dx + (point[1] - y0) * dy) / ((dx * dx + dy * dy) or 1.0)
    share = min(max(share, 0.0), 1.0)
    return x0 + share * dx, y0 + share * dy


def until_outline(start: Point, towards: Point, ring: Ring) -> Point:
    """Where a ray from `start` in the direction `towards` first leaves the ring; `start` itself if it never does."""
    best = None
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1]):
        ex, ey = x1 - x0, y1 - y0
        slant = towards[0] * ey - towards[1] * ex
        if abs(slant) < 1e-12:
            continue
        r = ((x0 - start[0]) * ey - (y0 - start[1]) * ex) / slant
        share = ((x0 - start[0]) * towards[1] - (y0 - start[1]) * towards[0]) / slant
        if r > 1e-9 and 0.0 <= share <= 1.0 and (best is None or r < best):
            best = r
    return (start[0] + best * towards[0], start[1] + best * towards[1]) if best else start


def is_sliver(cut: Cut) -> bool:
    """Whether a notch is on average thinner than what a person can saw; the gap at the wall takes it up."""
    xs, ys = [x for x, _ in cut.shape], [y for _, y in cut.shape]
    twice_area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(cut.shape, cut.shape[1:] + cut.shape[:1]))
    return cut.kind in ("notch", "line") and abs(twice_area) / 2 < SLIVER_MM * max(max(xs) - min(xs), max(ys) - min(ys))


def new_sides(plan: Plan, piece: Piece, cut: Cut) -> tuple[tuple[Point, Point], ...]:
    """The sides of a notch that become the piece's own outline: what is really sawn, in the notch's order. A side that
    lies along one of the piece's straight ends or edges is none: that saw line, or factory side, is there already."""
    frame = frame_of(plan, piece)
    lines = (frame.left, frame.right, frame.near, frame.far)
    sides = zip(cut.shape, cut.shape[1:] + cut.shape[:1])
    return tuple((a, b) for a, b in sides if dist(a, b) > 0.3 and on_outline(plan, piece,
                                                                             ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
                 and not any(_off(a, line) < 0.3 and _off(b, line) < 0.3 for line in lines))


def _off(point: Point, line: tuple[Point, Point]) -> float:
    """Distance of a point from an endless line."""
    (x0, y0), (x1, y1) = line
    return abs((x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)) / (dist(*line) or 1.0)


def on_outline(plan: Plan, piece: Piece, point: Point) -> bool:
    """Whether a place (board frame) lies on the piece's outline, to 0.2 mm."""
    ring = in_board(plan, piece)[0]
    return any(dist(point, _foot(point, side)) < 0.2 for side in zip(ring, ring[1:] + ring[:1]))


def sawn_path(plan: Plan, piece: Piece, cut: Cut) -> Ring:
    """The corners of the notch's new sides, one after another from left to right; () if they do not hang together."""
    sides = list(new_sides(plan, piece, cut))
    for turn in range(len(sides)):
        turned = sides[turn:] + sides[:turn]
        if all(a[1] == b[0] for a, b in zip(turned, turned[1:])):
            path = (turned[0][0], *(b for _, b in turned))
            return path if path[0][0] <= path[-1][0] else path[::-1]
    return ()


def _meet(first: tuple[Point, Point], second: tuple[Point, Point]) -> Point:
    (x0, y0), (x1, y1) = first
    (x2, y2), (x3, y3) = second
    dx, dy, ex, ey = x1 - x0, y1 - y0, x3 - x2, y3 - y2
    k = ((x2 - x0) * ey - (y2 - y0) * ex) / (dx * ey - dy * ex)
    return x0 + k * dx, y0 + k * dy
