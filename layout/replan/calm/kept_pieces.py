"""Pieces of the plan in force that still fit the room as now known: they stay as they are printed.

Row frame, mm. A piece fits if its board lies where it lay, it stays within what boards may cover, and it covers what
the piece planned in its stead must cover. So the edge window takes up what a wall stands off, and a page is printed
again only where a cut would leave it.
"""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import shapely
from shapely.geometry import Polygon

from layout.frame import Frame
from layout.planning.pieces import Placement
from layout.plan import Piece
from layout.planning.fitting.shaping import GRID_MM, LEAST_AREA_MM2, Limits

#: A board that lies within this of where it lay has not moved, mm.
SAME_PLACE_MM = 1e-3


def kept_as_before(placements: list[Placement], parts: list[list[Polygon]], ids: list[list[str]],
                   before: Mapping[str, Piece], frame: Frame, limits: Limits) -> tuple[list[Placement],
                                                                                       list[list[Polygon]]]:
    """(placements, parts) with every piece that still fits as it was."""
    kept_places, kept_parts = [], []
    for placement, shapes, names in zip(placements, parts, ids):
        found = [_as_before(placement, shape, before.get(name), frame, limits) for shape, name in zip(shapes, names)]
        olds = [old for old in found if old is not None]
        if len(olds) < len(shapes):
            kept_places.append(placement)
            kept_parts.append(shapes)
            continue
        lo, hi = min(old.bounds[0] for old in olds), max(old.bounds[2] for old in olds)
        kept_places.append(replace(placement, lo_mm=lo, hi_mm=hi))
        kept_parts.append(olds)
    return kept_places, kept_parts


def _as_before(placement: Placement, shape: Polygon, piece: Piece | None, frame: Frame,
               limits: Limits) -> Polygon | None:
    if piece is None:
        return None
    old = frame.shape_to_row(Polygon(piece.outline_mm, piece.holes_mm))
    moved = abs(old.bounds[0] - piece.from_mm - placement.s0_mm) > SAME_PLACE_MM
    if moved and ("left" in piece.keeps or "right" in piece.keeps):
        return None
    beyond = shapely.difference(old, limits.widest, grid_size=GRID_MM).area
    bare = shapely.difference(shape.intersection(limits.least), old, grid_size=GRID_MM).area
    return old if max(beyond, bare) < LEAST_AREA_MM2 else None
