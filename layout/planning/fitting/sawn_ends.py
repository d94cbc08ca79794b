"""The sawn ends of offcuts: slanted as the crosscut was that left them.

An offcut is as long as it is where it is shortest. A square piece of that length has a wedge more to come off there,
so it gets a square cut of its own.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

from layout.plan import Cut, Offcut, Piece, Row
from layout.search.core.model import SAME_MM

_OTHER = {"left": "right", "right": "left"}


def squared(rows: tuple[Row, ...], offcuts: tuple[Offcut, ...]) -> tuple[Row, ...]:
    """The rows, with a square cut for every piece that is to end square at the slanted end of its offcut."""
    pieces = {piece.id: piece for row in rows for piece in row.pieces}
    cuts = {}
    for offcut in offcuts:
        piece, cutter = pieces.get(offcut.used_by), pieces.get(offcut.cut_by)
        end = None if cutter is None else sawn_end(offcut, cutter)
        if piece is not None and end is not None and _is_left_slanted(piece, offcut, end):
            cuts[piece.id] = (_square_cut(offcut, end.side), *piece.cuts)
    if not cuts:
        return rows
    return tuple(replace(row, runs=tuple(replace(run, pieces=tuple(
        replace(piece, cuts=cuts.get(piece.id, piece.cuts)) for piece in run.pieces)) for run in row.runs))
        for row in rows)


def _is_left_slanted(piece: Piece, offcut: Offcut, end: SawnEnd) -> bool:
    """Whether a piece reaches as far as its offcut does and nothing is sawn off the slanted end there."""
    sawn = any(cut.kind == "cross" and end_of(cut, piece) == end.side for cut in piece.cuts)
    return max(end.beyond_mm) > SAME_MM and reaches(piece, offcut, end) and not sawn


def reaches(piece: Piece, offcut: Offcut, end: SawnEnd, within_mm: float = SAME_MM) -> bool:
    """Whether a piece is used up to the end of its offcut, where that is shortest, but for `within_mm`."""
    return (piece.from_mm - offcut.from_mm if end.side == "left" else offcut.to_mm - piece.to_mm) < within_mm


def _square_cut(offcut: Offcut, side: str) -> Cut:
    """Across the offcut where its whole width begins, measured from its other end."""
    length = offcut.to_mm - offcut.from_mm
    return Cut(kind="cross", kept=_OTHER[side], at=(length, length))


@dataclass(frozen=True, slots=True)
class SawnEnd:
    """The sawn end of an offcut: which it is, and how far it reaches beyond the offcut's length at the board's near and
    far edge where it is slanted."""

    side: str
    beyond_mm: tuple[float, float]


def sawn_end(offcut: Offcut, cutter: Piece) -> SawnEnd:
    """The end of an offcut that the piece it was cut off made."""
    side = "left" if offcut.from_mm > cutter.from_mm else "right"
    made = "right" if side == "left" else "left"
    at = next((_marks(cut) for cut in cutter.cuts if cut.kind == "cross" and end_of(cut, cutter) == made),
              (0.0, 0.0))
    near, far = (max(at) - mark if side == "left" else mark - min(at) for mark in at)
    return SawnEnd(side, (near, far))


def end_of(cut: Cut, piece: Piece) -> str:
    """The end of a piece that a crosscut makes: the one it is measured from if it lies before the piece."""
    return cut.kept if is_before(cut, piece) else ("right" if cut.kept == "left" else "left")


def is_before(cut: Cut, piece: Piece) -> bool:
    """Whether a crosscut is nearer to the end it is measured from than the piece is long: it takes off what lies
    between."""
    return max(cut.at) < piece.to_mm - piece.from_mm - SAME_MM


def _marks(cut: Cut) -> tuple[float, float]:
    """Where a crosscut meets the board's edges, to the right from anywhere."""
    return cut.at if cut.kept == "left" else (-cut.at[0], -cut.at[1])
