"""A plan as JSON-ready data and back, exactly.

Lengths mm, angles degrees where a name says so. Keys of the contract keep their meaning; `lay`, `pattern`, `gap`, `start`,
`bound_says`, `says`, `choices`, `offcuts`, `cutouts` (pipe holes), `takes` and `leaves` are additions.
"""
from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite

from layout.errors import LayoutError
from layout.plan import (BeadingPiece, Choice, Cut, Hole, Item, Offcut, Piece, Plan, Point, Polygon, Relaxed, Ring, Row, Run)
from layout.room import Board, Rules

FORMAT, VERSION = "tapegroove-plan", 1


def to_answer(plan: Plan) -> dict:
    """The plan as plain dicts, lists, strings and numbers."""
    return {
        "format": FORMAT, "version": VERSION,
        "floor": _polygon_out(plan.floor), "cover": {"polygons": [_polygon_out(part) for part in plan.cover]},
        "board": {"length": plan.board.length_mm, "width": plan.board.width_mm, "thickness": plan.board.thickness_mm, "pack": plan.board.pack},
        "kerf": plan.kerf_mm, "gap": plan.gap_mm,
        "rules": {"stagger": plan.rules.stagger_mm, "shortest": plan.rules.shortest_mm, "narrowest": plan.rules.narrowest_mm},
        "u": list(plan.u), "v": list(plan.v), "start": list(plan.start_mm), "lay": plan.lay, "pattern": plan.pattern,
        "boards": plan.boards, "bound": plan.bound, "bound_says": plan.bound_says, "proven": plan.proven, "packs": plan.packs,
        "waste_percent": plan.waste_percent,
        "rows": [_row_out(row) for row in plan.rows],
        "offcuts": [_offcut_out(offcut) for offcut in plan.offcuts],
        "cutouts": [{"pipe": hole.pipe, "centre": list(hole.centre_mm), "pipe_diameter": hole.pipe_mm, "diameter": hole.diameter_mm,
                     "pieces": list(hole.pieces)} for hole in plan.holes],
        "says": list(plan.says),
        "choices": [{"u_deg": c.u_deg, "first_row": c.first_row_mm, "last_row": c.last_row_mm, "boards": c.boards, "cuts": c.cuts,
                     "narrowest": c.narrowest_mm, "says": c.says} for c in plan.choices],
        "shopping": {"items": [{"what": i.what, "quantity": i.quantity, "unit": i.unit, "why": i.why} for i in plan.shopping]},
        "beading": {"pieces": [{"where": b.where, "length": b.length_mm, "start_deg": b.start_deg, "end_deg": b.end_deg} for b in plan.beading]},
        "cautions": list(plan.cautions), "warnings": list(plan.warnings),
        "relaxed": [{"rule": r.rule, "where": r.where, "asked": r.asked_mm, "had": r.had_mm, "says": r.says} for r in plan.relaxed],
    }


def from_answer(data: Mapping) -> Plan:
    """The plan an answer was made of. Raises LayoutError (slug damaged-plan, newer-plan) naming the first key that is amiss."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise LayoutError("damaged-plan", "This is not a plan: its 'format' is not 'tapegroove-plan'.", where="plan.format")
    if not isinstance(data.get("version"), int) or data["version"] > VERSION:
        raise LayoutError("newer-plan", f"The plan is of version {data.get('version')}, and this program reads versions up to {VERSION}; "
                          "use a newer program or plan again.", where="plan.version")
    return _read_plan(_Reader(data, "plan"))


class _Reader:
    """Reads typed keys of a dict and remembers where it is, so that damage can be named."""

    def __init__(self, data: object, where: str) -> None:
        if not isinstance(data, Mapping):
            raise _damaged(where, "is not an object")
        self.data, self.where = data, where

    def raw(self, key: str) -> object:
        """The value of a key that must be there."""
        if key not in self.data:
            raise _damaged(f"{self.where}.{key}", "is missing")
        return self.data[key]

    def number(self, key: str) -> float:
        """A finite number."""
        return _number(self.raw(key), f"{self.where}.{key}")

    def whole(self, key: str) -> int:
        """A whole number."""
        value = self.raw(key)
        if not isinstance(value, int) or isinstance(value, bool):
            raise _damaged(f"{self.where}.{key}", "is not a whole number")
        return value

    def text(self, key: str) -> str:
        """A string."""
        return _text(self.raw(key), f"{self.where}.{key}")

    def truth(self, key: str) -> bool:
        """True or false."""
        value = self.raw(key)
        if not isinstance(value, bool):
            raise _damaged(f"{self.where}.{key}", "is not true or false")
        return value

    def point(self, key: str) -> Point:
        """Two finite numbers."""
        return _point(self.raw(key), f"{self.where}.{key}")

    def ring(self, key: str) -> Ring:
        """A list of points."""
        return _ring(self.raw(key), f"{self.where}.{key}")

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of strings."""
        return tuple(_text(value, where) for value, where in self.items(key))

    def items(self, key: str) -> list[tuple[object, str]]:
        """The members of a list, each with its place."""
        return _members(self.raw(key), f"{self.where}.{key}")

    def each(self, key: str, make: Callable[[_Reader], object]) -> tuple:
        """A list of objects, each made by `make`."""
        return tuple(make(_Reader(value, where)) for value, where in self.items(key))

    def inner(self, key: str) -> _Reader:
        """The reader of an inner object."""
        return _Reader(self.raw(key), f"{self.where}.{key}")


