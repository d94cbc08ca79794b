"""What a measured place means: the piece it takes, and what to do where the wood for it is too short. Advice first:
within the edge window the row is slid."""
from __future__ import annotations

from capture.language.messages import gettext
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
    by = length_words(abs(off), show)
    than = (gettext("as planned") if abs(off) < 1.0 else gettext("{length} longer than planned", length=by) if off > 0
            else gettext("{length} shorter than planned", length=by))
    return gettext(
        "Saw piece {piece} to {length}, {than}.", piece=piece.id, length=length_words(event.length_mm, show), than=than)


def _wood(plan: Plan, now: Progress, piece: Piece) -> float:
    """How long the wood of a piece is."""
    on_hand = {spare.label: spare.length_mm for spare in now.spares}
    planned = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in plan.offcuts}
    return on_hand.get(piece.takes, planned.get(piece.takes, plan.board.length_mm))


def _short_by(piece: Piece, short_mm: float, show: str) -> str:
    short = length_words(short_mm, show)
    if piece.takes:
        return gettext("Offcut {label} is {short} too short for that place.", label=piece.takes, short=short)
    return gettext("A board is {short} too short for that place.", short=short)


def _way_out(plan: Plan, piece: Piece, place_mm: float, short_mm: float, show: str) -> str:
    gap = plan.gap_mm + short_mm / 2
    if gap <= plan.gap_most_mm:
        return gettext(
            "Lay it unsawn and slide the row until the gaps at its two ends are alike, {gap} each.",
            gap=length_words(gap, show))
    if place_mm <= plan.board.length_mm:
        return gettext("Say “offcut {label} too short” and take a new board.", label=piece.takes)
    row = piece.id.split(".")[0]
    begun = longer_start(plan, piece, place_mm - plan.board.length_mm)
    if begun is None:
        return gettext("Take row {row} up and begin it with a shorter piece, so that two pieces close it.", row=row)
    first, long = begun
    return gettext(
        "Take row {row} up and begin it with a piece of {long} in place of {piece}; then say “piece {piece} came out "
        "{long}”.", row=row, long=length_words(long, show), piece=first.id)
