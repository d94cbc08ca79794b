"""Held rows and planned ones put together again: board numbers, labels, offcuts, own pieces.

Board numbers are counted afresh, held boards first. Labels already pencilled on offcuts stay, and an offcut still to be
sawn keeps the label the plan in force gives it where the same piece leaves it.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from layout.replan.calm.ends_in_force import ended_as_before
from layout.replan.calm.kept_pieces import kept_as_before
from layout.planning.assemble import Laying
from layout.planning.cuts import cuts_for
from layout.region.rows import RunShape, Strip
from layout.region.run_ends import at_ends
from layout.search.core.joint_nudges import neat_shares
from layout.search.core.model import SAME_MM
from layout.planning.pieces import (
    BoardOf, Placement, Source, lay_order, make_rows, name_pieces, place_boards, trace_offcuts)
from layout.plan import Offcut, Piece, Plan, Row, Run
from layout.room import SLIVER_MM, OwnPiece
from layout.replan.progress import Progress, Spare, called, held_pieces, must_be_remade
from layout.replan.remaining_rows import Rest
from layout.replan.calm.stable_pairing import calm_boards, pairs_before, shared_as_before
from layout.planning.fitting.settled_ends import SettledLay, settle_ends
from layout.planning.fitting.shaping import Limits, shape_pieces

#: A whole new board as stock: its stretch and no label.
WHOLE = ""
#: More than any board's key.
_APART = 1_000_000


def remade(plan: Plan, now: Progress) -> tuple[Plan, Progress]:
    """The plan with pieces of the row begun cut from new boards where their offcut is no more, and the wood on hand
    that leaves."""
    rows, offcuts, spares, names = list(plan.rows), list(plan.offcuts), list(now.spares), called(plan)
    fresh = max((piece.board for piece in plan.pieces), default=0)
    lengths = [plan.board_of(number).length_mm for number in range(1, fresh + 1)]
    for k, row in enumerate(rows[:now.held]):
        for piece in row.pieces:
            if must_be_remade(piece, now):
                fresh += 1
                lengths.append(plan.board_of(piece.board).length_mm)
                made, left = _from_new_board(plan, piece, fresh, {offcut.label for offcut in offcuts})
                row = _with_piece(row, made)
                offcuts = [_for(offcut, "", names.get(offcut.label, offcut.label)) if offcut.used_by == piece.id
                           else offcut for offcut in offcuts if offcut.cut_by != piece.id]
                offcuts += [left] if left else []
                spares = [spare for spare in spares if spare.label not in piece.leaves]
                spares += [Spare(label=left.label, board=fresh, from_mm=left.from_mm, to_mm=left.to_mm,
                                 keeps=left.keeps[:1])] if left else []
        rows[k] = row
    known = tuple(lengths) if plan.board.mix else ()
    return (replace(plan, rows=tuple(rows), offcuts=tuple(offcuts), lengths_mm=known),
            replace(now, spares=tuple(spares)))


def lay_rest(plan: Plan, now: Progress, rest: Rest, limits: Limits) -> Laying:
    """Rows, offcuts, own pieces and boards of the whole floor: the held rows, then the free ones within these
    limits."""
    return spliced(plan, now, _cut_free_rows(plan, now, rest, limits), plan.board_of)


def _cut_free_rows(plan: Plan, now: Progress, rest: Rest, limits: Limits) -> Cut:
    """The free rows: between the ends of the plan in force where no wood is to be left for longer ones and all its
    boards can then be shared as they are, else as they settle."""
    runs = list(rest.laid.runs)[rest.free:]
    firsts, pairs = list(rest.firsts), pairs_before(plan, now.held, len(runs), rest.stock)
    lay = settle_ends(rest.task, firsts, runs, kerf_mm=plan.kerf_mm + rest.reserve_mm, step_mm=limits.step_mm,
                      lay=plan.lay, shares=neat_shares(rest.task, firsts, kept=pairs))
    if rest.reserve_mm < limits.step_mm:
        calm, as_before = _cut_between(plan, now, rest, limits, ended_as_before(plan, now.held, lay, runs))
        if as_before:
            return calm
    return _cut_between(plan, now, rest, limits, lay)[0]


def _cut_between(plan: Plan, now: Progress, rest: Rest, limits: Limits, lay: SettledLay) -> tuple[Cut, bool]:
    """(the free rows between these ends, with as much of the plan in force as still works; whether all its boards are
    shared as there)."""
    runs = list(rest.laid.runs)[rest.free:]
    placements, behind = place_boards(lay.task, list(lay.firsts), tuple(spare.own for spare in rest.stock), lay.shares)
    order = lay_order(placements, rest.task.spans, plan.lay)
    placements, stocks = _freed(placements, _stocks(placements, order, behind, rest.stock), plan.board.length_mm,
                                plan.kerf_mm)
    runs = [at_ends(run, span.left_mm, span.right_mm) for run, span in zip(runs, lay.task.spans)]
    placements, parts = shape_pieces(runs, list(rest.laid.strips), placements, plan.board_of, limits)
    ids = name_pieces(runs, placements, parts)
    names = [each[0] for each in ids]
    calm, calm_parts = kept_as_before(placements, parts, ids, _where_rows_lie_as_before(plan, now, rest),
                                      rest.laid.frame, limits)
    shared, found = shared_as_before(plan, now, calm, order, names, stocks)
    as_before = shared is not calm
    if as_before:
        placements, parts, stocks = shared, calm_parts, found
    else:
        placements, stocks = shared_as_before(plan, now, placements, order, names, stocks)
        placements, parts = calm_boards(placements, parts, calm, calm_parts, stocks, plan)
    return Cut(runs=tuple(runs), strips=rest.laid.strips, placements=tuple(placements), parts=parts, ids=ids,
               order=order, stocks=stocks, stock=rest.stock), as_before


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cut:
    """The free rows as they are cut: their runs, the strips of all rows, every placement with the parts of its piece
    and their names, the order of laying, what each board key is cut from (None: a new board), and all wood on hand."""

    runs: tuple[RunShape, ...]
    strips: tuple[Strip, ...]
    placements: tuple[Placement, ...]
    parts: list[list[Polygon]]
    ids: list[list[str]]
    order: list[int]
    stocks: dict[int, Spare | None]
    stock: tuple[Spare, ...]


def spliced(plan: Plan, now: Progress, cut: Cut, board_of: BoardOf) -> Laying:
    """The held rows and the free ones as cut. board_of: the board of a key."""
    held = [_unbored(row) for row in plan.rows[:now.held]]
    numbers, held_numbers, boards = _numbers(plan, held, cut.stocks)
    keys = {number: key for key, number in numbers.items()}
    sources, offcuts = _traced(plan, cut, numbers, board_of)
    labels = _labels(plan, now, offcuts)
    sources = [replace(source, leaves=tuple(labels.get(label, label) for label in source.leaves),
                       takes=labels.get(source.takes, source.takes)) for source in sources]
    numbered = [replace(placement, board=numbers[placement.board]) for placement in cut.placements]
    made = make_rows(list(cut.runs), list(cut.strips), numbered, lambda number: board_of(keys[number]), plan.frame,
                     cut.parts, cut.ids, sources)
    rows = (*(_renumbered(row, held_numbers) for row in held), *made[now.held:])
    named = [replace(offcut, label=labels.get(offcut.label, offcut.label)) for offcut in offcuts]
    return rows, _offcuts(plan, rows, now, held_numbers, named), _owned(plan, cut, held_numbers, numbers), boards


def _where_rows_lie_as_before(plan: Plan, now: Progress, rest: Rest) -> dict[str, Piece]:
    """The pieces of the free rows, by name; none where another first row has moved all rows."""
    if abs(rest.laid.strips[0].far_mm - plan.rows[0].far_mm) > SAME_MM:
        return {}
    return {piece.id: piece for row in plan.rows[now.held:] for piece in row.pieces}


def _from_new_board(plan: Plan, piece: Piece, number: int, labels: set[str]) -> tuple[Piece, Offcut | None]:
    """A piece sawn from a new board as long instead, and what of that is worth keeping."""
    board = plan.board_of(piece.board)
    ring = np.array([plan.to_row_frame(point) for point in piece.outline_mm])
    shape = Polygon(ring - ring.min(axis=0) + np.array([piece.from_mm, piece.near_mm]))
    lo, hi = piece.from_mm - plan.kerf_mm, piece.to_mm + plan.kerf_mm
    stretch = (hi, board.length_mm) if board.length_mm - hi > lo else (0.0, lo)
    left = None
    if stretch[1] - stretch[0] >= plan.rules.shortest_mm:
        end = "right" if stretch[0] > 0 else "left"
        left = Offcut(label=_free(f"{number}{end[0].upper()}", labels), board=number, from_mm=stretch[0],
                      to_mm=stretch[1], near_mm=0.0, far_mm=board.width_mm, keeps=(end, "near", "far"),
                      cut_by=piece.id, used_by="")
    return replace(piece, board=number, takes=WHOLE, leaves=(left.label,) if left else (),
                   cuts=cuts_for(shape, (0.0, board.length_mm), board)), left


def _with_piece(row: Row, made: Piece) -> Row:
    return replace(row, runs=tuple(Run(pieces=tuple(made if piece.id == made.id else piece for piece in run.pieces))
                                   for run in row.runs))


def _unbored(row: Row) -> Row:
    """The row before its pipe holes are cut (they are bored again with the rest)."""
    return replace(row,
                   runs=tuple(Run(pieces=tuple(replace(piece,
                                                       cuts=tuple(cut for cut in piece.cuts if cut.kind != "hole"))
                                               for piece in run.pieces)) for run in row.runs))


def _renumbered(row: Row, numbers: dict[int, int]) -> Row:
    return replace(row, runs=tuple(Run(pieces=tuple(replace(piece, board=numbers[piece.board]) for piece in run.pieces))
                                   for run in row.runs))


def _stocks(placements: list[Placement], order: list[int], behind: dict[int, OwnPiece],
            stock: tuple[Spare, ...]) -> dict[int, Spare | None]:
    """What each board key is cut from, in laying order: wood on hand, or None for a new board. Whole boards on hand
    go before new ones."""
    by_label = {spare.label: spare for spare in stock}
    whole = [spare for spare in stock if spare.own.is_whole]
    stocks: dict[int, Spare | None] = {}
    for key in dict.fromkeys(placements[i].board for i in order):
        stocks[key] = by_label[behind[key].label] if key in behind else whole.pop(0) if whole else None
    return stocks


def _freed(placements: list[Placement], stocks: dict[int, Spare | None], board_mm: float,
           kerf_mm: float) -> tuple[list[Placement], dict[int, Spare | None]]:
    """Pieces that the search laid between two pieces at hand, as if both were of one board, are cut from what other
    boards leave, or take new boards."""
    freed, stocks = list(placements), dict(stocks)
    for i, placement in enumerate(placements):
        spare, (lo, hi) = stocks[placement.board], placement.taken
        if spare is None or (lo >= spare.from_mm - SAME_MM and hi <= spare.to_mm + SAME_MM):
            continue
        sawn = lo > SAME_MM and hi < board_mm - SAME_MM
        found = _room_for(hi - lo, freed, stocks, board_mm, kerf_mm) if sawn else None
        if found is None:
            found = max(stocks) + 1, 0.0
            stocks[found[0]] = None
        freed[i] = replace(placement, board=found[0], s0_mm=placement.lo_mm - found[1])
    return freed, {key: stock for key, stock in stocks.items() if any(placement.board == key for placement in freed)}


def _room_for(length_mm: float, placements: list[Placement], stocks: dict[int, Spare | None], board_mm: float,
              kerf_mm: float) -> tuple[int, float] | None:
    """(board key, where in the board) of the shortest stretch nobody uses that holds a piece sawn at both ends; one
    that leaves no strip a saw cannot hold comes first. None where there is none."""
    found: list[tuple[bool, float, int, float]] = []
    for key, spare in stocks.items():
        at, end = (0.0, board_mm) if spare is None else (spare.from_mm, spare.to_mm)
        used = sorted(placement.taken for placement in placements if placement.board == key
                      and placement.taken[0] >= at - SAME_MM and placement.taken[1] <= end + SAME_MM)
        for lo, hi in (*used, (end + kerf_mm, end)):
            left = lo - kerf_mm - at - length_mm
            if left >= -SAME_MM:
                found.append((SAME_MM < left < SLIVER_MM, left, key, at))
            at = hi + kerf_mm
    return min(found)[2:] if found else None


def _numbers(plan: Plan, held: list[Row], stocks: dict[int, Spare | None]) -> tuple[dict[int, int], dict[int, int],
                                                                                    int]:
    """(number of every board key, new number of every held board, boards in all). Own pieces are numbered last."""
    own_held = {piece.board for piece in plan.owned if piece.board}
    lying = sorted({piece.board for row in held for piece in row.pieces})
    bought = [number for number in lying if number not in own_held]
    fresh = [key for key, spare in stocks.items() if spare is None]
    boards = len(bought) + len(fresh)
    held_numbers = {number: k for k, number in enumerate(bought, start=1)}
    held_numbers |= {number: k for k, number in enumerate((n for n in lying if n in own_held), start=boards + 1)}
    numbers = {key: k for k, key in enumerate(fresh, start=len(bought) + 1)}
    at = boards + len(lying) - len(bought)
    for key, spare in stocks.items():
        if spare is not None and spare.board:
            numbers[key] = held_numbers[spare.board]
        elif spare is not None:
            at += 1
            numbers[key] = at
    return numbers, held_numbers, boards


def _traced(plan: Plan, cut: Cut, numbers: dict[int, int], board_of: BoardOf) -> tuple[list[Source], list[Offcut]]:
    """Every piece's source, and the offcuts the free rows leave, board by board. Labels are the key's own yet."""
    sources: list[Source | None] = [None] * len(cut.placements)
    offcuts: list[Offcut] = []
    for key, spare in cut.stocks.items():
        mine = [i for i in cut.order if cut.placements[i].board == key]
        # A number no other board has, so that labels of different boards cannot meet.
        there = [replace(cut.placements[i], board=key + _APART) for i in mine]
        own = {} if spare is None else {key + _APART: spare.own}
        found, left = trace_offcuts(there, list(range(len(mine))), [cut.ids[i][0] for i in mine],
                                    lambda number: board_of(number - _APART), plan.kerf_mm, plan.rules.shortest_mm, own)
        for i, source in zip(mine, found):
            sources[i] = source
        offcuts += [replace(offcut, board=numbers[key]) for offcut in left]
    return [source for source in sources if source is not None], offcuts


def _labels(plan: Plan, now: Progress, offcuts: list[Offcut]) -> dict[str, str]:
    """What to pencil on each new offcut: the plan's label for what the same piece leaves at the same end, else its
    board's number and end."""
    pieces = {piece.id for piece in held_pieces(plan, now.held)}
    taken = {offcut.label for offcut in plan.offcuts if offcut.cut_by in pieces} | {piece.label for piece in plan.owned}
    taken |= {spare.label for spare in now.spares} | now.gone
    before = {(offcut.cut_by, offcut.keeps): offcut.label for offcut in plan.offcuts}
    named: dict[str, str] = {}
    for offcut in offcuts:
        old = before.get((offcut.cut_by, offcut.keeps), "")
        if old and old not in taken:
            named[offcut.label] = old
            taken.add(old)
    for offcut in offcuts:
        if offcut.label not in named:
            kind = next((end[0].upper() for end in ("left", "right") if end in offcut.keeps), "M")
            named[offcut.label] = _free(f"{offcut.board}{kind}", taken)
            taken.add(named[offcut.label])
    return named


