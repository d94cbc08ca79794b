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
from capture.language.messages import gettext, lazy_gettext, ngettext
from capture.mends import (
    DropPhoto, Flip, KeepOne, Mend, OtherOrder, OtherPair, OtherPoint, Rename, SwapPoints, UseLength)
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
    return gettext(
        "Is {a}-{b} one straight wall? No photo shows it from end to end, and no tape was laid along it",
        a=wall[0], b=wall[1])


def mend_words(mend: Mend, show: str) -> str:
    """What a button says that makes the change."""
    match mend:
        case UseLength():
            return gettext("Use {length}", length=format_length(mend.mm, show=show))
        case OtherPair():
            return gettext(
                "It was {a} to {b}", a=mend.between[0], b=mend.between[1])
        case OtherPoint():
            return gettext("It is {point}", point=mend.point)
        case SwapPoints():
            return gettext("Swap {a} and {b}", a=mend.points[0], b=mend.points[1])
        case Rename():
            return gettext("Use {corners}", corners="-".join(point for _, point in mend.letters))
        case OtherOrder():
            return (gettext("Swap {a} and {b}", a=mend.points[0], b=mend.points[1]) if len(mend.points) == 2
                    else gettext("Use {corners}", corners="-".join(mend.outline)))
        case Flip():
            return gettext("Flip the plan")
        case KeepOne():
            return gettext("Keep {kept}, drop {dropped}", kept=mend.kept, dropped=mend.dropped)
        case DropPhoto():
            return gettext("Take the photo out")
        case _:
            return gettext("Take it out")


def _suspects(survey: Survey, show: str) -> list[tuple[Reading, Reading]]:
    """Suspects as they are and with their sentences: letters that are mixed, readings left out, then those of which
    one is wrong."""
    every = [(r, r.finding) for r in survey.suspects if isinstance(r.finding, Doubt)]
    mixed = [(r, mishap_words(doubt.how)) for r, doubt in every if isinstance(doubt.how, LettersMixed)]
    doubted = [(r, doubt) for r, doubt in every if not isinstance(doubt.how, LettersMixed)]
    alone = [(r, gettext("{sentence} (it is left out of the floor shown)", sentence=_sentence(r, doubt, show)))
             for r, doubt in doubted if doubt.left_out]
    ranked = sorted(((doubt.cost + oddity(doubt.how, show), r, doubt) for r, doubt in doubted if not doubt.left_out),
                    key=lambda one: one[0])
    return [(r, replace(r, says=says)) for r, says in mixed + alone + (_among_twins(ranked, show) if ranked else [])]


def _among_twins(twins: list[tuple[float, Reading, Doubt]], show: str) -> list[tuple[Reading, str]]:
    """Sentences for readings any one of which would explain the contradiction; the likeliest first, as far as it can be
    told."""
    readings, likely = [reading for _, reading, _ in twins], twins[0][1]
    if len(twins) == 1:
        return [(likely, gettext("{reading} may be wrong instead: take both again", reading=named(likely)))]
    if all(reading.kind == "tape" and set(reading.names) == set(likely.names) for reading in readings):
        values = gettext(" and as ").join(format_length(reading.value, show=show) for reading in readings)
        says = gettext(
            "{likely} was taped as {values}, and the other readings do not tell which is right; measure it again "
            "and keep that one", likely=named(likely), values=values)
        return [(reading, says) for reading in readings]
    if twins[1][0] - twins[0][0] < _TIED or _one_photo(readings):
        return [(reading, _nobody_knows(readings)) for reading in readings]
    others = gettext(" or ").join(map(named, readings[1:]))
    first = gettext(
        "{likely}; a slip in {others} would explain it almost as well, so all are kept in the floor shown",
        likely=_sentence(likely, twins[0][2], show), others=others)
    return [(likely, first)] + [(r, gettext("{reading} may be wrong instead of {likely}: take both again",
                                            reading=named(r), likely=named(likely))) for r in readings[1:]]


