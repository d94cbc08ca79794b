"""A plan as JSON-ready data and back, exactly: the fields of `layout.plan` and `layout.facts` are the declaration, and
here stands what they do not say.

Lengths mm, places [x, y] in the plan unless a line says otherwise, angles degrees where a name says so. Keys of the
contract keep their meaning; sentences are made for an answer and never read.
"""
from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, get_args

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError
from layout.facts.notes import TightPlace
from layout.plan import (
    BarPiece, Bars, BeadingPiece, Choice, Cut, Hole, Item, Offcut, Piece, Plan, Profile, Relaxed, Row, Run)
from layout.planfile.cuts import KEYS as CUT_KEYS
from layout.planfile.cuts import StraightCut, at_form, cut_form
from layout.planfile.declared import PLAIN, Codec, Declaration, Form, Schema, an_object, keyed, many_of, one_of
from layout.planfile.reader import damaged
from layout.room import Board, OwnPiece
from layout.words.terms import NO_BREAK
from layout.words.plan import PlanWords, plan_words

FORMAT: Final = "tapegroove-plan"
VERSION: Final = 1
#: Keys that are not the field's name.
_KEYS: dict[tuple[type, str], str] = CUT_KEYS | {
    (Plan, "frame"): "", (Plan, "cover"): "cover.polygons", (Plan, "shopping"): "shopping.items",
    (Plan, "beading"): "beading.pieces", (Plan, "bars"): "beading.bars", (Plan, "holes"): "cutouts",
    (Plan, "lengths_mm"): "board_lengths?", (Plan, "least_packs"): "least_packs?", (Board, "mix"): "lengths?",
    (Row, "number"): "row", (Hole, "pipe_mm"): "pipe_diameter", (Bars, "bar_mm"): "length", (Bars, "bars"): "cut",
    (Relaxed, "alone"): "alone?", (BeadingPiece, "stretch"): "stretch?", (BarPiece, "stretch"): "stretch?",
    (BarPiece, "part"): "part?", (Run, "gaps_mm"): "gaps?", (Row, "joined_by"): "joined_by?",
    (Plan, "chalk"): "chalk_line", (Piece, "flat"): "", (OwnPiece, "from_mm"): "from?",
    (Offcut, "pencilled"): "pencilled?", (OwnPiece, "label"): "label!", (OwnPiece, "board"): "board!",
}
_COUNTED = re.compile(r"(.*?)(?: \((\d{1,3}) of (\d{1,3})\))?(?:, part (\d{1,3}) of (\d{1,3}))?")
_TEXT: Schema = {"type": "string"}
_TEXTS: Schema = {"type": "array", "items": _TEXT}
#: Sentences of an answer: their keys by the class they are of.
_SAID: dict[type, Schema] = {
    Plan: {"says": _TEXTS, "bound_says": _TEXT, "cautions": _TEXTS, "warnings": _TEXTS},
    Choice: {"says": _TEXT}, Profile: {"says": _TEXT}, Relaxed: {"says": _TEXT},
    Item: {"what": _TEXT, "unit": _TEXT, "why": _TEXT},
}
#: Keys that plans of earlier versions lack (`_modern`).
_YOUNGER = frozenset({"gap_least", "gap_most", "bound_by", "reasons", "notes"})
_SURVEY: Schema = {"type": "object", "description": "What is to be doubted in the survey that the plan rests on.",
                   "properties": {"verdict": _TEXT, "doubts": _TEXTS}, "required": ["verdict", "doubts"]}
_UNSEEN: Schema = {"type": "array", "items": {
    "type": "object", "description": "A wall that no reading shows, by its two corners, and the question to its "
                                     "reader: the floor is a guess there.",
    "properties": {"wall": _TEXTS, "says": _TEXT}, "required": ["wall", "says"]}}
#: What the saw is set to for a crosscut that is not square, degrees: told in an answer, and not read.
_MITRE: Schema = {"mitre": {"type": "number"}}


def _codec() -> Codec:
    forms: dict[Any, Form] = {(Board, "mix"): many_of(keyed(length=PLAIN[float], count=PLAIN[int])),
                              (StraightCut, "at"): at_form(), (Piece, "flat"): _flat_form()}
    codec = Codec(Declaration(keys=_KEYS, forms=forms))
    forms[Cut] = cut_form(codec.form)
    return codec


def _flat_form() -> Form:
    """Why a piece is pushed in flat: {"lay": "flat", "why": ...}, only of such a piece."""
    lay, why = one_of(("flat",)), one_of(get_args(TightPlace))

    def read(data: object, where: str) -> TightPlace | None:
        told = an_object(data, where)
        if "lay" not in told:
            return None
        lay.read(told["lay"], f"{where}.lay")
        if "why" not in told:
            raise damaged(f"{where}.why", lazy_gettext("is missing"))
        found: TightPlace = why.read(told["why"], f"{where}.why")
        return found

    def describe(found: Schema) -> Schema:
        found["Flat"] = {"properties": {"lay": lay.describe(found), "why": why.describe(found)}, "required": []}
        return {"$ref": "#/$defs/Flat"}

    return Form(read, lambda value: {"lay": "flat", "why": value}, describe)