def _read_plan(r: _Reader) -> Plan:
    board, rules = r.inner("board"), r.inner("rules")
    return Plan(
        floor=_polygon_in(r.inner("floor")), cover=r.inner("cover").each("polygons", _polygon_in),
        board=Board(length_mm=board.number("length"), width_mm=board.number("width"), thickness_mm=board.number("thickness"), pack=board.whole("pack")),
        rules=Rules(stagger_mm=rules.number("stagger"), shortest_mm=rules.number("shortest"), narrowest_mm=rules.number("narrowest")),
        kerf_mm=r.number("kerf"), gap_mm=r.number("gap"), u=r.point("u"), v=r.point("v"), start_mm=r.point("start"), lay=r.text("lay"),
        pattern=r.text("pattern"), rows=r.each("rows", _row_in), offcuts=r.each("offcuts", _offcut_in), holes=r.each("cutouts", _hole_in),
        boards=r.whole("boards"), bound=r.whole("bound"), bound_says=r.text("bound_says"), proven=r.truth("proven"), packs=r.whole("packs"),
        waste_percent=r.number("waste_percent"), says=r.texts("says"), choices=r.each("choices", _choice_in),
        shopping=r.inner("shopping").each("items", _item_in), beading=r.inner("beading").each("pieces", _beading_in),
        cautions=r.texts("cautions"), warnings=r.texts("warnings"), relaxed=r.each("relaxed", _relaxed_in))


def _polygon_out(polygon: Polygon) -> dict:
    return {"outline": [list(p) for p in polygon.outline], "holes": [[list(p) for p in hole] for hole in polygon.holes]}


def _polygon_in(r: _Reader) -> Polygon:
    return Polygon(outline=r.ring("outline"), holes=_rings(r, "holes"))


def _rings(r: _Reader, key: str) -> tuple[Ring, ...]:
    return tuple(_ring(value, where) for value, where in r.items(key))


def _row_out(row: Row) -> dict:
    return {"row": row.number, "near": row.near_mm, "far": row.far_mm, "runs": [{"pieces": [_piece_out(p) for p in run.pieces]} for run in row.runs]}


def _row_in(r: _Reader) -> Row:
    return Row(number=r.whole("row"), near_mm=r.number("near"), far_mm=r.number("far"),
               runs=r.each("runs", lambda run: Run(pieces=run.each("pieces", _piece_in))))


def _piece_out(piece: Piece) -> dict:
    return {"id": piece.id, "board": piece.board, "takes": piece.takes, "outline": [list(p) for p in piece.outline_mm],
            "holes": [[list(p) for p in hole] for hole in piece.holes_mm], "from": piece.from_mm, "to": piece.to_mm, "near": piece.near_mm,
            "far": piece.far_mm, "keeps": list(piece.keeps), "cuts": [_cut_out(cut) for cut in piece.cuts], "leaves": list(piece.leaves)}


