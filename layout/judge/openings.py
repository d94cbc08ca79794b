"""The judge on what is not wall to wall: doorways that are laid, expansion profiles, and strips left out.

It rebuilds the openings from the room's own doors. Plan frame, mm.
"""
from __future__ import annotations

from collections import Counter

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from capture.language.messages import lazy_gettext
from layout.judge.fault import Fault
from layout.judge.piece_geometry import GRID_MM, row_shape
from layout.facts.notes import DoorwayBlocked, DoorwayOpen
from layout.plan import Doorway, Plan, Profile
from layout.room import Door, Room

PAIR_MM2 = 1.0
#: Widest strip that may be left out, and how much deeper a doorway can make a field, mm.
CHIP_MM, WIDEST_CHIP_MM, SLACK_MM = 5.0, 30.0, 0.05
LEAST_CLEAR_MM = 5.0
#: Less wall than this beside an opening is none.
NO_WALL_MM = 1.0
TUCK_MM, CLEARANCE_MM = 10.0, 1.0
#: How far an opening reaches into the room, mm.
OVERLAP_MM = 0.05
#: A band's ends may reach this many gaps beyond its middle line, where a wall crosses it at a slant.
END_REACH = 8.0


def check_open(plan: Plan, room: Room) -> list[Fault]:
    """Faults of doorways, profiles and strips left out."""
    return [*_doorways(plan, room), *_profiles(plan, room), *_left_out(plan, room)]


def opened(plan: Plan, room: Room) -> BaseGeometry:
    """The room's outline with the openings the plan lists, worked out from the room's doors. A hair of each overlaps
    the room, or rounding could leave a slit between the two."""
    doors = {door.name: door for door in room.doors}
    boxes = [_opening(room, doors[way.door], plan.gap_mm, OVERLAP_MM) for way in plan.doorways if way.door in doors]
    outline = Polygon(room.outline_mm)
    return shapely.union_all([outline, *boxes], grid_size=GRID_MM) if boxes else outline


def bands(plan: Plan) -> list[Polygon]:
    """What is kept free on both sides of every profile; at a slanted wall it reaches beyond the ends of the middle
    line."""
    return [_longer(profile).buffer(profile.clear_mm + GRID_MM, cap_style="flat") for profile in plan.profiles]


def _longer(profile: Profile) -> LineString:
    (x0, y0), (x1, y1) = profile.ends
    reach = END_REACH * profile.clear_mm / max(1e-9, float(np.hypot(x1 - x0, y1 - y0)))
    return LineString([(x0 - reach * (x1 - x0), y0 - reach * (y1 - y0)),
                       (x1 + reach * (x1 - x0), y1 + reach * (y1 - y0))])


def _opening(room: Room, door: Door, gap_mm: float, into_mm: float = 0.0) -> Polygon:
    """The floor of an opening, under its frame where that is undercut, and `into_mm` of the room before it."""
    names = list(room.names)
    start, end = (np.asarray(room.outline_mm[names.index(name)], dtype=np.float64) for name in door.wall)
    along = (end - start) / np.linalg.norm(end - start)
    side = gap_mm + TUCK_MM if door.casing is not None else 0.0
    lo, hi, long = door.from_mm - side, door.from_mm + door.width_mm + side, float(np.linalg.norm(end - start))
    lo, hi = 0.0 if lo < NO_WALL_MM else lo, long if hi > long - NO_WALL_MM else hi
    out = np.array([along[1], -along[0]])
    if (names.index(door.wall[0]) + 1) % len(names) != names.index(door.wall[1]):
        out = -out
    return Polygon([start + a * along + b * out for a, b in ((lo, -into_mm), (lo, door.reveal_mm),
                                                             (hi, door.reveal_mm), (hi, -into_mm))])


