"""Sentences in the reader's language: an English sentence with named gaps is looked up in a catalogue, then filled.

The reader is a context variable, set once by who answers (a command, a request, a booklet), like the listener of
`capture.progress`: who words a fact need not be told for whom, and threads that word for two readers at once do not
meet. Without a reader every sentence is English, and the same facts give the same sentence. An error is raised deep
inside, often in another process: it carries a `Message`, which is worded only where somebody reads it.

A gap may say how a figure is written (``{off:.1f}``); the decimal mark is the reader's. A sentence without gaps is
never filled, so braces in it stand for themselves. Sentences are found by `desk.language.extraction`.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from string import Formatter
from typing import Any, Protocol


class Catalogue(Protocol):
    """Sentences of a language by the English one; one it lacks comes back as it is."""

    def gettext(self, message: str, /) -> str:
        """The sentence."""

    def ngettext(self, one: str, many: str, count: int, /) -> str:
        """The sentence for so many, by the language's plural rule."""


class _English:
    """English needs no catalogue."""

    def gettext(self, message: str, /) -> str:
        return message

    def ngettext(self, one: str, many: str, count: int, /) -> str:
        return one if count == 1 else many


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """tag: BCP 47, such as "de"; decimal: the mark in a figure; thousands: the mark that parts thousands, "" where none
    is taken for one. It can be sent to another process."""

    tag: str
    catalogue: Catalogue
    decimal: str = "."
    thousands: str = ""

    def __reduce__(self) -> str | tuple[Any, ...]:
        """English is the same one there."""
        return "ENGLISH" if self is ENGLISH else (_language, (self.tag, self.catalogue, self.decimal, self.thousands))


def _language(tag: str, catalogue: Catalogue, decimal: str, thousands: str) -> Language:
    return Language(tag=tag, catalogue=catalogue, decimal=decimal, thousands=thousands)


ENGLISH = Language(tag="en", catalogue=_English())
_READER: ContextVar[Language] = ContextVar("reader", default=ENGLISH)


@contextmanager
def read_by(language: Language) -> Iterator[None]:
    """What is worded within is in this language."""
    token = _READER.set(language)
    try:
        yield
    finally:
        _READER.reset(token)


def speak(language: Language) -> None:
    """What is worded from here on, in this context, is in this language."""
    _READER.set(language)


def spoken() -> Language:
    """The reader's language."""
    return _READER.get()


@dataclass(frozen=True, slots=True)
class Message:
    """A sentence not yet worded: `str` words it for the reader it meets. It can be sent to another process.

    many, count: of a sentence that counts. values: what fills its gaps; they may be messages themselves.
    """

    text: str
    many: str = ""
    count: int = 0
    values: Mapping[str, Any] = field(default_factory=dict)

    def filled(self, **values: Any) -> Message:
        """The sentence with more of its gaps filled."""
        return replace(self, values={**self.values, **values})

    def __str__(self) -> str:
        language = _READER.get()
        if self.many:
            said = language.catalogue.ngettext(self.text, self.many, self.count)
        else:
            said = language.catalogue.gettext(self.text)
        if not self.values:
            return said
        return said.format_map(self.values) if language.decimal == "." else _Filler().vformat(said, (), self.values)


def marked(text: str) -> str:
    """A sentence of a table, for the extractor to find: `worded` words it."""
    return text


def worded(text: str, /, **values: Any) -> str:
    """A sentence taken from a table of `marked` ones, in the reader's language."""
    return str(Message(text, values=values))


def gettext(text: str, /, **values: Any) -> str:
    """The sentence in the reader's language. values: by the names of its gaps."""
    return str(Message(text, values=values))


def ngettext(one: str, many: str, number: int, /, **values: Any) -> str:
    """The sentence for so many; `{count}` is the number."""
    return str(lazy_ngettext(one, many, number, **values))


def lazy_gettext(text: str, /, **values: Any) -> Message:
    """The sentence, to be worded where it is read."""
    return Message(text, values=values)


def lazy_ngettext(one: str, many: str, number: int, /, **values: Any) -> Message:
    """The sentence for so many, to be worded where it is read; `{count}` is the number."""
    return Message(one, many, int(number), {"count": number} | values)


def figure(value: float, spec: str) -> str:
    """A figure by its format specification (".1f", "g"), with the reader's decimal mark."""
    return localised(format(value, spec))


def localised(figures: str) -> str:
    """Figures written with a decimal point, with the reader's decimal mark."""
    return figures.replace(".", _READER.get().decimal)


def led(lead: object, text: object) -> str:
    """What is said of something, behind what it is said of: "7.4: 640 mm"."""
    return gettext("{lead}: {text}", lead=lead, text=text)


def listed(names: Sequence[str]) -> str:
    """Names as in a sentence: "A", "A and B", "A, B and C"; at least one."""
    return names[0] if len(names) == 1 else gettext("{names} and {name}", names=", ".join(names[:-1]), name=names[-1])


def apart(parts: Sequence[str]) -> str:
    """Parts that hold commas themselves, one after the other: "A; B; C"; "" of none."""
    said = "".join(parts[:1])
    for part in parts[1:]:
        said = gettext("{parts}; {part}", parts=said, part=part)
    return said


def all_of(names: Sequence[str]) -> str | Message:
    """Names one after the other, "and" between them: "A", "A and B", "A and B and C"."""
    first, *more = names
    said: str | Message = first
    for name in more:
        said = lazy_gettext("{names} and {name}", names=said, name=name)
    return said


class _Filler(Formatter):
    """Fills gaps; figures take the reader's decimal mark."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """A value in its gap."""
        return figure(value, format_spec) if isinstance(value, float) else format(value, format_spec)
