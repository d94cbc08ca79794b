"""What the reader of a plan must know or decide, in sentences.

Every sentence names its rule or source in short. "Common practice" means no source is known to us; EN and BS numbers
are standards quoted second-hand.
"""
from __future__ import annotations

from math import ceil

from capture.language.messages import gettext, marked, ngettext, worded
from layout.facts.notes import (
    BareAlcove, BeadingNarrow, CasingUndercut, DoorwayBlocked, DoorwayLaid, DoorwayOpen, GapNarrow, InFields, InParts,
    LaidFlat, LongFloor, LooseSurvey, Note, OfADoor, PipeClear, StripsLeftOut, TightPlace)
from layout.words.lengths import Lengths


def note_words(note: Note, show: str) -> str:
    """What to know or decide, in a sentence or two. Raises TypeError for a kind of note that has no words."""
    units = Lengths(show)
    match note:
        case InParts():
            return gettext(
                "Less its gap the floor is in {parts} parts; each is laid by itself, on the same rows.",
                parts=note.parts)
        case BareAlcove():
            return gettext(
                "A part of the floor near ({at}), {area}, is too narrow to take boards with a gap of {gap} on both "
                "sides; cover it with a wider skirting or a strip fixed to the wall.", at=units.place(note.at_mm),
                area=units.cm2(note.area_mm2), gap=units.mm(note.gap_mm))
        case StripsLeftOut():
            return _left_out(note, units)
        case BeadingNarrow():
            return gettext(
                "Beading {width} wide is too narrow here: it must cover at least {least} of floor (the widest gap, "
                "what the boards shrink in the dry season, and {more}).", width=units.mm(note.width_mm),
                least=units.more_than(ceil(note.least_mm), note.width_mm), more=units.mm(2))
        case LaidFlat():
            return ngettext(
                "Piece {pieces} cannot be tilted in ({why}): plane the lip of the groove off, glue the joint, push "
                "flat and draw up with the pull bar (common practice).",
                "Pieces {pieces} cannot be tilted in ({why}): plane the lip of the groove off, glue the joint, push "
                "flat and draw up with the pull bar (common practice).", len(note.pieces),
                pieces=", ".join(note.pieces), why=tight_words(note.why))
        case PipeClear():
            return gettext(
                "Pipe {pipe} stands clear of the boards (in the gap or beside the floor): no hole is needed.",
                pipe=note.pipe)
        case LooseSurvey():
            return gettext(
                "Lengths of this survey are good to about {spread} (95 %); a piece must fit within {limit}, so "
                "measure each last piece in place before cutting.", spread=units.whole(note.pm95_mm),
                limit=_two_or_three(units))
        case GapNarrow() | InFields() | LongFloor():
            return _size(note, units)
        case DoorwayLaid() | DoorwayBlocked() | DoorwayOpen() | CasingUndercut():
            return gettext("Door {door}: {note}", door=note.door, note=_door(note, units))
    raise TypeError(f"no words for {type(note).__name__}")


#: What keeps a piece from being tilted in.
_TIGHT: dict[TightPlace, str] = {"between casings": marked("between casings"),
                                 "under a casing": marked("under a casing"), "in a recess": marked("in a recess")}


def tight_words(why: TightPlace) -> str:
    """What keeps a piece from being tilted in."""
    return worded(_TIGHT[why])


def _two_or_three(units: Lengths) -> str:
    return (gettext("{one} or {other}", one=units.mm(2), other=units.mm(3)) if units.is_imperial
            else gettext("2 or 3 mm"))


def _left_out(note: StripsLeftOut, units: Lengths) -> str:
    return ngettext(
        "A strip of the floor up to {widest} wide (near {at}) cannot be sawn and is left out: the gap is up to {gap} "
        "there, and the beading must cover it.",
        "{count} strips of the floor up to {widest} wide (near {at}) cannot be sawn and are left out: the gap is up to "
        "{gap} there, and the beading must cover it.", note.strips, widest=units.whole(note.widest_mm),
        at=units.place(note.at_mm), gap=units.whole(note.gap_mm + note.widest_mm))


def _size(note: GapNarrow | InFields | LongFloor, units: Lengths) -> str:
    match note:
        case GapNarrow():
            return gettext(
                "The gap is {gap} as typed; for a floor {run} long the rule of 1.5 mm a metre, at least {least}, "
                "asks for {asked} (European trade laying guides), and a gap left open is planned so. {gap} is what "
                "you asked for: keep it only if the board's leaflet allows it.", gap=units.mm(note.gap_mm),
                run=units.metres(note.run_mm, 1), least=units.mm(8),
                asked=units.more_than(ceil(note.asked_mm - 1e-9), note.gap_mm))
        case InFields():
            return gettext(
                "The floor is longer than {longest} in one piece, so expansion profiles part it into {fields} "
                "fields (trade habit: {habit}; some leaflets allow {most}, and then say so under 'longest'). Fix "
                "each profile to the subfloor only.", longest=units.metres(note.longest_mm), fields=note.fields,
                habit=_metres(units, 8, 10), most=units.metres(13_000))
    return gettext(
        "The floor is {long} long in one piece; many leaflets want an expansion profile beyond {most} - check "
        "yours.", long=units.metres(note.long_mm, 1), most=units.metres(8_000))


def _metres(units: Lengths, least: int, most: int) -> str:
    if units.is_imperial:
        return gettext("{least} to {most}", least=units.metres(1000 * least), most=units.metres(1000 * most))
    return gettext("{least} to {most} m", least=least, most=most)


def _door(note: OfADoor, units: Lengths) -> str:
    match note:
        case DoorwayLaid():
            return gettext(
                "the boards run into the doorway and stop {stop} beyond the wall line, {gap} short of the middle "
                "of the threshold profile. Measure from the wall to where the closed leaf stands before you saw: "
                "{depth} is planned.", stop=units.mm(note.depth_mm - note.gap_mm), gap=units.mm(note.gap_mm),
                depth=units.mm(note.depth_mm))
        case DoorwayBlocked():
            return gettext(
                "its doorway, {depth} deep, runs into another part of this floor or another doorway, so this plan "
                "stops at the wall line there; check which wall the door is in.", depth=units.mm(note.depth_mm))
        case DoorwayOpen():
            return gettext(
                "this plan stops at the wall line. The strip in the doorway must be planned at the threshold, where "
                "a profile goes; give the opening's depth to have it planned.")
    return _undercut(note, units)


def _undercut(note: CasingUndercut, units: Lengths) -> str:
    board, tuck = units.mm(note.board_mm), units.mm(note.tuck_mm)
    sum_of = (gettext("board {board} + underlay {underlay} + {play}", board=board, play=units.mm(1),
                      underlay=units.mm(note.underlay_mm)) if note.underlay_mm
              else gettext("board {board} + {play}, and the underlay's thickness on top", board=board,
                           play=units.mm(1)))
    front = (gettext("{lap} under it from the room", lap=units.mm(note.lap_mm)) if note.lap_mm > 0
             else gettext("no further than its face from the room: cover the gap there with the beading"))
    reach = (gettext("{tuck} under it at the sides of the opening and {front}", tuck=tuck, front=front) if note.laid
             else front)
    return gettext(
        "undercut the casing at {high} ({sum_of}), at least {deep} deep: {tuck} for the board and the gap of {gap} "
        "behind it. The boards reach {reach}. Never undercut a metal or fire-door frame.", high=units.mm(note.high_mm),
        sum_of=sum_of, deep=units.mm(note.gap_mm + note.tuck_mm), tuck=tuck, gap=units.mm(note.gap_mm), reach=reach)
