"""A survey's facts as sentences, in the unit asked for: the only place where they are worded."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from capture.adjustment.notes import (
    AnotherFloor,
    BarePhoto,
    Disagreement,
    NoLeftOrRight,
    Note,
    RoughPoints,
    Standing,
    VagueLens,
)
from capture.adjustment.straightness import Bow
from capture.adjustment.survey import Advice, Reading, Survey
from capture.floor import Z95
from capture.mends import DropPhoto, KeepOne, Mend, OtherOrder, OtherPair, OtherPoint, Rename, SwapPoints, UseLength
from capture.mishaps.wording import mishap_words
from capture.readings.findings import Doubt, HardlyChecked, LengthOff, LettersMixed, MarkOff, SizeOff
from capture.slips import Slip, likely_slip, oddity
from capture.tape import format_length, format_spread

#: Below this difference even the order of two suspects says nothing (-2 log of odds).
_TIED = 0.5


def in_words(survey: Survey, show: str) -> Survey:
    """The survey with its sentences; `show` ("metric" or "imperial") is the unit of lengths in them and on the reader's
    tape.

    Suspects that cannot be told apart are put in order of how likely a slip each would be.
    """
    suspects = _suspects(survey, show)
    said = {id(before): after for before, after in suspects}
    return replace(survey, suspects=tuple(after for _, after in suspects),
                   readings=tuple(said.get(id(r)) or _checked(r, show) for r in survey.readings),
                   advice=tuple(replace(a, says=_advice(a, show)) for a in survey.advice),
                   bows=tuple(replace(b, says=_bow(b, show)) for b in survey.bows),
                   verdict="" if survey.standing is None else _verdict(survey.standing, show),
                   warnings=tuple(note_words(n, show) for n in survey.notes))


def unseen_words(wall: tuple[str, str]) -> str:
    """The question about a wall that no reading shows (`readings.coverage`)."""
    return f"Is {wall[0]}-{wall[1]} one straight wall? No photo shows it from end to end, and no tape was laid along it"


def mend_words(mend: Mend, show: str) -> str:
    """What a button says that makes the change."""
    match mend:
        case UseLength():
            return f"Use {format_length(mend.mm, show=show)}"
        case OtherPair():
            return f"It was {mend.between[0]} to {mend.between[1]}"
        case OtherPoint():
            return f"It is {mend.point}"
        case SwapPoints():
            return f"Swap {mend.points[0]} and {mend.points[1]}"
        case Rename():
            return f"Use {'-'.join(point for _, point in mend.letters)}"
        case OtherOrder():
            return (f"Swap {mend.points[0]} and {mend.points[1]}" if len(mend.points) == 2
                    else f"Use {'-'.join(mend.outline)}")
        case KeepOne():
            return f"Keep {mend.kept}, drop {mend.dropped}"
        case DropPhoto():
            return "Take the photo out"
        case _:
            return "Take it out"


def _suspects(survey: Survey, show: str) -> list[tuple[Reading, Reading]]:
    """Suspects as they are and with their sentences: letters that are mixed, readings left out, then those of which
    one is wrong."""
    every = [(r, r.finding) for r in survey.suspects if isinstance(r.finding, Doubt)]
    mixed = [(r, mishap_words(doubt.how)) for r, doubt in every if isinstance(doubt.how, LettersMixed)]
    doubted = [(r, doubt) for r, doubt in every if not isinstance(doubt.how, LettersMixed)]
    alone = [(r, f"{_sentence(r, doubt, show)} (it is left out of the floor shown)") for r, doubt in doubted
             if doubt.left_out]
    ranked = sorted(((doubt.cost + oddity(doubt.how, show), r, doubt) for r, doubt in doubted if not doubt.left_out),
                    key=lambda one: one[0])
    return [(r, replace(r, says=says)) for r, says in mixed + alone + (_among_twins(ranked, show) if ranked else [])]


def _among_twins(twins: list[tuple[float, Reading, Doubt]], show: str) -> list[tuple[Reading, str]]:
    """Sentences for readings any one of which would explain the contradiction; the likeliest first, as far as it can be
    told."""
    readings, likely = [reading for _, reading, _ in twins], twins[0][1]
    if len(twins) == 1:
        return [(likely, f"{named(likely)} may be wrong instead: take both again")]
    if all(reading.kind == "tape" and set(reading.names) == set(likely.names) for reading in readings):
        values = " and as ".join(format_length(reading.value, show=show) for reading in readings)
        says = (f"{named(likely)} was taped as {values}, and the other readings do not tell which is right; measure it "
                "again and keep that one")
        return [(reading, says) for reading in readings]
    if twins[1][0] - twins[0][0] < _TIED or _one_photo(readings):
        return [(reading, _nobody_knows(readings)) for reading in readings]
    others = " or ".join(map(named, readings[1:]))
    first = (f"{_sentence(likely, twins[0][2], show)}; a slip in {others} would explain it almost as well, so all are "
             "kept in the floor shown")
    return [(likely, first)] + [(r, f"{named(r)} may be wrong instead of {named(likely)}: take both again")
                                for r in readings[1:]]


def _one_photo(twins: list[Reading]) -> bool:
    return all(reading.kind == "mark" and reading.photo == twins[0].photo for reading in twins)


def _nobody_knows(twins: list[Reading]) -> str:
    """The sentence for readings of which one is wrong, with no hint at which."""
    if _one_photo(twins):
        return (f"one of these marks in {twins[0].photo} is wrong, and nothing tells which: "
                f"{', '.join(reading.names[0] for reading in twins)}; look at each again, and if the picture is of "
                "another room, take it out of the job")
    names = ", ".join(map(named, twins))
    return (f"one of these readings is wrong, and nothing tells which: {names}; take each again, or measure one more "
            "diagonal")


def _in_photo(reading: Reading) -> str:
    return f"{'-'.join(reading.names)} in {reading.photo}"


def _off_wall(reading: Reading) -> str:
    return f"{reading.names[0]} off {'-'.join(reading.names[1:])}"


#: What a reading is called among others, by its kind.
_NAMED: Mapping[str, Callable[[Reading], str]] = {
    "mark": _in_photo,
    "target": lambda r: f"target {r.names[0]} in {r.photo}",
    "edge": _in_photo,
    "tape": lambda r: "-".join(r.names),
    "offset": _off_wall,
    "square": lambda r: f"square corner {r.names[0]}",
    "on-wall": _off_wall,
    "paper": lambda r: f"the sheet of paper {'-'.join(r.names)}",
    "sheet": lambda r: f"the shape of target {r.names[0]}",
    "sheet-size": lambda r: f"the printed size of target {r.names[0]}",
}


def named(reading: Reading) -> str:
    """What a reading is called among others."""
    return _NAMED[reading.kind](reading)


#: What is said of a contradicted reading of a kind where its finding holds nothing more.
_CONTRADICTED: Mapping[str, Callable[[Reading, Doubt], str]] = {
    "target": lambda r, _: (
        f"{r.photo}: target {r.names[0]} does not lie where the other photos saw it; if the sheet was moved between "
        "photos, take them all again without it"
    ),
    "edge": lambda r, doubt: (
        f"{r.photo}: a click on wall {'-'.join(r.names)} is {abs(doubt.residual):.0f} px off the wall's line; put it "
        "on the floor line of that wall or delete it"
    ),
    "square": lambda r, _: (
        f"corner {r.names[0]} is not square by the other readings; take it out of the square corners"
    ),
    "on-wall": lambda r, _: (
        f"{r.names[0]} does not lie on wall {'-'.join(r.names[1:])} by the other readings; check which wall it is on"
    ),
    "paper": lambda r, _: (
        f"the sheet of paper {'-'.join(r.names)} does not have its size by the other readings; check that its corners "
        "are marked in order round it, the first two along the side given first, and that nobody moved it"
    ),
    "sheet": lambda r, _: (
        f"target {r.names[0]} is not a flat square by the photos; tape it flat or print it again, and take the photos "
        "again"
    ),
    "sheet-size": lambda r, _: (
        f"targets {r.names[0]} and {r.names[1]} differ in size by the photos; print all of them at the same scale"
    ),
}


def _sentence(reading: Reading, doubt: Doubt, show: str) -> str:
    """What is wrong with a reading, what it should have been, what to do."""
    match doubt.how:
        case LengthOff() as off:
            return _length_off(reading, off, show)
        case MarkOff() as off:
            return _mark_off(reading, off)
        case SizeOff() as off:
            return (f"the printed targets are {off.expected_mm:.0f} mm by the other readings, and {off.value_mm:.0f} "
                    "mm by the job; measure their black square and write its size in the job, or check the tape "
                    "lengths")
        case _:
            return _CONTRADICTED[reading.kind](reading, doubt)


def _length_off(reading: Reading, found: LengthOff, show: str) -> str:
    length, off = partial(format_length, show=show), found.value_mm - found.expected_mm
    text = (f"{reading.kind} {named(reading)}: {length(found.value_mm)} looks {length(abs(off))} too "
            f"{'long' if off > 0 else 'short'}; the other readings say {length(found.expected_mm)} ± "
            f"{format_spread(Z95 * found.expected_sd_mm, show=show)}")
    slip = likely_slip(found, show)
    if slip is None:
        return f"{text}; measure it again"
    if found.measures is not None and slip.mistake == "other-pair":
        return f"{text}; it is what {'-'.join(found.measures)} should measure: was it that pair?"
    return f"{text}; {_slip(slip)}: {length(slip.meant_mm)}?"


def _slip(slip: Slip) -> str:
    """What a person probably did."""
    match slip.mistake:
        case "misread":
            return f"probably misread by {slip.step}"
        case "decimal":
            return "the decimal mark is probably one place off"
        case "swapped":
            return "two digits are probably swapped"
        case "case":
            return "the length of the tape's case was probably left out"
        case "cm-as-mm":
            return "centimetres were probably typed as millimetres"
        case "m-as-mm":
            return "metres were probably typed as millimetres"
        case "inch-side":
            return "centimetres were probably read off the inch side"
        case "inches-as-cm":
            return "inches were probably taken for centimetres"
        case "feet-as-m":
            return "feet were probably typed as metres"
        case "m-as-feet":
            return "metres were probably typed as feet"
        case "other-pair":
            return "it was probably another pair of corners"


def _mark_off(reading: Reading, found: MarkOff) -> str:
    photo, name = reading.photo, reading.names[0]
    if found.off_px is None:
        away = "; if the picture is of another room, take it out of the job" if found.strange else ""
        return (f"{photo}: mark {name} names a corner that is out of this photo's sight by the other readings; rename "
                f"or delete the mark{away}")
    text = f"{photo}: mark {name} is {found.off_px:.0f} px from where the other readings put it"
    if found.strange:
        return (f"{text}, and nothing checks the rest of this photo: is it of another room? Take it out of the job "
                "then; or look at that corner again")
    return f"{text}; that spot is corner {found.at}: rename the mark?" if found.at else (f"{text}; look at that corner "
                                                                                         "again")


def _checked(reading: Reading, show: str) -> Reading:
    """A sound reading, told so where the others hardly check it."""
    found = reading.finding
    if not isinstance(found, HardlyChecked):
        return reading
    unseen = f"a slip of up to {format_length(found.hidden_mm, show=show)}" if found.hidden_mm < 1000 else "a slip"
    way_out = (
        f"measure it twice, or measure {found.check[0]} to {found.check[1]}, which checks it"
        if found.check
        else "measure it twice"
    )
    return replace(reading, says=f"tape {'-'.join(reading.names)} is hardly checked by the others: {unseen} would not "
                                 f"show; {way_out}")


def _advice(advice: Advice, show: str) -> str:
    return (f"measure {advice.a} to {advice.b} (about {format_length(advice.length_mm, show=show)}): the corners would "
            f"be sure to ± {format_spread(Z95 * advice.after_sd_mm, show=show)} instead of ± "
            f"{format_spread(Z95 * advice.before_sd_mm, show=show)}")


def _bow(bow: Bow, show: str) -> str:
    size, spread = format_length(abs(bow.off_mm), show=show), format_spread(bow.pm95_mm, show=show)
    if abs(bow.off_mm) > bow.pm95_mm:
        way = "into the room" if bow.off_mm > 0 else "away from the room"
        return f"wall {bow.a}-{bow.b} is not straight: at {bow.at} it is {size} ± {spread} {way}"
    return f"wall {bow.a}-{bow.b} is straight as far as the readings tell: {size} ± {spread} off at {bow.at}"


_TRUST = {
    "ambiguous": " if it is this floor at all: another one fits these readings almost as well; settle that first",
    "suspect": ", but a reading looks wrong: check it before you trust these figures",
    "unchecked": ", but some lengths are hardly checked by others: one slip would spoil the floor unseen; measure one "
                 "or two more",
    "cut": ": good enough to plan and cut from, with each last piece measured in place",
    "buy": ": good enough to buy boards from; measure more as advised before you cut",
    "rough": ": too rough to buy boards from; measure more as advised first",
}


def _verdict(standing: Standing, show: str) -> str:
    """How far to trust the floor, in one sentence."""
    return (f"corners are sure to about ± {format_spread(standing.corner_pm_mm, show=show)}, the least sure wall is "
            f"{'-'.join(standing.wall)} with ± {format_spread(standing.wall_pm_mm, show=show)} (95 "
            f"%){_TRUST[standing.trust]}")


def note_words(note: Note, show: str) -> str:
    """What the reader must know besides the figures. Raises TypeError for a kind of note that has no words."""
    match note:
        case BarePhoto():
            return f"{note.photo}: has fewer than two marked corners, so it is not used; mark at least three"
        case Disagreement():
            return (f"the readings disagree {note.sigma0:.1f} times more than they should; all ± are widened by that "
                    "factor")
        case NoLeftOrRight():
            return ("no photo tells left from right: the corners are taken as named anticlockwise, seen from above; if "
                    "you went round clockwise, list them the other way round, or the plan is a mirror image")
        case AnotherFloor():
            return (
                f"another floor fits these readings almost as well, with {note.corner} "
                f"{format_length(note.away_mm, show=show)} away; look at the plan, and measure from {note.corner} to a "
                "corner across the room if it is wrong"
            )
        case RoughPoints():
            many = len(note.names) > 1
            return (f"the {'places' if many else 'place'} of {', '.join(note.names)} {'are' if many else 'is'} known "
                    f"to no better than ± {format_spread(note.pm95_mm, show=show)}; measure {'each' if many else 'it'} "
                    f"square off two walls before anything is cut for {'them' if many else 'it'}")
        case VagueLens():
            sent = "" if note.told else "a photo sent as a file, with its EXIF, or "
            return (f"lens of {note.camera}: its focal length is only known to ± {196 * note.focal_sd:.0f} %; {sent}"
                    "two more tape lengths would help")
    raise TypeError(f"no words for {type(note).__name__}")
