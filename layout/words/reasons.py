"""Why a floor is laid as it is, in sentences."""
from __future__ import annotations

from capture.language.messages import gettext, marked, ngettext, worded
from layout.facts.reasons import (
    BoardsInAll, BoardsNeeded, BoundRule, FirstRowRule, FirstRowWide, GapByClimate, GapByRun, OwnIdle, OwnUsed,
    PacksTaken, Reason, RestPlanned, RowsRun, StartBroken, StartWedge, Wall, WaysWeighed)
from layout.words.lengths import Lengths

_BOUND: dict[BoundRule, str] = {
    "cuts": marked(
        "No plan of these rows under these rules that cuts boards across only can use fewer: either the wood and "
        "its saw cuts do not fit, or too many of the pieces cannot share a board with one another."),
    "packs": marked(
        "The boards of a pack differ in length. Fewer packs than the least hold less wood than the rows are long in "
        "all; fewer boards than the least would be too short even if the longest were taken first."),
    "wood": marked("Fewer boards hold less wood than the rows are long, saw cuts included."),
}
_FIRST_ROW: dict[FirstRowRule, str] = {
    "one-deep": marked("The floor is one row deep."),
    "whole-board": marked("The first row is a whole board wide and the last row is wide enough."),
    "shared": marked("First and last row share what is left, so neither is a sliver."),
    "keeps-wide": marked("This width keeps every row wide enough along the walls that run with the rows."),
    "nearest": marked("No first row keeps every row {narrowest} wide; this one comes nearest."),
    "asked": marked("The first row is as wide as you asked."),
}


def bound_words(rule: BoundRule) -> str:
    """The rule behind the fewest boards (packs) there can be."""
    return worded(_BOUND[rule])


def wall_words(wall: Wall) -> str:
    """A wall by its corners."""
    return "-".join(wall)


def reason_words(reason: Reason, show: str) -> str:
    """A reason in one or two sentences. Raises TypeError for a kind of reason that has no words."""
    units = Lengths(show)
    match reason:
        case RowsRun():
            return gettext(
                "Rows run along {along} and start at {start}.", along=wall_words(reason.along),
                start=wall_words(reason.start))
        case WaysWeighed():
            return _weighed(reason)
        case FirstRowWide():
            return _first_row(reason, units)
        case StartWedge():
            return gettext(
                "Row {row} is sawn to a wedge: its wall is {wedge} out of line with the rows.", row=reason.row,
                wedge=units.whole(reason.wedge_mm))
        case StartBroken():
            return gettext(
                "Row {row} lies in {stretches} stretches: string them to one line.", row=reason.row,
                stretches=reason.stretches)
        case GapByRun():
            return gettext(
                "The gap is {gap}: 1.5 mm for each metre of the longest run, {run}, and at least {least} (European "
                "trade laying guides).", gap=units.mm(reason.gap_mm), run=units.metres(reason.run_mm, 1),
                least=units.mm(8))
        case GapByClimate():
            return _by_climate(reason, units)
        case BoardsNeeded():
            return _boards(reason)
        case PacksTaken():
            return _packs(reason, units)
        case OwnUsed(labels=labels):
            return ngettext(
                "Of the pieces you have already, {labels} is used before new boards.",
                "Of the pieces you have already, {labels} are used before new boards.", len(labels),
                labels=", ".join(labels))
        case OwnIdle(labels=labels):
            return ngettext(
                "{labels} does not save a board here; keep it for repairs.",
                "{labels} do not save a board here; keep them for repairs.", len(labels), labels=", ".join(labels))
        case RestPlanned():
            return _rest(reason, units)
        case BoardsInAll():
            return gettext("{boards} boards in all, those already laid included.", boards=reason.boards)
    raise TypeError(f"no words for {type(reason).__name__}")


