"""How the work can hurt, and what the reader must know or decide.

Every caution and warning names its rule or source in short. "Common practice" means no source is known to us; HSE is the
British safety regulator; EN and BS numbers are standards quoted second-hand.
"""
from __future__ import annotations

from math import ceil

import numpy as np
import shapely
from shapely.geometry import Polygon

from layout.plan import Hole, Relaxed, Row
from layout.room import Board, Door, Room, Wishes

LONG_RUN_MM, PROFILE_RUN_MM = 8000.0, 10000.0
GAP_PER_METRE, LEAST_GAP_MM = 1.5, 8.0
UNDERCUT_CLEARANCE_MM = 1.0
HOLE_TO_JOINT_MM = 30.0
LOOSE_SURVEY_MM = 2.0
FRAME_TUCK_MM = 10.0

CAUTIONS = (
    "Dust: cut outdoors or with extraction, wear an FFP2 mask or better and vacuum instead of sweeping (HSE wood dust limit 3 mg/m3 for "
    "mixtures; mask class common practice).",
    "Eyes: wear safety glasses for every cut; chips of the hard face are sharp (EN 166).",
    "Ears: a mitre or circular saw is 95 to 105 dB(A) at the ear; wear muffs (Noise Regulations 2005, action at 80 and 85 dB(A)).",
    "Saw: guard working, plug out before touching the blade, work clamped, no gloves near a spinning blade (HSE and OSHA general advice).",
    "Back and knees: a pack weighs 11 to 23 kg - carry it with two people or split it; kneel on pads and change posture every 20 to 30 "
    "minutes (HSE).",
    "Old floors: vinyl or thermoplastic tiles and black adhesive (UK before 2000, US before the 1980s) may hold asbestos. Do not sand, "
    "scrape or drill; lay over a sound floor or have it tested (US EPA advice).",
    "Old paint on skirting and frames may hold lead (US homes before 1978, UK before 1992): keep dust wet and children out (US EPA advice).",
    "Before any screw, nail or drill goes down: find cables and pipes, power off. Gas and heating pipes are for registered fitters.",
    "Fire doors and flat entrance doors are never trimmed or undercut: ask the landlord or building control (BS 8214).",
    "Damp: a film does not cure a wet slab. Screed at most 2.0 CM-% (calcium sulphate 0.5), timber subfloor at most 12 % (maker leaflets).",
    "The board maker's leaflet overrules this plan wherever the two differ.",
)


def gap_rule(run_mm: float) -> float:
    """Gap the rule asks for at each side: 1.5 mm a metre of run, at least 8 (European trade laying guides)."""
    return max(LEAST_GAP_MM, GAP_PER_METRE * run_mm / 1000.0)


def warnings_for(room: Room, board: Board, wishes: Wishes, cover: list[Polygon], lost: list[Polygon], rows: tuple[Row, ...],
                 holes: tuple[Hole, ...], extents_mm: tuple[float, float], relaxed: tuple[Relaxed, ...]) -> tuple[str, ...]:
    """What the reader must know or decide. extents_mm: longest run along the rows and depth across them."""
    found = [rule.says for rule in relaxed]
    found += _about_cover(cover, lost, wishes)
    found += _about_size(extents_mm, wishes)
    for door in room.doors:
        found += _about_door(door, board, wishes)
    found += _about_holes(rows, holes)
    if room.length_sd_mm > LOOSE_SURVEY_MM:
        found.append(f"Lengths of this survey are good to about {2 * room.length_sd_mm:.0f} mm (95 %); a piece must fit within 2 or 3 mm, so measure "
                     "each last piece in place before cutting.")
    return tuple(found)


