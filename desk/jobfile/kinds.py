"""Kinds of values in a file and what each may hold: the words that the job's types are annotated with.

Reader, JSON Schema and the sentences of a refusal all follow from these annotations (`desk.jobfile.reader`). A
description is what a value must be, as it stands in such a sentence.
"""
from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, fields
from pathlib import PurePosixPath
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BeforeValidator, ConfigDict, Field, Strict
from pydantic.json_schema import SkipJsonSchema
from pydantic_core import PydanticCustomError, core_schema

from capture.errors import CaptureError
from capture.language.messages import Message, lazy_gettext, marked, worded
from capture.tape import parse_length
from desk.problem import printable, shown
from printpack.outputs.filenames import is_portable

T = TypeVar("T")

#: No length, pixel or angle of a file is as large as this (10 km, or ten million pixels).
LARGEST = 1e7
#: A name longer than this does not fit a drawing.
LONGEST_NAME = 40
#: How far the number and the text of one length may be apart, mm.
TYPED_TOLERANCE_MM = 0.5
#: A bare number a person typed may have meant any of these.
_BARE_UNITS_MM = (1.0, 10.0, 1000.0, 25.4, 304.8)


def described(extra: Callable[[Any], None]) -> ConfigDict:
    """The configuration of an entry whose JSON Schema says more than its fields do."""
    return ConfigDict(alias_generator=key_of, json_schema_extra=extra)


def unfit(slug: str, says: Message, **more: str) -> PydanticCustomError:
    """The refusal of a value that is of the right kind and still cannot be. The gaps {where} and {value} of the
    sentence are filled in with its place; at: the key it is about, where it is raised for a whole entry."""
    # In a tuple, for pydantic words whatever stands here by itself, and the gaps are not filled yet.
    return PydanticCustomError(slug, "unfit", {"says": (says,), **more})


def wrong(wanted: Message) -> PydanticCustomError:
    """The refusal of a value that is not what is needed."""
    return unfit("wrong-field", lazy_gettext("{where} is {value}, but it must be {wanted}.", wanted=wanted))


def key_of(field: str) -> str:
    """The key of a field: the program's names carry their unit, the file's do not."""
    return re.sub("_(mm|px|deg)$", "", field)


