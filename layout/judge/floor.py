"""The judge on the floor: gaps, cover, and that the pieces cover it once."""
from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from capture.language.messages import lazy_gettext
from layout.judge.openings import bands, opened
from layout.judge.fault import Fault
from layout.judge.piece_geometry import GRID_MM, Laid, area_mm2
from layout.plan import Plan
from layout.room import Room

WOOD_MM = 1e-6
PAIR_MM2, WHOLE_MM2 = 1.0, 100.0
#: Two pieces whose boxes share no more than this share nothing, mm2; a thousand such are nothing either.
SHARED_MM2 = 1e-3
#: A mitred corner may be cut back by up to this many gaps from the corner of the wall.
CORNER_REACH = 6.0


def check_floor(plan: Plan, room: Room, laid: tuple[Laid, ...]) -> list[Fault]:
    """Faults of the floor polygon, the cover, and how pieces and rows fill it."""
    return [*_floor_is_room(plan, room), *_gaps(plan, room), *_covering(plan, laid), *_rows(plan, laid),
            *_ids(plan, laid)]


def _floor_is_room(plan: Plan, room: Room) -> list[Fault]:
    """The floor is the room with the doorways the plan lists."""
    mine = opened(plan, room).difference(unary_union([Polygon(ring) for _, ring in room.islands]))
    # Islands may touch walls and one another but for rounding; a polygon with such holes is none that overlays can
    # take.
    said = Polygon(plan.floor.outline).difference(unary_union([Polygon(ring) for ring in plan.floor.holes]))
    off = area_mm2(shapely.symmetric_difference, said, mine, most=PAIR_MM2)
    return [Fault(slug="floor", where="floor", amount=off,
                  says=lazy_gettext("the plan's floor is not the room"))] if off > PAIR_MM2 else []


def _gaps(plan: Plan, room: Room) -> list[Fault]:
    """Nothing nearer to a wall or island than the gap, and nothing left out that the gap does not explain."""
    outline = opened(plan, room)
    edges = [outline.boundary, *(Polygon(ring).exterior for _, ring in room.islands)]
    walls = shapely.union_all(edges)
    faults = []
    cover = _cover(plan)
    for i, part in enumerate(plan.cover):
        short = plan.gap_least_mm - Polygon(part.outline, part.holes).distance(walls)
        if short > WOOD_MM * 10:
            faults.append(Fault(slug="gap-narrow", where=f"cover {i + 1}", amount=short,
                                says=lazy_gettext("the cover comes too near a wall")))
    free = outline.difference(unary_union([Polygon(ring) for _, ring in room.islands])) if room.islands else outline
    beyond = area_mm2(shapely.difference, cover, free, most=PAIR_MM2)
    if beyond > PAIR_MM2:
        faults.append(Fault(slug="gap-narrow", where="cover", amount=beyond,
                            says=lazy_gettext("the cover reaches outside the floor")))
    corners = MultiPoint(np.concatenate([shapely.get_coordinates(edge) for edge in edges])).buffer(
        CORNER_REACH * plan.gap_most_mm + 1e-6
    )
    parted = [band.buffer(plan.gap_most_mm - plan.gap_least_mm) for band in bands(plan)]
    could = free.buffer(-plan.gap_most_mm - 1e-6).difference(unary_union([cover, *parted,
                                                                          *(Polygon(strip.outline)
                                                                            for strip in plan.left_out)]))
    for part in shapely.get_parts(could):
        left_out = part.difference(corners).area
        if left_out > PAIR_MM2 and part.area > WHOLE_MM2:
            faults.append(Fault(slug="gap-wide", where="cover", amount=part.area,
                                says=lazy_gettext("floor beyond the gap is left out of the cover")))
    return faults


