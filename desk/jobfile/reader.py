"""Reading a JSON tree as a type whose fields say what each key may hold: every fault told at once, in one sentence with
its place, its value and the way out.

pydantic finds the faults; the sentences are made here, of the words that the type's fields carry. Where some of a tree
is at fault the rest is read all the same: a key that may be left out goes without its value, an entry that needs the
key goes as a whole.
"""
from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from capture.language.messages import Message, gettext, lazy_gettext, marked
from desk.jobfile.kinds import LARGEST, said
from desk.problem import Problem, shown

T = TypeVar("T")
Way = tuple[str | int, ...]
Schema = dict[str, Any]
#: What a value must be where no field says it, by the kind of fault.
_WORDS = {"dataclass_type": marked("an object in braces"), "dict_type": marked("an object in braces"),
          "tuple_type": marked("a list in square brackets"), "bool_type": marked("true or false"),
          "string_type": marked("text in quotes")}

#: What stands for an entry that was taken out, until its list is closed up.
_GONE: dict[str, Any] = {}


@cache
def adapter_of(kind: Any) -> TypeAdapter[Any]:
    """What reads a type; made once."""
    return TypeAdapter(kind)


@cache
def schema_of(kind: Any) -> Schema:
    """The JSON Schema of a type as pydantic makes it, with the words for every key."""
    return adapter_of(kind).json_schema()


def read_as(kind: type[T], tree: Any, *, name: str = "job.json") -> tuple[T | None, tuple[Problem, ...]]:
    """What a tree holds as far as it can be read (None if nothing can be), and every fault in it.

    tree: JSON data, which is not changed. name: of the file, where the whole of it is meant.
    """
    problems: list[Problem] = []
    kind_of_file: Any = kind
    pruned = _Pruned(tree)
    while True:
        try:
            return adapter_of(kind_of_file).validate_python(pruned.tree, context=pruned.told_of, by_alias=True,
                                                    by_name=False), tuple(dict.fromkeys(problems))
        except ValidationError as error:
            faults = [(fault, _way(fault, pruned.tree)) for fault in error.errors(include_url=False)]
        problems += [_problem(fault, way, pruned, kind, name) for fault, way in faults
                     if not pruned.is_of_our_making(fault, way)]
        if not pruned.take_out([way for _, way in faults]):
            return None, tuple(dict.fromkeys(problems))


def unknown_keys(schema: Schema, tree: Any) -> Iterator[tuple[str, str, set[str]]]:
    """(place, key, keys known there) of every key that the schema of a type does not know."""
    yield from _unknown(tree, _shapes(schema, schema), schema, "")


def _unknown(tree: Any, shapes: list[Schema], whole: Schema, where: str) -> Iterator[tuple[str, str, set[str]]]:
    known = {key for shape in shapes for key in shape.get("properties", ())}
    for key, inner in tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ():
        if isinstance(tree, dict) and known and key not in known:
            yield where, str(key), known
        elif shapes:
            under = [shape for one in _under(shapes, key) for shape in _shapes(one, whole)]
            yield from _unknown(inner, under, whole, place_of((key,), where))


def place_of(way: Way, where: str = "") -> str:
    """The place in a file as people write it: photos[2].marks[5]."""
    return (where + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in way)).lstrip(".")


class _Pruned:
    """A copy of a tree from which what is at fault is taken out. places: where its objects stand in the file, by id."""

    def __init__(self, tree: Any) -> None:
        self.places: dict[int, str] = {}
        self.tree = self._copy(tree, "")
        #: What lists and objects lost, by id: places and keys.
        self._lost: dict[int, dict[str | int, None]] = {}

    def _copy(self, value: Any, where: str) -> Any:
        if isinstance(value, dict):
            made = {key: self._copy(inner, f"{where}.{key}" if where else key) for key, inner in value.items()}
            self.places[id(made)] = where
            return made
        if isinstance(value, list):
            return [self._copy(inner, f"{where}[{place}]") for place, inner in enumerate(value)]
        return value

    def told_of(self, value: Any) -> tuple[str, dict[str | int, None]]:
        """(place in the file, keys taken out) of one of the tree's objects."""
        return self.places[id(value)], self._lost.get(id(value), {})

    def at(self, way: Way) -> Any:
        """The value at a place, None if there is none."""
        here = self.tree
        for step in way:
            if not (step in here if isinstance(here, dict) else isinstance(step, int) and step < len(here)):
                return None
            here = here[step]
        return here

    def where(self, way: Way) -> str:
        """The place in the file, whatever was taken out before it."""
        known = next((k for k in range(len(way), -1, -1) if id(self.at(way[:k])) in self.places), 0)
        return place_of(way[known:], self.places.get(id(self.at(way[:known])), ""))

    def is_of_our_making(self, fault: ErrorDetails, way: Way) -> bool:
        """Whether a fault is there because something was taken out."""
        inside = self.at(way[:-1])
        lost = self._lost.get(id(inside), {})
        if isinstance(members := self.at(way), list):
            enough = fault["type"] == "too_short" and len(members) >= fault["ctx"]["min_length"]
            return enough or id(members) in self._lost
        return fault["type"] == "missing" and (bool(lost) if isinstance(inside, list) else way[-1] in lost)

    def take_out(self, ways: list[Way]) -> bool:
        """Take out what is at fault; False if that is everything."""
        lists = []
        for way in ways:
            if not way:
                return False  # the whole of it is at fault
            if not isinstance(self.at(way[:-1]), (dict, list)):
                continue  # gone already, with what was round it
            while way and not self._may_go(way):
                way = way[:-1]
            if not way:
                return False
            inside, key = self.at(way[:-1]), way[-1]
            if isinstance(inside, list):
                lists.append(inside)
                inside[int(key)] = _GONE
            else:
                del inside[key]
            self._lost.setdefault(id(inside), {})[key] = None
        for members in lists:
            members[:] = [member for member in members if member is not _GONE]
        return True

    def _may_go(self, way: Way) -> bool:
        """Whether there is such a value to take out. A ring with a wrong place is no ring: it goes as a whole."""
        inside, key = self.at(way[:-1]), way[-1]
        if isinstance(inside, list):
            return isinstance(key, int) and key < len(inside) and any(isinstance(one, (dict, str)) for one in inside)
        return key in inside


