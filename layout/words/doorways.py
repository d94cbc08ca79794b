"""What both sides of a doorway say of it, in words: its width, the thickness of its wall, how rings of rooms close, and
which distance to measure again."""
from __future__ import annotations

from collections.abc import Sequence

from capture.floor import Z95
from capture.language.messages import gettext, listed, marked, worded
from capture.readings.findings import LengthOff
from capture.slips import likely_slip
from capture.words import slip_words
from layout.flat_plan import DoorwayDoubt, MeasuredDoorway, RingClosure
from layout.words.lengths import Lengths

#: A doubted distance was taped to this, mm.
_TAPE_SD_MM = 2.0
#: Readings that cannot be told apart are named up to here, the likeliest.
_MOST_NAMED = 4


def measured_words(doorway: MeasuredDoorway, show: str) -> str:
    """Width of a doorway and thickness of its wall, with how sure they are and where they come from."""
    units, (a, b) = Lengths(show), doorway.rooms
    wide = gettext("The doorway between {a} and {b} is {width} wide (± {pm})", a=a, b=b,
                   width=units.whole(doorway.width_mm), pm=units.whole(Z95 * doorway.width_sd_mm))
    return worded(_THICK[doorway.thickness_by], wide=wide, thick=units.whole(doorway.thickness_mm),
                  pm=units.whole(Z95 * doorway.thickness_sd_mm))


#: By what tells how thick the wall is.
_THICK = {
    "typed": marked("{wide}, and the wall there {thick} thick (± {pm}), as it was measured and as the rooms lie."),
    "reveals": marked("{wide}, and the wall there {thick} thick (± {pm}), by the depths of both doors and as the rooms "
                      "lie."),
    "rooms": marked("{wide}, and the wall there {thick} thick (± {pm}): nobody measured it, the rooms around it tell."),
}


def widths_words(doorway: MeasuredDoorway, show: str) -> str:
    """That the two rooms disagree about the width."""
    units, (a, b), (wide_a, wide_b) = Lengths(show), doorway.rooms, doorway.widths_mm
    return gettext(
        "The doorway between {a} and {b} is {wide_a} wide by {a} and {wide_b} by {b}, {apart} apart, and measuring "
        "explains no more than {most}. Measure it again from both rooms, between the jambs; until then it is taken as "
        "{width}.", a=a, b=b, wide_a=units.whole(wide_a), wide_b=units.whole(wide_b),
        apart=units.whole(abs(wide_a - wide_b)), most=units.whole(doorway.most_apart_mm),
        width=units.whole(doorway.width_mm))


def closure_words(closure: RingClosure, show: str) -> str:
    """How a ring of rooms closes at a doorway."""
    units, (a, b), (da, db) = Lengths(show), closure.rooms, closure.doors
    said = {"a": a, "b": b, "da": da, "db": db, "off": units.whole(closure.off_mm),
            "most": units.whole(closure.most_mm)}
    if closure.closes:
        return gettext("Going round, the two sides of the doorway {a} {da} / {b} {db} come to lie {off} apart; "
                       "measuring explains up to {most}.", **said)
    return gettext("Going round, the two sides of the doorway {a} {da} / {b} {db} come to lie {off} apart, and "
                   "measuring explains no more than {most}.", **said)


def doubt_words(doubts: Sequence[DoorwayDoubt], show: str) -> str:
    """One reading that is left out, or several of which one is wrong, likeliest first."""
    if doubts[0].left_out:
        return _left_out(doubts[0], show)
    units = Lengths(show)
    named = [gettext("door {door} of {room} from corner {corner} ({told}; {should} if it is this one)", door=doubt.door,
                     room=doubt.room, corner=doubt.corner, told=units.whole(doubt.told_mm),
                     should=units.whole(doubt.should_mm)) if doubt.reading == "from" else
             gettext("the thickness of the wall between {a} and {b} ({told}; {should} if it is this one)",
                     a=doubt.rooms[0], b=doubt.rooms[1], told=units.whole(doubt.told_mm),
                     should=units.whole(doubt.should_mm)) for doubt in doubts[:_MOST_NAMED]]
    return gettext("Going round the rooms, one distance is wrong, and nothing tells which. Measure these again, the "
                   "likeliest first: {named}.", named=listed(named))


def _left_out(doubt: DoorwayDoubt, show: str) -> str:
    units = Lengths(show)
    told = {"told": units.whole(doubt.told_mm), "should": units.whole(doubt.should_mm),
            "pm": units.whole(Z95 * doubt.should_sd_mm)}
    says = (gettext("Door {door} of {room} is said to be {told} from corner {corner}, but going round the rooms it is "
                    "{should} (± {pm}).", door=doubt.door, room=doubt.room, corner=doubt.corner, **told)
            if doubt.reading == "from" else
            gettext("The wall between {a} and {b} is said to be {told} thick, but going round the rooms it is {should} "
                    "(± {pm}).", a=doubt.rooms[0], b=doubt.rooms[1], **told))
    rest = gettext("The rooms are put together without that reading; measure it again.")
    slip = likely_slip(LengthOff(value_mm=doubt.told_mm, sd_mm=_TAPE_SD_MM, expected_mm=doubt.should_mm,
                                 expected_sd_mm=doubt.should_sd_mm), show) if doubt.told_mm > 0 else None
    if slip is None:
        return f"{says} {rest}"
    return gettext("{says} {rest} {slip}: {length}?", says=says, rest=rest,
                   slip=slip_words(slip)[:1].upper() + slip_words(slip)[1:], length=units.whole(slip.meant_mm))
