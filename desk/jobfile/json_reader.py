"""Reading a JSON tree field by field, noting every fault with its place and going on.

An entry with a fault is dropped from what is built, and the fault is kept; so one reading finds all that is wrong.
Which keys were asked for is kept too: what nobody asks for is not known here, and no second list of keys can fall
behind.
"""
from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from pathlib import PurePosixPath
from typing import Any, TypeVar

from desk.problem import Problem, printable
from printpack.outputs.filenames import is_portable

T = TypeVar("T")

#: No length, pixel or angle of a job is as large as this (10 km, or ten million pixels).
LARGEST = 1e7
#: A name longer than this does not fit a drawing.
LONGEST_NAME = 40


class Unfit(Exception):
    """The entry being read cannot be used; why is already noted."""


class Node:
    """One value of the tree with its place in the file, the list that faults are noted in, and the keys asked for by
    kind of place."""

    def __init__(self, value: Any, where: str, problems: list[Problem],
                 asked: dict[str, set[str]] | None = None) -> None:
        self.value = value
        self.where = where
        self.problems = problems
        self.asked = {} if asked is None else asked

    def fault(self, says: str, slug: str = "wrong-field") -> Unfit:
        """Note a fault at this place; raise what it returns to drop the entry."""
        self.problems.append(Problem(slug=slug, where=self.where, says=says))
        return Unfit()

    def wrong(self, wanted: str) -> Unfit:
        """Note that this value is not of the kind that is needed here."""
        return self.fault(f"{self.where or 'job.json'} is {shown(self.value)}, but it must be {wanted}.")

    def child(self, key: str | int) -> Node:
        """The value at a key or position; a missing key gives a node of None."""
        place = f"{self.where}[{key}]" if isinstance(key, int) else f"{self.where}.{key}".lstrip(".")
        if isinstance(key, str):
            self.leave(key)
        value = self.value[key] if isinstance(key, int) else self.value.get(key)
        return Node(value, place, self.problems, self.asked)

    def leave(self, *keys: str) -> None:
        """Take keys as known, whether or not they are read."""
        self.asked.setdefault(_kind(self.where), set()).update(keys)

    def unread(self) -> Iterator[tuple[str, str, set[str]]]:
        """(place, key, keys known there) of each key under this node that nothing has asked for. Parts left unread as a
        whole, and entries with a fault, which were given up half read, are passed over.
        """
        if isinstance(self.value, list):
            for place in range(len(self.value)):
                yield from self.child(place).unread()
        known = self.asked.get(_kind(self.where), set())
        if not isinstance(self.value, dict) or not known or (self.where
                                                             and any(p.where.startswith(self.where)
                                                                     for p in self.problems)):
            return
        for key, value in self.value.items():
            if key not in known:
                yield self.where, key, known
            else:
                yield from Node(value, f"{self.where}.{key}".lstrip("."), self.problems, self.asked).unread()

    def mapping(self) -> Node:
        """This node, if it is an object."""
        if not isinstance(self.value, dict):
            raise self.wrong("an object in braces")
        return self

    def has(self, key: str) -> bool:
        """Whether the key is there with a value; null counts as not said."""
        self.leave(key)
        return self.value.get(key) is not None

    def sequence(self, key: str) -> list[Node]:
        """The members of the list at `key`; none if the key is missing."""
        if not self.has(key):
            return []
        node = self.child(key)
        if not isinstance(node.value, list):
            node.wrong("a list in square brackets")
            return []
        return [node.child(i) for i in range(len(node.value))]

    def each(self, key: str, build: Callable[[Node], T]) -> tuple[T, ...]:
        """What `build` makes of each member of the list at `key`; members with a fault are noted and left out."""
        made = (node.attempt(build) for node in self.sequence(key))
        return tuple(value for value in made if value is not None)

    def attempt(self, build: Callable[[Node], T]) -> T | None:
        """What `build` makes of this node, or None after a noted fault."""
        try:
            return build(self)
        except Unfit:
            return None

    def part(self, key: str, build: Callable[[Node], T]) -> T | None:
        """What `build` makes of the value at `key`, or None if it is missing or has a noted fault."""
        return self.child(key).attempt(build) if self.has(key) else None

    def need(self, key: str, build: Callable[[Node], T], *, wanted: str) -> T:
        """What `build` makes of the value at `key`, which must be there."""
        if not self.has(key):
            raise self.fault(f'{self.where or "job.json"} lacks "{key}", {wanted}.', "missing-field")
        return build(self.child(key))

    def length(self, key: str, *, least: float = 0.0, like: str) -> float:
        """A length in mm that must be there."""
        return self.need(key, lambda n: n.number(least=least, wanted=f"a length in mm, such as {like}"),
                         wanted=f"a length in mm, such as {like}")

    def maybe_length(self, key: str, *, least: float = 0.0, like: str) -> float | None:
        """A length in mm, or None if it is missing or has a noted fault."""
        return self.part(key, lambda n: n.number(least=least, wanted=f"a length in mm, such as {like}"))

    def number(self, *, wanted: str, least: float = -LARGEST) -> float:
        """This value as a finite float, no smaller than `least`."""
        if isinstance(self.value, bool) or not isinstance(self.value, (int, float)):
            raise self.wrong(wanted)
        if not abs(self.value) <= LARGEST:
            raise self.fault(
                f"{self.where} is {shown(self.value)}, far outside anything a room can hold; it must be {wanted}.")
        if self.value < least:
            raise self.fault(
                f"{self.where} is {shown(self.value)}, but it cannot be less than {least:g}; it must be {wanted}.")
        return float(self.value)

    def whole(self, *, wanted: str, least: int = 1) -> int:
        """This value as a whole number."""
        value = self.number(wanted=wanted, least=least)
        if value != math.floor(value):
            raise self.wrong(wanted)
        return int(value)

    def spread(self) -> float:
        """This value as a standard deviation: above zero."""
        value = self.number(wanted="a spread above zero")
        if value <= 0:
            raise self.wrong("a spread above zero; leave it out to have the usual one")
        return value

    def text(self, *, wanted: str = "text in quotes") -> str:
        """This value as text."""
        if not isinstance(self.value, str):
            raise self.wrong(wanted)
        return self.value

    def name(self) -> str:
        """This value as the name of a point, wall end, camera, pipe or door."""
        text = self.text(wanted='a name in quotes, such as "A"')
        if not text or text != text.strip() or len(text) > LONGEST_NAME or not text.isprintable():
            raise self.wrong(f"a name of 1 to {LONGEST_NAME} printable letters without blanks at its ends")
        return text

    def yes_or_no(self) -> bool:
        """This value as true or false."""
        if not isinstance(self.value, bool):
            raise self.wrong("true or false")
        return self.value

    def path(self) -> str:
        """This value as a relative path, with forward slashes, that cannot leave the job's folder."""
        text = self.text(wanted='a path in quotes, such as "photos/1.jpg"')
        path = PurePosixPath(text)
        if not path.parts or path.is_absolute() or ".." in path.parts or not all(map(is_portable, path.parts)):
            raise self.fault(f"{self.where} is {shown(text)}, which may lead out of the job's folder; "
                             'copy the picture into photos/ and write its path from there, such as "photos/1.jpg".',
                             "path-outside")
        return text

    def choice(self, options: tuple[str, ...]) -> str:
        """This value as one of the given words."""
        if self.value not in options:
            raise self.wrong("one of " + ", ".join(f'"{o}"' for o in options))
        return self.value

    def pair(self) -> tuple[str, str]:
        """This value as two different names."""
        if not isinstance(self.value, list) or len(self.value) != 2:
            raise self.wrong('two names, such as ["A", "B"]')
        a, b = (self.child(i).name() for i in (0, 1))
        if a == b:
            raise self.fault(f"{self.where} names {a} twice; it must name two different points.", "same-point")
        return a, b

    def place(self) -> tuple[float, float]:
        """This value as an [x, y] pair of numbers."""
        if not isinstance(self.value, list) or len(self.value) != 2:
            raise self.wrong("two numbers, [x, y]")
        x, y = (self.child(i).number(wanted="a number") for i in (0, 1))
        return x, y


def _kind(where: str) -> str:
    """A place without its numbers: entries of one list know the same keys."""
    return re.sub(r"\[\d+\]", "[]", where)


def shown(value: Any) -> str:
    """A value as it would stand in the file, cut short."""
    if value is None:
        return "missing"
    text = printable(json.dumps(value, ensure_ascii=False))
    return text if len(text) <= 60 else text[:57] + "..."
