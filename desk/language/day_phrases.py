"""What a fitter says of the day in the reader's language: each phrase of its table stands for one of the English
sentences that are understood (`desk.text.day_events`), and a sentence is shown as the phrase.

The tables are `desk/language/phrases/*.toml`, for a translator to fill; a language without one speaks English here.
"""
from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from capture.language.messages import spoken

#: What may fill a gap; any other one is a length, or words.
_GAPS = {"row": r"\d+", "first": r"\d+", "entry": r"\d+", "piece": r"\d+[.,]\d+",
         "label": r"[a-z]*\d+[a-z]*(?:[.,]\d+)?"}
_NUMBER = r"\d{1,4}"
#: So many letters tell a word.
_BEGINNING = 4
#: Signs of a pattern that a phrase may not use as letters.
_SIGNS = re.compile(r"[.^$*+?\\]")


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A way to say an English sentence: as it is written, and what matches it."""

    english: str
    written: str
    pattern: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class Phrases:
    """A language's table. gaps: by the name of a gap the words that fill it, each with the English one; own: the
    other way round, the first of them. small: words that tell nothing of what happened."""

    says: tuple[_Phrase, ...]
    asks: Mapping[str, tuple[re.Pattern[str], ...]]
    gaps: Mapping[str, Mapping[str, str]]
    own: Mapping[str, Mapping[str, str]]
    small: frozenset[str]


def english_sentences(said: str) -> tuple[str, ...]:
    """The English sentences that words stand for in the reader's language: of all that match, those of the phrases with
    the most letters of their own; more than one where these are of equal length."""
    table, plain = _table(), _plain(said)
    found: dict[str, int] = {}
    if table is None:
        return ()
    for phrase in table.says:
        if match := phrase.pattern.fullmatch(f" {plain}"):
            parts = match.groupdict()
            sentence = phrase.english.format_map({name: _in_english(table, name, part) for name, part in parts.items()
                                                  if part})
            own = len(plain) - sum(len(part or "") for part in parts.values())
            found[sentence] = max(found.get(sentence, 0), own)
    return tuple(sentence for sentence, own in found.items() if own == max(found.values()))


def asked_by(said: str) -> str:
    """What must be asked of words that leave a number out ("wall", "piece", "lost", "short", "where"); "" if they are
    none of those."""
    table, plain = _table(), _plain(said)
    return next((what for what, patterns in (table.asks if table else {}).items()
                 if any(pattern.fullmatch(f" {plain}") for pattern in patterns)), "")


def shown(sentence: str) -> str:
    """An English sentence as the reader's language says it; itself where its table has no phrase for it."""
    table = _table()
    if table is None:
        return sentence
    gaps = {name: dict.fromkeys(words.values(), "") for name, words in table.gaps.items()}
    for phrase in table.says:
        match = re.fullmatch(_with_gaps(phrase.english, gaps), sentence, re.IGNORECASE)
        if match:
            parts = {name: _in_own(table, name, part) for name, part in match.groupdict().items()}
            return phrase.written.format_map(parts)
    return sentence


def telling_words(said: str) -> list[str]:
    """The words in the reader's language that say what happened, by their beginnings, for endings change."""
    table = _table()
    return [word[:_BEGINNING] for word in re.findall(r"[a-z]+", _plain(said))
            if table is not None and word not in table.small]


def has_phrases() -> bool:
    """Whether the reader's language has a table."""
    return _table() is not None


def _table() -> Phrases | None:
    return phrases_of(spoken().tag.partition("-")[0])


@cache
def phrases_of(tag: str) -> Phrases | None:
    """The table of a language, None where there is none. Raises ValueError for a phrase that cannot be read."""
    place = resources.files("desk.language") / "phrases" / f"{tag}.toml"
    if not tag.isalpha() or not place.is_file():
        return None
    data = tomllib.loads(place.read_text("utf-8"))
    gaps = {name: {_plain(word): str(english) for word, english in words.items()}
            for name, words in data["gaps"].items()}
    own = {name: {str(english): word for word, english in reversed(words.items())}
           for name, words in data["gaps"].items()}
    asks = {what: tuple(_pattern(phrase, gaps) for phrase in said) for what, said in data["asks"].items()}
    return Phrases(says=tuple(_phrases(data["phrases"], gaps)), asks=asks, gaps=gaps, own=own,
                   small=frozenset(map(_plain, data["small"])))


def _phrases(table: Mapping[str, Any], gaps: Mapping[str, Mapping[str, str]]) -> Iterator[_Phrase]:
    for english, said in table.items():
        for phrase in said:
            yield _Phrase(english=english, written=phrase, pattern=_pattern(phrase, gaps))


def _pattern(phrase: str, gaps: Mapping[str, Mapping[str, str]]) -> re.Pattern[str]:
    """What matches a phrase, put plainly (`_plain`) with a blank before it: a part in brackets takes the blank before
    it along."""
    if _SIGNS.search(phrase):
        raise ValueError(f"{phrase!r} uses a sign that is none of a phrase's")
    plain = re.sub(r" \[([^]]*)\]", r"(?: (?:\1))?", " " + _plain(phrase).replace("(", "(?:"))
    return re.compile(_with_gaps(plain, gaps))


def _with_gaps(text: str, gaps: Mapping[str, Mapping[str, str]]) -> str:
    return re.sub(r"\{(\w+)\}", lambda gap: f"(?P<{gap[1]}>{_filled(gap[1], gaps)})", text)


def _filled(name: str, gaps: Mapping[str, Mapping[str, str]]) -> str:
    words = "|".join(sorted(gaps.get(name, ()), key=len, reverse=True))
    if name == "count":
        return f"{_NUMBER}|{words}"
    return words if words and name != "sights" else _GAPS.get(name, ".+?")


def _in_english(table: Phrases, name: str, part: str) -> str:
    """What fills a gap, in English words."""
    words = table.gaps.get(name, {})
    if name == "sights":
        by_length = sorted(words, key=len, reverse=True)
        said = re.sub(rf"(?<!\S)(?:{'|'.join(by_length)})(?!\S)", lambda word: words[word[0]], part)
        return said.replace(" ,", ",")
    if name in ("piece", "label"):
        return part.replace(",", ".")
    return words.get(part, part)


def _in_own(table: Phrases, name: str, part: str) -> str:
    own = table.own.get(name, {})
    if name == "sights":
        return re.sub(r"[a-z]+", lambda word: own.get(word[0], word[0]), part)
    return part if name == "count" else own.get(part, part)


def _plain(text: str) -> str:
    """Small letters without accents, one blank between words and no comma before it, one kind of apostrophe."""
    letters = unicodedata.normalize("NFD", text.casefold().replace("’", "'"))
    plain = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return " ".join(re.sub(r",(?=\s)", " ", plain).split()).strip(" .!?")