def _one_photo(twins: list[Reading]) -> bool:
    return all(reading.kind == "mark" and reading.photo == twins[0].photo for reading in twins)


def _nobody_knows(twins: list[Reading]) -> str:
    """The sentence for readings of which one is wrong, with no hint at which."""
    if _one_photo(twins):
        return gettext(
            "one of these marks in {photo} is wrong, and nothing tells which: {marks}; look at each again, and if "
            "the picture is of another room, take it out of the job", photo=twins[0].photo,
            marks=", ".join(reading.names[0] for reading in twins))
    names = ", ".join(map(named, twins))
    return gettext(
        "one of these readings is wrong, and nothing tells which: {names}; take each again, or measure one more "
        "diagonal", names=names)


def _in_photo(reading: Reading) -> str:
    return gettext("{corners} in {photo}", corners="-".join(reading.names), photo=reading.photo)


def _off_wall(reading: Reading) -> str:
    return gettext("{point} off {wall}", point=reading.names[0], wall="-".join(reading.names[1:]))


#: What a reading is called among others, by its kind.
_NAMED: Mapping[str, Callable[[Reading], str]] = {
    "mark": _in_photo,
    "target": lambda r: gettext("target {point} in {photo}", point=r.names[0], photo=r.photo),
    "edge": _in_photo,
    "tape": lambda r: "-".join(r.names),
    "offset": _off_wall,
    "square": lambda r: gettext("square corner {point}", point=r.names[0]),
    "on-wall": _off_wall,
    "paper": lambda r: gettext("the sheet of paper {names}", names="-".join(r.names)),
    "sheet": lambda r: gettext("the shape of target {point}", point=r.names[0]),
    "sheet-size": lambda r: gettext("the printed size of target {point}", point=r.names[0]),
}


def named(reading: Reading) -> str:
    """What a reading is called among others."""
    return _NAMED[reading.kind](reading)


#: What is said of a contradicted reading of a kind where its finding holds nothing more.
_CONTRADICTED: Mapping[str, Callable[[Reading, Doubt], str]] = {
    "target": lambda r, _: gettext(
            "{photo}: target {point} does not lie where the other photos saw it; if the sheet was moved between "
            "photos, take them all again without it", photo=r.photo, point=r.names[0]),
    "edge": lambda r, doubt: gettext(
            "{photo}: a click on wall {names} is {off:.0f} px off the wall's line; put it on the floor line of "
            "that wall or delete it", photo=r.photo, names="-".join(r.names), off=abs(doubt.residual)),
    "square": lambda r, _: gettext(
            "corner {point} is not square by the other readings; take it out of the square corners",
            point=r.names[0]),
    "on-wall": lambda r, _: gettext(
            "{point} does not lie on wall {names} by the other readings; check which wall it is on",
            point=r.names[0], names="-".join(r.names[1:])),
    "paper": lambda r, _: gettext(
            "the sheet of paper {names} does not have its size by the other readings; check that its corners are "
            "marked in order round it, the first two along the side given first, and that nobody moved it",
            names="-".join(r.names)),
    "sheet": lambda r, _: gettext(
            "target {point} is not a flat square by the photos; tape it flat or print it again, and take the "
            "photos again", point=r.names[0]),
    "sheet-size": lambda r, _: gettext(
            "targets {point} and {other} differ in size by the photos; print all of them at the same scale",
            point=r.names[0], other=r.names[1]),
}


def _sentence(reading: Reading, doubt: Doubt, show: str) -> str:
    """What is wrong with a reading, what it should have been, what to do."""
    match doubt.how:
        case LengthOff() as off:
            return _length_off(reading, off, show)
        case MarkOff() as off:
            return _mark_off(reading, off)
        case SizeOff() as off:
            return gettext(
                "the printed targets are {expected:.0f} mm by the other readings, and {value:.0f} mm by the job; "
                "measure their black square and write its size in the job, or check the tape lengths",
                expected=off.expected_mm, value=off.value_mm)
        case _:
            return _CONTRADICTED[reading.kind](reading, doubt)


