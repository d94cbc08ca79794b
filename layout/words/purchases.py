"""The shopping list in words: what, how many, and the rule each number comes from (trade sheet, sections 3, 4, 6, 7;
common practice unless said)."""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from capture.language.messages import gettext, localised, ngettext
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
    if count == 1:
        return piece.where
    return gettext("{where} ({number} of {count})", where=piece.where, number=number, count=count)


def sawn_words(piece: BarPiece) -> str:
    """What a length sawn from a bar is for."""
    (number, count), stretch = piece.part, stretch_words(piece)
    if count == 1:
        return stretch
    return gettext("{stretch}, part {number} of {count}", stretch=stretch, number=number, count=count)


def _words(good: Purchase, units: Lengths) -> tuple[str, str]:
    match good:
        case Boards():
            return _boards(good, units)
        case MixedBoards():
            return _mixed(good, units)
        case Underlay():
            return gettext("underlay"), gettext(
                "The whole floor; sheets butt and do not lap, one layer only. Ask the board maker which kind.")
        case UnderlayRolls():
            return _rolls(good, units)
        case Film():
            return _film(good, units)
        case TapeRoll() | JointTape():
            return _tape(good, units)
        case Spacers():
            return gettext("wall spacers as thick as the gap"), gettext(
                "Two a board along the start wall, one at each row end; moved along as the rows go on.")
        case BeadingBars() | ExpansionProfiles() | Threshold() | Collars():
            return _fittings(good, units)
    raise TypeError(f"no words for {type(good).__name__}")


def _tape(good: TapeRoll | JointTape, units: Lengths) -> tuple[str, str]:
    if isinstance(good, TapeRoll):
        return gettext("tape for the joints of the underlay (and of a film)"), gettext(
            "How much depends on the width of the sheets: add up the joints between them.")
    roll = units.metres(good.roll_mm)
    if good.underlay and good.film:
        what = gettext("tape for the joints of underlay and film, rolls of {roll}", roll=roll)
    elif good.underlay:
        what = gettext("tape for the joints of underlay, rolls of {roll}", roll=roll)
    else:
        what = gettext("tape for the joints of film, rolls of {roll}", roll=roll)
    return what, gettext("{joints} of joints between sheets and a tenth more.", joints=units.metres(good.joints_mm, 1))


def _boards(good: Boards, units: Lengths) -> tuple[str, str]:
    what, counts = gettext("boards {size}", size=units.by(*good.size_mm)), {"boards": good.boards, "pack": good.pack}
    if not good.owned:
        return what, gettext("The plan uses {boards} boards, a pack holds {pack}: {spare}", spare=_to_spare(good),
                             **counts)
    why = gettext("The plan uses {boards} new boards, a pack holds {pack}: {spare}", spare=_to_spare(good), **counts)
    owned = ngettext("1 piece you have already is used first ({labels}).",
                     "{count} pieces you have already are used first ({labels}).", len(good.owned),
                     labels=", ".join(good.owned))
    return what, f"{why} {owned}"


def _mixed(good: MixedBoards, units: Lengths) -> tuple[str, str]:
    lengths = ", ".join(gettext("{used} of {held} boards of {length}", used=used, held=held, length=units.mm(length))
                        for length, used, held in good.lengths)
    shortest, longest = good.lengths[0][0], good.lengths[-1][0]
    return gettext("boards {size}", size=units.to(shortest, longest, *good.face_mm)), gettext(
        "The plan uses {lengths}: {spare} Open the packs and count the lengths before you saw: if they hold others, "
        "type what they hold.", lengths=lengths, spare=_to_spare(good))


def _to_spare(good: Boards | MixedBoards) -> str:
    if good.pack_more:
        return gettext("{spare} to spare, one pack for them (at least {least}, for a miscut and a repair).",
                       spare=good.spare, least=SPARE_BOARDS)
    return gettext("{spare} to spare (at least {least}, for a miscut and a repair).", spare=good.spare,
                   least=SPARE_BOARDS)


def _rolls(good: UnderlayRolls, units: Lengths) -> tuple[str, str]:
    length, width = good.roll_mm
    what = gettext("underlay {thickness}, rolls of {roll}", thickness=units.mm(good.thickness_mm),
                   roll=units.m2(length * width))
    return what, gettext(
        "{floor} of floor: {sheets} sheets {width} wide across the rows, {laid} in all; what is left of one goes on "
        "in the next. They butt and do not lap, one layer only.", floor=units.m2(1e6 * good.floor_m2, 2),
        sheets=good.sheets, width=units.mm(width), laid=units.metres(good.laid_mm, 1))


def _film(good: Film, units: Lengths) -> tuple[str, str]:
    thickness = localised(units.terms.film)
    sizes = {"sheets": good.sheets, "wide": units.metres(good.wide_mm), "laid": units.metres(good.laid_mm, 1),
             "lap": units.terms.lap}
    if good.sure:
        return gettext("polythene film {thickness} for the mineral subfloor", thickness=thickness), gettext(
            "{sheets} sheets {wide} wide, {laid} in all, lapped {lap} and turned up at the walls.", **sizes)
    what = gettext("polythene film {thickness}, ONLY if the subfloor is mineral (screed, concrete, tiles)",
                   thickness=thickness)
    return what, gettext("{sheets} sheets {wide} wide, {laid} in all, lapped {lap} and turned up at the walls. None on "
                         "a timber floor: it traps damp.", **sizes)


def _fittings(good: BeadingBars | ExpansionProfiles | Threshold | Collars, units: Lengths) -> tuple[str, str]:
    match good:
        case BeadingBars():
            return _beading(good, units)
        case ExpansionProfiles():
            return gettext("expansion profile"), gettext(
                "{lengths}; wide enough to cover the gap on both sides of its web, fixed to the subfloor only.",
                lengths=units.metres_sum(good.lengths_mm))
        case Threshold():
            return gettext("threshold profile for door {door}", door=good.door), gettext(
                "Across an opening of {width}; which kind depends on the floor next door.",
                width=units.mm(good.width_mm))
    return gettext("pipe collars"), gettext(
        "One for each pipe ({pipes}); a collar must be at least {more} wider than its hole, so {across} across.",
        pipes=", ".join(good.pipes), more=units.mm(10), across=units.whole(good.across_mm))


def _beading(good: BeadingBars, units: Lengths) -> tuple[str, str]:
    sure = (gettext("no fewer can do") if good.bars == good.bound
            else gettext("at least {bound} are needed", bound=good.bound))
    return gettext("skirting or beading, bars of {bar}", bar=units.mm(good.bar_mm)), gettext(
        "{sawn} with its mitres and a saw cut of {kerf} between pieces; {sure} (the cut list shows each bar), and a "
        "miscut costs one more. It must cover at least {least} of floor: widest gap, winter shrinkage and {more}. "
        "Fix it to the wall, never to the floor.", sawn=units.metres(good.sawn_mm, 2), kerf=units.mm(good.kerf_mm),
        sure=sure, least=units.mm(ceil(good.least_mm)), more=units.mm(2))