def _way(fault: ErrorDetails, tree: Any) -> Way:
    """The way to a fault through the tree: of its steps those that are none of the tree name a branch of a union (in
    brackets, where an entry could have such a key)."""
    missing = fault["loc"][-1:] if fault["type"] == "missing" else ()
    way: list[str | int] = []
    for step in fault["loc"][:len(fault["loc"]) - len(missing)]:
        if step in tree if isinstance(tree, dict) else isinstance(tree, list) and step in range(len(tree)):
            tree = tree[step]
            way.append(step)
    return (*way, *missing)


def _problem(fault: ErrorDetails, way: Way, pruned: _Pruned, kind: Any, name: str) -> Problem:
    """A fault in one sentence, at its place."""
    value, where = pruned.at(way), pruned.where(way)
    match fault:
        case {"type": str(slug), "ctx": {"says": (Message() as unfit,), **more}}:
            return Problem(slug=slug, where=place_of((more["at"],), where) if "at" in more else where,
                           says=str(unfit.filled(where=where or name, value=shown(value))))
        case {"type": "missing", "loc": (*_, str(key))}:
            where = pruned.where(way[:-1])
            return Problem(slug="missing-field", where=where, says=gettext(
                '{where} lacks "{key}", {wanted}.', where=where or name, key=key, wanted=_words(fault, way, kind)))
        case {"type": "missing"}:
            value, where, way = pruned.at(way[:-1]), pruned.where(way[:-1]), way[:-1]
    match fault:
        case {"ctx": {"le": bound} | {"ge": bound}} if abs(bound) == LARGEST:
            says = lazy_gettext("{where} is {value}, far outside anything a room can hold; it must be {wanted}.")
        case {"ctx": {"ge": least}}:
            says = lazy_gettext("{where} is {value}, but it cannot be less than {least:g}; it must be {wanted}."
                                ).filled(least=float(least))
        case _:
            says = lazy_gettext("{where} is {value}, but it must be {wanted}.")
    return Problem(slug="wrong-field", where=where, says=str(says.filled(
        where=where or name, value=shown(value), wanted=_words(fault, way, kind))))


def _words(fault: ErrorDetails, way: Way, kind: Any) -> str:
    """What stands at a place in words: those of the field, else those of the kind of value."""
    whole = schema_of(kind)
    at = [whole]
    for step in way:
        at = _under([shape for one in at for shape in _shapes(one, whole)], step)
    branches = [shape for one in at for shape in (one, *one.get("anyOf", ())) if "description" in shape and way]
    told = str(branches[0]["description"]) if branches else _WORDS.get(fault["type"], marked("of another kind"))
    options = re.findall(r"'([^']*)'", str(fault.get("ctx", {}).get("expected", "")))
    if options and '"' not in told:
        return gettext("one of {options}", options=", ".join(f'"{each}"' for each in options))
    bare = fault["type"] == "string_type" and not re.search('"|quotes', told)
    return gettext("{wanted}, in quotes", wanted=said(told)) if bare else said(told)


def _under(shapes: list[Schema], step: str | int) -> list[Schema]:
    """What may stand at a key, or at a place in a list, of values of these shapes."""
    if isinstance(step, int):
        found = [shape["prefixItems"][step] if step < len(shape.get("prefixItems", ())) else shape.get("items")
                 for shape in shapes]
    else:
        found = [shape.get("properties", {}).get(step, shape.get("additionalProperties")) for shape in shapes]
    return [each for each in found if isinstance(each, dict)]


def _shapes(schema: Schema, whole: Schema) -> list[Schema]:
    """A schema and the branches of it, none of them a reference."""
    if "$ref" in schema:
        return _shapes(whole["$defs"][schema["$ref"].rpartition("/")[2]], whole)
    branches = [*schema.get("anyOf", ()), *schema.get("oneOf", ())]
    return [schema, *(shape for branch in branches for shape in _shapes(branch, whole))]
