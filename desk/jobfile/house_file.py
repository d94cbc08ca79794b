"""house.json as it is written: which rooms make a house, which doors lead into one another, and how it is laid."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from capture.language.messages import gettext, lazy_gettext, marked
from desk.jobfile.kinds import Entry, LengthFrom1, Name, OrAuto, Pair, Placed, PrintedText, Wall, like, words, wrong
from desk.jobfile.laying_entries import FlooringEntry
from desk.jobfile.reader import place_of, read_as, schema_of, unknown_keys
from desk.problem import JobFileError, Problem, shown
from printpack.outputs.filenames import is_portable

HOUSE_NAME = "house.json"


def _folder(name: str) -> str:
    if not is_portable(name):
        raise wrong(lazy_gettext('the name of a folder beside {file}, without any of < > : " / \\ | ? * and no word '
                                 "that Windows keeps to itself", file=HOUSE_NAME))
    return name


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorwayEntry(Placed):
    """One opening seen from two rooms; laid "auto": by the rule of long runs (`layout.flat.doorway_choice`); thickness
    None where the doors' reveals tell it."""

    rooms: Annotated[Pair, words(marked('the two rooms it joins, such as ["kitchen", "hall"]'))]
    doors: Annotated[tuple[Name, Name], words(marked('the name of the door in either room, such as ["D1", "D2"]'))]
    laid: Literal["auto", "through", "profile"] = "auto"
    thickness_mm: Annotated[LengthFrom1 | None, like(120)] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RowsAlong(Placed):
    """The wall that rows run along."""

    room: Annotated[Name, words(marked("the room the wall is in"))]
    wall: Wall


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseEntry(Entry):
    """Folders of the rooms, the doorways between them, and what is laid in all of them. entrance: the room people leave
    by; order: all rooms as they are laid, where that is settled."""

    format: Literal["tapegroove-house"] = "tapegroove-house"
    version: Annotated[Literal[1], words(marked("1, the version that this program reads"))] = 1
    title: PrintedText = ""
    rooms: Annotated[tuple[Annotated[Name, AfterValidator(_folder)], ...], Field(min_length=1), words(
        marked('a list of the folders of its rooms, each once, such as ["kitchen", "hall"]'))]
    doorways: tuple[DoorwayEntry, ...] = ()
    direction: Annotated[RowsAlong | None, OrAuto(), words(marked(
        '"auto", or a wall such as {"room": "kitchen", "wall": ["A", "B"]}'))] = None
    flooring: dict[str, Any] | None = None
    entrance: Annotated[Name, words(marked("the room people leave the flat by"))] = ""
    order: Annotated[tuple[Name, ...], words(marked("a list of all rooms in the order they are laid"))] = ()


def parse_house(tree: Any) -> HouseEntry:
    """The house of a JSON tree. Raises JobFileError with every fault."""
    entry, problems = read_as(HouseEntry, tree, name=HOUSE_NAME)
    problems += tuple(_strange(entry) if entry is not None and not problems else ())
    # The file is written by hand and never saved again: a key nobody knows is a slip, and what was meant would be left
    # undone.
    problems += tuple(Problem(slug="wrong-field", where=place, says=gettext(
        "{where} has the key {key}, which means nothing here; known are {known}.",
        where=place or HOUSE_NAME, key=shown(key),
        known=", ".join(sorted(known)))) for place, key, known in unknown_keys(schema_of(HouseEntry), tree))
    if entry is None or problems:
        raise JobFileError(problems)
    return entry


def slips(entry: HouseEntry) -> tuple[Problem, ...]:
    """Keys of the house's flooring that nothing reads. They stop nothing: what is laid in all rooms may be copied from
    a job, which keeps keys of a later version."""
    return tuple(_slip(place_of((place,) if place else (), "flooring"), key, known)
                 for place, key, known in unknown_keys(schema_of(FlooringEntry), entry.flooring))


def _slip(place: str, key: str, known: set[str]) -> Problem:
    where = f"{HOUSE_NAME}: {place}"
    return Problem(slug="unknown-key", where="flooring", stage="plan", severity="note", says=gettext(
        "{where} has the key {key}, which means nothing here; known are {known}.", where=where, key=shown(key),
        known=", ".join(sorted(known))))


def _strange(entry: HouseEntry) -> Iterator[Problem]:
    """Rooms listed twice, or named and not listed."""
    if len({room.casefold() for room in entry.rooms}) < len(entry.rooms):
        yield Problem(slug="wrong-field", where="rooms", says=gettext(
            '{file} must list the folders of its rooms, each once, such as "rooms": ["kitchen", "hall"].',
            file=HOUSE_NAME))
        return
    named = [(doorway.where, room) for doorway in entry.doorways for room in doorway.rooms]
    named += [(entry.direction.where, entry.direction.room)] if entry.direction else []
    named += [("entrance", entry.entrance)] if entry.entrance else []
    if entry.order and sorted(entry.order) != sorted(entry.rooms):
        yield Problem(slug="wrong-field", where="order", says=gettext(
            "order must list every room once, first the one that is laid first; the rooms are: {rooms}.",
            rooms=", ".join(entry.rooms)))
    yield from (Problem(slug="wrong-field", where=where, says=gettext(
        '{where} names {room}, which is none of the rooms; "rooms" lists them: {rooms}.', where=where, room=room,
        rooms=", ".join(entry.rooms)))
        for where, room in named if room not in entry.rooms)