def _covering(plan: Plan, laid: tuple[Laid, ...]) -> list[Fault]:
    """Every point of the cover covered once: pieces inside the cover, no two overlapping, areas adding up."""
    faults, cover = [], _cover(plan)
    shapely.prepare(cover)
    shapes = np.array([Polygon(piece.outline_mm, piece.holes_mm) for piece in plan.pieces], dtype=object)
    valid = shapely.is_valid(shapes)
    sound = valid & np.array([shape.exterior.is_ccw for shape in shapes], dtype=bool)
    faults += [Fault(slug="extent", where=piece.id, amount=shape.area,
                     says=lazy_gettext("the outline crosses itself or runs clockwise"))
               for piece, shape, is_sound in zip(plan.pieces, shapes, sound) if not is_sound]
    # Without a grid, overlays of edges that all but coincide can return the whole piece, or nothing.
    beyond = np.zeros(len(shapes))
    at_edge = sound & ~shapely.contains_properly(cover, shapes)
    beyond[at_edge] = shapely.area(shapely.difference(shapes[at_edge], cover, grid_size=GRID_MM))
    faults += [Fault(slug="outside-cover", where=piece.id, amount=float(area),
                     says=lazy_gettext("the piece reaches beyond the cover"))
                for piece, area in zip(plan.pieces, beyond)
               if area > PAIR_MM2]
    twice, overlaps = _overlaps([one for one, is_valid in zip(laid, valid) if is_valid])
    bare = cover.area - float(shapely.area(shapes[sound]).sum() - beyond.sum()) + twice
    if abs(bare) > WHOLE_MM2:
        overlaps.append(Fault(slug="uncovered", where="cover", amount=bare,
                              says=lazy_gettext("part of the cover has no piece")))
    return faults + overlaps


def _overlaps(laid: list[Laid]) -> tuple[float, list[Fault]]:
    """(area that two pieces cover both, mm2; the pairs that do). Pieces lie square in the row frame, so most
    neighbours' boxes share nothing."""
    shapes = np.array([one.shape for one in laid], dtype=object)
    left, near, right, far = shapely.bounds(shapes).T
    first, second = shapely.STRtree(shapes).query(shapes)
    share = ((np.minimum(right[first], right[second]) - np.maximum(left[first], left[second]))
             * (np.minimum(far[first], far[second]) - np.maximum(near[first], near[second])))
    twice, faults = 0.0, []
    for i, j in zip(*(side[(first < second) & (share > SHARED_MM2)].tolist() for side in (first, second))):
        common = area_mm2(shapely.intersection, shapes[i], shapes[j], most=PAIR_MM2)
        twice += common
        if common > PAIR_MM2:
            where = f"{laid[i].piece.id}/{laid[j].piece.id}"
            faults.append(Fault(slug="overlap", where=where, amount=common,
                                says=lazy_gettext("two pieces overlap on the floor")))
    return twice, faults


def _rows(plan: Plan, laid: tuple[Laid, ...]) -> list[Fault]:
    """Strips follow one another, none wider than a board, and every piece lies in its row's strip."""
    faults = []
    for k, row in enumerate(plan.rows):
        wide = row.far_mm - row.near_mm
        # Where no board lies across the whole width (a floor in parts), whole strips may be missing between two rows.
        missing = 0.0 if k == 0 else (row.near_mm - plan.rows[k - 1].far_mm) / plan.board.width_mm
        follows = missing > -WOOD_MM and abs(missing - round(missing)) < WOOD_MM
        middle = 0 < k < len(plan.rows) - 1
        if not 0 < wide <= plan.board.width_mm + WOOD_MM or not follows or (middle
                                                                            and abs(wide - plan.board.width_mm)
                                                                            > WOOD_MM):
            faults.append(Fault(slug="row-strip", where=f"row {row.number}", amount=wide,
                                says=lazy_gettext("the row's strip is not where it must be")))
    strips = {row.number: row for row in plan.rows}
    for one in laid:
        _, near, _, far = one.shape.bounds
        over = max(strips[one.row].near_mm - near, far - strips[one.row].far_mm)
        if over > 1e-3:
            faults.append(Fault(slug="row-strip", where=one.piece.id, amount=over,
                                says=lazy_gettext("the piece leaves its row's strip")))
    return faults


def _ids(plan: Plan, laid: tuple[Laid, ...]) -> list[Fault]:
    """Rows numbered from 1, pieces "row.number" from the left."""
    faults = [Fault(slug="piece-id", where=f"row {row.number}", amount=k + 1.0,
                    says=lazy_gettext("rows are not numbered in order"))
              for k, row in enumerate(plan.rows) if row.number != k + 1]
    for row in plan.rows:
        here = [one for one in laid if one.row == row.number]
        starts = {run.pieces[0].id for run in row.runs}
        for k, one in enumerate(here):
            # Runs may lie beside one another (a row split lengthwise by an island); within a run pieces go from left to
            # right.
            in_order = one.piece.id in starts or one.shape.bounds[0] >= here[k - 1].shape.bounds[0] - 1e-3
            if one.piece.id != f"{row.number}.{k + 1}" or not in_order:
                faults.append(Fault(slug="piece-id", where=one.piece.id, amount=k + 1.0,
                                    says=lazy_gettext("the piece's number is not its place in the row")))
    return faults


def _cover(plan: Plan) -> BaseGeometry:
    return unary_union([Polygon(part.outline, part.holes) for part in plan.cover])
