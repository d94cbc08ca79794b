"""The log of the day in job.json: one line of `_KINDS` an event, by which it is read, written and described.

Entries are only ever added. What an event is, and what its fields mean, is said in `layout.replan.events`.
"""
from __future__ import annotations

from dataclasses import MISSING, dataclass, fields, make_dataclass
from typing import Annotated, Any, Literal, Union, get_type_hints

from pydantic import Discriminator, Field, Tag
from pydantic.fields import FieldInfo
from pydantic.json_schema import SkipJsonSchema
from pydantic_core import PydanticOmit

from capture.language.messages import lazy_gettext, marked
from desk.jobfile.kinds import (
    Entry, Length, LengthFrom1, Name, Number, Place, Placed, Side, Stored, Text, Whole, WholeFrom0, described, unfit,
    key_of, like, words)
from layout.replan import events
from layout.replan.events import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEntry:
    """What happened while laying, as it was said. event: in layout's terms, None for one that takes back entry
    number `undoes` (from 1)."""

    event: Event | None
    said: str = ""
    undoes: int = 0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told(Placed):
    """An entry of any kind: what is not of the event itself."""

    on: Any = None
    said: Text = ""


def _either(**kinds: str) -> Any:
    """The configuration of an entry that needs one key of these at least, each with its type in JSON."""
    return described(lambda schema: schema.update(anyOf=[{"required": [key], "properties": {key: {"type": kind}}}
                                                         for key, kind in kinds.items()]))


@dataclass(frozen=True, slots=True, kw_only=True)
class SightEntry(Entry):
    """A distance to the far wall: at the middle of the row's first or last piece, or `at` a place from the row's left
    end."""

    __pydantic_config__ = _either(side="string", at="number")

    side: Annotated[str, Stored(Side, str)] = ""
    at_mm: Annotated[Length | None, like(350)] = None
    distance_mm: Annotated[Length, like(1803, alias="mm")]

    @classmethod
    def told(cls, data: dict[str, Any]) -> dict[str, Any]:
        if "side" not in data and "at" not in data:
            raise unfit("missing-field", lazy_gettext('{where} lacks "at", a length in mm, such as 350.'))
        return data

    def sight(self) -> events.Sight:
        """The reading in layout's terms."""
        return events.Sight(distance_mm=self.distance_mm, side=self.side, at_mm=None if self.side else self.at_mm)


class _ObstacleEntry(_Told):
    __slots__ = ()
    __pydantic_config__ = _either(diameter="number", size="array")

    @classmethod
    def told(cls, data: dict[str, Any]) -> dict[str, Any]:
        if "diameter" not in data and "size" not in data:
            raise unfit("missing-field", lazy_gettext(
                '{where} lacks "size", its size along and across the rows, or a diameter.'))
        if data.get("diameter") is None and data.get("size") is None:
            raise PydanticOmit  # what was told of its size cannot be read
        return data


_COUNT = words(marked("how many boards, a whole number"))
_WHAT = words(marked("what happened"))
_Row = Annotated[Whole, words(marked("the row's number"))]
_RowFrom0 = Annotated[WholeFrom0, words(marked("the row's number"))]
_Label = Annotated[Name, words(marked("the label of the offcut"), alias="offcut")]
_Piece = Annotated[Name, words(marked('the piece, such as "4.5"'))]
_Keeps = Annotated[tuple[Side, ...], words(marked('a list of the factory ends the piece keeps, such as ["left"]'),
                                           min_length=1)]
_Sights = Annotated[tuple[events.Sight, ...], Stored(
    Annotated[tuple[SightEntry, ...], Field(description="", min_length=1)],
    lambda found: tuple(one.sight() for one in found)),
    words(marked("a list of one distance to the wall or more"), alias="distances")]
_Diameter = Annotated[float, Stored(LengthFrom1, float), like(22)]
_Size = Annotated[Place, words(marked("its size along and across the rows, such as [200, 80]"))]

