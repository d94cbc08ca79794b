"""The shopping list in words: what, how many, and the rule each number comes from (trade sheet, sections 3, 4, 6, 7;
common practice unless said)."""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from layout.facts.purchases import (
    BeadingBars, Boards, Collars, ExpansionProfiles, Film, JointTape, MixedBoards, Purchase, Spacers, TapeRoll,
    Threshold, Underlay, UnderlayRolls)
from layout.plan import SPARE_BOARDS, BarPiece, BeadingPiece, Item
from layout.words.lengths import FOOT_MM, METRE_MM, Lengths

_FEET = {"m": (METRE_MM / FOOT_MM, "ft"), "m2": ((METRE_MM / FOOT_MM) ** 2, "sq ft")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of the shopping list in words."""

    what: str
    quantity: float
    unit: str
    why: str


def item_words(item: Item, show: str) -> Line:
    """A line in the reader's units: what is bought by metres is counted in feet, rounded up.

    Raises TypeError for a kind of thing that has no words.
    """
    what, why = _words(item.purchase, Lengths(show))
    quantity, unit = item.quantity, item.purchase.unit
    if show == "imperial" and unit in _FEET:
        size, unit = _FEET[unit]
        quantity = ceil(quantity * size)
    return Line(what=what, quantity=quantity, unit=unit, why=why)


def stretch_words(piece: BeadingPiece | BarPiece) -> str:
    """Which stretch of beading a piece is, or belongs to."""
    number, count = piece.stretch
    return f"{piece.where} ({number} of {count})" if count > 1 else piece.where


def sawn_words(piece: BarPiece) -> str:
    """What a length sawn from a bar is for."""
    number, count = piece.part
    return stretch_words(piece) + (f", part {number} of {count}" if count > 1 else "")


def _words(good: Purchase, units: Lengths) -> tuple[str, str]:
    match good:
        case Boards():
            return _boards(good, units)
        case MixedBoards():
            return _mixed(good, units)
        case Underlay():
            return "underlay", ("The whole floor; sheets butt and do not lap, one layer only. Ask the board maker "
                                "which kind.")
        case UnderlayRolls():
            return _rolls(good, units)
        case Film():
            return _film(good, units)
        case TapeRoll():
            return ("tape for the joints of the underlay (and of a film)",
                    "How much depends on the width of the sheets: add up the joints between them.")
        case JointTape():
            of = " and ".join(["underlay"] * good.underlay + ["film"] * good.film)
            return (f"tape for the joints of {of}, rolls of {units.metres(good.roll_mm)}",
                    f"{units.metres(good.joints_mm, 1)} of joints between sheets and a tenth more.")
        case Spacers():
            return ("wall spacers as thick as the gap",
                    "Two a board along the start wall, one at each row end; moved along as the rows go on.")
        case BeadingBars() | ExpansionProfiles() | Threshold() | Collars():
            return _fittings(good, units)
    raise TypeError(f"no words for {type(good).__name__}")


def _boards(good: Boards, units: Lengths) -> tuple[str, str]:
    why = (f"The plan uses {good.boards} {'new ' if good.owned else ''}boards, a pack holds {good.pack}: "
           f"{_to_spare(good)}")
    if good.owned:
        pieces = "1 piece you have already is" if len(good.owned) == 1 else (
            f"{len(good.owned)} pieces you have already are")
        why += f" {pieces} used first ({', '.join(good.owned)})."
    return f"boards {units.by(*good.size_mm)}", why


def _mixed(good: MixedBoards, units: Lengths) -> tuple[str, str]:
    lengths = ", ".join(f"{used} of {held} boards of {units.mm(length)}" for length, used, held in good.lengths)
    why = (f"The plan uses {lengths}: {_to_spare(good)} Open the packs and count the lengths before you saw: if they "
           "hold others, type what they hold.")
    shortest, longest = good.lengths[0][0], good.lengths[-1][0]
    return f"boards {units.to(shortest, longest, *good.face_mm)}", why


def _to_spare(good: Boards | MixedBoards) -> str:
    return (f"{good.spare} to spare{', one pack for them' if good.pack_more else ''} (at least {SPARE_BOARDS}, for a "
            "miscut and a repair).")


def _rolls(good: UnderlayRolls, units: Lengths) -> tuple[str, str]:
    length, width = good.roll_mm
    return (f"underlay {units.mm(good.thickness_mm)}, rolls of {units.m2(length * width)}",
            f"{units.m2(1e6 * good.floor_m2, 2)} of floor: {good.sheets} sheets {units.mm(width)} wide across the "
            f"rows, {units.metres(good.laid_mm, 1)} in all; what is left of one goes on in the next. They butt and do "
            "not lap, one layer only.")


def _film(good: Film, units: Lengths) -> tuple[str, str]:
    when = " for the mineral subfloor" if good.sure else ", ONLY if the subfloor is mineral (screed, concrete, tiles)"
    timber = "" if good.sure else " None on a timber floor: it traps damp."
    return (f"polythene film {units.terms.film}{when}",
            f"{good.sheets} sheets {units.metres(good.wide_mm)} wide, {units.metres(good.laid_mm, 1)} in all, lapped "
            f"{units.terms.lap} and turned up at the walls.{timber}")


def _fittings(good: BeadingBars | ExpansionProfiles | Threshold | Collars, units: Lengths) -> tuple[str, str]:
    match good:
        case BeadingBars():
            return _beading(good, units)
        case ExpansionProfiles():
            return "expansion profile", (f"{units.metres_sum(good.lengths_mm)}; wide enough to cover the gap on both "
                                         "sides of its web, fixed to the subfloor only.")
        case Threshold():
            return (f"threshold profile for door {good.door}",
                    f"Across an opening of {units.mm(good.width_mm)}; which kind depends on the floor next door.")
    return "pipe collars", (f"One for each pipe ({', '.join(good.pipes)}); a collar must be at least {units.mm(10)} "
                            f"wider than its hole, so {units.whole(good.across_mm)} across.")


def _beading(good: BeadingBars, units: Lengths) -> tuple[str, str]:
    sure = "no fewer can do" if good.bars == good.bound else f"at least {good.bound} are needed"
    return (f"skirting or beading, bars of {units.mm(good.bar_mm)}",
            f"{units.metres(good.sawn_mm, 2)} with its mitres and a saw cut of {units.mm(good.kerf_mm)} between "
            f"pieces; {sure} (the cut list shows each bar), and a miscut costs one more. It must cover at least "
            f"{units.mm(ceil(good.least_mm))} of floor: widest gap, winter shrinkage and {units.mm(2)}. Fix it to the "
            "wall, never to the floor.")
