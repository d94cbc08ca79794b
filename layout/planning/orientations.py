"""Which ways of laying are worth weighing: heading of the rows and the side they start from.

The fitter faces the start wall, so `u` points from left to right for them and `v`, a clockwise quarter turn of it, from
the start wall into the room. The outline runs anticlockwise: a wall from A to B has the room on its left, and rows that
start at it have ``u = -(B - A)``.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, radians

from capture.language.messages import Message, lazy_gettext
from layout.errors import LayoutError
from layout.frame import Point, heading
from layout.room import Room, Wishes

SAME_DIRECTION_RAD = radians(1.0)
FACING = cos(radians(45.0))
#: At most this many wall directions are weighed, those with most wall first; short ones (bays, splays) are left out.
MOST_DIRECTIONS, LEAST_SHARE = 3, 0.12
#: A start wall shorter than this does not turn the rows: 3 mm of doubt in its ends turn them by 17 mm in 5 m. They
#: follow the longest wall of its direction, mm.
SURE_MM = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall by its corner names in outline order, its angle, its length."""

    name: tuple[str, str]
    angle_rad: float
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way of laying: heading of `u` and its angle, the wall the rows run along and the one they start at (by
    name), why."""

    u: Point
    angle_rad: float
    along: tuple[str, str]
    start: tuple[str, str]


def walls_of(room: Room) -> list[Wall]:
    """The outline's walls in order."""
    walls = []
    for i, name in enumerate(room.names):
        k = (i + 1) % len(room.names)
        dx, dy = (room.outline_mm[k] - room.outline_mm[i]).tolist()
        walls.append(Wall(name=(name, room.names[k]), angle_rad=atan2(dy, dx), length_mm=hypot(dx, dy)))
    return walls


def ways_to_lay(room: Room, wishes: Wishes) -> list[Way]:
    """Every way that fits the wishes. Raises LayoutError (slug no-such-wall, bad-wish) for unknown walls and wishes
    that clash."""
    walls = walls_of(room)
    start = None if wishes.start is None else find_wall(walls, wishes.start, lazy_gettext("start wall"))
    angles, rows = _asked(walls, wishes)
    if angles:
        return _wished(walls, angles, rows, start)
    if start is not None:
        return [_way(walls, start.angle_rad + pi, start)]
    ways = []
    for group in _directions(walls):
        longest = max(group, key=lambda wall: wall.length_mm)
        for angle in (longest.angle_rad + pi, longest.angle_rad):
            facing = [wall for wall in group if abs(turn(wall.angle_rad + pi - angle)) < pi / 2]
            first = max(facing, key=lambda wall: wall.length_mm, default=None)
            ways.append(_way(walls, first.angle_rad + pi if first is not None and first.length_mm >= SURE_MM else angle,
                             first))
    return ways


def find_wall(walls: list[Wall], name: tuple[str, str], what: Message) -> Wall:
    """The wall between two corners named in either order. Raises LayoutError (slug no-such-wall)."""
    for wall in walls:
        if name == wall.name or name == wall.name[::-1]:
            return wall
    raise LayoutError("no-such-wall", lazy_gettext(
        "The {what} {wall} is not a wall of this floor; its walls are {walls}.", what=what,
        wall="-".join(name), walls=", ".join("-".join(wall.name) for wall in walls)), where="flooring")


def turn(angle_rad: float) -> float:
    """The angle brought into -pi..pi."""
    return (angle_rad + pi) % (2 * pi) - pi


def _asked(walls: list[Wall], wishes: Wishes) -> tuple[list[float], Message]:
    """(headings of `u` for rows along a wall or at an angle, the wish in words); no heading if there is no such
    wish."""
    along, angle = None, wishes.direction_rad
    if wishes.along is not None:
        along = find_wall(walls, wishes.along, lazy_gettext("wall the rows run along"))
    if along is None:
        at = lazy_gettext("at {angle:g} degrees", angle=degrees(angle or 0.0))
        return ([] if angle is None else [angle]), at
    if angle is None:
        return [along.angle_rad + pi, along.angle_rad], lazy_gettext("along wall {wall}", wall="-".join(along.name))
    if abs(turn(2 * (along.angle_rad - angle))) > 2 * SAME_DIRECTION_RAD:
        raise LayoutError("bad-wish", lazy_gettext(
            "The rows cannot run at {angle:g} degrees and along wall {wall}, which lies at {along:.1f} degrees; keep "
            "one of the two.", angle=degrees(angle), wall="-".join(along.name), along=degrees(along.angle_rad)),
                          where="flooring.direction")
    return [angle], lazy_gettext("along wall {wall}", wall="-".join(along.name))


def _wished(walls: list[Wall], angles: list[float], rows: Message, start: Wall | None) -> list[Way]:
    """The ways with these headings, on the side of the start wall if one is named."""
    if start is None:
        return [_way(walls, angle, None) for angle in angles]
    fitting = [angle for angle in angles if cos(start.angle_rad + pi - angle) > FACING]
    if not fitting:
        raise LayoutError("bad-wish", lazy_gettext(
            "Rows {rows} cannot start at wall {wall}: it does not lie on their starting side; choose another start "
            "wall or another direction.", rows=rows, wall="-".join(start.name)), where="flooring.start")
    return [_way(walls, angle, start) for angle in fitting]


def _directions(walls: list[Wall]) -> list[list[Wall]]:
    """Walls grouped by direction (within one degree, either sense), most wall first."""
    groups: list[list[Wall]] = []
    for wall in sorted(walls, key=lambda wall: -wall.length_mm):
        for group in groups:
            if abs(turn(2 * (wall.angle_rad - group[0].angle_rad))) < 2 * SAME_DIRECTION_RAD:
                group.append(wall)
                break
        else:
            groups.append([wall])
    total = sum(wall.length_mm for wall in walls)
    groups.sort(key=lambda group: -sum(wall.length_mm for wall in group))
    kept = [group for group in groups if sum(wall.length_mm for wall in group) >= LEAST_SHARE * total]
    return (kept or groups)[:MOST_DIRECTIONS]


def _way(walls: list[Wall], angle: float, start: Wall | None) -> Way:
    """A way at an angle; names the wall nearest to parallel, and the start wall (the longest that faces the rows)."""
    angle = turn(angle)
    facing = [wall for wall in walls if cos(wall.angle_rad + pi - angle) > FACING]
    first = start or max(facing, key=lambda wall: wall.length_mm, default=walls[0])
    along = min(walls, key=lambda wall: (round(abs(turn(2 * (wall.angle_rad - angle))), 3), -wall.length_mm))
    return Way(u=heading(angle), angle_rad=angle, along=along.name, start=first.name)
