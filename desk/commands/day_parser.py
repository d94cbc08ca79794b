"""What a fitter says at the command line, to what happened. Lengths in any of the usual ways (`capture.tape`).

Other ways people say it stand for one of the sentences understood. What leaves out a number is asked for it; what is
not understood is answered with the sentences that are.
"""
from __future__ import annotations

import re
from collections.abc import Sequence

from capture.errors import CaptureError
from capture.language.messages import gettext, worded
from capture.tape import parse_length
from desk.problem import JobFileError, file_error
from desk.text.day_events import HAPPENINGS, NotUnderstood, Parts, phrases
from layout.replan.events import Event

#: Numbers as words.
_COUNTS = {word: str(number) for number, word in enumerate(
    ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"), start=1)} | dict.fromkeys(
    ("a", "an", "another"), "1")
#: Words that tell nothing of what happened: they stand in several of the phrases, or in none.
_SMALL_WORDS = {"at", "to", "mm", "cm", "m", "by", "x", "is", "are", "the", "a", "left", "right", "ahead", "wall",
                "start", "out", "of"}


def read_words(words: Sequence[str], *, show: str, found: int = 0, obstacles: int = 0) -> Event | int:
    """What happened, or the number of the entry to take back (0: the last one).

    show: "metric" or "imperial", for bare numbers. found, obstacles: how many the log has already, for their names.
    Raises JobFileError (slug unknown-words, and those of lengths) with a sentence that shows what can be said.
    """
    said = " ".join(" ".join(words).split())
    text = said.strip(" .!")
    unit = "in" if show == "imperial" else "mm"

    def length(written: str) -> float:
        try:
            return parse_length(written.strip(" ,"), unit=unit)
        except CaptureError as error:
            raise file_error("unread-length", f"{str(error)[:1].upper()}{str(error)[1:]}.", where="day") from error

    for way in (text, _plainly(text)):
        for pattern, make in (sentence for each in HAPPENINGS for sentence in each.sentences):
            match = re.fullmatch(pattern, way, re.IGNORECASE)
            if match:
                try:
                    return make(Parts(match.groupdict(), length, found, obstacles))
                except NotUnderstood as error:
                    raise _not_understood(str(error)) from None
    raise _not_understood(said)


def _plainly(text: str) -> str:
    """The sentence that is understood for what people also say; "" if there is none."""
    for pattern, sentence in (saying for each in HAPPENINGS for saying in each.sayings):
        match = re.fullmatch(pattern, text, re.IGNORECASE)
        if match:
            parts = {name: _COUNTS.get(part.lower(), part) for name, part in match.groupdict().items() if part}
            return sentence.format_map(parts)
    return ""


def _not_understood(said: str) -> JobFileError:
    for pattern, asks in (lack for each in HAPPENINGS for lack in each.lacking):
        if re.fullmatch(pattern, said.strip(" .!?"), re.IGNORECASE):
            return file_error("unknown-words", worded(asks), where="day")
    alike = [phrase for phrase in phrases() if _telling(phrase)[:1] and _telling(phrase)[0] in _telling(said)]
    shown = "; ".join(f"“{phrase}”" for phrase in alike or phrases())
    return file_error("unknown-words", gettext("“{said}” is not understood. Say it like one of these: {shown}.",
                                               said=said[:80], shown=shown), where="day")


def _telling(said: str) -> list[str]:
    """The words that say what happened, one form each."""
    words = re.findall(r"[a-z]+", said.lower())
    return [word.rstrip("s") for word in words if word not in _SMALL_WORDS]
