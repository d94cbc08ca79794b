"""A house file begun, and a room more in it. Pure: a tree in, another out, judged as the file is read; the page makes
all other changes itself and saves the whole (`desk.store.house_store`).

Either function raises JobFileError in one sentence for what cannot be, and the house stays as it was.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from desk.jobfile.house_file import parse_house

#: A house file as plain JSON data.
HouseTree = dict[str, Any]


def new_house(rooms: Sequence[str], title: str = "") -> HouseTree:
    """A house of these rooms, no doors joined yet."""
    named = {"title": title} if title else {}
    return _judged({"format": "tapegroove-house", "version": 1, **named, "rooms": list(rooms), "doorways": []})


def with_room(tree: HouseTree, room: str) -> HouseTree:
    """One room more, laid last where an order is written: it was not thought of before."""
    order = {"order": [*tree["order"], room]} if tree.get("order") else {}
    return _judged(tree | {"rooms": [*tree.get("rooms", ()), room]} | order)


def _judged(tree: HouseTree) -> HouseTree:
    parse_house(tree)
    return tree