#: The word for a length that looks wrong, by the kind of reading it is.
_KIND = {"tape": lazy_gettext("tape"), "offset": lazy_gettext("offset")}


def _length_off(reading: Reading, found: LengthOff, show: str) -> str:
    length, off = partial(format_length, show=show), found.value_mm - found.expected_mm
    looks = {"kind": _KIND.get(reading.kind, reading.kind), "reading": named(reading),
             "length": length(found.value_mm), "off": length(abs(off)), "expected": length(found.expected_mm),
             "spread": format_spread(Z95 * found.expected_sd_mm, show=show)}
    if off > 0:
        text = gettext("{kind} {reading}: {length} looks {off} too long; the other readings say {expected} ± {spread}",
                       **looks)
    else:
        text = gettext("{kind} {reading}: {length} looks {off} too short; the other readings say {expected} ± {spread}",
                       **looks)
    slip = likely_slip(found, show)
    if slip is None:
        return gettext("{sentence}; measure it again", sentence=text)
    if found.measures is not None and slip.mistake == "other-pair":
        return gettext("{sentence}; it is what {pair} should measure: was it that pair?", sentence=text,
                       pair="-".join(found.measures))
    return gettext("{sentence}; {slip}: {length}?", sentence=text, slip=slip_words(slip), length=length(slip.meant_mm))


def slip_words(slip: Slip) -> str:
    """What a person probably did."""
    match slip.mistake:
        case "misread":
            return gettext("probably misread by {step}", step=slip.step)
        case "decimal":
            return gettext("the decimal mark is probably one place off")
        case "swapped":
            return gettext("two digits are probably swapped")
        case "case":
            return gettext("the length of the tape's case was probably left out")
        case "cm-as-mm":
            return gettext("centimetres were probably typed as millimetres")
        case "m-as-mm":
            return gettext("metres were probably typed as millimetres")
        case "inch-side":
            return gettext("centimetres were probably read off the inch side")
        case "inches-as-cm":
            return gettext("inches were probably taken for centimetres")
        case "feet-as-m":
            return gettext("feet were probably typed as metres")
        case "m-as-feet":
            return gettext("metres were probably typed as feet")
        case "other-pair":
            return gettext("it was probably another pair of corners")


def _mark_off(reading: Reading, found: MarkOff) -> str:
    photo, name = reading.photo, reading.names[0]
    if found.off_px is None:
        text = gettext(
            "{photo}: mark {name} names a corner that is out of this photo's sight by the other readings; rename or "
            "delete the mark", photo=photo, name=name)
        return gettext("{sentence}; if the picture is of another room, take it out of the job",
                       sentence=text) if found.strange else text
    text = gettext(
        "{photo}: mark {name} is {off:.0f} px from where the other readings put it", photo=photo, name=name,
        off=found.off_px)
    if found.strange:
        return gettext("{sentence}, and nothing checks the rest of this photo: is it of another room? Take it out of "
                       "the job then; or look at that corner again", sentence=text)
    if found.at:
        return gettext("{sentence}; that spot is corner {corner}: rename the mark?", sentence=text, corner=found.at)
    return gettext("{sentence}; look at that corner again", sentence=text)


def _checked(reading: Reading, show: str) -> Reading:
    """A sound reading, told so where the others hardly check it."""
    found = reading.finding
    if not isinstance(found, HardlyChecked):
        return reading
    hidden = (gettext("a slip of up to {length}", length=format_length(found.hidden_mm, show=show))
              if found.hidden_mm < 1000 else gettext("a slip"))
    way_out = (gettext("measure it twice, or measure {a} to {b}, which checks it", a=found.check[0], b=found.check[1])
               if found.check else gettext("measure it twice"))
    says = gettext("tape {corners} is hardly checked by the others: {slip} would not show; {way_out}",
                   corners="-".join(reading.names), slip=hidden, way_out=way_out)
    return replace(reading, says=says)


