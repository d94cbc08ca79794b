"""Cuts as data, in the words of the contract; cuts as plans from before the edge window told them are read too.

A notch's `span` counts from the board's left end, or its near edge; `shape` (an addition) is the wood it takes from
what the straight cuts left. `points` of a line go round the wood it takes out. `mitre` (an addition, told in an answer
and not read) is what the saw is set to, in degrees from square: `at` then holds the short and the long point.
"""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from layout.plan import Cut, Point, Ring
from layout.planfile.declared import Form, Schema, an_object, one_of
from layout.planfile.reader import damaged, number_in, point_in

At = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightCut:
    """A straight saw line: one distance from an end or edge, or two (at the near and the far edge, or at the left and
    the right end) if it is tapered."""

    kind: Literal["cross", "rip"]
    side: str
    at: At


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A square box out of a side of the board: along it between two places, so deep; shape: the wood it takes, in the
    board's frame."""

    kind: Literal["notch"]
    edge: str
    span: Point
    deep: float
    shape: Ring


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCut:
    """Wood taken out along a line only a template tells: its corners in the board's frame."""

    kind: Literal["line"]
    points: Ring


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleCut:
    """A pipe's hole, its centre in the board's frame; to: the side its two wedge cuts run to ("" for a half hole)."""

    kind: Literal["hole"]
    x: float
    y: float
    diameter: float
    to: str
    pipe: str


KINDS: dict[str, type] = {"cross": StraightCut, "rip": StraightCut, "notch": Notch, "line": LineCut, "hole": HoleCut}
KEYS = {(StraightCut, "side"): "from"}


def cut_form(form_of: Callable[[type], Form]) -> Form:
    """How a cut is read, written and described. form_of: the form of a class."""
    kind_form = one_of(tuple(KINDS))

    def read(data: object, where: str) -> Cut:
        told = an_object(data, where)
        if "kind" not in told:
            raise damaged(f"{where}.kind", "is missing")
        return _cut(form_of(KINDS[kind_form.read(told["kind"], f"{where}.kind")]).read(_modern(told), where))

    def write(cut: Cut) -> Any:
        told = _told(cut)
        return form_of(type(told)).write(told)

    def describe(found: Schema) -> Schema:
        return {"anyOf": [form_of(each).describe(found) for each in dict.fromkeys(KINDS.values())]}

    return Form(read, write, describe)


def _read_at(value: object, where: str) -> At:
    """One number of a square cut stands for both ends."""
    if isinstance(value, (list, tuple)):
        return point_in(value, where)
    return (number_in(value, where),) * 2


def at_form() -> Form:
    """A distance, or two where the cut is tapered."""
    pair = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    return Form(_read_at, lambda at: at[0] if at[0] == at[1] else list(at),
                lambda _: {"anyOf": [{"type": "number"}, pair]})


def _told(cut: Cut) -> StraightCut | Notch | LineCut | HoleCut:
    match cut.kind:
        case "hole":
            return HoleCut(kind="hole", x=cut.centre[0], y=cut.centre[1], diameter=cut.diameter, to=cut.kept,
                           pipe=cut.pipe)
        case "line":
            return LineCut(kind="line", points=cut.shape)
        case "notch":
            return Notch(kind="notch", edge=cut.kept, span=cut.at, deep=cut.deep, shape=cut.shape)
    return StraightCut(kind="rip" if cut.kind == "rip" else "cross", side=cut.kept, at=cut.at)


def _cut(told: StraightCut | Notch | LineCut | HoleCut) -> Cut:
    match told:
        case HoleCut():
            return Cut(kind="hole", pipe=told.pipe, centre=(told.x, told.y), diameter=told.diameter, kept=told.to)
        case LineCut():
            return Cut(kind="line", shape=told.points)
        case Notch():
            return Cut(kind="notch", kept=told.edge, at=told.span, deep=told.deep, shape=told.shape)
    return Cut(kind=told.kind, kept=told.side, at=told.at)


def _modern(data: Mapping[str, Any]) -> Mapping[str, Any]:
    """A cut of a plan from before the edge window as such a cut is told now."""
    if data["kind"] == "hole" and isinstance(data.get("centre"), (list, tuple)) and len(data["centre"]) == 2:
        return {**data, "x": data["centre"][0], "y": data["centre"][1], "to": ""}
    if data["kind"] == "notch" and not data.keys() & {"edge", "span", "deep"}:
        return {**data, "edge": "", "span": [0.0, 0.0], "deep": 0.0}
    if data["kind"] in ("cross", "rip") and "kept" in data:
        return {**data, "from": data["kept"]}
    return data
