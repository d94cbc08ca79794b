"""The outlines of all pieces: runs cut by their joints, then every piece trimmed to what a saw can make
(`layout.planning.fitting.trimming`), and looked at as a whole.

Row frame, mm. What the pieces cover together must stay within the floor less the least gap, and reach everywhere beyond
the greatest. Where a trimmed piece would break that (two walls at a flat angle, say) it is taken as it was cut.
"""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from layout.region.run_ends import Window
from layout.planning.pieces import Placement, cut_shapes
from layout.room import Board
from layout.region.rows import RunShape, Strip
from layout.planning.fitting.trimming import Blank, trimmed, untrimmed

#: Overlays are computed on this grid, mm; what is missing or too much by less than the area is rounding, mm2.
SAME_MM = 1e-6
#: A piece from the middle of a board is moved up by what rounding leaves, no more, mm.
MOST_CLOSED_MM = 10.0
GRID_MM, LEAST_AREA_MM2 = 1e-6, 0.5
NEAR_MM = 1.0
#: Gaps between neighbours narrower than twice this are rounding, mm.
HAIR_MM = 1e-5


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Limits:
    """What the pieces may cover at most and must at least (row frame), how far edges may move, the step of whole
    lengths, the saw."""

    widest: BaseGeometry
    least: BaseGeometry
    window: Window
    step_mm: float
    kerf_mm: float


def shape_pieces(runs: list[RunShape], strips: list[Strip], placements: list[Placement],
                 board_of: Callable[[int], Board], limits: Limits,) -> tuple[list[Placement], list[list[Polygon]]]:
    """(the placements with the stretch of board their pieces really take, the parts of each)."""
    cut = cut_shapes(runs, placements)
    made = [[_trim(part, placement, strips[runs[placement.run].row], board_of(placement.board), limits, trimmed)
             for part in parts] for placement, parts in zip(placements, cut)]
    for i, k in _astray(runs, strips, made, limits):
        made[i][k] = _trim(cut[i][k], placements[i], strips[runs[placements[i].run].row], board_of(placements[i].board),
                           limits, untrimmed)
    taking = [_taking(placement, parts, board_of(placement.board)) for placement, parts in zip(placements, made)]
    return _closed_up(taking, board_of, limits.kerf_mm), made


def _closed_up(placements: list[Placement], board_of: Callable[[int], Board], kerf_mm: float) -> list[Placement]:
    """The placements with what is cut from a board's middle moved up to the piece before it in the board."""
    found = list(placements)
    by_board: dict[int, list[int]] = {}
    for i in sorted(range(len(found)), key=lambda i: found[i].taken):
        by_board.setdefault(found[i].board, []).append(i)
    for number, uses in by_board.items():
        for before, i in zip(uses, uses[1:]):
            lo, hi = found[i].taken
            free = lo - found[before].taken[1] - kerf_mm
            if hi < board_of(number).length_mm - SAME_MM and 0.0 < free < MOST_CLOSED_MM:
                found[i] = replace(found[i], s0_mm=found[i].s0_mm + free)
    return found


def _trim(part: Polygon, placement: Placement, strip: Strip, board: Board, limits: Limits,
          how: Callable[[Polygon, Blank], Polygon]) -> Polygon:
    """A part of a placement trimmed in its board's frame."""
    shift = np.array([placement.s0_mm, strip.board_near_mm])
    blank = Blank(length_mm=board.length_mm, width_mm=board.width_mm, ends_mm=placement.taken, window=limits.window,
                  step_mm=limits.step_mm)
    there = shapely.transform(part, lambda corners: corners - shift)
    made = how(there, blank)
    return part if made is there else shapely.transform(made, lambda corners: corners + shift)


def _taking(placement: Placement, parts: list[Polygon], board: Board) -> Placement:
    """The placement with the stretch its parts take: slanted ends may have come out shorter. What is cut from a board's
    middle is cut from where its stock begins."""
    lo, hi = min(part.bounds[0] for part in parts), max(part.bounds[2] for part in parts)
    off = max(0.0, lo - placement.lo_mm)
    starts_run_of_one = off > SAME_MM and placement.taken[1] < board.length_mm - SAME_MM
    return replace(placement, lo_mm=max(placement.lo_mm, lo), hi_mm=min(placement.hi_mm, hi),
                   s0_mm=placement.s0_mm + off if starts_run_of_one else placement.s0_mm)


def _astray(runs: list[RunShape], strips: list[Strip], made: list[list[Polygon]],
            limits: Limits) -> list[tuple[int, int]]:
    """Which parts reach too near a wall, or leave floor bare that must be covered."""
    places = [(i, k) for i, parts in enumerate(made) for k in range(len(parts))]
    shapes = np.array([made[i][k] for i, k in places], dtype=object)
    union = shapely.union_all(shapes, grid_size=GRID_MM)
    rows = sorted({run.row for run in runs})
    left, _, right, _ = limits.widest.bounds
    area = shapely.union_all([shapely.box(left - 1.0, strips[row].near_mm, right + 1.0, strips[row].far_mm)
                              for row in rows])
    laid = shapely.union_all([run.shape for run in runs], grid_size=GRID_MM).buffer(NEAR_MM, join_style="mitre")
    bare = shapely.difference(limits.least.intersection(area).intersection(laid), union, grid_size=GRID_MM)
    beyond = shapely.difference(union, limits.widest, grid_size=GRID_MM)
    wrong = [part for shape in (bare, beyond) for part in shapely.get_parts(shape) if part.area > LEAST_AREA_MM2]
    if not wrong:
        return []
    touched = shapely.intersects(shapes, shapely.union_all(wrong).buffer(NEAR_MM))
    return [place for place, is_touched in zip(places, touched.tolist()) if is_touched]


def union_of(shapes: list[Polygon]) -> BaseGeometry:
    """The union of pieces that lie side by side, without the hairs rounding leaves between them."""
    grown = shapely.union_all(shapely.buffer(np.array(shapes, dtype=object), HAIR_MM, join_style="mitre"))
    return shapely.buffer(grown, -HAIR_MM, join_style="mitre").simplify(HAIR_MM / 10)
