"""Reading a stored plan key by key, naming the first that is amiss."""
from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from math import isfinite
from typing import TYPE_CHECKING, TypeVar

from capture.language.messages import Message, lazy_gettext
from layout.errors import LayoutError

if TYPE_CHECKING:
    from layout.plan import Point, Ring

Made = TypeVar("Made")


class Reader:
    """Reads typed keys of a dict and remembers where it is, so that damage can be named."""

    def __init__(self, data: object, where: str) -> None:
        if not isinstance(data, Mapping):
            raise damaged(where, lazy_gettext("is {value}, not an object", value=shown(data)))
        self.data, self.where = data, where

    def raw(self, key: str) -> object:
        """The value of a key that must be there."""
        if key not in self.data:
            raise damaged(f"{self.where}.{key}", lazy_gettext("is missing"))
        return self.data[key]

    def number(self, key: str) -> float:
        """A finite number."""
        return number_in(self.raw(key), f"{self.where}.{key}")

    def whole(self, key: str) -> int:
        """A whole number; 3.0 is one, as JSON has it."""
        return whole_in(self.raw(key), f"{self.where}.{key}")

    def text(self, key: str) -> str:
        """A string."""
        return text_in(self.raw(key), f"{self.where}.{key}")

    def ring(self, key: str) -> Ring:
        """A list of points."""
        return ring_in(self.raw(key), f"{self.where}.{key}")

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of strings."""
        return tuple(text_in(value, where) for value, where in self.items(key))

    def items(self, key: str) -> list[tuple[object, str]]:
        """The members of a list, each with its place."""
        return members_in(self.raw(key), f"{self.where}.{key}")

    def each(self, key: str, make: Callable[[Reader], Made]) -> tuple[Made, ...]:
        """A list of objects, each made by `make`."""
        return tuple(make(Reader(value, where)) for value, where in self.items(key))

    def inner(self, key: str) -> Reader:
        """The reader of an inner object."""
        return Reader(self.raw(key), f"{self.where}.{key}")


def damaged(where: str, what: str | Message) -> LayoutError:
    """The refusal of a stored plan: `where` its place in the file, `what` is wrong there."""
    return LayoutError("damaged-plan", lazy_gettext(
        "The stored plan is damaged: {where} {what}; plan the floor again (plan --afresh --keep), or go back to a "
        "copy.", where=where, what=what), where=where)


def shown(value: object) -> str:
    """A value as it would stand in the file, cut short."""
    text = json.dumps(value, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def number_in(value: object, where: str) -> float:
    """A finite number."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not _finite(value):
        raise damaged(where, lazy_gettext("is {value}, not a number", value=shown(value)))
    return value


def _finite(value: int | float) -> bool:
    try:
        return isfinite(value)
    except OverflowError:
        return False


def whole_in(value: object, where: str) -> int:
    """A whole number; 3.0 is one, as JSON has it."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if not isinstance(value, int) or isinstance(value, bool):
        raise damaged(where, lazy_gettext("is {value}, not a whole number", value=shown(value)))
    return value


def truth_in(value: object, where: str) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise damaged(where, lazy_gettext("is {value}, not true or false", value=shown(value)))
    return value


def text_in(value: object, where: str) -> str:
    """A string."""
    if not isinstance(value, str):
        raise damaged(where, lazy_gettext("is {value}, not text", value=shown(value)))
    return value


def members_in(value: object, where: str) -> list[tuple[object, str]]:
    """The members of a list, each with its place."""
    if not isinstance(value, (list, tuple)):
        raise damaged(where, lazy_gettext("is {value}, not a list", value=shown(value)))
    return [(member, f"{where}[{i}]") for i, member in enumerate(value)]


def point_in(value: object, where: str) -> Point:
    """Two finite numbers."""
    pair = members_in(value, where)
    if len(pair) != 2:
        raise damaged(where, lazy_gettext("is {value}, not a pair of numbers", value=shown(value)))
    return number_in(*pair[0]), number_in(*pair[1])


def ring_in(value: object, where: str) -> Ring:
    """A list of points."""
    return tuple(point_in(member, place) for member, place in members_in(value, where))
