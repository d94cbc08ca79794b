"""Pieces that cannot be tilted into the row before them: they lie in a tight place, and are glued and pushed in flat.

A board is joined along its near edge by tilting it, so nothing may stand over it: neither the frames of a doorway,
under which it must be pushed, nor walls on three sides, between which no tool reaches it (common practice, no source).
Row frame of the plan, mm.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from layout.facts.notes import TightPlace
from layout.plan import Row
from layout.region.casings import opening_in
from layout.frame import Frame
from layout.room import Casing, Door, Room

#: A piece reaches under a frame if so much of it does, mm2; an edge of it lies there if it is this near, mm.
LEAST_MM2, AT_EDGE_MM = 20.0, 1.0
#: Rows touch where they share so much of a seam, mm.
LEAST_SEAM_MM = 2.0
#: A piece's shape in the row frame, and its bounds.
_Laid = tuple[Polygon, tuple[float, ...]]


def in_tight_places(rows: tuple[Row, ...], room: Room, frame: Frame, board_mm: float,
                    lay: str) -> tuple[Row, ...]:
    """The rows with those pieces marked that cannot be tilted in. board_mm: length of a board; a stretch between
    two walls that is shorter, with a wall behind it, is a recess."""
    frames = shapely.transform(_frames(room), frame.to_row)
    pieces = [piece for row in rows for piece in row.pieces]
    shapes = frame.shapes_to_row([Polygon(piece.outline_mm) for piece in pieces])
    laid = {piece.id: (shape, tuple(bounds))
            for piece, shape, bounds in zip(pieces, shapes, shapely.bounds(shapes).tolist(), strict=True)}
    return tuple(_marked(rows, k, frames, laid, board_mm, lay) for k in range(len(rows)))


def _marked(rows: tuple[Row, ...], k: int, frames: BaseGeometry, laid: dict[str, _Laid], board_mm: float,
            lay: str) -> Row:
    before, after = ([laid[piece.id][1] for piece in rows[other].pieces]
                     if 0 <= other < len(rows) else [] for other in (k - 1, k + 1))
    runs = []
    for run in rows[k].runs:
        last = run.pieces[-1 if lay == "left-to-right" else 0]
        ends = [laid[piece.id][1] for piece in run.pieces]
        walled = max(end[2] for end in ends) - min(end[0] for end in ends) < board_mm and not any(
            _touches(end, after) for end in ends)
        made = []
        for piece in run.pieces:
            shape, bounds = laid[piece.id]
            is_joined = _touches(bounds, before)
            under = _sides(shape, frames) if is_joined and frames.intersects(shape) else frozenset()
            made.append(replace(piece, flat=_why(under, is_last=piece is last, is_walled=walled and is_joined)))
        runs.append(replace(run, pieces=tuple(made)))
    return replace(rows[k], runs=tuple(runs))


def _why(under: frozenset[str], *, is_last: bool, is_walled: bool) -> TightPlace | None:
    """Why a piece with these sides under a frame is pushed in flat; None if it can be tilted."""
    if {"left", "right"} <= under:
        return "between casings"
    if under & {"near", "far"} or (under and is_last):
        return "under a casing"
    return "in a recess" if is_walled else None


def _sides(shape: Polygon, frames: BaseGeometry) -> frozenset[str]:
    """Sides of a piece that lie under a frame."""
    left, near, right, far = shape.bounds
    found: set[str] = set()
    for part in shapely.get_parts(shape.intersection(frames)):
        if part.area > LEAST_MM2:
            lo, up, hi, down = part.bounds
            found |= {side for side, off in (("left", lo - left), ("near", up - near), ("right", right - hi),
                                             ("far", far - down)) if off < AT_EDGE_MM}
    return frozenset(found)


def _touches(bounds: tuple[float, ...], row: Sequence[tuple[float, ...]]) -> bool:
    """Whether a piece lies along pieces of a row beside it."""
    return any(min(bounds[2], other[2]) - max(bounds[0], other[0]) > LEAST_SEAM_MM
               and min(abs(bounds[1] - other[3]), abs(other[1] - bounds[3])) < AT_EDGE_MM for other in row)


def _frames(room: Room) -> BaseGeometry:
    """What stands over the floor at undercut door frames, in the plan: beside the opening as deep as it is, and the
    casing's legs in the room."""
    return shapely.union_all([part for door in room.doors if door.casing is not None
                              for part in _legs(room, door, door.casing)])


def _legs(room: Room, door: Door, casing: Casing) -> list[Polygon]:
    corner, onwards, start, end = opening_in(room, door)
    out = np.array([onwards[1], -onwards[0]])
    return [Polygon([corner + along * onwards + off * out
                     for along, off in ((a, -casing.thickness_mm), (b, -casing.thickness_mm), (b, door.reveal_mm),
                                        (a, door.reveal_mm))])
            for a, b in ((start - casing.width_mm, start), (end, end + casing.width_mm))]
