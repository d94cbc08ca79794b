"""A piece's cuts in the order they are sawn, with the square crosscut that saves a rest before a cut along would
spoil it.

A piece without a square end (its wall runs flat across it) has no crosscut of its own. Where a rest of its board is
kept whole, the board is parted square beyond the piece first (common practice, no source). Board frame, mm.
"""
from __future__ import annotations

from dataclasses import replace

from layout.plan import Cut, Offcut, Piece, Plan
from printpack.drawing.clip import clip_ring
from printpack.drawing.frames import stock_of
from printpack.words.piece_outline import sawn_side

_FAR_MM = 1e6
#: To length, along, what is cut out, holes: the order of `printpack.strip.steps`.
_ORDER = {"cross": 0, "rip": 1, "notch": 2, "line": 2, "hole": 3}


def as_sawn(plan: Plan, piece: Piece) -> Piece:
    """The piece with its cuts in the order its picture draws them, a board parted first where `rest_first` says so."""
    piece = rest_first(plan, piece)
    return replace(piece, cuts=tuple(sorted(piece.cuts, key=lambda cut: _ORDER[cut.kind])))


def rest_first(plan: Plan, piece: Piece) -> Piece:
    """The piece with a square crosscut at its tip where a rest of full width would else be ripped, its cut-outs clipped
    to the wood that leaves; the piece itself mostly."""
    if not any(cut.kind == "rip" for cut in piece.cuts):
        return piece
    sawn = {sawn_side(plan, piece, cut) for cut in piece.cuts if cut.kind == "cross"}
    for offcut in (offcut for offcut in plan.offcuts if offcut.label in piece.leaves):
        side = _side_of(piece, offcut)
        if side and side not in sawn and (offcut.near_mm, offcut.far_mm) == (0.0, plan.board.width_mm):
            piece = _parted(plan, piece, side)
    return piece


def _side_of(piece: Piece, offcut: Offcut) -> str:
    """The end of the piece beyond which a rest lies; "" for one beside it."""
    if offcut.from_mm >= piece.to_mm:
        return "right"
    return "left" if offcut.to_mm <= piece.from_mm else ""


def _parted(plan: Plan, piece: Piece, side: str) -> Piece:
    """The piece with its board parted at one end: measured from the other."""
    left, _, right, _ = stock_of(plan, piece)
    kept, at = ("left", piece.to_mm - left) if side == "right" else ("right", right - piece.from_mm)
    window = (piece.from_mm, -_FAR_MM, _FAR_MM, _FAR_MM) if side == "left" else (-_FAR_MM, -_FAR_MM, piece.to_mm,
                                                                               _FAR_MM)
    crosses = tuple(cut for cut in piece.cuts if cut.kind == "cross")
    others = (replace(cut, shape=clip_ring(cut.shape, window)) if cut.shape else cut
              for cut in piece.cuts if cut.kind != "cross")
    return replace(piece, cuts=(*crosses, Cut(kind="cross", kept=kept, at=(at, at)),
                                *(cut for cut in others if cut.shape or cut.kind not in ("notch", "line"))))
