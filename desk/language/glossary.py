"""The words of the trade in each language, and sentences of a catalogue that use others."""
from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from babel.messages.catalog import Catalog

#: Gaps, commands, and names of files and folders: no words of a sentence.
_NO_WORDS = re.compile(r"\{[^}]*\}|\btapegroove \w+|\b\w+(\.\w+|/)")
#: An ending that may change with number and case is at most so long; words shorter than the second are taken whole.
_ENDING, _SHORT = 2, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word of the trade. also: other words for it; sure: the standard whose title has it, or "from memory"; us: the
    American word, of an English one; loose: sentences are not held to it; note: false friends and other traps."""

    word: str
    also: tuple[str, ...] = ()
    sure: str = ""
    us: str = ""
    loose: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stray:
    """A sentence whose translation does not use the glossary's word for a term in it."""

    sentence: str
    said: str
    term: str


@cache
def glossary(tag: str) -> Mapping[str, Term]:
    """The words of a language, by what the term is called in every glossary. Raises FileNotFoundError where there is no
    glossary, ValueError or TypeError for one that is not as it should be."""
    text = (resources.files("capture.language") / "glossary" / f"{tag}.toml").read_text("utf-8")
    return {slug: Term(**entry | {"also": tuple(entry.get("also", ()))}) for slug, entry in tomllib.loads(text).items()}


def strays(catalogue: Catalog, tag: str) -> Iterator[Stray]:
    """Sentences of a catalogue that leave the glossary; only those whose English holds a term as it stands there, and
    not as part of a longer one."""
    english, theirs = glossary("en"), glossary(tag)
    terms = sorted((slug for slug, term in english.items()), key=lambda slug: -len(english[slug].word))
    for message in catalogue:
        said = message.string if isinstance(message.string, str) else " ".join(message.string or ())
        sentence = message.id if isinstance(message.id, str) else message.id[0]
        if not said.strip():
            continue
        left = _NO_WORDS.sub(" ", sentence.casefold())
        for slug in terms:
            left, found = re.subn(rf"\b{re.escape(english[slug].word.casefold())}s?\b", " ", left)
            if found and not english[slug].loose and not _uses(said, theirs[slug]):
                yield Stray(sentence=sentence, said=said, term=slug)


def _uses(said: str, term: Term) -> bool:
    return any(all(_stem(part) in _plain(said) for part in word.split()) for word in (term.word, *term.also))


def _stem(word: str) -> str:
    plain = _plain(word)
    return plain if len(plain) < _SHORT else plain[:-_ENDING]


def _plain(text: str) -> str:
    """Small letters without accents: plurals may take them."""
    return "".join(letter for letter in unicodedata.normalize("NFKD", text.casefold())
                   if not unicodedata.combining(letter))
