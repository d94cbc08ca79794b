"""The pieces of floors that share boards: every board followed through the rooms in the order of laying, then told to
each floor as its own plan tells it.

A board is numbered and cut where it is laid first. What it leaves for a later floor is a piece at hand there, marked
with the room and the name of the piece it will be. Names here are pairs of floor and name, so that two rooms may both
have a piece 4.2; a floor's own plan has its own names and numbers again.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from shapely.geometry import Polygon

from layout.flat.joint_task import JointTask, shares_of
from layout.flat_plan import Travel
from layout.plan import Offcut, Piece, Row
from layout.planning.assemble import Laying, limits_of
from layout.planning.fitting.sawn_ends import squared
from layout.planning.fitting.settled_ends import SettledLay, settle_ends
from layout.planning.fitting.shaping import shape_pieces
from layout.planning.pieces import (
    Placement, lay_order, make_rows, name_pieces, number_boards, place_boards, trace_offcuts)
from layout.planning.planner import ChosenWay
from layout.region.run_ends import at_ends
from layout.room import Elsewhere, OwnPiece
from layout.search.core.owned_stock import label_stock

#: Between floor and piece in a name while boards are followed: no name of a floor holds it.
_IN = "\n"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Followed:
    """Every board followed: rows by floor, offcuts, the reader's own pieces by label (all of them, with the floor they
    lie in; those a board is cut from), and pieces by name in the order they are laid."""

    rows: tuple[tuple[Row, ...], ...]
    offcuts: dict[str, Offcut]
    stock: dict[str, OwnPiece]
    at_hand: tuple[tuple[str, OwnPiece], ...]
    laid: tuple[Piece, ...]


@dataclass(slots=True, eq=False, kw_only=True)
class _Told:
    """A floor as its plan tells it: number of each board by (board, what of it came here), what came from other floors,
    the numbers of its own pieces at hand by label, own names of what is cut here."""

    numbers: dict[tuple[int, str], int] = field(default_factory=dict)
    came: list[OwnPiece] = field(default_factory=list)
    own: dict[str, int] = field(default_factory=dict)
    labels: dict[str, str] = field(default_factory=dict)
    boards: int = 0


def lay_together(joint: JointTask, ways: Sequence[ChosenWay],
                 names: Sequence[str]) -> tuple[list[Laying], tuple[Travel, ...]]:
    """(rows, offcuts, pieces at hand and boards to buy of every floor, the offcuts that go from one to another)."""
    followed = _follow(joint, ways, names)
    owner = {label: _floor(offcut.cut_by) for label, offcut in followed.offcuts.items()}
    takes = {piece.id: piece.takes for piece in followed.laid}
    told = {name: _Told() for name in names}
    roots = {piece.id: _root(piece, followed.offcuts, owner, takes) for piece in followed.laid}
    for name in names:
        _number(name, told[name], [piece for piece in followed.laid if _floor(piece.id) == name], roots, followed)
    for label, offcut in followed.offcuts.items():
        _label(told[owner[label]], offcut, roots)
    layings = [_laying(name, rows, told[name], roots, followed, owner) for name, rows in zip(names, followed.rows)]
    travels = tuple(_travel(offcut) for label, offcut in followed.offcuts.items()
                    if offcut.used_by and _floor(offcut.used_by) != owner[label])
    return layings, tuple(sorted(travels, key=lambda one: (names.index(one.to_floor), _number_of(one.used_by))))


def _follow(joint: JointTask, ways: Sequence[ChosenWay], names: Sequence[str]) -> _Followed:
    """Pieces and offcuts under names that tell the floor."""
    first = ways[0].wishes
    board, kerf = ways[0].board, first.kerf_mm
    lay = settle_ends(joint.task, list(joint.firsts), list(joint.runs), kerf_mm=kerf, step_mm=first.step_mm,
                      lay=first.lay, shares=shares_of(joint))
    stock = label_stock(joint.stock)
    loose, behind = place_boards(lay.task, list(lay.firsts), stock, lay.shares)
    order = lay_order(loose, joint.task.spans, first.lay)
    placements, used, _ = number_boards(loose, order, behind, [piece for piece in stock if piece.is_whole])
    shaped = [_shape(way, bounds, lay, placements) for way, bounds in zip(ways, joint.ranges)]
    placements = [placement for placed, _, _ in shaped for placement in placed]
    ids = [[f"{name}{_IN}{one}" for one in ones] for name, (_, _, found) in zip(names, shaped) for ones in found]
    sources, offcuts = trace_offcuts(placements, order, [one[0] for one in ids], lambda number: board, kerf,
                                     min(way.wishes.rules.shortest_mm for way in ways), used)
    rows, at = [], 0
    for way, bounds, (placed, parts, _) in zip(ways, joint.ranges, shaped):
        end = at + len(placed)
        rows.append(make_rows(list(way.trial.runs), list(way.trial.strips), _own_runs(placed, bounds),
                              lambda number: board, way.trial.frame, parts, ids[at:end], sources[at:end]))
        at = end
    every = squared(tuple(row for some in rows for row in some), offcuts)
    by_id = {piece.id: piece for row in every for piece in row.pieces}
    parted, at = [], 0
    for some in rows:
        parted.append(every[at:at + len(some)])
        at += len(some)
    floors = (name for name, way in zip(names, ways) for _ in way.wishes.stock)
    return _Followed(rows=tuple(parted), offcuts={offcut.label: offcut for offcut in offcuts},
                     stock={piece.label: piece for piece in used.values()}, at_hand=tuple(zip(floors, stock)),
                     laid=tuple(by_id[one] for i in order for one in ids[i]))


def _shape(way: ChosenWay, bounds: tuple[int, int], lay: SettledLay,
           placements: list[Placement]) -> tuple[list[Placement], list[list[Polygon]], list[list[str]]]:
    """(a floor's placements, their parts and names) shaped within its walls."""
    lo, hi = bounds
    runs = [at_ends(run, span.left_mm, span.right_mm) for run, span in zip(way.trial.runs, lay.task.spans[lo:hi])]
    own = _own_runs([one for one in placements if lo <= one.run < hi], bounds)
    placed, parts = shape_pieces(runs, list(way.trial.strips), own, lambda number: way.board,
                                 limits_of(way.site, way.trial, way.board, way.wishes))
    return [replace(one, run=one.run + lo) for one in placed], parts, name_pieces(runs, placed, parts)


def _own_runs(placements: list[Placement], bounds: tuple[int, int]) -> list[Placement]:
    return [replace(one, run=one.run - bounds[0]) for one in placements]


def _floor(name: str) -> str:
    return name.split(_IN)[0]


def _own_name(name: str) -> str:
    return name.split(_IN)[1]


def _number_of(piece_id: str) -> tuple[int, ...]:
    return tuple(map(int, piece_id.split(".")))


def _root(piece: Piece, offcuts: dict[str, Offcut], owner: dict[str, str], takes: dict[str, str]) -> str:
    """Of the wood a piece is cut from, what came to its floor: "" for a board new there, else the label of the offcut
    of another floor, or of the reader's own piece."""
    label = piece.takes
    while label in offcuts and owner[label] == _floor(piece.id):
        label = takes[offcuts[label].cut_by]
    return label


def _number(name: str, told: _Told, pieces: list[Piece], roots: dict[str, str], followed: _Followed) -> None:
    """Number the boards of a floor as they are first cut there; pieces at hand and what came from elsewhere after those
    to buy."""
    own = {piece.label for floor, piece in followed.at_hand if floor == name}
    keys = list(dict.fromkeys((piece.board, roots[piece.id]) for piece in pieces))
    told.boards = sum(not root for _, root in keys)
    for number, key in enumerate(sorted(keys, key=lambda key: bool(key[1])), start=1):
        told.numbers[key] = number
        if key[1] in own:
            told.own[key[1]] = number
        elif key[1]:
            told.came.append(_came(key[1], number, followed))


def _came(root: str, number: int, followed: _Followed) -> OwnPiece:
    """What came from another floor as a floor's plan lists it."""
    if root in followed.stock:
        floor = next(floor for floor, piece in followed.at_hand if piece.label == root)
        own = replace(followed.stock[root], board=number)
        return own if own.came_from is not None else replace(own, came_from=Elsewhere(floor=floor, piece=""))
    offcut = followed.offcuts[root]
    ends = tuple(end for end in ("left", "right") if end in offcut.keeps)
    return OwnPiece(label=_pencilled(offcut), length_mm=offcut.to_mm - offcut.from_mm, keeps=ends, board=number,
                 from_mm=None if ends else offcut.from_mm,
                 came_from=_place(offcut.cut_by))


def _pencilled(offcut: Offcut) -> str:
    """What is written on an offcut that goes to another floor."""
    return _place(offcut.used_by).label


def _label(told: _Told, offcut: Offcut, roots: dict[str, str]) -> None:
    """Name an offcut within the floor that leaves it, as a plan of one floor does."""
    kind = offcut.label[len(str(offcut.board))]
    label = f"{told.numbers[offcut.board, roots[offcut.cut_by]]}{kind}"
    count = 1 + sum(name.startswith(label) for name in told.labels.values())
    told.labels[offcut.label] = label if count == 1 else f"{label}{count}"


def _laying(name: str, rows: tuple[Row, ...], told: _Told, roots: dict[str, str], followed: _Followed,
            owner: dict[str, str]) -> Laying:
    """A floor's rows, offcuts and pieces at hand under its own names and numbers."""
    def own(piece: Piece) -> Piece:
        took = followed.offcuts.get(piece.takes)
        takes = told.labels.get(piece.takes) or (piece.takes if took is None else _pencilled(took))
        return replace(piece, id=_own_name(piece.id), board=told.numbers[piece.board, roots[piece.id]], takes=takes,
                       leaves=tuple(told.labels[label] for label in piece.leaves))

    offcuts = tuple(replace(offcut, label=told.labels[label], cut_by=_own_name(offcut.cut_by),
                            board=told.numbers[offcut.board, roots[offcut.cut_by]],
                            **_taken(offcut, name)) for label, offcut in followed.offcuts.items()
                    if owner[label] == name)
    laid = tuple(replace(row, runs=tuple(replace(run, pieces=tuple(map(own, run.pieces))) for run in row.runs))
                 for row in rows)
    own_pieces = tuple(replace(piece, board=told.own.get(piece.label, 0)) for floor, piece in followed.at_hand
                       if floor == name and (piece.came_from is None or piece.label in told.own))
    return laid, offcuts, (*own_pieces, *told.came), told.boards


def _taken(offcut: Offcut, name: str) -> dict[str, Any]:
    """Who takes an offcut of a floor: a piece of its own, or one elsewhere."""
    if not offcut.used_by or _floor(offcut.used_by) == name:
        return {"used_by": _own_name(offcut.used_by) if offcut.used_by else ""}
    return {"used_by": "", "goes_to": _place(offcut.used_by)}


def _place(name: str) -> Elsewhere:
    return Elsewhere(floor=_floor(name), piece=_own_name(name))


def _travel(offcut: Offcut) -> Travel:
    return Travel(label=_pencilled(offcut), from_floor=_floor(offcut.cut_by), cut_by=_own_name(offcut.cut_by),
                  to_floor=_floor(offcut.used_by), used_by=_own_name(offcut.used_by),
                  length_mm=offcut.to_mm - offcut.from_mm)
