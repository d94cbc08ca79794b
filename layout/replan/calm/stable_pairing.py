"""Pieces shared among boards as the plan in force shares them, where that still works and costs no board: fewer
pages change. Where all of it does not work, as many pairs as can be, and pieces as they are printed board by board."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shapely.geometry import Polygon

from layout.search.core.model import SAME_MM
from layout.planning.pieces import Placement
from layout.plan import Piece, Plan
from layout.replan.progress import Progress, Spare

Stocks = dict[int, Spare | None]
Parts = list[list[Polygon]]


def shared_as_before(plan: Plan, now: Progress, placements: list[Placement], order: list[int], ids: list[str],
                     stocks: Stocks,) -> tuple[list[Placement], Stocks]:
    """The placements with the boards of the plan in force, and what those are cut from; as they came if that does not
    work.

    ids: each placement's (first) piece; order: indices in laying order; stocks: what each board key is cut from.
    """
    before = {piece.id: piece for row in plan.rows[now.held:] for piece in row.pieces}
    if set(ids) - set(before):
        return placements, stocks
    moved = [_on_board(placement, before[name], plan) for placement, name in zip(placements, ids)]
    found: Stocks = {}
    for number in dict.fromkeys(moved[i].board for i in order):
        uses = sorted(placement.taken for placement in moved if placement.board == number)
        takes = {before[name].takes for placement, name in zip(moved, ids) if placement.board == number}
        stock, fits = _stock(plan, now, number, takes, uses)
        if not fits:
            return placements, stocks
        found[number] = stock
    fresh = sum(stock is None for stock in found.values())
    return (moved, found) if fresh <= sum(stock is None for stock in stocks.values()) else (placements, stocks)


def pairs_before(plan: Plan, held: int, runs: int, stock: Sequence[Spare]) -> set[tuple[int, int]]:
    """Pairs (run that ends, run that starts) of free runs that follow one another in a board of the plan in force.

    runs: free runs now; none is paired where the plan in force has another number of them. stock: wood on hand in the
    order of the task's earlier floors, which stand behind the free runs (`layout.search.core.owned_stock`).
    """
    free = [run for row in plan.rows[held:] for run in row.runs]
    if len(free) != runs:
        return set()
    parts: dict[int, list[tuple[float, int]]] = {}
    number_of: dict[str, int] = {}
    for k, run in enumerate(free):
        for piece in run.pieces:
            parts.setdefault(piece.board, []).append((piece.from_mm, k))
            number_of[piece.takes] = piece.board
    for at, spare in enumerate((spare for spare in stock if len(spare.keeps) == 1), start=runs):
        if spare.label in number_of:
            parts[number_of[spare.label]].append((-1.0 if "right" in spare.keeps else plan.board.length_mm, at))
    rows = [[run for _, run in sorted(found)] for found in parts.values()]
    return {(one, other) for row in rows for one, other in zip(row, row[1:]) if one != other}


def calm_boards(placements: list[Placement], parts: Parts, calm: list[Placement], calm_parts: Parts, stocks: Stocks,
                plan: Plan) -> tuple[list[Placement], Parts]:
    """(placements, parts), calm (`layout.replan.calm.kept_pieces`) board by board wherever a board holds all its pieces
    that way too."""
    places, shapes = list(placements), list(parts)
    for key, spare in stocks.items():
        mine = [i for i, placement in enumerate(placements) if placement.board == key]
        lo, hi = (0.0, plan.board.length_mm) if spare is None else (spare.from_mm, spare.to_mm)
        as_printed = {i: replace(placements[i], lo_mm=calm[i].lo_mm, hi_mm=calm[i].hi_mm) for i in mine}
        if _side_by_side(sorted(placement.taken for placement in as_printed.values()), lo, hi, plan.kerf_mm):
            for i, placement in as_printed.items():
                places[i], shapes[i] = placement, calm_parts[i]
    return places, shapes


def _side_by_side(uses: list[tuple[float, float]], lo_mm: float, hi_mm: float, kerf_mm: float) -> bool:
    """Whether stretches of a board, in order, lie within it with a saw's width between them."""
    inside = lo_mm - SAME_MM <= uses[0][0] and uses[-1][1] <= hi_mm + SAME_MM
    return inside and all(b[0] - a[1] >= kerf_mm - SAME_MM for a, b in zip(uses, uses[1:]))


def _on_board(placement: Placement, piece: Piece, plan: Plan) -> Placement:
    """The placement on the board its piece came from; a piece sawn at both ends also lies in it where it lay."""
    middle = (
        "left" not in piece.keeps
        and "right" not in piece.keeps
        and piece.from_mm + placement.hi_mm - placement.lo_mm <= plan.board.length_mm
    )
    return replace(placement, board=piece.board, s0_mm=placement.lo_mm
                   - piece.from_mm) if middle else replace(placement, board=piece.board)


def _stock(plan: Plan, now: Progress, number: int, takes: set[str],
           uses: list[tuple[float, float]]) -> tuple[Spare | None, bool]:
    """(what a board's free pieces are cut from, whether they fit in it side by side)."""
    begun = any(piece.board == number for row in plan.rows[:now.held]
                for piece in row.pieces) or any(own.board == number for own in plan.owned)
    stock = next((spare for spare in now.spares if spare.label in takes), None)
    lo, hi = (0.0, plan.board.length_mm) if stock is None else (stock.from_mm, stock.to_mm)
    return stock, _side_by_side(uses, lo, hi, plan.kerf_mm) and (stock is not None or not begun)
