"""Rooms put side by side through their doorways, and joined into one floor where the boards run through.

Every room is surveyed by itself, in a frame of its own. A doorway is one opening seen from two rooms: a door in a wall
of each, the two wall lines a wall's thickness apart and facing one another. That places one room beside the other, with
no reading but what the rooms hold already. The first room's frame is the house's. Rigid motions only: rooms are never
stretched to fit.
"""
from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from capture.language.messages import all_of, lazy_gettext
from layout.region.doorways import opening_of
from layout.errors import LayoutError
from layout.flat_plan import ThicknessRule
from layout.room import Door, Pipe, Room

#: Two people measuring one opening from two rooms may differ by this much, mm (common practice, no source).
SAME_OPENING_MM = 20.0
#: A ring of rooms may close this badly before a reading must be wrong, mm (doors are taped from corners to a few mm
#: each).
CLOSES_MM = 40.0
#: Rooms that share more floor than this are not side by side, mm2.
_OVERLAP_MM2 = 50_000.0
#: How far an opening reaches into both rooms while they are joined, so that rounding leaves no crack, mm.
_REACH_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A doorway between two rooms: the door as each calls it, the thickness of the wall with its spread (one standard
    deviation) and how that is known, and whether boards run through."""

    rooms: tuple[str, str]
    doors: tuple[str, str]
    thickness_mm: float
    through: bool
    thickness_sd_mm: float = 2.0
    thickness_by: ThicknessRule = "typed"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Placing:
    """Where a room lies in the house: house = turn @ room + shift. turn: (2, 2) rotation, heading_rad its angle;
    shift_mm: (2,)."""

    heading_rad: float
    shift_mm: NDArray[np.float64]

    def place(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) points of the room in the house's frame, mm."""
        cos, sin = np.cos(self.heading_rad), np.sin(self.heading_rad)
        return np.asarray(points_mm, dtype=np.float64).reshape(-1,
                                                               2) @ np.array([[cos, sin], [-sin, cos]]) + self.shift_mm


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class House:
    """Rooms in one frame. groups: names of rooms whose boards run through, each group one floor.

    misfits: (passage, mm) of every doorway that closes a ring of rooms: how far its two sides come to lie apart.
    openings: (distance from the door's corner, width), mm, of doors, by room and name, where more is known of them than
    their room tells.
    """

    placings: Mapping[str, Placing]
    groups: tuple[tuple[str, ...], ...]
    misfits: tuple[tuple[Passage, float], ...] = ()
    openings: Mapping[tuple[str, str], tuple[float, float]] = dataclasses.field(default_factory=dict)


def first_placings(rooms: Mapping[str, Room],
                   passages: Sequence[Passage]) -> tuple[dict[str, Placing], tuple[Passage, ...]]:
    """(the rooms put side by side one by one, each through the first doorway that leads to it; the doorways that close
    a ring). Raises LayoutError "room-alone"."""
    first = next(iter(rooms))
    placings, used = {first: Placing(heading_rad=0.0, shift_mm=np.zeros(2))}, set[int]()
    while len(placings) < len(rooms):
        step = next(((i, p) for i, p in enumerate(passages) if sum(name in placings for name in p.rooms) == 1), None)
        if step is None:
            alone = next(name for name in rooms if name not in placings)
            raise room_alone(alone, first)
        i, passage = step
        used.add(i)
        near, far = (0, 1) if passage.rooms[0] in placings else (1, 0)
        placings[passage.rooms[far]] = _beside(rooms, passage, placings[passage.rooms[near]], near)
    return ({name: placings[name] for name in rooms}, tuple(p for i, p in enumerate(passages) if i not in used))


def join_rooms(rooms: Mapping[str, Room], house: House, group: Sequence[str], passages: Sequence[Passage],
               numbers: Mapping[str, int] | None = None) -> Room:
    """The rooms of one group as one room, in the house's frame. Names of corners, pipes and doors get the number of
    their room in front (A of room 2 is 2A); the jambs of openings that boards run through are J1, J2, ...

    passages: all of the house; numbers: of the rooms, None for as they are listed. Doors that boards run through are
    doors no more. Raises LayoutError ("bad-outline") if the joined floor is no single ring, as where two rooms meet in
    two openings with a stub of wall between: lay one of them with a profile.
    """
    number = numbers or {name: k for k, name in enumerate(rooms, start=1)}
    inner = [p for p in passages if p.through and set(p.rooms) <= set(group)]
    parts = [Polygon(house.placings[name].place(rooms[name].outline_mm)) for name in group]
    joined = shapely.unary_union([*parts, *(_opening_between(rooms, p, house) for p in inner)])
    if not isinstance(joined, Polygon) or joined.interiors:
        raise LayoutError("bad-outline", lazy_gettext(
            "{group} do not join to one plain floor: where rooms meet in more than one opening, lay all of them but "
            "one with a profile.", group=all_of(group)))
    ring = _from(house.placings[group[0]].place(rooms[group[0]].outline_mm)[0],
                 _without_needless(shapely.get_coordinates(orient(joined))[:-1]))
    names = _names_of(ring, {f"{number[name]}{corner}": place for name in group
                             for corner, place in zip(rooms[name].names,
                                                      house.placings[name].place(rooms[name].outline_mm))})
    through = {(room, door) for p in inner for room, door in zip(p.rooms, p.doors)}
    return Room(names=names, outline_mm=ring,
                islands=tuple((f"{number[name]}{island}", house.placings[name].place(corners)) for name in group
                              for island, corners in rooms[name].islands),
                pipes=tuple(_moved_pipe(pipe, house.placings[name], number[name]) for name in group
                            for pipe in rooms[name].pipes), doors=tuple(_moved_door(rooms[name], door,
                                                                                    house.placings[name], number[name],
                                                                                    names, ring) for name in group
                                                                        for door in rooms[name].doors
                                                                        if (name, door.name) not in through),
                length_sd_mm=max(rooms[name].length_sd_mm for name in group))


