"""Rooms put side by side as far as they fit: what does not is left out and told of, and the rest of the flat goes on.

A doorway whose two sides differ or whose door is part of another, a ring of rooms that does not close and rooms that
come to lie over one another each cost the doorway at fault; rooms that no doorway leads to lie by themselves, in a
frame of their own.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError
from layout.region.joined_rooms import House, Passage, place_rooms
from layout.room import Room


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FittedRooms:
    """The rooms of a flat as they fit together. house: all of them, those of each part in a frame of its own; parts:
    rooms that doorways join; passages: the doorways that fit; troubles: why others do not, and rooms that stand
    alone."""

    house: House
    parts: tuple[tuple[str, ...], ...]
    passages: tuple[Passage, ...]
    troubles: tuple[LayoutError, ...]


def fit_rooms(rooms: Mapping[str, Room], passages: Sequence[Passage]) -> FittedRooms:
    """Put rooms side by side through all doorways that fit. Boards are not asked for: every room is a group."""
    kept, troubles = list[Passage](), list[LayoutError]()
    for passage in passages:
        trouble = _refusal({name: rooms[name] for name in passage.rooms}, [passage]) or _twice(passage, kept)
        if trouble is None:
            kept.append(passage)
        else:
            troubles.append(trouble)
    while (found := _misfit(rooms, kept)) is not None:
        trouble, passage = found
        kept.remove(passage)
        troubles.append(trouble)
    parts = _parts(tuple(rooms), kept)
    most = max(parts, key=len)
    troubles += [_alone(part, most, rooms) for part in parts
                 if part is not most and not any(name in passage.rooms for name in part for passage in passages)]
    houses = [place_rooms({name: rooms[name] for name in part}, _inside(part, kept)) for part in parts]
    placings = {name: placing for house in houses for name, placing in house.placings.items()}
    return FittedRooms(house=House(placings={name: placings[name] for name in rooms},
                                   groups=tuple((name,) for name in rooms),
                                   misfits=tuple(misfit for house in houses for misfit in house.misfits)),
                       parts=parts, passages=tuple(kept), troubles=tuple(troubles))


def _refusal(rooms: Mapping[str, Room], passages: Sequence[Passage]) -> LayoutError | None:
    try:
        place_rooms(rooms, passages)
    except LayoutError as error:
        return error
    return None


def _twice(passage: Passage, others: Sequence[Passage]) -> LayoutError | None:
    """Why a doorway is none whose door is part of another already."""
    taken = {side for other in others for side in zip(other.rooms, other.doors)}
    side = next((side for side in zip(passage.rooms, passage.doors) if side in taken), None)
    if side is None:
        return None
    (a, b), (room, door) = passage.rooms, side
    return LayoutError("door-twice", lazy_gettext(
        "Door {door} of {room} is named in two doorways, and a door leads to one place; the one between {a} and {b} is "
        "left out. Part it, or name the door that is meant.", door=door, room=room, a=a, b=b),
        where=f"{room} {door}")


def _misfit(rooms: Mapping[str, Room], passages: Sequence[Passage]) -> tuple[LayoutError, Passage] | None:
    """Why rooms do not fit together, and the doorway to leave out: the one that does not close a ring, or the last of
    a room that lies over another."""
    for part in _parts(tuple(rooms), passages):
        within = _inside(part, passages)
        trouble = _refusal({name: rooms[name] for name in part}, within)
        if trouble is not None:
            at_fault = [passage for passage in within if trouble.where in (
                f"{passage.rooms[0]} {passage.doors[0]}", *passage.rooms)]
            return trouble, (at_fault or within)[-1]
    return None


def _inside(part: Sequence[str], passages: Sequence[Passage]) -> list[Passage]:
    return [passage for passage in passages if passage.rooms[0] in part]


def _parts(names: tuple[str, ...], passages: Sequence[Passage]) -> tuple[tuple[str, ...], ...]:
    """Rooms that doorways join, in the house's order."""
    part = {name: frozenset([name]) for name in names}
    for passage in passages:
        both = part[passage.rooms[0]] | part[passage.rooms[1]]
        part |= dict.fromkeys(both, both)
    return tuple(dict.fromkeys(tuple(name for name in names if name in part[own]) for own in names))


def _alone(part: Sequence[str], first: Sequence[str], rooms: Mapping[str, Room]) -> LayoutError:
    return _refusal({name: rooms[name] for name in (first[0], part[0])}, []) or LayoutError(
        "room-alone", lazy_gettext("No doorway joins {a} to {b}.", a=part[0], b=first[0]), where=part[0])
