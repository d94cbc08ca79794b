"""Changes of a house file: doors joined and parted, how a doorway is laid, the order, a room more. Pure: a tree in,
another out, judged as the file is read; `desk.store.house_store` reads and writes.

Every function raises JobFileError in one sentence for what cannot be, and the house stays as it was.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from capture.language.messages import gettext
from desk.jobfile.house_file import HOUSE_NAME, parse_house
from desk.problem import file_error

#: A house file as plain JSON data.
HouseTree = dict[str, Any]
#: One side of a doorway: the room and the name of its door.
Side = tuple[str, str]
LAID = ("auto", "through", "profile")


def new_house(rooms: Sequence[str], title: str = "") -> HouseTree:
    """A house of these rooms, no doors joined yet."""
    named = {"title": title} if title else {}
    return _judged({"format": "tapegroove-house", "version": 1, **named, "rooms": list(rooms), "doorways": []})


def with_doors_joined(tree: HouseTree, one: Side, other: Side, *, thickness_mm: float | None = None,
                      doors: Mapping[str, Sequence[str]] | None = None) -> HouseTree:
    """The two doors as one opening, laid by the rule of long runs. A door leads to one place: doorways that either was
    part of before are gone, but joined to the same door again it keeps what was said of it.

    thickness_mm: of the wall, where the doors' reveals do not tell it. doors: those there are in each room, by name
    (None: not looked at).
    """
    if one[0] == other[0]:
        raise file_error("same-room", gettext("Both doors are in {room}; join a door of one room to a door of another.",
                                              room=one[0]), where="doorways")
    for room, door in (one, other):
        if doors is not None and door not in doors.get(room, ()):
            raise file_error("no-such-door", gettext(
                "{room} has no door {door}; its doors are: {known}.", room=room, door=door,
                known=", ".join(doors.get(room, ())) or gettext("none")), where=room)
    before = [entry for entry in _doorways(tree) if {one, other} & _sides(entry)]
    same = next((entry for entry in before if _sides(entry) == {one, other}), {})
    made = {"rooms": [one[0], other[0]], "doors": [one[1], other[1]]} | {
        key: same[key] for key in ("laid", "thickness") if key in same} | (
        {} if thickness_mm is None else {"thickness": thickness_mm})
    return _judged(tree | {"doorways": [*(entry for entry in _doorways(tree) if entry not in before), made]})


def with_doors_parted(tree: HouseTree, one: Side, other: Side) -> HouseTree:
    """The two doors no longer one opening."""
    gone = _doorway(tree, one, other)
    return _judged(tree | {"doorways": [entry for entry in _doorways(tree) if entry is not gone]})


def with_laid(tree: HouseTree, one: Side, other: Side, laid: str) -> HouseTree:
    """The doorway laid "through", with a "profile", or "auto": by the rule of long runs."""
    if laid not in LAID:
        raise file_error("wrong-field", gettext("A doorway is laid {known}, not {laid}.", known=", ".join(LAID),
                                                laid=laid), where="doorways")
    found = _doorway(tree, one, other)
    changed = {key: value for key, value in found.items() if key != "laid"} | ({} if laid == "auto" else {"laid": laid})
    return _judged(tree | {"doorways": [changed if entry is found else entry for entry in _doorways(tree)]})


def with_order(tree: HouseTree, rooms: Sequence[str]) -> HouseTree:
    """The rooms laid in this order; none: from the farthest to the entrance."""
    return _with(tree, "order", list(rooms))


def with_entrance(tree: HouseTree, room: str) -> HouseTree:
    """The room people leave by; "": as the doors tell."""
    return _with(tree, "entrance", room)


def with_room(tree: HouseTree, room: str) -> HouseTree:
    """One room more, laid last where an order is written: it was not thought of before."""
    order = {"order": [*tree["order"], room]} if tree.get("order") else {}
    return _judged(tree | {"rooms": [*tree.get("rooms", ()), room]} | order)


def _with(tree: HouseTree, key: str, value: Any) -> HouseTree:
    return _judged({name: told for name, told in tree.items() if name != key} | ({key: value} if value else {}))


def _doorways(tree: HouseTree) -> list[dict[str, Any]]:
    return list(tree.get("doorways") or ())


def _sides(entry: Mapping[str, Any]) -> set[Side]:
    return set(zip(entry["rooms"], entry["doors"]))


def _doorway(tree: HouseTree, one: Side, other: Side) -> dict[str, Any]:
    for entry in _doorways(tree):
        if _sides(entry) == {one, other}:
            return entry
    raise file_error("no-such-doorway", gettext(
        "{file} joins no door {door_a} of {a} to door {door_b} of {b}; join them first.", file=HOUSE_NAME, a=one[0],
        door_a=one[1], b=other[0], door_b=other[1]), where="doorways")


def _judged(tree: HouseTree) -> HouseTree:
    parse_house(tree)
    return tree
