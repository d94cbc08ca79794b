"""Mishaps as sentences: used by `capture.words` for a survey that could be solved, and by the error where it could
not."""
from __future__ import annotations

from capture.mishaps.facts import Mishap, OneCorner, OrderMixed, StrangePhoto
from capture.readings.findings import LettersMixed


def mishap_words(mishap: Mishap) -> str:
    """What probably happened and what to change."""
    match mishap:
        case LettersMixed():
            return _letters(mishap)
        case OrderMixed():
            return _order(mishap)
        case OneCorner():
            return (f"{mishap.kept} and {mishap.dropped} are one corner by the other readings: keep one of the two "
                    "letters. If they are two corners, one may be marked in the other's place; measure from one to the "
                    "other")
        case StrangePhoto():
            return (f"{mishap.photo} does not fit the other photos and lengths, which agree without it: is it of "
                    "another room, or are its corners named wrongly? Correct its marks, or take it out of the job")


def _letters(mishap: LettersMixed) -> str:
    told, meant = ("-".join(letters) for letters in zip(*((old, new) for _, old, new in mishap.renamed)))
    if mishap.way == "swapped":
        one, two = mishap.renamed[0][1:]
        return f"{mishap.photo}: {one} and {two} have each other's letter; with the two swapped all readings agree"
    if mishap.way == "mirrored":
        return (f"{mishap.photo}: the corners are named the wrong way round; with {meant} for {told} all readings "
                "agree. If the picture is a mirror image, take it out of the job")
    return f"{mishap.photo}: every letter belongs to the next corner; with {meant} for {told} all readings agree"


def _order(mishap: OrderMixed) -> str:
    if mishap.through is not None:
        seen = mishap.through
        start = (f"{seen.photo} shows {seen.corner}, which would stand behind wall {'-'.join(seen.wall)} as the "
                 "corners are listed")
    elif mishap.crossing is None:
        start = "the corners are not listed in the order round the room"
    else:
        (a, b), (c, d) = mishap.crossing
        start = f"walls {a}-{b} and {c}-{d} cross as the corners are listed"
    what = (f"{mishap.points[0]} and {mishap.points[1]} are probably swapped" if len(mishap.points) == 2
            else f"{mishap.points[0]} probably stands in the wrong place")
    return f"{start}; {what}: round the room it is {'-'.join(mishap.outline)}"