_CODEC = _codec()


def plan_tree(plan: Plan) -> dict[str, Any]:
    """The plan as plain dicts, lists, strings and numbers, without a sentence."""
    tree: dict[str, Any] = {"format": FORMAT, "version": VERSION} | _CODEC.form(Plan).write(plan)
    return tree


def to_answer(plan: Plan, show: str = "metric") -> dict[str, Any]:
    """The answer of `plan --json`: the plan with its sentences, lengths in them in the unit asked for."""
    tree, words = plan_tree(plan), plan_words(plan, show)
    for part, said in _said(words).items():
        for one, more in zip(_at(tree, part), said):
            one |= {key: _plain(value) for key, value in more.items()}
    _tell_mitres(plan, tree)
    return tree


def _tell_mitres(plan: Plan, tree: dict[str, Any]) -> None:
    told = [piece for row in tree["rows"] for run in row["runs"] for piece in run["pieces"]]
    for piece, data in zip(plan.pieces, told):
        for cut, one in zip(piece.cuts, data["cuts"]):
            if mitre := cut.mitre_deg(plan.board.width_mm):
                one["mitre"] = round(mitre, 1)


def _plain(said: str | list[str]) -> str | list[str]:
    """Sentences with plain spaces only."""
    return said.replace(NO_BREAK, " ") if isinstance(said, str) else [text.replace(NO_BREAK, " ") for text in said]


def _said(words: PlanWords) -> dict[str, list[dict[str, Any]]]:
    """Sentences by the path of what they are said of."""
    top = {"says": list(words.reasons), "bound_says": words.bound, "cautions": list(words.cautions),
           "warnings": [*words.gave_way, *words.warnings]}
    return {"": [top], "choices": [{"says": says} for says in words.choices],
            "profiles": [{"says": says} for says in words.profiles],
            "relaxed": [{"says": says} for says in words.relaxed],
            "shopping.items": [{"what": line.what, "unit": line.unit, "why": line.why} for line in words.shopping]}


def _at(tree: Any, path: str) -> list[dict[str, Any]]:
    for key in filter(None, path.split(".")):
        tree = tree[key]
    return tree if isinstance(tree, list) else [tree]


def from_answer(data: object) -> Plan:
    """The plan an answer was made of. Raises LayoutError (slug damaged-plan, newer-plan) naming the first key that
    is amiss."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise LayoutError("damaged-plan", lazy_gettext(
            "This is not a plan: its 'format' is not 'tapegroove-plan'."), where="plan.format")
    if not isinstance(data.get("version"), int) or data["version"] > VERSION:
        raise LayoutError("newer-plan", lazy_gettext(
            "The plan is of version {found}, and this program reads versions up to {most}; use a newer program "
            "or plan again.", found=data.get("version"), most=VERSION), where="plan.version")
    plan: Plan = _CODEC.form(Plan).read(_modern(data), "plan")
    return plan


def plan_schema() -> Schema:
    """JSON Schema of a plan's answer."""
    found: Schema = {}
    told = _CODEC.form(Plan).describe(found)
    for kind, said in _SAID.items():
        found[kind.__name__]["properties"] |= said
        found[kind.__name__]["required"] += list(said)
    found[StraightCut.__name__]["properties"] |= _MITRE
    top = found["Plan"]
    top["required"] = [key for key in top["required"] if key not in _YOUNGER]
    top["properties"] = {"format": {"enum": [FORMAT]}, "version": {"enum": [VERSION]}, **top["properties"],
                         "survey": _SURVEY, "unseen": _UNSEEN}
    top["required"] = ["format", "version", *top["required"]]
    return told | {"$defs": found}


def _modern(data: Mapping[str, Any]) -> Mapping[str, Any]:
    """A plan of an earlier version of this program as it is told now: gaps kept exactly, sentences dropped, what stood
    only in them left out, to be found anew."""
    younger: dict[str, Any] = {"bound_by": "packs" if "board_lengths" in data else "cuts", "reasons": [], "notes": []}
    younger |= {key: data["gap"] for key in ("gap_least", "gap_most") if "gap" in data}
    if "bound_by" not in data:
        older = {"shopping": lambda _: {"items": []}, "beading": _modern_beading}
        data = {**data, **{key: make(data[key]) for key, make in older.items() if isinstance(data.get(key), Mapping)}}
    return {**younger, **data}


def _modern_beading(told: Any) -> Any:
    """Beading whose stretches and parts were counted in their names: "A-B (1 of 2), part 2 of 3"."""
    if isinstance(told, list):
        return [_modern_beading(each) for each in told]
    if not isinstance(told, Mapping):
        return told
    named = _COUNTED.fullmatch(told["where"]) if isinstance(told.get("where"), str) else None
    if named is None:
        return {key: _modern_beading(value) for key, value in told.items()}
    where, *counts = named.groups(default="1")
    number, stretches, part, parts = map(int, counts)
    return {**told, "where": where, "stretch": [number, stretches], "part": [part, parts]}
