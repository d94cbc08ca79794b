"""Mishaps as sentences: used by `capture.words` for a survey that could be solved, and by the error where it could
not."""
from __future__ import annotations

from capture.language.messages import Message, lazy_gettext
from capture.mishaps.facts import Mishap, OneCorner, OrderMixed, StrangePhoto
from capture.readings.findings import LettersMixed


def mishap_words(mishap: Mishap) -> str:
    """What probably happened and what to change."""
    return str(mishap_message(mishap))


def mishap_message(mishap: Mishap) -> Message:
    """The same, to be worded where it is read."""
    match mishap:
        case LettersMixed():
            return _letters(mishap)
        case OrderMixed():
            return _order(mishap)
        case OneCorner():
            return lazy_gettext(
                "{kept} and {dropped} are one corner by the other readings: keep one of the two letters. If they are "
                "two corners, one may be marked in the other's place; measure from one to the other",
                kept=mishap.kept, dropped=mishap.dropped)
        case StrangePhoto():
            return lazy_gettext(
                "{photo} does not fit the other photos and lengths, which agree without it: is it of another room, or "
                "are its corners named wrongly? Correct its marks, or take it out of the job", photo=mishap.photo)


def _letters(mishap: LettersMixed) -> Message:
    told, meant = ("-".join(letters) for letters in zip(*((old, new) for _, old, new in mishap.renamed)))
    if mishap.way == "swapped":
        one, two = mishap.renamed[0][1:]
        return lazy_gettext("{photo}: {one} and {two} have each other's letter; with the two swapped all readings "
                            "agree", photo=mishap.photo, one=one, two=two)
    if mishap.way == "mirrored":
        return lazy_gettext("{photo}: the corners are named the wrong way round; with {meant} for {told} all readings "
                            "agree. If the picture is a mirror image, take it out of the job", photo=mishap.photo,
                            meant=meant, told=told)
    return lazy_gettext("{photo}: every letter belongs to the next corner; with {meant} for {told} all readings agree",
                        photo=mishap.photo, meant=meant, told=told)


def _order(mishap: OrderMixed) -> Message:
    if mishap.through is not None:
        seen = mishap.through
        start = lazy_gettext("{photo} shows {corner}, which would stand behind wall {wall} as the corners are listed",
                             photo=seen.photo, corner=seen.corner, wall="-".join(seen.wall))
    elif mishap.crossing is None:
        start = lazy_gettext("the corners are not listed in the order round the room")
    else:
        (a, b), (c, d) = mishap.crossing
        start = lazy_gettext("walls {a}-{b} and {c}-{d} cross as the corners are listed", a=a, b=b, c=c, d=d)
    outline, points = "-".join(mishap.outline), mishap.points
    if len(points) == 2:
        return lazy_gettext("{start}; {a} and {b} are probably swapped: round the room it is {outline}", start=start,
                            a=points[0], b=points[1], outline=outline)
    return lazy_gettext("{start}; {corner} probably stands in the wrong place: round the room it is {outline}",
                        start=start, corner=points[0], outline=outline)