class Entry:
    """An object of a file: a dataclass whose fields are keys. Where a key may be left out null says the same."""

    __slots__ = ()
    __pydantic_config__ = ConfigDict(alias_generator=key_of)

    @classmethod
    def told(cls, data: dict[str, Any]) -> dict[str, Any]:
        """The keys as they are to be read; null stands for those whose value cannot be. Raises `unfit`."""
        return data

    def check(self) -> None:
        """Raise `unfit` for values that do not go together."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: Any) -> Any:
        def before(value: Any, info: Any) -> Any:
            if not isinstance(value, dict):
                return value
            where, lost = info.context(value)
            told = cls.told({key: inner for key, inner in value.items() if inner is not None} | lost)
            told = {key: inner for key, inner in told.items() if inner is not None}
            return told | {"where": where} if has_place else told

        def after(made: Any) -> Any:
            made.check()
            return made

        made = handler(source)
        inner = handler.resolve_ref_schema(made)
        if inner["type"] == "function-before":
            return made  # made before, where the type was met first
        has_place, ref = "where" in {field.name for field in fields(source)}, inner.pop("ref", None)
        checked = core_schema.no_info_after_validator_function(after, inner)
        return core_schema.with_info_before_validator_function(before, checked, ref=ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Entry):
    """An entry that is told its place in the file."""

    where: Annotated[str, SkipJsonSchema()] = ""


@dataclass(frozen=True, slots=True)
class Stored:
    """A value that stands in the file as `kind`, of which `make` makes what the program holds."""

    kind: Any
    make: Callable[[Any], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_after_validator_function(self.make, handler.generate_schema(self.kind))


@dataclass(frozen=True, slots=True)
class OrAuto:
    """A value, or "auto", which says as much as leaving it out."""

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_wrap_validator_function(
            lambda value, inner: None if value == "auto" else inner(value), handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"anyOf": [{"const": "auto"}, handler(schema)]}


def _whole(value: Any) -> Any:
    return int(value) if isinstance(value, float) and math.isfinite(value) and value == math.floor(value) else value


def _name(text: str) -> str:
    if not text or text != text.strip() or len(text) > LONGEST_NAME or not text.isprintable():
        raise wrong(lazy_gettext("a name of 1 to {most} printable letters without blanks at its ends",
                                 most=LONGEST_NAME))
    return text


def _different(pair: tuple[str, str]) -> tuple[str, str]:
    if pair[0] == pair[1]:
        raise unfit("same-point", lazy_gettext("{where} names {name} twice; it must name two different points.",
                                               name=pair[0]))
    return pair


def _inside(text: str) -> str:
    path = PurePosixPath(text)
    if not path.parts or path.is_absolute() or ".." in path.parts or not all(map(is_portable, path.parts)):
        raise unfit("path-outside", lazy_gettext(
            "{where} is {value}, which may lead out of the job's folder; copy the picture into "
            'photos/ and write its path from there, such as "photos/1.jpg".'))
    return text


def _date(value: Any) -> Any:
    try:
        return datetime.date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None  # which is no date


_LIKE = marked("a length in mm, such as {mm}")
#: A language by its tag, BCP 47, with or without a region; whether there is a catalogue is not the file's to say.
_TAG = r"^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$"
#: A number: px, mm or degrees.
Number = Annotated[float, Strict(), Field(ge=-LARGEST, le=LARGEST, description=marked("a number"))]
Length = Annotated[float, Strict(), Field(ge=0.0, le=LARGEST, description=marked("a length in mm"))]
LengthFrom1 = Annotated[float, Strict(), Field(ge=1.0, le=LARGEST, description=marked("a length in mm"))]
Spread = Annotated[float, Strict(), Field(gt=0.0, le=LARGEST, description=(
    marked("a spread above zero; leave it out to have the usual one")))]
Whole = Annotated[int, Strict(), Field(ge=1, le=LARGEST, description=marked("a whole number")), BeforeValidator(_whole)]
WholeFrom0 = Annotated[int, Strict(), Field(ge=0, le=LARGEST, description=marked("a whole number")),
                       BeforeValidator(_whole)]
Text = Annotated[str, Strict()]
#: Text for the page and for paper, where a file from elsewhere must not steer anything.
PrintedText = Annotated[str, Strict(), AfterValidator(printable)]
YesOrNo = Annotated[bool, Strict()]
LanguageTag = Annotated[str, Strict(), Field(pattern=_TAG, description=marked('the tag of a language, such as "en"'))]
#: The name of a point, wall end, camera, pipe or door.
Name = Annotated[str, Strict(), AfterValidator(_name), Field(description=marked('a name in quotes, such as "A"'),
    json_schema_extra={"minLength": 1, "maxLength": LONGEST_NAME, "pattern": r"^\S([^\x00-\x1f\x7f]*\S)?$"})]
#: Two different names: a wall, or two points.
Pair = Annotated[tuple[Name, Name], AfterValidator(_different), Field(
    description=marked('two names, such as ["A", "B"]'), json_schema_extra={"uniqueItems": True})]
#: A wall, by its two ends.
Wall = Annotated[Pair, Field(description=marked('the two corners of the wall, such as ["A", "B"]'))]
Place = Annotated[tuple[Number, Number], Field(description=marked("two numbers, [x, y]"))]
Ring = Annotated[tuple[Place, ...], Field(description=marked("a list of [x, y] corners in mm"))]
#: A path with forward slashes that cannot leave the job's folder.
File = Annotated[str, Strict(), AfterValidator(_inside), Field(json_schema_extra={"minLength": 1}, description=(
    marked('the path of the picture in the job\'s folder, such as "photos/1.jpg"')))]
Date = Annotated[datetime.date, Strict(), BeforeValidator(_date), Field(
    description=marked('a date, such as "2026-03-05"'))]
Side = Literal["left", "right"]


def is_tag(value: object) -> bool:
    """Whether a value can be a language's tag."""
    return isinstance(value, str) and re.fullmatch(_TAG, value) is not None


def words(description: str, **more: Any) -> Any:
    """What the value of a field must be, as it stands in a sentence, in English (`said`); more: bounds, or a key of
    another name."""
    return Field(description=description, **more)


def like(mm: float, **more: Any) -> Any:
    """The same of a length."""
    return Field(description=_LIKE.format(mm=mm), **more)


def said(description: str) -> str:
    """The words of a field in the reader's language."""
    length = description.removeprefix(_LIKE.partition("{")[0])
    return worded(description) if length == description else worded(_LIKE, mm=length)


def typed_length(schema: dict[str, Any]) -> None:
    """The JSON Schema of a `TypedLength`."""
    schema["required"].remove("mm")
    schema["anyOf"] = [{"required": ["mm"], "properties": {"mm": {"type": "number"}}},
                       {"required": ["typed"], "properties": {"typed": {"type": "string"}}}]


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedLength(Placed):
    """An entry with a length: its `mm`, the text a person wrote, or both (typed: "" if it was not kept)."""

    __pydantic_config__ = described(typed_length)

    length_mm: Annotated[Length, like(4312, alias="mm")]
    typed: Text = ""

    @classmethod
    def told(cls, data: dict[str, Any]) -> dict[str, Any]:
        if "mm" in data or not isinstance(data.get("typed"), str):
            return data
        try:
            return data | {"mm": parse_length(data["typed"])}
        except CaptureError as error:
            raise unfit(error.slug, lazy_gettext("{where}.typed: {error}.", error=error), at="typed") from None

    def check(self) -> None:
        """The text must be able to mean the length. One that cannot be read alone leaves the number to count: the
        person was asked back."""
        bare = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*", self.typed)
        try:
            meant = [float(bare[1].replace(",", ".")) * unit for unit in _BARE_UNITS_MM] if bare else [
                parse_length(self.typed)]
        except CaptureError:
            return
        if not any(abs(length - self.length_mm) <= TYPED_TOLERANCE_MM for length in meant):
            raise unfit("lengths-disagree", lazy_gettext(
                "{where} was typed as '{typed}' but holds {length:g} mm; keep the one that is right.",
                typed=shown(self.typed)[1:-1], length=self.length_mm))
