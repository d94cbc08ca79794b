"""Wrong values for every place of a JSON tree, one at a time."""
from __future__ import annotations

import contextlib
import copy
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from desk.jobfile.digests import with_digests

#: Wrong values for any place; 9,999,999 is a number the reader of a job lets pass anywhere.
WRONG: tuple[Any, ...] = (None, [], {}, "", -1, 0, 1e30, 9_999_999, 0.5, "nan", "x" * 5000, "../../../victim/keep",
                          "a\u0000\u001b[2J")
GONE = object()


@dataclass(frozen=True, slots=True)
class Case:
    """A tree, the way to a place in it, the value to go there, how it is run and sealed."""

    kind: str
    tree: Any
    way: tuple[str | int, ...]
    value: Any
    seal: str = ""

    @property
    def name(self) -> str:
        return (f"{self.kind} {self.seal} {'.'.join(map(str, self.way))} = "
                f"{'(taken out)' if self.value is GONE else json.dumps(self.value)[:40]}")

    def made(self) -> Any:
        tree = copy.deepcopy(self.tree)
        inside = tree
        for key in self.way[:-1]:
            inside = inside[key]
        if self.value is GONE:
            del inside[self.way[-1]]
        else:
            inside[self.way[-1]] = self.value
        if self.seal == "forged":
            with contextlib.suppress(AttributeError, KeyError, TypeError):
                tree["plan"] = with_digests(tree["plan"])
        return tree


def places(tree: Any, way: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The way to every value under a tree."""
    if way:
        yield way
    items = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in items:
        yield from places(value, (*way, key))