def _free(label: str, taken: set[str]) -> str:
    """The label, or with a number behind it if it is taken."""
    count, name = 1, label
    while name in taken:
        count += 1
        name = f"{label}{count}"
    return name


def _offcuts(plan: Plan, rows: tuple[Row, ...], now: Progress, held_numbers: dict[int, int],
             fresh: list[Offcut]) -> tuple[Offcut, ...]:
    """Offcuts of the held rows with who uses them now, as long as they came out, then those of the free rows."""
    held = {piece.id for row in rows[:now.held] for piece in row.pieces}
    user: dict[str, str] = {}
    for piece in (piece for row in rows for piece in row.pieces):
        user.setdefault(piece.takes, piece.id)
    came_out = {spare.label: (spare.from_mm, spare.to_mm) for spare in now.spares}
    lying, names = [], called(plan)
    for offcut in (offcut for offcut in plan.offcuts if offcut.cut_by in held):
        lo, hi = came_out.get(offcut.label, (offcut.from_mm, offcut.to_mm))
        now_for = _for(offcut, user.get(offcut.label, ""), names[offcut.label])
        lying.append(replace(now_for, board=held_numbers[offcut.board], from_mm=lo, to_mm=hi))
    return (*lying, *(_still_for(offcut, plan) for offcut in fresh))


