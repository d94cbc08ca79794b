"""JSON data from a declaration: what a dataclass's fields say is written, read and described as a schema.

A field's key is its name without `_mm`, unless `Declaration.keys` gives another (a path such as "cover.polygons" goes
into an inner object, "" puts an object's own keys in its place; a path that ends in "?" is left out where the value is
the field's default). A field with a default may be missing, unless its path ends in "!". A subject of facts stands for
its kinds, told apart by their slugs.
"""
from __future__ import annotations

import dataclasses
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from capture.fact import Fact
from layout.planfile.reader import damaged, members_in, number_in, shown, text_in, truth_in, whole_in

Schema = dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """A kind of value: how it is read (value, its place), written, and described (definitions named on the way)."""

    read: Callable[[object, str], Any]
    write: Callable[[Any], Any]
    describe: Callable[[Schema], Schema]


@dataclass(frozen=True, slots=True, eq=False)
class Declaration:
    """What the fields alone do not say: keys that differ, and forms of one's own, by the type or by (class, field)."""

    keys: Mapping[tuple[type, str], str]
    forms: Mapping[Any, Form]


def _same(value: Any) -> Any:
    return value


def plain(read: Callable[[object, str], Any], name: str) -> Form:
    """A number, a text or a truth."""
    return Form(read, _same, lambda _: {"type": name})


PLAIN = {float: plain(number_in, "number"), int: plain(whole_in, "integer"), str: plain(text_in, "string"),
         bool: plain(truth_in, "boolean")}


class Codec:
    """Reads, writes and describes the classes of a declaration."""

    def __init__(self, declaration: Declaration) -> None:
        self._declared = declaration
        self._known: dict[Any, Form] = {}

    def form(self, kind: Any) -> Form:
        """How a type is read, written and described."""
        if kind not in self._known:
            self._known[kind] = self._form(kind)
        return self._known[kind]

    def _form(self, kind: Any) -> Form:
        known = self._declared.forms.get(kind) or PLAIN.get(kind)
        if known is not None:
            return known
        origin, inside = get_origin(kind), get_args(kind)
        if origin is Literal:
            return one_of(inside)
        if origin is tuple:
            return (many_of(self.form(inside[0])) if inside[-1] is Ellipsis
                    else several_of([self.form(each) for each in inside]))
        if origin in (Union, types.UnionType):
            (only,) = [each for each in inside if each is not type(None)]
            return self.form(only)
        if Fact in kind.__bases__:
            return tagged({slug: self.form(each) for slug, each in kinds_of(kind).items()})
        return self._object(kind)

    def _object(self, kind: type) -> Form:
        parts = [_Part.of(kind, each, self._declared.forms.get((kind, each.name)) or self.form(hint),
                          self._declared.keys) for each, hint in _fields_of(kind)]
        slug = getattr(kind, "slug", None)
        if len({part.path for part in parts}) < len(parts):
            raise TypeError(f"two fields of {kind.__name__} share a key")

        def read(data: object, where: str) -> Any:
            told = an_object(data, where)
            return kind(**{part.name: value for part in parts for value in part.found(told, where)})

        def write(value: Any) -> dict[str, Any]:
            out: dict[str, Any] = {"slug": slug} if isinstance(slug, str) else {}
            for part in parts:
                part.put(out, value)
            return out

        def describe(found: Schema) -> Schema:
            if kind.__name__ not in found:
                found[kind.__name__] = {}
                found[kind.__name__] |= _described(kind, parts, slug, found)
            return {"$ref": f"#/$defs/{kind.__name__}"}

        return Form(read, write, describe)


def kinds_of(base: Any) -> dict[str, type]:
    """The subclasses of a class by their slugs. Of a dataclass with slots, which is made twice, the one that
    has them."""
    return {each.slug: each for each in base.__subclasses__() if "__slots__" in vars(each)}