def _advice(advice: Advice, show: str) -> str:
    return gettext(
        "measure {a} to {b} (about {length}): the corners would be sure to ± {after} instead of ± {before}", a=advice.a,
        b=advice.b, length=format_length(advice.length_mm, show=show),
        after=format_spread(Z95 * advice.after_sd_mm, show=show),
        before=format_spread(Z95 * advice.before_sd_mm, show=show))


def _bow(bow: Bow, show: str) -> str:
    bowed = {"a": bow.a, "b": bow.b, "at": bow.at, "size": format_length(abs(bow.off_mm), show=show),
             "spread": format_spread(bow.pm95_mm, show=show)}
    if abs(bow.off_mm) <= bow.pm95_mm:
        return gettext("wall {a}-{b} is straight as far as the readings tell: {size} ± {spread} off at {at}", **bowed)
    if bow.off_mm > 0:
        return gettext("wall {a}-{b} is not straight: at {at} it is {size} ± {spread} into the room", **bowed)
    return gettext("wall {a}-{b} is not straight: at {at} it is {size} ± {spread} away from the room", **bowed)


_TRUST = {
    "ambiguous": lazy_gettext("{sentence} if it is this floor at all: another one fits these readings almost as well; "
                              "settle that first"),
    "suspect": lazy_gettext("{sentence}, but a reading looks wrong: check it before you trust these figures"),
    "unchecked": lazy_gettext("{sentence}, but some lengths are hardly checked by others: one slip would spoil the "
                              "floor unseen; measure one or two more"),
    "cut": lazy_gettext("{sentence}: good enough to plan and cut from, with each last piece measured in place"),
    "buy": lazy_gettext("{sentence}: good enough to buy boards from; measure more as advised before you cut"),
    "rough": lazy_gettext("{sentence}: too rough to buy boards from; measure more as advised first"),
}


def _verdict(standing: Standing, show: str) -> str:
    """How far to trust the floor, in one sentence."""
    corners = gettext("corners are sure to about ± {corner_spread}, the least sure wall is {wall} with ± {wall_spread} "
                      "(95 %)", corner_spread=format_spread(standing.corner_pm_mm, show=show),
                      wall="-".join(standing.wall), wall_spread=format_spread(standing.wall_pm_mm, show=show))
    return str(_TRUST[standing.trust].filled(sentence=corners))


def note_words(note: Note, show: str) -> str:
    """What the reader must know besides the figures. Raises TypeError for a kind of note that has no words."""
    match note:
        case BarePhoto():
            return gettext(
                "{photo}: has fewer than two marked corners, so it is not used; mark at least three",
                photo=note.photo)
        case Disagreement():
            return gettext(
                "the readings disagree {sigma0:.1f} times more than they should; all ± are widened by that factor",
                sigma0=note.sigma0)
        case NoLeftOrRight():
            return gettext(
                "no photo tells left from right: the corners are taken as named anticlockwise, seen from above; if "
                "you went round clockwise, list them the other way round, or the plan is a mirror image")
        case AnotherFloor():
            return gettext(
                "another floor fits these readings almost as well, with {corner} {away} away; look at the plan, and "
                "measure from {corner} to a corner across the room if it is wrong", corner=note.corner,
                away=format_length(note.away_mm, show=show))
        case RoughPoints():
            return ngettext(
                "the place of {names} is known to no better than ± {spread}; measure it square off two walls before "
                "anything is cut for it",
                "the places of {names} are known to no better than ± {spread}; measure each square off two walls "
                "before anything is cut for them", len(note.names), names=", ".join(note.names),
                spread=format_spread(note.pm95_mm, show=show))
        case VagueLens(told=True):
            return gettext("lens of {camera}: its focal length is only known to ± {percent:.0f} %; two more tape "
                           "lengths would help", camera=note.camera, percent=196 * note.focal_sd)
        case VagueLens():
            return gettext("lens of {camera}: its focal length is only known to ± {percent:.0f} %; a photo sent as a "
                           "file, with its EXIF, or two more tape lengths would help", camera=note.camera,
                           percent=196 * note.focal_sd)
    raise TypeError(f"no words for {type(note).__name__}")