def _weighed(reason: WaysWeighed) -> str:
    others = (f"{reason.least}" if reason.least == reason.most
              else gettext("{least} to {most}", least=reason.least, most=reason.most))
    counts = {"ways": reason.ways, "this": reason.this, "others": others}
    if reason.what == "packs":
        return gettext(
            "{ways} ways of laying were weighed: this one needs {this} packs, the others {others}. Rows had best run "
            "towards the main window, or along the longer side: other ways are taken where they save a pack and 5 % of "
            "the boards. Then ways that keep every rule come first, then fewest packs, then a start along one long "
            "wall that neither a chimney breast nor a jamb breaks and that asks for no wedge, then rows along the "
            "longer side (common practice).", **counts)
    return gettext(
        "{ways} ways of laying were weighed: this one needs {this} boards, the others {others}. Rows had best run "
        "towards the main window, or along the longer side: other ways are taken where they save a pack and 5 % of "
        "the boards. Then ways that keep every rule come first, then fewest boards, then a start along one long wall "
        "that neither a chimney breast nor a jamb breaks and that asks for no wedge, then rows along the longer side "
        "(common practice).", **counts)


def _first_row(reason: FirstRowWide, units: Lengths) -> str:
    why = worded(_FIRST_ROW[reason.rule], narrowest=units.mm(reason.narrowest_mm))
    wide = gettext("Row 1 is {width} wide, the last row {last}.", width=units.whole(reason.width_mm),
                   last=units.whole(reason.last_mm))
    if not reason.in_doorway:
        return f"{why} {wide}"
    doorway = gettext("Row 1 begins in the doorway: the first row meant here is the one at the wall.")
    return f"{why} {wide} {doorway}"


def _by_climate(reason: GapByClimate, units: Lengths) -> str:
    least = (gettext("at least {least} where the air gets above 65 %", least=units.mm(15)) if reason.damp
             else gettext("at least {least}", least=units.mm(8)))
    return gettext(
        "The gap is {gap}: over {run} the floor can grow by {growth} from {before:g} to {after:g} % humidity (0.05 mm "
        "a metre and percent), half at each side, plus {doubt} for the survey, and {least} (European trade laying "
        "guides). The boards' leaflet overrules it.", gap=units.mm(reason.gap_mm), run=units.metres(reason.run_mm, 1),
        growth=units.tenth(reason.growth_mm), before=reason.from_percent, after=reason.to_percent,
        doubt=units.tenth(reason.doubt_mm), least=least)


_PATTERN = {"thirds": marked("thirds"), "halves": marked("halves")}


def pattern_words(pattern: str) -> str:
    """A pattern of joints."""
    return worded(_PATTERN.get(pattern, pattern))


def _boards(reason: BoardsNeeded) -> str:
    if reason.boards == reason.bound:
        return gettext("{boards} boards are the fewest possible for these rows.", boards=reason.boards)
    more = reason.boards - reason.bound
    if reason.pattern != "fewest":
        return gettext(
            "The pattern of {pattern} needs {boards} boards; freely placed joints need at least {bound}, so the "
            "pattern costs at most {more} boards.", pattern=pattern_words(reason.pattern), boards=reason.boards,
            bound=reason.bound, more=more)
    return gettext(
        "{boards} boards; at least {bound} are needed for these rows, so at most {more} could be saved.",
        boards=reason.boards, bound=reason.bound, more=more)


def _packs(reason: PacksTaken, units: Lengths) -> str:
    lengths = ", ".join(gettext("{count} of {length}", count=count, length=units.mm(length))
                        for length, count in reason.used)
    packs = ngettext("1 pack", "{count} packs", reason.packs)
    sure = (gettext("fewer hold less wood than the rows are long") if reason.packs == reason.least_packs
            else gettext("the wood of {packs} would be long enough, but no laying was found that uses it up",
                         packs=reason.least_packs))
    return gettext("The plan takes {lengths}, out of {packs}: {sure}.", lengths=lengths, packs=packs, sure=sure)


def _rest(reason: RestPlanned, units: Lengths) -> str:
    down = (gettext("Rows 1 to {held} lie as they are", held=reason.held) if reason.held > 1
            else gettext("Row 1 lies as it is") if reason.held else gettext("Nothing lies yet"))
    return gettext("{down}; the rest is planned with what is on hand. Row {row}, the last, is {width} wide.",
                   down=down, row=reason.last_row, width=units.whole(reason.last_mm))
