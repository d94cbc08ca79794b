"""Why a floor is laid as it is, in sentences."""
from __future__ import annotations

from layout.facts.reasons import (
    BoardsInAll, BoardsNeeded, BoundRule, FirstRowRule, FirstRowWide, GapByClimate, GapByRun, OwnIdle, OwnUsed,
    PacksTaken, Reason, RestPlanned, RowsRun, StartBroken, StartWedge, Wall, WaysWeighed)
from layout.words.lengths import Lengths

_BOUND: dict[BoundRule, str] = {
    "cuts": ("No plan of these rows under these rules that cuts boards across only can use fewer: either the wood and "
             "its saw cuts do not fit, or too many of the pieces cannot share a board with one another."),
    "packs": ("The boards of a pack differ in length. Fewer packs than the least hold less wood than the rows are long "
              "in all; fewer boards than the least would be too short even if the longest were taken first."),
    "wood": "Fewer boards hold less wood than the rows are long, saw cuts included.",
}
_FIRST_ROW: dict[FirstRowRule, str] = {
    "one-deep": "The floor is one row deep.",
    "whole-board": "The first row is a whole board wide and the last row is wide enough.",
    "shared": "First and last row share what is left, so neither is a sliver.",
    "keeps-wide": "This width keeps every row wide enough along the walls that run with the rows.",
    "nearest": "No first row keeps every row {narrowest} wide; this one comes nearest.",
    "asked": "The first row is as wide as you asked.",
}


def bound_words(rule: BoundRule) -> str:
    """The rule behind the fewest boards (packs) there can be."""
    return _BOUND[rule]


def wall_words(wall: Wall) -> str:
    """A wall by its corners."""
    return "-".join(wall)


def reason_words(reason: Reason, show: str) -> str:
    """A reason in one or two sentences. Raises TypeError for a kind of reason that has no words."""
    units = Lengths(show)
    match reason:
        case RowsRun():
            return f"Rows run along {wall_words(reason.along)} and start at {wall_words(reason.start)}."
        case WaysWeighed():
            return _weighed(reason)
        case FirstRowWide():
            return _first_row(reason, units)
        case StartWedge():
            return (f"Row {reason.row} is sawn to a wedge: its wall is {units.whole(reason.wedge_mm)} out of line with "
                    "the rows.")
        case StartBroken():
            return f"Row {reason.row} lies in {reason.stretches} stretches: string them to one line."
        case GapByRun():
            return (f"The gap is {units.mm(reason.gap_mm)}: 1.5 mm for each metre of the longest run, "
                    f"{units.metres(reason.run_mm, 1)}, and at least {units.mm(8)} (European trade laying guides).")
        case GapByClimate():
            return _by_climate(reason, units)
        case BoardsNeeded():
            return _boards(reason)
        case PacksTaken():
            return _packs(reason, units)
        case OwnUsed(labels=labels):
            return (f"Of the pieces you have already, {', '.join(labels)} {'are' if len(labels) > 1 else 'is'} used "
                    "before new boards.")
        case OwnIdle(labels=labels):
            does, them = ("do", "them") if len(labels) > 1 else ("does", "it")
            return f"{', '.join(labels)} {does} not save a board here; keep {them} for repairs."
        case RestPlanned():
            return _rest(reason, units)
        case BoardsInAll():
            return f"{reason.boards} boards in all, those already laid included."
    raise TypeError(f"no words for {type(reason).__name__}")


def _weighed(reason: WaysWeighed) -> str:
    others = f"{reason.least}" if reason.least == reason.most else f"{reason.least} to {reason.most}"
    return (f"{reason.ways} ways of laying were weighed: this one needs {reason.this} {reason.what}, the others "
            f"{others}. Rows had best run towards the main window, or along the longer side: other ways are taken "
            "where they save a pack and 5 % of the boards. Then ways that keep every rule come first, then fewest "
            f"{reason.what}, then a start along one long wall that neither a chimney breast nor a jamb breaks and that "
            "asks for no wedge, then rows along the longer side (common practice).")


def _first_row(reason: FirstRowWide, units: Lengths) -> str:
    why = _FIRST_ROW[reason.rule].format(narrowest=units.mm(reason.narrowest_mm))
    in_doorway = (" Row 1 begins in the doorway: the first row meant here is the one at the wall."
                  if reason.in_doorway else "")
    return (f"{why} Row 1 is {units.whole(reason.width_mm)} wide, the last row "
            f"{units.whole(reason.last_mm)}.{in_doorway}")


def _by_climate(reason: GapByClimate, units: Lengths) -> str:
    least = f"at least {units.mm(15)} where the air gets above 65 %" if reason.damp else f"at least {units.mm(8)}"
    return (f"The gap is {units.mm(reason.gap_mm)}: over {units.metres(reason.run_mm, 1)} the floor can grow by "
            f"{units.tenth(reason.growth_mm)} from {reason.from_percent:g} to {reason.to_percent:g} % humidity (0.05 "
            f"mm a metre and percent), half at each side, plus {units.tenth(reason.doubt_mm)} for the survey, and "
            f"{least} (European trade laying guides). The boards' leaflet overrules it.")


def _boards(reason: BoardsNeeded) -> str:
    if reason.boards == reason.bound:
        return f"{reason.boards} boards are the fewest possible for these rows."
    more = reason.boards - reason.bound
    if reason.pattern != "fewest":
        return (f"The pattern of {reason.pattern} needs {reason.boards} boards; freely placed joints need at least "
                f"{reason.bound}, so the pattern costs at most {more} boards.")
    return (f"{reason.boards} boards; at least {reason.bound} are needed for these rows, so at most {more} could be "
            "saved.")


def _packs(reason: PacksTaken, units: Lengths) -> str:
    lengths = ", ".join(f"{count} of {units.mm(length)}" for length, count in reason.used)
    packs = f"{reason.packs} packs" if reason.packs > 1 else "1 pack"
    sure = "fewer hold less wood than the rows are long" if reason.packs == reason.least_packs else (
        f"the wood of {reason.least_packs} would be long enough, but no laying was found that uses it up")
    return f"The plan takes {lengths}, out of {packs}: {sure}."


def _rest(reason: RestPlanned, units: Lengths) -> str:
    down = (f"Rows 1 to {reason.held} lie as they are" if reason.held > 1
            else "Row 1 lies as it is" if reason.held else "Nothing lies yet")
    return (f"{down}; the rest is planned with what is on hand. Row {reason.last_row}, the last, is "
            f"{units.whole(reason.last_mm)} wide.")