def _fields_of(kind: Any) -> list[tuple[dataclasses.Field[Any], Any]]:
    hints = get_type_hints(kind)
    return [(each, hints[each.name]) for each in dataclasses.fields(kind)]


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """A field: its name, the path of keys to it, its form, its default, and whether that is left out."""

    name: str
    path: tuple[str, ...]
    form: Form
    default: Any
    unsaid: bool

    @classmethod
    def of(cls, kind: type, each: dataclasses.Field[Any], form: Form, keys: Mapping[tuple[type, str], str]) -> _Part:
        key = keys.get((kind, each.name), each.name.removesuffix("_mm").removesuffix("_mm2"))
        path = tuple(key.rstrip("?!").split(".")) if key else ()
        return cls(each.name, path, form, MISSING if key.endswith("!") else each.default,
                   each.default is None or key.endswith("?"))

    def found(self, data: Mapping[str, Any], where: str) -> list[Any]:
        """The value, if the data has one. Raises LayoutError (damaged-plan)."""
        if not self.path:
            return [self.form.read(data, where)]
        for key in self.path[:-1]:
            if key not in data:
                raise damaged(f"{where}.{key}", "is missing")
            where = f"{where}.{key}"
            data = an_object(data[key], where)
        key = self.path[-1]
        if key in data:
            return [self.form.read(data[key], f"{where}.{key}")]
        if self.default is MISSING:
            raise damaged(f"{where}.{key}", "is missing")
        return []

    def put(self, out: dict[str, Any], owner: Any) -> None:
        value = getattr(owner, self.name)
        if self.unsaid and value == self.default:
            return
        for key in self.path[:-1]:
            out = out.setdefault(key, {})
        if self.path:
            out[self.path[-1]] = self.form.write(value)
        else:
            out.update(self.form.write(value))


def _described(kind: type, parts: list[_Part], slug: object, found: Schema) -> Schema:
    schema: Schema = {"type": "object", "description": " ".join((kind.__doc__ or "").split()), "properties": {},
                      "required": []}
    if isinstance(slug, str):
        schema["properties"]["slug"], schema["required"] = {"const": slug}, ["slug"]
    for part in parts:
        if not part.path:
            inner = found.pop(part.form.describe(found)["$ref"].rpartition("/")[2])
            schema["properties"] |= inner["properties"]
            schema["required"] += inner["required"]
            continue
        inner = schema
        for key in part.path[:-1]:
            inner["required"] += [key] * (key not in inner["required"])
            inner = inner["properties"].setdefault(key, {"type": "object", "properties": {}, "required": []})
        inner["properties"][part.path[-1]] = part.form.describe(found)
        inner["required"] += [part.path[-1]] * (part.default is MISSING)
    return schema


def an_object(data: object, where: str) -> Mapping[str, Any]:
    """The data, if it is an object. Raises LayoutError (damaged-plan)."""
    if not isinstance(data, Mapping):
        raise damaged(where, f"is {shown(data)}, not an object")
    return data


def one_of(allowed: tuple[Any, ...]) -> Form:
    """One of a few words."""
    def read(value: object, where: str) -> Any:
        if value not in allowed:
            raise damaged(where, f"is {shown(value)}, but it must be {' or '.join(map(str, allowed))}")
        return value
    return Form(read, _same, lambda _: {"enum": list(allowed)})


def many_of(inner: Form) -> Form:
    """A list of any length."""
    return Form(lambda value, where: tuple(inner.read(*member) for member in members_in(value, where)),
                lambda value: list(map(inner.write, value)),
                lambda found: {"type": "array", "items": inner.describe(found)})


def several_of(inner: list[Form]) -> Form:
    """A list of so many."""
    def read(value: object, where: str) -> tuple[Any, ...]:
        members = members_in(value, where)
        if len(members) != len(inner):
            what = "a pair of numbers" if inner == [PLAIN[float]] * 2 else f"a list of {len(inner)}"
            raise damaged(where, f"is {shown(value)}, not {what}")
        return tuple(form.read(*member) for form, member in zip(inner, members))

    def describe(found: Schema) -> Schema:
        alike = all(form is inner[0] for form in inner)
        items = {"items": inner[0].describe(found)} if alike else {"prefixItems": [f.describe(found) for f in inner]}
        return {"type": "array"} | items | {"minItems": len(inner), "maxItems": len(inner)}

    return Form(read, lambda value: [form.write(member) for form, member in zip(inner, value)], describe)


def tagged(kinds: Mapping[str, Form]) -> Form:
    """One of several objects, told apart by `slug`."""
    def read(value: object, where: str) -> Any:
        form = kinds.get(str(an_object(value, where).get("slug")))
        if form is None:
            raise damaged(f"{where}.slug", "is missing, or is a word that means nothing here")
        return form.read(value, where)

    def write(value: Any) -> Any:
        return kinds[value.slug].write(value)

    return Form(read, write, lambda found: {"anyOf": [form.describe(found) for form in kinds.values()]})


def keyed(**parts: Form) -> Form:
    """A tuple as an object with a key for each member."""
    def read(value: object, where: str) -> tuple[Any, ...]:
        told = an_object(value, where)
        gone = next((key for key in parts if key not in told), None)
        if gone is not None:
            raise damaged(f"{where}.{gone}", "is missing")
        return tuple(form.read(told[key], f"{where}.{key}") for key, form in parts.items())

    return Form(read, lambda value: {key: form.write(each) for (key, form), each in zip(parts.items(), value)},
                lambda found: {"type": "object", "properties": {key: form.describe(found)
                                                                for key, form in parts.items()},
                               "required": list(parts)})
