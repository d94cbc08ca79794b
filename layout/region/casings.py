"""Traced casings in the plan: where each leg stands, the gap round it, and which pieces meet it.

A leg's footprint comes in the wall frame (mm): away from the opening along the wall, and off the wall line into the
room; the same numbers serve the left leg and, mirrored, the right one, as one faces the door from inside the room. Plan
frame: mm, x right, y up.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.polygon import orient
from shapely.ops import linemerge

from layout.region.inset import polygons_of, to_polygon
from layout.plan import Piece, Plan, Point, Ring
from layout.room import Door, Room

#: How far behind the wall line a footprint is continued, mm: boards never come there, and the gap beside it runs on
#: straight.
_BEHIND_MM = 30.0
#: A gap is grown with square corners that reach no farther than this many gaps.
_MITRE_LIMIT = 1.6
#: A piece that a casing's gap touches by less than this is not sawn for it, mm2.
_LEAST_BITE_MM2 = 1.0
#: A footprint is planned with corners at least so far apart, and no farther off its trace than this, mm.
_SAME_SPOT_MM, _SIMPLER_MM = 1.5, 0.2
#: A footprint counts as at least so thick when boards are planned round it, mm; a saw line may run so near a piece's
#: own outline.
_BLUNT_MM, _ALONG_MM = 2.0, 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingLeg:
    """A leg of a casing: its footprint as traced (an open chain), the same closed behind the wall, and that with the
    gap round it; all in the plan. wall: two places on the wall line under it, onwards with the room on the left."""

    door: str
    leg: str
    traced: Ring
    foot: Ring
    grown: Ring
    wall: tuple[Point, Point]


def standing_legs(room: Room, gap_mm: float) -> tuple[StandingLeg, ...]:
    """Every traced leg of the room's doors."""
    return tuple(_standing(room, door, leg, chain, gap_mm) for door in room.doors for leg, chain in door.legs)


def with_casings(room: Room, scribed: frozenset[str]) -> Room:
    """The room with the legs of some doors, by name, as islands that boards keep the gap to. What lies behind the
    wall line is left out."""
    floor = Polygon(room.outline_mm)
    made = []
    # A footprint that runs out to nothing would be a needle, and the gap round its tip a long spike.
    blunt = {door.name: tuple((leg, tuple((u, max(t, _BLUNT_MM)) for u, t in chain)) for leg, chain in door.legs)
             for door in room.doors}
    for leg in standing_legs(replace(room, doors=tuple(replace(door, legs=blunt[door.name]) for door in room.doors)),
                             0.0):
        if leg.door in scribed:
            parts = polygons_of(Polygon(leg.foot).intersection(floor).simplify(_SIMPLER_MM))
            made += [(f"casing of {leg.door}, {leg.leg}",
                      _apart(max(parts, key=lambda part: part.area)))] if parts else []
    sound = [(name, ring) for name, ring in made if len(ring) >= 3]
    return replace(room, islands=(*room.islands, *sound), framed=(*room.framed, *(name for name, _ in sound)))


def _apart(shape: Polygon) -> NDArray[np.float64]:
    """The corners of a polygon without those that nearly coincide with the one before."""
    ring = np.array(orient(shape).exterior.coords[:-1])
    kept = [ring[0]]
    for corner in ring[1:]:
        if np.hypot(*(corner - kept[-1])) > _SAME_SPOT_MM and np.hypot(*(corner - kept[0])) > _SAME_SPOT_MM:
            kept.append(corner)
    return np.array(kept)


def _standing(room: Room, door: Door, leg: str, chain: Ring, gap_mm: float) -> StandingLeg:
    corner, onwards, start, end = opening_in(room, door)
    inward = np.array([-onwards[1], onwards[0]])
    # Facing the wall from the room, onwards is from right to left.
    at, way = (corner + end * onwards, onwards) if leg == "left" else (corner + start * onwards, -onwards)

    def placed(ring: Ring) -> Ring:
        return tuple((float(x), float(y)) for x, y in at + np.array(ring) @ np.array([way, inward]))

    behind = ((chain[0][0], -_BEHIND_MM), *chain, (chain[-1][0], -_BEHIND_MM))
    foot = orient(Polygon(placed(behind)).buffer(0))
    largest = max(polygons_of(foot), key=lambda part: part.area)
    grown = to_polygon(Polygon(largest.buffer(gap_mm, join_style="mitre", mitre_limit=_MITRE_LIMIT).exterior)).outline
    wide = max(u for u, _ in chain)
    wall = tuple((float(x), float(y)) for x, y in (at - 40.0 * way, at + (wide + 40.0) * way))
    return StandingLeg(door=door.name, leg=leg, traced=placed(chain),
                       foot=to_polygon(Polygon(largest.exterior)).outline, grown=grown, wall=(wall[0], wall[1]))


def opening_in(room: Room, door: Door) -> tuple[NDArray[np.float64], NDArray[np.float64], float, float]:
    """(first corner of the door's wall, unit vector onwards, where the opening begins and ends along it)."""
    i = next(i for i, name in enumerate(room.names) if {name, room.names[(i + 1) % len(room.names)]} == set(door.wall))
    corner = np.asarray(room.outline_mm[i], dtype=np.float64)
    along = np.asarray(room.outline_mm[(i + 1) % len(room.names)], dtype=np.float64) - corner
    length = float(np.hypot(*along))
    start = door.from_mm if room.names[i] == door.wall[0] else length - door.from_mm - door.width_mm
    return corner, along / length, start, start + door.width_mm


def saw_lines(piece: Piece, leg: StandingLeg) -> tuple[Ring, ...]:
    """Where a piece is sawn to keep the gap round a leg: the parts of the gap's outline that lie in the piece, in
    the plan."""
    line = LineString((*leg.grown, leg.grown[0])).intersection(Polygon(piece.outline_mm,
                                                                       piece.holes_mm).buffer(_ALONG_MM))
    parts = linemerge(line) if isinstance(line, MultiLineString) else line
    return tuple(tuple((float(x), float(y)) for x, y in part.coords) for part in getattr(parts, "geoms", [parts])
                 if isinstance(part, LineString) and part.length > 0.0)


def sawn_off(piece: Piece, leg: StandingLeg, stretch: Ring) -> tuple[Ring, ...]:
    """What comes off a stretch of the piece's board (its outline in the plan) so that the piece keeps the gap round a
    leg: closed outlines in the plan."""
    stays = Polygon(piece.outline_mm, piece.holes_mm).difference(Polygon(leg.grown))
    return tuple(to_polygon(part).outline for part in polygons_of(Polygon(stretch).difference(stays))
                 if part.area > _LEAST_BITE_MM2)


def met_pieces(plan: Plan, leg: StandingLeg) -> tuple[str, ...]:
    """Ids of the pieces that the gap round a leg touches, the one it bites most first."""
    grown = Polygon(leg.grown)
    bites = [(piece.id, Polygon(piece.outline_mm, piece.holes_mm).intersection(grown).area) for piece in plan.pieces]
    near = [(name, area) for name, area in bites if area > _LEAST_BITE_MM2]
    return tuple(name for name, _ in sorted(near, key=lambda pair: -pair[1]))
