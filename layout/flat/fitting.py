"""Rooms put side by side as far as they fit: what does not is left out and told of, and the rest of the flat goes on.

All doorways of rooms that hang together are adjusted at once (`pose_adjustment.py`) and checked against one another
(`doorway_checks.py`). A doorway whose two sides differ or whose door is part of another, a ring of rooms that stays
open and rooms that come to lie over one another each cost the doorway at fault; rooms that no doorway leads to lie by
themselves, in a frame of their own.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError
from layout.flat.doorway_checks import CheckedDoorways, check_doorways
from layout.flat.overlap_causes import overlap_cause
from layout.flat_plan import DoorwayDoubt, MeasuredDoorway, RingClosure
from layout.region.joined_rooms import (
    CLOSES_MM, House, Passage, first_placings, open_ring, overlaps, refuse_other_width, room_alone)
from layout.room import Room

#: A wall that nobody measured is as thick as the rooms around it say where its sd is no more than this, mm (ours: a
#: profile covers it).
SURE_THICKNESS_MM = 15.0
Covs = Mapping[str, NDArray[np.float64]]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FittedRooms:
    """The rooms of a flat as they fit together. house: all of them, those of each part in a frame of its own; parts:
    rooms that doorways join; passages: the doorways that fit, doorways: what both sides make of each; closures: of
    rings of rooms; doubts: readings that the others contradict; unsure: doorways left out as nothing tells how thick
    their wall is; troubles: why others do not fit, and rooms that stand alone."""

    house: House
    parts: tuple[tuple[str, ...], ...]
    passages: tuple[Passage, ...]
    doorways: tuple[MeasuredDoorway, ...]
    closures: tuple[RingClosure, ...]
    doubts: tuple[DoorwayDoubt, ...]
    unsure: tuple[Passage, ...]
    troubles: tuple[LayoutError, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Left:
    """A doorway left out, why (None: nothing tells its wall's thickness), and the readings doubted then."""

    passage: Passage
    trouble: LayoutError | None
    doubts: tuple[DoorwayDoubt, ...] = ()


def fit_rooms(rooms: Mapping[str, Room], passages: Sequence[Passage], covs: Covs | None = None) -> FittedRooms:
    """Put rooms side by side through all doorways that fit. Boards are not asked for: every room is a group. covs:
    (2n, 2n) covariances of the rooms' outlines, mm2; rooms without are taken as exact."""
    kept, troubles = list[Passage](), list[LayoutError]()
    for passage in passages:
        trouble = _refusal(rooms, passage) or _twice(passage, kept)
        if trouble is None:
            kept.append(passage)
        else:
            troubles.append(trouble)
    kept, checked, left = _checked(rooms, kept, covs or {})
    troubles += [one.trouble for one in left if one.trouble is not None]
    parts = _parts(tuple(rooms), kept)
    most = max(parts, key=len)
    troubles += [room_alone(part[0], most[0]) for part in parts
                 if part is not most and not any(name in passage.rooms for name in part for passage in passages)]
    placings = {name: placing for one in checked for name, placing in one.poses.placings.items()}
    measured = {(one.rooms, one.doors): one for each in checked for one in each.doorways}
    closures = tuple(closure for one in checked for closure in one.closures)
    by_sides = {(passage.rooms, passage.doors): passage for passage in kept}
    return FittedRooms(
        house=House(placings={name: placings[name] for name in rooms}, groups=tuple((name,) for name in rooms),
                    misfits=tuple((by_sides[one.rooms, one.doors], one.off_mm) for one in closures),
                    openings={(room, door): (at, one.width_mm) for one in measured.values()
                              for room, door, at in zip(one.rooms, one.doors, one.from_mm)}),
        parts=parts, passages=tuple(kept), closures=closures,
        doorways=tuple(measured[passage.rooms, passage.doors] for passage in kept),
        doubts=(*(doubt for one in left for doubt in one.doubts), *(doubt for one in checked for doubt in one.doubts)),
        unsure=tuple(one.passage for one in left if one.trouble is None), troubles=tuple(troubles))


def _checked(rooms: Mapping[str, Room], passages: list[Passage],
             covs: Covs) -> tuple[list[Passage], list[CheckedDoorways], list[_Left]]:
    """(the doorways that fit, the parts they join as adjusted, the doorways left out)."""
    kept, left = list(passages), list[_Left]()
    while True:
        checked = []
        for part in _parts(tuple(rooms), kept):
            within = _inside(part, kept)
            inside = {name: rooms[name] for name in part}
            # Rooms are put down first through walls whose thickness somebody measured.
            near, closing = first_placings(inside, sorted(within, key=lambda one: one.thickness_by == "rooms"))
            checked.append(check_doorways(inside, within, near, closing, covs))
            misfit = _misfit(inside, within, closing, checked[-1])
            if misfit is not None:
                kept.remove(misfit.passage)
                left.append(misfit)
                break
        else:
            return kept, checked, left


def _misfit(rooms: Mapping[str, Room], passages: Sequence[Passage], closing: Sequence[Passage],
            checked: CheckedDoorways) -> _Left | None:
    """The doorway to leave out of rooms that do not fit together, if one is."""
    for passage, one in zip(passages, checked.doorways):
        if one.thickness_by == "rooms" and one.thickness_sd_mm > SURE_THICKNESS_MM:
            return _Left(passage=passage, trouble=None)
    for passage, closure, off in zip(closing, checked.closures, checked.open_mm):
        if off > CLOSES_MM and not closure.closes:
            doubted = [one for one in passages for doubt in checked.doubts[:1]
                       if not doubt.left_out and (doubt.room, doubt.door) in zip(one.rooms, one.doors)]
            at_fault = (doubted or [passage])[0]
            return _Left(passage=at_fault, trouble=open_ring(at_fault, off), doubts=checked.doubts)
    for overlap in overlaps(rooms, checked.poses.placings):
        at_fault, trouble = overlap_cause(rooms, passages, overlap)
        return _Left(passage=at_fault, trouble=trouble)
    return None


def _refusal(rooms: Mapping[str, Room], passage: Passage) -> LayoutError | None:
    """Why a doorway is none by what its two rooms say of it."""
    try:
        refuse_other_width(rooms, passage)
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


def _inside(part: Sequence[str], passages: Sequence[Passage]) -> list[Passage]:
    return [passage for passage in passages if passage.rooms[0] in part]


def _parts(names: tuple[str, ...], passages: Sequence[Passage]) -> tuple[tuple[str, ...], ...]:
    """Rooms that doorways join, in the house's order."""
    part = {name: frozenset([name]) for name in names}
    for passage in passages:
        both = part[passage.rooms[0]] | part[passage.rooms[1]]
        part |= dict.fromkeys(both, both)
    return tuple(dict.fromkeys(tuple(name for name in names if name in part[own]) for own in names))