#: Word in the file: (the event, None for taking back another; what its fields hold, in the order they are written).
_KINDS: dict[str, tuple[Any, dict[str, Any]]] = {
    "row-down": (events.RowDown, {"row": _Row}),
    "row-begun": (events.RowBegun, {"row": _Row}),
    "piece-cut": (events.PieceCut, {"piece": _Piece, "length_mm": Annotated[LengthFrom1, like(412, alias="mm")]}),
    "place-measured": (events.PlaceMeasured, {"piece": _Piece,
                                              "length_mm": Annotated[LengthFrom1, like(1306, alias="mm")]}),
    "boards-spoiled": (events.BoardsSpoiled, {"count": Annotated[Whole, _COUNT]}),
    "offcut-gone": (events.OffcutGone, {"label": _Label}),
    "offcut-short": (events.OffcutShort, {"label": _Label, "piece": _Piece}),
    "offcut-found": (events.OffcutFound, {"label": _Label, "length_mm": Annotated[LengthFrom1, like(640, alias="mm")],
                                          "keeps": _Keeps}),
    "to-far-wall": (events.ToFarWall, {"row": _RowFrom0, "sights": _Sights}),
    "obstacle": (events.Obstacle, {"name": Annotated[Name, words(marked("a name for it"))], "row": _RowFrom0,
                                   "left_mm": Annotated[Length, like(1204)], "ahead_mm": Annotated[Length, like(356)],
                                   "diameter_mm": _Diameter, "size_mm": _Size}),
    "boards-left": (events.BoardsLeft, {"count": Annotated[WholeFrom0, _COUNT]}),
    "first-row": (events.FirstRowWidth, {"width_mm": Annotated[LengthFrom1, like(130, alias="mm")]}),
    "floor-pushed": (events.FloorPushed, {"towards_start_mm": Annotated[Number, words(
        marked("how far towards the start wall, a distance in mm"))]}),
    "undo": (None, {"entry": Annotated[Whole, words(marked("the number of the entry to take back"))]}),
}
#: Fields that need not be told, and are not written, where they are at their default.
_OPTIONAL = frozenset({"diameter_mm", "size_mm", "side", "at_mm"})


def _entry_of(word: str) -> Any:
    """The class of an entry in the file; defaults are the event's own."""
    event, held = _KINDS[word]
    told = [(name, kind, usual) if (usual := _usual(event, name)) is not MISSING else (name, kind)
            for name, kind in held.items()]
    name, meaning = (event.__name__, event.__doc__) if event else ("Undo", "An earlier entry does not count.")
    return make_dataclass(f"{name}Entry", [("what", Annotated[Literal[word], _WHAT]), *told],
                          bases=(_ObstacleEntry if word == "obstacle" else _Told,), frozen=True, slots=True,
                          kw_only=True, namespace={"__doc__": meaning})


def _usual(event: Any, name: str) -> Any:
    """The default of a field that need not be told, else MISSING."""
    return next(field.default for field in fields(event) if field.name == name) if name in _OPTIONAL else MISSING


_ENTRIES = {word: _entry_of(word) for word in _KINDS}


#: An entry of a kind this version does not know: a log with a hole in it must not be followed.
_UNKNOWN = make_dataclass("UnknownEntry", [("what", Literal.__getitem__(tuple(_KINDS)))], bases=(_Told,), frozen=True,
                          slots=True, kw_only=True)
_HIDDEN: Any = SkipJsonSchema()  # type: ignore[type-arg]  # a generic alias to the type checker only


def _kind_of(value: Any) -> str:
    word = value.get("what") if isinstance(value, dict) else None
    return f"({word if isinstance(word, str) and word in _KINDS else 'unknown'})"


def _made(told: Any) -> DayEntry:
    event, held = _KINDS[told.what]
    made = {name: getattr(told, name) for name in held}
    return DayEntry(event=event(**made) if event else None, undoes=0 if event else told.entry, said=told.said,
                    where=told.where)


_ANY: Any = Union[tuple(Annotated[entry, Tag(f"({word})")] for word, entry in _ENTRIES.items())  # noqa: UP007
                  + (Annotated[_UNKNOWN, _HIDDEN, Tag("(unknown)")],)]
#: The log as it stands under `day`.
DayLog = tuple[Annotated[DayEntry, Stored(Annotated[_ANY, Discriminator(_kind_of)], _made)], ...]


def entry_tree(event: Event) -> dict[str, Any]:
    """What happened as it stands in job.json."""
    word = next(word for word, (made, _) in _KINDS.items() if made is type(event))
    return {"what": word} | _written(_KINDS[word][1], event)


def _written(held: dict[str, Any], made: Any) -> dict[str, Any]:
    """The keys of an entry."""
    return {_key(name, kind): _plain(getattr(made, name)) for name, kind in held.items()
            if getattr(made, name) != _usual(made, name)}


def _key(name: str, kind: Any) -> str:
    told = (each.alias for each in getattr(kind, "__metadata__", ()) if isinstance(each, FieldInfo))
    return next(filter(None, told), key_of(name))


def _plain(value: Any) -> Any:
    if isinstance(value, events.Sight):
        return _written(get_type_hints(SightEntry, include_extras=True), value)
    return [_plain(each) for each in value] if isinstance(value, tuple) else value