def _about_cover(cover: list[Polygon], lost: list[Polygon], wishes: Wishes) -> list[str]:
    found = []
    if len(cover) > 1:
        found.append(f"Less its gap the floor is in {len(cover)} parts; each is laid by itself, on the same rows.")
    for part in lost:
        x, y = part.representative_point().coords[0]
        found.append(f"A part of the floor near ({x:.0f}, {y:.0f}) mm, {part.area / 100:.0f} cm2, is too narrow to take boards with a gap of "
                     f"{wishes.gap_mm:g} mm on both sides; cover it with a wider skirting or a strip fixed to the wall.")
    return found


def _about_size(extents_mm: tuple[float, float], wishes: Wishes) -> list[str]:
    longest, found = max(extents_mm), []
    asked = gap_rule(longest)
    if wishes.gap_mm < asked - 1e-9:
        found.append(f"The gap is {wishes.gap_mm:g} mm; for a floor {longest / 1000:.1f} m long the rule of 1.5 mm a metre, at least 8, asks for "
                     f"{ceil(asked * 2) / 2:g} mm (European trade laying guides). Use the wider gap unless the board's leaflet allows less.")
    if longest > PROFILE_RUN_MM:
        found.append(f"The floor is {longest / 1000:.1f} m long in one piece; beyond 10 m it needs an expansion profile unless the board's leaflet "
                     "allows more (trade habit; some allow 13 m). This plan does not place one.")
    elif longest > LONG_RUN_MM:
        found.append(f"The floor is {longest / 1000:.1f} m long in one piece; many leaflets want an expansion profile beyond 8 m - check yours.")
    return found


def _about_door(door: Door, board: Board, wishes: Wishes) -> list[str]:
    found = [f"Door {door.name}: this plan stops at the wall line. The strip in the doorway"
             + (f", {door.reveal_mm:g} mm deep," if door.reveal_mm > 0 else "") + " must be planned at the threshold, where a profile goes."]
    if door.casing is not None:
        layer = wishes.underlay.thickness_mm if wishes.underlay is not None else 0.0
        height = board.thickness_mm + layer + UNDERCUT_CLEARANCE_MM
        with_layer = f"board {board.thickness_mm:g} + " + (f"underlay {layer:g} + 1 mm" if layer else "1 mm, and the underlay's thickness on top")
        found.append(f"Door {door.name}: undercut the casing at {height:g} mm ({with_layer}); boards go under it by at least the gap and "
                     f"{FRAME_TUCK_MM:g} mm, {wishes.gap_mm + FRAME_TUCK_MM:g} mm. Never undercut a metal or fire-door frame.")
    return found


def _about_holes(rows: tuple[Row, ...], holes: tuple[Hole, ...]) -> list[str]:
    """Pipes that need no hole, and end joints that come close to a hole without running through its middle."""
    found = []
    joints = [joint for row in rows for joint in _end_joints(row)]
    for hole in holes:
        if not hole.pieces:
            found.append(f"Pipe {hole.pipe} stands clear of the boards (in the gap or beside the floor): no hole is needed.")
            continue
        middle = shapely.Point(hole.centre_mm)
        near = min((joint.distance(middle) for joint in joints), default=float("inf"))
        if 1.0 < near < hole.diameter_mm / 2 + HOLE_TO_JOINT_MM:
            found.append(f"Pipe {hole.pipe}: an end joint lies {near:.0f} mm from its middle; glue that joint, or move it on to the pipe so that "
                         "each board gets half the hole (common practice: joint on the pipe or 30 mm clear of the hole).")
    return found


def _end_joints(row: Row) -> list[shapely.LineString]:
    """The end joints of a row as lines in the plan."""
    joints = []
    for run in row.runs:
        for a, b in zip(run.pieces[:-1], run.pieces[1:]):
            shared = Polygon(a.outline_mm).buffer(1e-3).intersection(Polygon(b.outline_mm).buffer(1e-3))
            if not shared.is_empty:
                corners = shapely.get_coordinates(shared.minimum_rotated_rectangle)
                joints.append(shapely.LineString(np.array([corners[0], corners[len(corners) // 2]])))
    return joints
