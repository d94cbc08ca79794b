"""What the reader of a finished plan must know or decide, found as facts."""
from __future__ import annotations

from dataclasses import replace
from math import ceil

import shapely
from shapely.geometry import Polygon

from layout.facts.notes import (
    BareAlcove, BeadingNarrow, CasingUndercut, DoorwayBlocked, DoorwayLaid, DoorwayOpen, GapNarrow, InFields, InParts,
    LaidFlat, LongFloor, LooseSurvey, Note, PipeClear, StripsLeftOut, TightPlace)
from layout.region.doorways import TUCK_MM, open_floor, undercut_mm
from layout.region.gap import LAP_MM, gap_rule, longest_run_mm, shrink_mm
from layout.region.inset import floor_shape, lost_alcoves
from layout.plan import Doorway, LeftOut, Plan, Run
from layout.room import Board, Casing, Door, Room, Settled

LONG_RUN_MM = 8000.0
LOOSE_SURVEY_MM = 2.0


def noted(plan: Plan, room: Room, wishes: Settled) -> Plan:
    """The plan with everything its reader must know or decide, found in its own pieces."""
    cover = [Polygon(part.outline, part.holes) for part in plan.cover]
    notes = [*_about_cover(plan, room, cover), *_about_left_out(plan), *_about_beading(room, wishes, plan.left_out),
             *_about_size(plan, room, wishes, cover)]
    ways, blocked = {way.door: way for way in plan.doorways}, open_floor(room, plan.gap_mm).blocked
    for door in room.doors:
        notes += _about_door(door, plan.board, wishes, ways.get(door.name), door in blocked)
    notes += _about_tight_places(plan)
    notes += [PipeClear(pipe=hole.pipe) for hole in plan.holes if not hole.pieces]
    if room.length_sd_mm > LOOSE_SURVEY_MM:
        notes.append(LooseSurvey(pm95_mm=2 * room.length_sd_mm))
    return replace(plan, notes=tuple(notes))


def length_of(plan: Plan, run: Run) -> float:
    """How long a run is along the rows, mm."""
    along = [plan.to_row_frame(point)[0] for piece in run.pieces for point in piece.outline_mm]
    return max(along) - min(along)


def beading_least_mm(room: Room, wishes: Settled, left_out: tuple[LeftOut, ...]) -> float:
    """How wide beading must cover the floor: widest gap, winter shrinkage and 2 mm of lap (trade sheet, section 7),
    mm."""
    widest = wishes.gap_mm + max((strip.width_mm for strip in left_out), default=0.0)
    return widest + shrink_mm(longest_run_mm(room, wishes.longest_mm), wishes.climate) + LAP_MM


def _about_cover(plan: Plan, room: Room, cover: list[Polygon]) -> list[Note]:
    notes: list[Note] = []
    parts = len(cover) - len(plan.profiles)
    if parts > 1:
        notes.append(InParts(parts=parts))
    for part in lost_alcoves(floor_shape(room), cover, plan.gap_mm):
        x, y = part.representative_point().coords[0]
        notes.append(BareAlcove(at_mm=(x, y), area_mm2=part.area, gap_mm=plan.gap_mm))
    return notes


def _about_left_out(plan: Plan) -> list[Note]:
    if not plan.left_out:
        return []
    widest = max(plan.left_out, key=lambda strip: strip.width_mm)
    x, y = (sum(values) / len(values) for values in zip(*widest.outline))
    return [StripsLeftOut(strips=len(plan.left_out), widest_mm=widest.width_mm, at_mm=(x, y), gap_mm=plan.gap_mm)]


def _about_beading(room: Room, wishes: Settled, left_out: tuple[LeftOut, ...]) -> list[Note]:
    width, least = wishes.beading.width_mm, beading_least_mm(room, wishes, left_out)
    return [] if width >= ceil(least) else [BeadingNarrow(width_mm=width, least_mm=least)]


def _about_tight_places(plan: Plan) -> list[Note]:
    flat: dict[TightPlace, list[str]] = {}
    for piece in plan.pieces:
        if piece.flat:
            flat.setdefault(piece.flat, []).append(piece.id)
    return [LaidFlat(pieces=tuple(ids), why=why) for why, ids in flat.items()]


def _about_size(plan: Plan, room: Room, wishes: Settled, cover: list[Polygon]) -> list[Note]:
    run, notes = longest_run_mm(room, wishes.longest_mm), list[Note]()
    if wishes.climate is None and wishes.gap_mm < gap_rule(run) - 1e-9:
        notes.append(GapNarrow(gap_mm=wishes.gap_mm, run_mm=run, asked_mm=gap_rule(run)))
    across = shapely.union_all(plan.frame.shape_to_row(shapely.union_all(cover))).bounds
    longest = max(across[3] - across[1], *(length_of(plan, run) for row in plan.rows for run in row.runs))
    if plan.profiles:
        notes.append(InFields(longest_mm=wishes.longest_mm, fields=len(cover)))
    elif longest > LONG_RUN_MM:
        notes.append(LongFloor(long_mm=longest))
    return notes


def _about_door(door: Door, board: Board, wishes: Settled, way: Doorway | None, blocked: bool) -> list[Note]:
    note: Note
    if way is not None:
        note = DoorwayLaid(door=door.name, depth_mm=way.depth_mm, gap_mm=wishes.gap_mm)
    elif blocked:
        note = DoorwayBlocked(door=door.name, depth_mm=door.reveal_mm)
    else:
        note = DoorwayOpen(door=door.name)
    return [note] if door.casing is None else [note, _undercut(door, door.casing, board, wishes, way is not None)]


def _undercut(door: Door, casing: Casing, board: Board, wishes: Settled, laid: bool) -> CasingUndercut:
    layer = wishes.underlay.thickness_mm if wishes.underlay is not None else 0.0
    return CasingUndercut(door=door.name, high_mm=undercut_mm(board, wishes.underlay), board_mm=board.thickness_mm,
                          underlay_mm=layer, gap_mm=wishes.gap_mm, tuck_mm=TUCK_MM,
                          lap_mm=casing.thickness_mm - wishes.gap_mm, laid=laid)
