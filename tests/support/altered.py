"""Plans with pieces changed, for tests of the judge."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from layout.plan import Piece, Plan


def with_pieces(plan: Plan, change: Callable[[Piece], Piece]) -> Plan:
    """The plan with every piece put through `change`."""
    return replace(plan,
                   rows=tuple(replace(row, runs=tuple(replace(run, pieces=tuple(map(change, run.pieces)))
                                                      for run in row.runs)) for row in plan.rows))


def with_piece(plan: Plan, name: str, change: Callable[[Piece], Piece]) -> Plan:
    """The plan with one piece put through `change`."""
    return with_pieces(plan, lambda piece: change(piece) if piece.id == name else piece)