def door_of(room: Room, name: str, where: str) -> Door:
    """A room's door by its name. Raises LayoutError ("no-such-door") naming those there are."""
    for door in room.doors:
        if door.name == name:
            return door
    known = ", ".join(door.name for door in room.doors) or lazy_gettext("none")
    raise LayoutError("no-such-door", lazy_gettext(
        "{where} has no door {name}; its doors are: {known}.", where=where, name=name, known=known), where=where)


def placed_opening(room: Room, door: Door, placing: Placing) -> NDArray[np.float64]:
    """(2, 2) ends of a door's opening on its wall, in the house's frame."""
    return placing.place(_ends(room, door))


def _ends(room: Room, door: Door) -> NDArray[np.float64]:
    """(2, 2) ends of an opening on its wall line, in the outline's direction (the room on their left)."""
    i, lo, hi = opening_of(room, dataclasses.replace(door, casing=None), 0.0)
    start, end = room.outline_mm[i], room.outline_mm[(i + 1) % len(room.names)]
    along = (end - start) / np.hypot(*(end - start))
    return np.array([start + lo * along, start + hi * along])


def _beside(rooms: Mapping[str, Room], passage: Passage, placing: Placing, near: int) -> Placing:
    """The far room's placing: its opening faces the near one's, middle to middle, a wall's thickness away."""
    here = placing.place(_ends_of(rooms, passage, near))
    there = _ends_of(rooms, passage, 1 - near)
    along, back = here[1] - here[0], there[0] - there[1]  # the two rooms walk round the opening in opposite directions
    heading = float(np.arctan2(along[1], along[0]) - np.arctan2(back[1], back[0]))
    out = np.array([along[1], -along[0]]) / np.hypot(*along)
    turned = Placing(heading_rad=heading, shift_mm=np.zeros(2))
    middle = turned.place(there).mean(axis=0)
    return Placing(heading_rad=heading, shift_mm=here.mean(axis=0) + passage.thickness_mm * out - middle)


def _ends_of(rooms: Mapping[str, Room], passage: Passage, side: int) -> NDArray[np.float64]:
    room = rooms[passage.rooms[side]]
    return _ends(room, door_of(room, passage.doors[side], passage.rooms[side]))


def _opening_between(rooms: Mapping[str, Room], passage: Passage, house: House) -> Polygon:
    """The floor inside an opening, from wall line to wall line and a touch into both rooms."""
    a, b = (house.placings[name].place(_ends(rooms[name], _door_in(house, rooms, name, door)))
            for name, door in zip(passage.rooms, passage.doors))
    inward = [np.array([-(e[1] - e[0])[1], (e[1] - e[0])[0]]) / np.hypot(*(e[1] - e[0])) * _REACH_MM for e in (a, b)]
    return Polygon([a[0] + inward[0], a[0], b[1], b[1] + inward[1], b[0] + inward[1], b[0], a[1], a[1] + inward[0]])


def _door_in(house: House, rooms: Mapping[str, Room], room: str, name: str) -> Door:
    """A door as wide and where all readings of it together say."""
    door = door_of(rooms[room], name, room)
    at, wide = house.openings.get((room, name), (door.from_mm, door.width_mm))
    return dataclasses.replace(door, from_mm=at, width_mm=wide)


def groups_of(names: tuple[str, ...], passages: Sequence[Passage]) -> tuple[tuple[str, ...], ...]:
    """Rooms that boards run through between, in the house's order."""
    group = {name: {name} for name in names}
    for passage in passages:
        if passage.through:
            both = group[passage.rooms[0]] | group[passage.rooms[1]]
            group |= dict.fromkeys(both, both)
    return tuple(dict.fromkeys(tuple(name for name in names if name in group[own]) for own in names))


