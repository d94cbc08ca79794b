"""What the stretches of every row keep from the walls at their two ends, along the row: what a spacer has to hold.

Within the edge window an end lies where that spares a cut, not always at the gap aimed for.
"""
from __future__ import annotations

from dataclasses import replace

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from layout.plan import Row
from layout.frame import Frame

#: Gaps are told to a tenth of a millimetre; no wall is looked for further off, mm.
DIGITS, FURTHEST_MM = 1, 1000.0


def with_gaps(rows: tuple[Row, ...], ground: BaseGeometry, frame: Frame) -> tuple[Row, ...]:
    """The rows with the gaps at the ends of their stretches. ground: the floor wall to wall, in the plan."""
    walls = shapely.boundary(frame.shape_to_row(ground))
    ends = [piece for row in rows for run in row.runs for piece in (run.pieces[0], run.pieces[-1])]
    shapes = frame.shapes_to_row([Polygon(piece.outline_mm) for piece in ends])
    gaps = zip((_gap(shape, -1.0, walls) for shape in shapes[::2]), (_gap(shape, 1.0, walls) for shape in shapes[1::2]))
    return tuple(replace(row, runs=tuple(replace(run, gaps_mm=next(gaps)) for run in row.runs)) for row in rows)


def _gap(shape: Polygon, sense: float, walls: BaseGeometry) -> float:
    """From the middle of a piece's end to the wall; 0 where none is near."""
    left, near, right, far = shape.bounds
    middle = (near + far) / 2
    chord = shape.intersection(LineString([(left - 1.0, middle), (right + 1.0, middle)])).bounds
    end = chord[0] if sense < 0 else chord[2]
    met = walls.intersection(LineString([(end, middle), (end + sense * FURTHEST_MM, middle)]))
    return 0.0 if met.is_empty else round(float(met.distance(shapely.Point(end, middle))), DIGITS)