def _doorways(plan: Plan, room: Room) -> list[Fault]:
    """Listed once, of a door with a reveal, as deep and as wide as that; a reveal that is not laid is said."""
    faults, doors = [], {door.name: door for door in room.doors}
    for name, times in Counter(way.door for way in plan.doorways).items():
        if times > 1 or name not in doors or doors[name].reveal_mm <= 0:
            faults.append(Fault(slug="doorway", where=name, amount=float(times),
                                says=lazy_gettext("the plan lays a doorway that is not there, or twice")))
    for way in plan.doorways:
        if way.door in doors:
            faults += _doorway(plan, room, doors[way.door], way)
    laid = {way.door for way in plan.doorways}
    for door in (door for door in room.doors if door.reveal_mm > 0 and door.name not in laid):
        if not any(isinstance(note, DoorwayBlocked | DoorwayOpen) and note.door == door.name for note in plan.notes):
            faults.append(Fault(slug="doorway", where=door.name, amount=door.reveal_mm,
                                says=lazy_gettext("a doorway is not laid and the plan does not say so")))
    return faults


def _doorway(plan: Plan, room: Room, door: Door, way: Doorway) -> list[Fault]:
    off = Polygon(way.outline).symmetric_difference(_opening(room, door, plan.gap_mm)).area
    framed = door.casing is not None
    deep = plan.gap_mm + TUCK_MM if framed else 0.0
    wrong = off > PAIR_MM2 or abs(way.depth_mm - door.reveal_mm) > SLACK_MM or abs(way.undercut_deep_mm
                                                                                   - deep) > SLACK_MM
    low = way.undercut_mm - plan.board.thickness_mm - CLEARANCE_MM
    if wrong or (framed and (low < -SLACK_MM or way.under_mm < TUCK_MM - SLACK_MM)):
        return [Fault(slug="doorway", where=door.name, amount=off,
                      says=lazy_gettext("the doorway or its undercut is not what the door asks for"))]
    return []


def _profiles(plan: Plan, room: Room) -> list[Fault]:
    """No field longer than its limit along or across the rows; boards stop short of every profile by the gap."""
    faults = []
    cover = unary_union([Polygon(part.outline, part.holes) for part in plan.cover])
    for k, profile in enumerate(plan.profiles):
        short = profile.clear_mm - cover.distance(LineString(profile.ends))
        if short > 1e-3 or profile.clear_mm < max(plan.gap_mm, LEAST_CLEAR_MM) - SLACK_MM:
            faults.append(Fault(slug="profile", where=f"profile {k + 1}", amount=short,
                                says=lazy_gettext("boards come too near an expansion profile")))
    depths = sorted((way.depth_mm for way in plan.doorways), reverse=True)[:2]
    for k, part in enumerate(plan.cover):
        left, near, right, far = row_shape(plan, part.outline, part.holes).bounds
        over = max(right - left, far - near) - plan.longest_mm - sum(depths)
        if over > SLACK_MM:
            faults.append(Fault(slug="profile", where=f"cover {k + 1}", amount=over,
                                says=lazy_gettext("a field is longer than a floor may be without a profile")))
    return faults


def _left_out(plan: Plan, room: Room) -> list[Fault]:
    """A strip left out is thin, lies where boards could, along the edge of what they could cover, and is not
    covered."""
    if not plan.left_out:
        return []
    free = opened(plan, room).difference(unary_union([Polygon(ring) for _, ring in room.islands]))
    reach = free.buffer(-plan.gap_mm, join_style="mitre").difference(unary_union(bands(plan)))
    chip = _chip_mm(plan)
    edge = reach.boundary.buffer(chip + plan.gap_most_mm - plan.gap_least_mm + SLACK_MM)
    cover = unary_union([Polygon(part.outline, part.holes) for part in plan.cover])
    faults = []
    for k, strip in enumerate(plan.left_out):
        shape = Polygon(strip.outline)
        wide = not shape.buffer(-(chip + SLACK_MM) / 2).is_empty
        astray = shape.difference(edge).area > PAIR_MM2 or shape.intersection(cover).area > PAIR_MM2
        if wide or astray:
            faults.append(Fault(slug="left-out", where=f"strip {k + 1}", amount=shape.area,
                                says=lazy_gettext("a strip is left out that could be laid")))
    return faults


def _chip_mm(plan: Plan) -> float:
    """How wide a strip may be that is left out: as wide as the beading covers beyond the gap (2 mm of lap and 3 mm of
    shrinkage less), 5 to 30 mm."""
    return min(max(CHIP_MM, 0.0 if plan.bars is None else plan.bars.width_mm - 5.0 - plan.gap_mm), WIDEST_CHIP_MM)