def _piece_in(r: _Reader) -> Piece:
    return Piece(id=r.text("id"), board=r.whole("board"), takes=r.text("takes"), outline_mm=r.ring("outline"), holes_mm=_rings(r, "holes"),
                 from_mm=r.number("from"), to_mm=r.number("to"), near_mm=r.number("near"), far_mm=r.number("far"), keeps=r.texts("keeps"),
                 cuts=r.each("cuts", _cut_in), leaves=r.texts("leaves"))


def _cut_out(cut: Cut) -> dict:
    if cut.kind == "hole":
        return {"kind": "hole", "pipe": cut.pipe, "centre": list(cut.centre), "diameter": cut.diameter}
    if cut.kind == "notch":
        return {"kind": "notch", "shape": [list(p) for p in cut.shape]}
    return {"kind": cut.kind, "kept": cut.kept, "at": list(cut.at)}


def _cut_in(r: _Reader) -> Cut:
    kind = r.text("kind")
    if kind == "hole":
        return Cut(kind=kind, pipe=r.text("pipe"), centre=r.point("centre"), diameter=r.number("diameter"))
    if kind == "notch":
        return Cut(kind=kind, shape=r.ring("shape"))
    if kind in ("cross", "rip"):
        return Cut(kind=kind, kept=r.text("kept"), at=r.point("at"))
    raise _damaged(f"{r.where}.kind", f"is '{kind}', which is no kind of cut")


def _offcut_out(offcut: Offcut) -> dict:
    return {"label": offcut.label, "board": offcut.board, "from": offcut.from_mm, "to": offcut.to_mm, "near": offcut.near_mm,
            "far": offcut.far_mm, "keeps": list(offcut.keeps), "cut_by": offcut.cut_by, "used_by": offcut.used_by}


def _offcut_in(r: _Reader) -> Offcut:
    return Offcut(label=r.text("label"), board=r.whole("board"), from_mm=r.number("from"), to_mm=r.number("to"), near_mm=r.number("near"),
                  far_mm=r.number("far"), keeps=r.texts("keeps"), cut_by=r.text("cut_by"), used_by=r.text("used_by"))


def _hole_in(r: _Reader) -> Hole:
    return Hole(pipe=r.text("pipe"), centre_mm=r.point("centre"), pipe_mm=r.number("pipe_diameter"), diameter_mm=r.number("diameter"),
                pieces=r.texts("pieces"))


def _choice_in(r: _Reader) -> Choice:
    return Choice(u_deg=r.number("u_deg"), first_row_mm=r.number("first_row"), last_row_mm=r.number("last_row"), boards=r.whole("boards"),
                  cuts=r.whole("cuts"), narrowest_mm=r.number("narrowest"), says=r.text("says"))


def _item_in(r: _Reader) -> Item:
    return Item(what=r.text("what"), quantity=r.number("quantity"), unit=r.text("unit"), why=r.text("why"))


def _beading_in(r: _Reader) -> BeadingPiece:
    return BeadingPiece(where=r.text("where"), length_mm=r.number("length"), start_deg=r.number("start_deg"), end_deg=r.number("end_deg"))


def _relaxed_in(r: _Reader) -> Relaxed:
    return Relaxed(rule=r.text("rule"), where=r.text("where"), asked_mm=r.number("asked"), had_mm=r.number("had"), says=r.text("says"))


def _damaged(where: str, what: str) -> LayoutError:
    return LayoutError("damaged-plan", f"The stored plan is damaged: {where} {what}; plan the floor again.", where=where)


def _number(value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        raise _damaged(where, "is not a number")
    return value


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise _damaged(where, "is not text")
    return value


def _members(value: object, where: str) -> list[tuple[object, str]]:
    if not isinstance(value, (list, tuple)):
        raise _damaged(where, "is not a list")
    return [(member, f"{where}[{i}]") for i, member in enumerate(value)]


def _point(value: object, where: str) -> Point:
    pair = _members(value, where)
    if len(pair) != 2:
        raise _damaged(where, "is not a pair of numbers")
    return _number(*pair[0]), _number(*pair[1])


def _ring(value: object, where: str) -> Ring:
    return tuple(_point(member, place) for member, place in _members(value, where))