def _still_for(offcut: Offcut, plan: Plan) -> Offcut:
    """An offcut of the free rows, for another floor of the flat where it is as good as the one promised to that."""
    before = next((old for old in plan.offcuts if old.label == offcut.label and old.goes_to is not None), None)
    if before is None or offcut.used_by or (before.cut_by, before.keeps) != (offcut.cut_by, offcut.keeps):
        return offcut
    still = offcut.to_mm - offcut.from_mm >= before.to_mm - before.from_mm - SAME_MM
    return replace(offcut, goes_to=before.goes_to) if still else offcut


def _for(offcut: Offcut, piece: str, name: str) -> Offcut:
    """An offcut that lies already, for another piece, or for none (""): what it was called stays pencilled on it, and
    one that is promised to another floor goes there where no piece of this one takes it."""
    now = replace(offcut, used_by=piece, goes_to=None if piece else offcut.goes_to)
    return replace(now, pencilled="" if now.for_piece or name == offcut.label else name)


def _owned(plan: Plan, cut: Cut, held_numbers: dict[int, int], numbers: dict[int, int]) -> tuple[OwnPiece, ...]:
    """Own pieces: those laid, then those on hand, planned or idle."""
    used = {spare.label: numbers[key] for key, spare in cut.stocks.items() if spare is not None and not spare.board}
    laid = [replace(piece, board=held_numbers[piece.board]) for piece in plan.owned if piece.board in held_numbers]
    came = {piece.label: piece.came_from for piece in plan.owned}
    return (*laid, *(replace(spare.own, board=used.get(spare.label, 0), came_from=came.get(spare.label))
                     for spare in cut.stock if not spare.board))
