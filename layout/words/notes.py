"""What the reader of a plan must know or decide, in sentences.

Every sentence names its rule or source in short. "Common practice" means no source is known to us; EN and BS numbers
are standards quoted second-hand.
"""
from __future__ import annotations

from math import ceil

from layout.facts.notes import (
    BareAlcove, BeadingNarrow, CasingUndercut, DoorwayBlocked, DoorwayLaid, DoorwayOpen, GapNarrow, InFields, InParts,
    LaidFlat, LongFloor, LooseSurvey, Note, OfADoor, PipeClear, StripsLeftOut)
from layout.words.lengths import Lengths


def note_words(note: Note, show: str) -> str:
    """What to know or decide, in a sentence or two. Raises TypeError for a kind of note that has no words."""
    units = Lengths(show)
    match note:
        case InParts():
            return f"Less its gap the floor is in {note.parts} parts; each is laid by itself, on the same rows."
        case BareAlcove():
            return (f"A part of the floor near ({units.place(note.at_mm)}), {units.cm2(note.area_mm2)}, is too narrow "
                    f"to take boards with a gap of {units.mm(note.gap_mm)} on both sides; cover it with a wider "
                    "skirting or a strip fixed to the wall.")
        case StripsLeftOut():
            return _left_out(note, units)
        case BeadingNarrow():
            return (f"Beading {units.mm(note.width_mm)} wide is too narrow here: it must cover at least "
                    f"{units.more_than(ceil(note.least_mm), note.width_mm)} of floor (the widest gap, what the boards "
                    f"shrink in the dry season, and {units.mm(2)}).")
        case LaidFlat():
            return (f"{'Piece' if len(note.pieces) == 1 else 'Pieces'} {', '.join(note.pieces)} cannot be tilted in "
                    f"({note.why}): plane the lip of the groove off, glue the joint, push flat and draw up with the "
                    "pull bar (common practice).")
        case PipeClear():
            return f"Pipe {note.pipe} stands clear of the boards (in the gap or beside the floor): no hole is needed."
        case LooseSurvey():
            return (f"Lengths of this survey are good to about {units.whole(note.pm95_mm)} (95 %); a piece must fit "
                    f"within {_two_or_three(units)}, so measure each last piece in place before cutting.")
        case GapNarrow() | InFields() | LongFloor():
            return _size(note, units)
        case DoorwayLaid() | DoorwayBlocked() | DoorwayOpen() | CasingUndercut():
            return f"Door {note.door}: {_door(note, units)}"
    raise TypeError(f"no words for {type(note).__name__}")


def _two_or_three(units: Lengths) -> str:
    return f"{units.mm(2)} or {units.mm(3)}" if units.is_imperial else "2 or 3 mm"


def _left_out(note: StripsLeftOut, units: Lengths) -> str:
    many, are = ("A strip", "is") if note.strips == 1 else (f"{note.strips} strips", "are")
    return (f"{many} of the floor up to {units.whole(note.widest_mm)} wide (near {units.place(note.at_mm)}) cannot be "
            f"sawn and {are} left out: the gap is up to {units.whole(note.gap_mm + note.widest_mm)} there, and the "
            "beading must cover it.")


def _size(note: GapNarrow | InFields | LongFloor, units: Lengths) -> str:
    match note:
        case GapNarrow():
            return (f"The gap is {units.mm(note.gap_mm)} as typed; for a floor {units.metres(note.run_mm, 1)} long the "
                    f"rule of 1.5 mm a metre, at least {units.mm(8)}, asks for "
                    f"{units.more_than(ceil(note.asked_mm - 1e-9), note.gap_mm)} (European trade laying guides), and a "
                    "gap left open is planned so. "
                    f"{units.mm(note.gap_mm)} is what you asked for: keep it only if the board's leaflet allows it.")
        case InFields():
            return (f"The floor is longer than {units.metres(note.longest_mm)} in one piece, so expansion profiles "
                    f"part it into {note.fields} fields (trade habit: {_metres(units, 8, 10)}; some leaflets allow "
                    f"{units.metres(13_000)}, and then say so under 'longest'). Fix each profile to the subfloor only.")
    return (f"The floor is {units.metres(note.long_mm, 1)} long in one piece; many leaflets want an expansion profile "
            f"beyond {units.metres(8_000)} - check yours.")


def _metres(units: Lengths, least: int, most: int) -> str:
    if units.is_imperial:
        return f"{units.metres(1000 * least)} to {units.metres(1000 * most)}"
    return f"{least} to {most} m"


def _door(note: OfADoor, units: Lengths) -> str:
    match note:
        case DoorwayLaid():
            return (f"the boards run into the doorway and stop {units.mm(note.depth_mm - note.gap_mm)} beyond the wall "
                    f"line, {units.mm(note.gap_mm)} short of the middle of the threshold profile. Measure from the "
                    f"wall to where the closed leaf stands before you saw: {units.mm(note.depth_mm)} is planned.")
        case DoorwayBlocked():
            return (f"its doorway, {units.mm(note.depth_mm)} deep, runs into another part of this floor or another "
                    "doorway, so this plan stops at the wall line there; check which wall the door is in.")
        case DoorwayOpen():
            return ("this plan stops at the wall line. The strip in the doorway must be planned at the threshold, "
                    "where a profile goes; give the opening's depth to have it planned.")
    return _undercut(note, units)


def _undercut(note: CasingUndercut, units: Lengths) -> str:
    sum_of = f"board {units.mm(note.board_mm)} + " + (
        f"underlay {units.mm(note.underlay_mm)} + {units.mm(1)}" if note.underlay_mm
        else f"{units.mm(1)}, and the underlay's thickness on top")
    sides = f"{units.mm(note.tuck_mm)} under it at the sides of the opening and " if note.laid else ""
    front = f"{units.mm(note.lap_mm)} under it from the room" if note.lap_mm > 0 else (
        "no further than its face from the room: cover the gap there with the beading")
    return (f"undercut the casing at {units.mm(note.high_mm)} ({sum_of}), at least "
            f"{units.mm(note.gap_mm + note.tuck_mm)} deep: {units.mm(note.tuck_mm)} for the board and the gap of "
            f"{units.mm(note.gap_mm)} behind it. The boards reach {sides}{front}. Never undercut a metal or fire-door "
            "frame.")