def _names_of(ring: NDArray[np.float64], known: Mapping[str, NDArray[np.float64]]) -> tuple[str, ...]:
    """A name for every corner of a joined ring: the room's where it is one of a room's corners, else a jamb's."""
    free, jambs = dict(known), itertools.count(1)
    names = []
    for corner in ring:
        nearest = min(free, key=lambda name: float(np.hypot(*(free[name] - corner))), default=None)
        if nearest is not None and np.hypot(*(free[nearest] - corner)) < _REACH_MM:
            names.append(nearest)
            del free[nearest]
        else:
            names.append(f"J{next(jambs)}")
    return tuple(names)


def _from(place: NDArray[np.float64], ring: NDArray[np.float64]) -> NDArray[np.float64]:
    """A ring turned so that it begins nearest to a place."""
    return np.roll(ring, -int(np.argmin(np.hypot(*(ring - place).T))), axis=0)


def _without_needless(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    """A ring without corners that lie on the line of their neighbours or on each other, as joining leaves them."""
    kept = [tuple(corner) for corner in ring]
    while True:
        for i, corner in enumerate(kept):
            before, after = kept[i - 1], kept[(i + 1) % len(kept)]
            if len(kept) > 3 and shapely.LineString([before, after]).distance(shapely.Point(corner)) < 0.01:
                del kept[i]
                break
        else:
            return np.array(kept)


def _moved_pipe(pipe: Pipe, placing: Placing, number: int) -> Pipe:
    x, y = placing.place(np.array([pipe.centre_mm]))[0]
    return dataclasses.replace(pipe, name=f"{number}{pipe.name}", centre_mm=(float(x), float(y)))


def _moved_door(room: Room, door: Door, placing: Placing, number: int, names: tuple[str, ...],
                ring: NDArray[np.float64]) -> Door:
    """The same door in the wall of the joined floor it now lies in."""
    ends = placing.place(_ends(room, door))
    i = min(range(len(ring)), key=lambda k: shapely.LineString([ring[k],
                                                                ring[(k + 1) % len(ring)]]).distance(
        shapely.Point(ends.mean(axis=0))))
    return dataclasses.replace(door, name=f"{number}{door.name}", wall=(names[i], names[(i + 1) % len(ring)]),
                               from_mm=float(np.hypot(*(ends[0] - ring[i]))))


def room_alone(alone: str, first: str) -> LayoutError:
    """What is said of a room that no doorway joins to the first of the others."""
    return LayoutError("room-alone", lazy_gettext(
        "No doorway joins {alone} to {first}; add the doorway between it and its neighbour, or plan it by "
        "itself.", alone=alone, first=first), where=alone)


def refuse_other_width(rooms: Mapping[str, Room], passage: Passage) -> None:
    """Raise LayoutError: "no-such-door", or "doorway-differs" for an opening of two widths."""
    widths = [door_of(rooms[name], door, name).width_mm for name, door in zip(passage.rooms, passage.doors)]
    if abs(widths[0] - widths[1]) > SAME_OPENING_MM:
        (a, b), (da, db) = passage.rooms, passage.doors
        raise LayoutError("doorway-differs", lazy_gettext(
            "Door {da} of {a} is {wide_a:.0f} mm wide, but door {db} of {b}, the same opening, {wide_b:.0f} mm; "
            "measure both between the jambs, or name the door that is meant.", da=da, a=a,
            wide_a=widths[0], db=db, b=b, wide_b=widths[1]), where=f"{a} {da}")


def open_ring(passage: Passage, off_mm: float) -> LayoutError:
    """What is said of a doorway whose two sides come to lie so far apart."""
    (a, b), (da, db) = passage.rooms, passage.doors
    return LayoutError("rooms-apart", lazy_gettext(
        "Going round the rooms, the two sides of the doorway between {a} ({da}) and {b} ({db}) come to lie "
        "{off:.0f} mm apart, more than {closes:.0f} mm; measure again how far each door is from its corner, "
        "and the walls' thickness.", a=a, da=da, b=b, db=db, off=off_mm, closes=CLOSES_MM), where=f"{a} {da}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlap:
    """Two rooms that lie over one another, by so much floor, mm2."""

    rooms: tuple[str, str]
    area_mm2: float

    def refusal(self) -> LayoutError:
        """What is said of it where nothing more is known."""
        a, b = self.rooms
        return LayoutError("rooms-overlap", lazy_gettext(
            "Put side by side, {a} and {b} lie over one another by {shared:.2f} m2; a door is named on the "
            "wrong wall, or its distance is from the wall's other corner.", a=a, b=b,
            shared=self.area_mm2 / 1e6), where=b)


def overlaps(rooms: Mapping[str, Room], placings: Mapping[str, Placing]) -> tuple[Overlap, ...]:
    """Rooms that lie over one another by more than rounding and readings do."""
    shapes = {name: Polygon(placings[name].place(room.outline_mm)) for name, room in rooms.items()}
    pairs = ((a, b, shapes[a].intersection(shapes[b]).area) for a, b in itertools.combinations(shapes, 2))
    return tuple(Overlap(rooms=(a, b), area_mm2=shared) for a, b, shared in pairs if shared > _OVERLAP_MM2)
