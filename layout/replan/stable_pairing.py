"""Pieces shared among boards as the plan in force shares them, where that still works and costs no board: fewer
pages change."""
from __future__ import annotations

from dataclasses import replace

from layout.search.core.model import SAME_MM
from layout.planning.pieces import Placement
from layout.plan import Piece, Plan
from layout.replan.progress import Progress, Spare

Stocks = dict[int, Spare | None]


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
    inside = lo - SAME_MM <= uses[0][0] and uses[-1][1] <= hi + SAME_MM
    apart = all(b[0] - a[1] >= plan.kerf_mm - SAME_MM for a, b in zip(uses, uses[1:]))
    return stock, inside and apart and (stock is not None or not begun)
