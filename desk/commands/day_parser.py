"""What a fitter says at the command line, to what happened. Lengths in any of the usual ways (`capture.tape`).

Other ways people say it stand for one of the sentences understood. What leaves out a number is asked for it; what is
not understood is answered with the sentences that are.
"""
from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from capture.errors import CaptureError
from capture.language.messages import apart, gettext, worded
from capture.language.numbers import thousands_mark
from capture.tape import parse_length
from desk.problem import JobFileError, file_error
from desk.text.day_events import ASKS, HAPPENINGS, NotUnderstood, Parts, phrases
from desk.language.day_phrases import asked_by, english_sentences, has_phrases, shown, telling_words
from layout.replan.events import Event

#: Numbers as words.
_COUNTS = {word: str(number) for number, word in enumerate(
    ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"), start=1)} | dict.fromkeys(
    ("a", "an", "another"), "1")
#: Words that tell nothing of what happened: they stand in several of the phrases, or in none.
_SMALL_WORDS = {"at", "to", "mm", "cm", "m", "by", "x", "is", "are", "the", "a", "left", "right", "ahead", "wall",
                "start", "out", "of"}


def read_words(words: Sequence[str], *, show: str, found: int = 0, obstacles: int = 0,
               label_of: Callable[[str], str] = str) -> Event | int:
    """What happened, or the number of the entry to take back (0: the last one), said in English or in the reader's
    language.

    show: "metric" or "imperial", for bare numbers. found, obstacles: how many the log has already, for their names.
    label_of: an offcut's label by what is pencilled on it. Raises JobFileError (slug unknown-words, and those of
    lengths) with a sentence that shows what can be said.
    """
    said = " ".join(" ".join(words).split())
    unit = "in" if show == "imperial" else "mm"

    def length(written: str) -> float:
        try:
            return parse_length(written.strip(" ,"), unit=unit, thousands=thousands_mark())
        except CaptureError as error:
            raise file_error("unread-length", f"{str(error)[:1].upper()}{str(error)[1:]}.", where="day") from error

    meant: dict[Event | int, str] = {}
    for sentence in _ways(said.strip(" .!")):
        parts, make = _found(sentence)
        if label := parts.get("label"):
            parts["label"] = label_of(label)
        try:
            meant.setdefault(make(Parts(parts, length, found, obstacles)), sentence)
        except NotUnderstood as error:
            raise _not_understood(said if has_phrases() else str(error)) from None
    if len(meant) != 1:
        raise _ambiguous(said, list(meant.values())) if meant else _not_understood(said)
    return next(iter(meant))


def _ways(text: str) -> Iterator[str]:
    """The sentences that words can stand for: as English the first, as the reader's language those it has."""
    english = next((way for way in (text, _plainly(text)) if _is_understood(way)), None)
    if english is not None:
        yield english
    yield from (way for way in english_sentences(text) if _is_understood(way))


def _is_understood(sentence: str) -> bool:
    return any(re.fullmatch(pattern, sentence, re.IGNORECASE) for each in HAPPENINGS for pattern, _ in each.sentences)


def _found(sentence: str) -> tuple[dict[str, str], Callable[[Parts], Event | int]]:
    """The parts of a sentence that is understood, and what makes an event of them."""
    return next((match.groupdict(), make) for each in HAPPENINGS for pattern, make in each.sentences
                if (match := re.fullmatch(pattern, sentence, re.IGNORECASE)))


def _ambiguous(said: str, sentences: Sequence[str]) -> JobFileError:
    return file_error("unknown-words", gettext(
        "“{said}” can be understood in two ways; say it like one of these: {shown}.", said=said[:80],
        shown=_quoted([shown(sentence) for sentence in sentences])), where="day")


def _plainly(text: str) -> str:
    """The sentence that is understood for what people also say; "" if there is none."""
    for pattern, sentence in (saying for each in HAPPENINGS for saying in each.sayings):
        match = re.fullmatch(pattern, text, re.IGNORECASE)
        if match:
            parts = {name: _COUNTS.get(part.lower(), part) for name, part in match.groupdict().items() if part}
            return sentence.format_map(parts)
    return ""


def _not_understood(said: str) -> JobFileError:
    lack = asked_by(said)
    for what, pattern in ((what, pattern) for each in HAPPENINGS for pattern, what in each.lacking):
        if what == lack or re.fullmatch(pattern, said.strip(" .!?"), re.IGNORECASE):
            return file_error("unknown-words", worded(ASKS[what]), where="day")
    known = [shown(phrase) for phrase in phrases()]
    alike = [phrase for phrase in known if _telling(phrase)[:1] and _telling(phrase)[0] in _telling(said)]
    return file_error("unknown-words", gettext("“{said}” is not understood. Say it like one of these: {shown}.",
                                               said=said[:80], shown=_quoted(alike or known)), where="day")


def _quoted(phrases: Sequence[str]) -> str:
    return apart([gettext("“{phrase}”", phrase=phrase) for phrase in phrases])


def _telling(said: str) -> list[str]:
    """The words that say what happened, one form each."""
    if has_phrases():
        return telling_words(said)
    words = re.findall(r"[a-z]+", said.lower())
    return [word.rstrip("s") for word in words if word not in _SMALL_WORDS]
