"""What a measured place means: the piece it takes, and what to do where the wood for it is too short. Advice first:
within the edge window the row is slid."""
from __future__ import annotations

from desk.actions.day import Told
from desk.text.day_words import length_words
from layout.plan import Piece, Plan
from layout.replan.events import PlaceMeasured
from layout.replan.longer_start import longer_start
from layout.replan.progress import Progress

#: Wood this much short of its place fills it, mm.
NOTHING_MM = 0.5


def place_words(told: Told, event: PlaceMeasured, show: str) -> str:
    """What to saw, or what to do where the place is longer than its wood."""
    plan, now = told.before.plan, told.before.now
    piece = next(piece for piece in plan.pieces if piece.id == event.piece)
    short = event.length_mm - _wood(plan, now, piece)
    if short > NOTHING_MM:
        return f"{_short_by(piece, short, show)} {_way_out(plan, piece, event.length_mm, short, show)}"
    off = event.length_mm - (piece.to_mm - piece.from_mm)
    than = "as planned" if abs(off) < 1.0 else (f"{length_words(abs(off), show)} {'longer' if off > 0 else 'shorter'} "
                                                "than planned")
    return f"Saw piece {piece.id} to {length_words(event.length_mm, show)}, {than}."


def _wood(plan: Plan, now: Progress, piece: Piece) -> float:
    """How long the wood of a piece is."""
    on_hand = {spare.label: spare.length_mm for spare in now.spares}
    planned = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in plan.offcuts}
    return on_hand.get(piece.takes, planned.get(piece.takes, plan.board.length_mm))


def _short_by(piece: Piece, short_mm: float, show: str) -> str:
    wood = f"Offcut {piece.takes}" if piece.takes else "A board"
    return f"{wood} is {length_words(short_mm, show)} too short for that place."


def _way_out(plan: Plan, piece: Piece, place_mm: float, short_mm: float, show: str) -> str:
    gap = plan.gap_mm + short_mm / 2
    if gap <= plan.gap_most_mm:
        return (f"Lay it unsawn and slide the row until the gaps at its two ends are alike, {length_words(gap, show)} "
                "each.")
    if place_mm <= plan.board.length_mm:
        return f"Say “offcut {piece.takes} too short” and take a new board."
    row = piece.id.split(".")[0]
    begun = longer_start(plan, piece, place_mm - plan.board.length_mm)
    if begun is None:
        return f"Take row {row} up and begin it with a shorter piece, so that two pieces close it."
    first, long = begun
    return (f"Take row {row} up and begin it with a piece of {length_words(long, show)} in place of {first.id}; then "
            f"say “piece {first.id} came out {length_words(long, show)}”.")
