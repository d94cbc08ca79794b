"""Places of the plan on paper: the row frame (s right, t down) and each piece in its board's frame.

The row frame is already the paper's way round: the start wall at the top, rows reading like lines of text.
"""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Offcut, Piece, Plan, Point, Ring, Row
from printpack.drawing.sheet import Box


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A drawing's scale (paper mm per mm) and the paper place of (s, t) = (0, 0)."""

    scale: float
    x_mm: float
    y_mm: float

    def at(self, point: Point) -> Point:
        """Paper place of a place (s, t)."""
        return self.x_mm + self.scale * point[0], self.y_mm + self.scale * point[1]

    def ring(self, ring: Ring) -> Ring:
        """Paper places of a ring."""
        return tuple(self.at(p) for p in ring)


def box_of(*rings: Ring) -> Box:
    """(left, top, right, bottom) of all the rings' corners."""
    xs = [p[0] for ring in rings for p in ring]
    ys = [p[1] for ring in rings for p in ring]
    return min(xs), min(ys), max(xs), max(ys)


def fitted(box: Box, left: float, top: float, width: float, height: float) -> View:
    """The view that shows `box` as large as it goes, in the middle of a paper rectangle."""
    scale = min(width / (box[2] - box[0]), height / (box[3] - box[1]))
    return View(scale=scale, x_mm=left + (width - scale * (box[0] + box[2])) / 2,
                y_mm=top + (height - scale * (box[1] + box[3])) / 2)


def in_rows(plan: Plan, ring: Ring) -> Ring:
    """A ring of plan points in the row frame."""
    return tuple(plan.to_row_frame(p) for p in ring)


def floor_rings(plan: Plan) -> tuple[Ring, ...]:
    """The floor's outline and holes in the row frame."""
    return tuple(in_rows(plan, ring) for ring in (plan.floor.outline, *plan.floor.holes))


def board_shift(plan: Plan, piece: Piece) -> Point:
    """What is added to (s, t) to come to the piece's board frame."""
    left, near, _, _ = box_of(in_rows(plan, piece.outline_mm))
    return piece.from_mm - left, piece.near_mm - near


def in_board(plan: Plan, piece: Piece) -> tuple[Ring, ...]:
    """The piece's outline and holes in its board's frame."""
    ds, dt = board_shift(plan, piece)
    return tuple(tuple((s + ds, t + dt) for s, t in in_rows(plan, ring))
                 for ring in (piece.outline_mm, *piece.holes_mm))


def offcut_of(plan: Plan, piece: Piece) -> Offcut | None:
    """The offcut a piece is cut from; None where it takes a new board or a piece at hand."""
    return next((offcut for offcut in plan.offcuts if offcut.label == piece.takes), None) if piece.takes else None


def piece_called(plan: Plan, name: str) -> Piece | None:
    """A piece by its id "row.number"; None if the plan has none. Looks through its row only."""
    number = name.partition(".")[0]
    return next((piece for row in plan.rows if str(row.number) == number for piece in row.pieces if piece.id == name),
                None)


def stock_of(plan: Plan, piece: Piece) -> Box:
    """(from, near, to, far) of what the piece is cut from: a whole board, the offcut it takes or a piece at hand,
    board frame."""
    if (offcut := offcut_of(plan, piece)) is not None:
        return offcut.from_mm, offcut.near_mm, offcut.to_mm, offcut.far_mm
    for own in plan.owned if piece.takes else ():
        if own.label == piece.takes:
            start = own.from_mm if own.from_mm is not None else (
                0.0 if "left" in own.keeps else plan.board.length_mm - own.length_mm)
            return start, 0.0, start + own.length_mm, plan.board.width_mm
    return 0.0, 0.0, plan.board_of(piece.board).length_mm, plan.board.width_mm


def length_of(piece: Piece) -> float:
    """Greatest length of a piece, mm."""
    return piece.to_mm - piece.from_mm


def width_of(piece: Piece) -> float:
    """Greatest width of a piece, mm."""
    return piece.far_mm - piece.near_mm


def row_width(row: Row) -> float:
    """Width of a row as laid: that of its widest piece, mm."""
    return max(width_of(piece) for piece in row.pieces)


def doorway_of(plan: Plan, row: Row) -> str:
    """The door in whose opening the whole row lies; "" if it lies in the room."""
    left, near, right, far = box_of(*(in_rows(plan, piece.outline_mm) for piece in row.pieces))
    for way in plan.doorways:
        west, north, east, south = box_of(in_rows(plan, way.outline))
        reach = plan.gap_mm + 1.0
        if west - reach < left and right < east + reach and north - reach < near and far < south + reach:
            return way.door
    return ""


def is_first_in_room(plan: Plan, row: Row) -> bool:
    """Whether a row is the first along the start wall; rows in a doorway before it do not count."""
    before = plan.rows[:plan.rows.index(row)]
    return not doorway_of(plan, row) and all(doorway_of(plan, other) for other in before)


def label_spot(ring: Ring, wide: float, tall: float) -> Point | None:
    """The middle of a place inside the ring where a label of that size stands clear of its sides; None if there is
    none.

    The ring's middle line is tried first, from its middle outwards, then a little above and below it.
    """
    left, top, right, bottom = box_of(ring)
    if right - left < wide or bottom - top < tall:
        return None
    for down in (0.5, 0.4, 0.6, 0.3, 0.7):
        for across in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.15, 0.85):
            x, y = left + across * (right - left), top + down * (bottom - top)
            frame = [(x + i * wide / 2, y + j * tall / 2) for i in (-1, -0.5, 0, 0.5, 1) for j in (-1, 1)]
            if all(within(spot, ring) for spot in frame):
                return x, y
    return None


def within(point: Point, ring: Ring) -> bool:
    """Whether a point lies in a ring: an odd number of its sides lies to the right of it."""
    crossed = False
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1]):
        if (y0 <= point[1]) != (y1 <= point[1]):
            crossed ^= point[0] < x0 + (point[1] - y0) * (x1 - x0) / (y1 - y0)
    return crossed
