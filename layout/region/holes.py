"""Pipe holes: pipe diameter and a gap all round, cut from every piece the hole touches."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from layout.frame import Frame
from layout.plan import Cut, Hole, Piece, Point, Row, Run
from layout.room import Pipe
from layout.region.rows import Strip

#: A hole must bite at least this much out of a piece to be cut from it, mm2.
LEAST_BITE_MM2 = 1.0


def bore(rows: tuple[Row, ...], strips: list[Strip], pipes: tuple[Pipe, ...], gap_mm: float, frame: Frame,
         ) -> tuple[tuple[Row, ...], tuple[Hole, ...]]:
    """The rows with hole cuts added, and the list of holes (a hole that touches no piece has no pieces)."""
    if not pipes:
        return rows, ()
    touched: dict[str, list[str]] = {pipe.name: [] for pipe in pipes}
    bored = tuple(_bore_row(row, strip, pipes, gap_mm, frame, touched) for row, strip in zip(rows, strips))
    holes = tuple(Hole(pipe=pipe.name, centre_mm=(float(pipe.centre_mm[0]), float(pipe.centre_mm[1])),
                       pipe_mm=pipe.diameter_mm, diameter_mm=pipe.diameter_mm + 2 * gap_mm,
                       pieces=tuple(touched[pipe.name])) for pipe in pipes)
    return bored, holes


def _bore_row(row: Row, strip: Strip, pipes: tuple[Pipe, ...], gap_mm: float, frame: Frame,
              touched: dict[str, list[str]]) -> Row:
    runs = []
    for run in row.runs:
        pieces = []
        for piece in run.pieces:
            shape = Polygon(piece.outline_mm, piece.holes_mm)
            here = [pipe for pipe in pipes if _bites(shape, pipe, gap_mm)]
            for pipe in here:
                touched[pipe.name].append(piece.id)
            open_to = _wall_sides(row, run, piece)
            cuts = tuple(_hole_cut(piece, strip, pipe, gap_mm, frame, open_to) for pipe in here)
            pieces.append(replace(piece, cuts=(*piece.cuts, *cuts)) if cuts else piece)
        runs.append(Run(pieces=tuple(pieces)))
    return replace(row, runs=tuple(runs))


def with_wedges(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """The rows with every hole's wedge towards the side it has by its place: of rows from a file, which may tell
    another side or none."""
    return tuple(replace(row, runs=tuple(replace(run, pieces=tuple(_wedged(row, run, piece) for piece in run.pieces))
                                         for run in row.runs)) for row in rows)


def _wedged(row: Row, run: Run, piece: Piece) -> Piece:
    if not any(cut.kind == "hole" for cut in piece.cuts):
        return piece
    open_to = _wall_sides(row, run, piece)
    return replace(piece, cuts=tuple(replace(cut, kept=_wedge_to(piece, cut.centre, cut.diameter, open_to))
                                     if cut.kind == "hole" else cut for cut in piece.cuts))


def _bites(shape: Polygon, pipe: Pipe, gap_mm: float) -> bool:
    radius = pipe.diameter_mm / 2 + gap_mm
    spot = Spot(*map(float, pipe.centre_mm))
    return shape.distance(spot) < radius and shape.intersection(spot.buffer(radius)).area > LEAST_BITE_MM2


def _hole_cut(piece: Piece, strip: Strip, pipe: Pipe, gap_mm: float, frame: Frame, open_to: tuple[str, ...]) -> Cut:
    s, t = frame.to_row(np.array([pipe.centre_mm], dtype=np.float64))[0]
    left = frame.to_row(np.asarray(piece.outline_mm))[:, 0].min()
    x, y, diameter = float(s - left + piece.from_mm), float(t - strip.board_near_mm), pipe.diameter_mm + 2 * gap_mm
    return Cut(kind="hole", centre=(x, y), diameter=diameter, pipe=pipe.name,
               kept=_wedge_to(piece, (x, y), diameter, open_to))


def _wedge_to(piece: Piece, centre: Point, diameter: float, open_to: tuple[str, ...]) -> str:
    """The side that the two wedge cuts of a hole run to; "" for one that runs over the piece's edge."""
    x, y = centre
    away = {"left": x - piece.from_mm, "right": piece.to_mm - x, "near": y - piece.near_mm, "far": piece.far_mm - y}
    return "" if min(away.values()) < diameter / 2 else min(open_to or tuple(away), key=lambda side: away[side])


def _wall_sides(row: Row, run: Run, piece: Piece) -> tuple[str, ...]:
    """The sides of a piece where no other piece joins: there the wedge behind a pipe can be taken out and glued
    back."""
    sides = {"left": piece.id == run.pieces[0].id, "right": piece.id == run.pieces[-1].id,
             "near": row.number == 1 or "near" not in piece.keeps, "far": "far" not in piece.keeps}
    return tuple(side for side, is_open in sides.items() if is_open)
