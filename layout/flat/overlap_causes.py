"""Rooms that come to lie over one another: which distance of which doorway would put that right.

The doorways on the way from one room to the other are looked at. A door taped from its wall's other corner is the
commonest slip (common practice, no source): where that mends it, it is said. Else it is how far a door would at least
have to lie from where it is said to be.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError
from layout.region.joined_rooms import Overlap, Passage, door_of, first_placings, overlaps
from layout.room import Door, Room

#: Doors are moved along their wall by such steps to see where rooms come free, mm.
_STEP_MM = 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """One room's side of a doorway; other_mm: how far its door is from the wall's other corner."""

    passage: Passage
    room: str
    door: Door
    other_mm: float


def overlap_cause(rooms: Mapping[str, Room], passages: Sequence[Passage],
                  overlap: Overlap) -> tuple[Passage, LayoutError]:
    """(the doorway to leave out, what is said of it), of rooms that these doorways join. Of several that would mend it
    by a distance from the other corner it is the one nearest to the second room, else the one with least to move."""
    way = _way(passages, *overlap.rooms)
    sides = [side for passage in way for side in _sides(rooms, passage)]
    for side in sides:
        if abs(side.other_mm - side.door.from_mm) > _STEP_MM and _is_free(rooms, passages, side, side.other_mm):
            return side.passage, _other_corner(overlap, side)
    found = [(abs(at - side.door.from_mm), k, at) for k, side in enumerate(sides)
             if (at := _nearest_free(rooms, passages, side)) is not None]
    if not found:
        return way[0], overlap.refusal()
    _, k, at = min(found)
    return sides[k].passage, _too_near(overlap, sides[k], at)


def _other_corner(overlap: Overlap, side: _Side) -> LayoutError:
    (a, b), (corner, other) = overlap.rooms, side.door.wall
    return LayoutError("rooms-overlap", lazy_gettext(
        "Put side by side, {a} and {b} lie over one another by {shared:.2f} m2. They would not if the {told:.0f} mm of "
        "door {door} of {room} were measured from corner {other}, not {corner}; measure it again.", a=a, b=b,
        shared=overlap.area_mm2 / 1e6, told=side.door.from_mm, door=side.door.name, room=side.room, corner=corner,
        other=other), where=f"{side.room} {side.door.name}")


def _too_near(overlap: Overlap, side: _Side, at_mm: float) -> LayoutError:
    a, b = overlap.rooms
    return LayoutError("rooms-overlap", lazy_gettext(
        "Put side by side, {a} and {b} lie over one another by {shared:.2f} m2. For them not to, door {door} of {room} "
        "would have to be about {should:.0f} mm from corner {corner}, not {told:.0f} mm, or it is named on the wrong "
        "wall; measure it again.", a=a, b=b, shared=overlap.area_mm2 / 1e6, door=side.door.name, room=side.room,
        should=at_mm, corner=side.door.wall[0], told=side.door.from_mm), where=f"{side.room} {side.door.name}")


def _way(passages: Sequence[Passage], a: str, b: str) -> list[Passage]:
    """The fewest doorways from b to a, in that order."""
    ways: dict[str, list[Passage]] = {b: []}
    for here in (queue := [b]):
        for passage in passages:
            if here in passage.rooms and (other := passage.rooms[1 - passage.rooms.index(here)]) not in ways:
                ways[other] = [*ways[here], passage]
                queue.append(other)
    return ways[a]


def _sides(rooms: Mapping[str, Room], passage: Passage) -> Iterator[_Side]:
    for name, own in zip(passage.rooms, passage.doors):
        room, door = rooms[name], door_of(rooms[name], own, name)
        a, b = (room.outline_mm[room.names.index(corner)] for corner in door.wall)
        yield _Side(passage=passage, room=name, door=door,
                    other_mm=float(np.hypot(*(b - a))) - door.from_mm - door.width_mm)


def _nearest_free(rooms: Mapping[str, Room], passages: Sequence[Passage], side: _Side) -> float | None:
    """Where the door would have to be, nearest to where it is said to be; None where no place on its wall will do."""
    places = np.arange(0.0, side.door.from_mm + side.other_mm, _STEP_MM).tolist()
    return next((at for at in sorted(places, key=lambda at: abs(at - side.door.from_mm))
                 if _is_free(rooms, passages, side, at)), None)


def _is_free(rooms: Mapping[str, Room], passages: Sequence[Passage], side: _Side, at_mm: float) -> bool:
    """Whether no rooms lie over one another with this door there."""
    room = rooms[side.room]
    doors = tuple(replace(door, from_mm=at_mm) if door.name == side.door.name else door for door in room.doors)
    moved = {**rooms, side.room: replace(room, doors=doors)}
    return not overlaps(moved, first_placings(moved, passages)[0])
