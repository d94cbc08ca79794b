"""In which order the rooms of a flat are laid: from the farthest to the one people leave by, so that nobody has to walk
over a new floor, or carry boards over it, more than the doorways ask for (common practice, no source).

How far a room is, is counted through the doorways, from the middle of one room to the middle of the next.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from heapq import heappop, heappush
from itertools import count
from math import hypot, inf

from layout.flat_plan import EntranceRule, LayingOrder
from layout.region.joined_rooms import House, Passage
from layout.room import Room


def order_of_laying(rooms: Mapping[str, Room], house: House, passages: Sequence[Passage], *, entrance: str = "",
                    asked: Sequence[str] = ()) -> LayingOrder:
    """The order of the rooms of `house`. entrance: the room people leave by ("" where nobody said); asked: the order
    that was asked for, if any."""
    last, rule = _entrance(rooms, passages, entrance)
    if asked:
        return LayingOrder(rooms=tuple(asked), entrance=last, rule=rule, named=True)
    far = _distances(rooms, house, passages, last)
    names = list(house.placings)
    # A room that no doorway leads to is laid first: nobody passes through it.
    return LayingOrder(rooms=tuple(sorted(names, key=lambda name: (-far.get(name, inf), names.index(name)))),
                       entrance=last, rule=rule)


def room_numbers(order: Sequence[str], borne: Mapping[str, int]) -> dict[str, int]:
    """The number of every room, from 1 in the order of laying; a room keeps the number it bears already (`borne`, each
    once), as on paper that somebody lays by."""
    kept = {name: borne[name] for name in order if name in borne}
    free = (number for number in count(1) if number not in kept.values())
    return {name: kept[name] if name in kept else next(free) for name in order}


def as_whole_floors(order: Sequence[str], groups: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """An order of rooms with those that are laid as one floor (`groups`) together, where the first of them stands."""
    floor = {name: group for group in groups for name in group}
    return tuple(dict.fromkeys(name for first in order for name in sorted(floor[first], key=order.index)))


def _entrance(rooms: Mapping[str, Room], passages: Sequence[Passage], named: str) -> tuple[str, EntranceRule]:
    """The room people leave by: the one named; else the only one with a door that leads to no room of the flat; else
    the one with most doorways."""
    if named:
        return named, "named"
    inner = {side for passage in passages for side in zip(passage.rooms, passage.doors)}
    outer = [name for name, room in rooms.items() if any((name, door.name) not in inner for door in room.doors)]
    if len(outer) == 1:
        return outer[0], "outer-door"
    doorways = Counter(name for passage in passages for name in passage.rooms)
    return max(outer or rooms, key=lambda name: doorways[name]), "most-doorways"


def _distances(rooms: Mapping[str, Room], house: House, passages: Sequence[Passage], last: str) -> dict[str, float]:
    """How far every room is from one, through the doorways (Dijkstra 1959), mm; rooms nobody can reach are left
    out."""
    middle = {name: house.placings[name].place(rooms[name].outline_mm).mean(axis=0) for name in house.placings}
    far: dict[str, float] = {}
    heap = [(0.0, last)]
    while heap:
        so_far, name = heappop(heap)
        if name in far:
            continue
        far[name] = so_far
        for passage in passages:
            if name in passage.rooms:
                other = passage.rooms[1 - passage.rooms.index(name)]
                heappush(heap, (so_far + hypot(*(middle[other] - middle[name])), other))
    return far
