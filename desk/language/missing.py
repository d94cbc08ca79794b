"""What a catalogue lacks before its language can be offered.

``python -m desk.language`` says it for every language; with ``--update de fr`` it first puts new sentences into those
catalogues, empty, and takes out what the program says no longer (a new catalogue is begun so).
"""
from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from string import Formatter

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po, write_po

#: What Babel writes into a file's head of persons, days and itself: nothing to us.
_NOBODY = re.compile(
    rb'"(Project-Id-Version|Report-Msgid-Bugs-To|Last-Translator|Language-Team|Generated-By|[\w-]+-Date): ')
#: Columns of a PO file.
_WIDTH = 110


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """Why a sentence cannot be shown: "untranslated", "unsure" (marked fuzzy), "gaps" (other ones than in English)."""

    sentence: str
    why: str


def lacks_of(catalogue: Catalog, template: Catalog) -> tuple[Lack, ...]:
    """What a catalogue lacks of the program's sentences."""
    return tuple(_lacks(catalogue, template))


def gaps_of(text: str) -> set[str]:
    """The gaps of a sentence, as they stand: {"length", "off:.1f"}. Raises ValueError for a lone brace."""
    return {f"{name}:{spec}" if spec else name for _, name, spec, _ in Formatter().parse(text) if name is not None}


def _lacks(catalogue: Catalog, template: Catalog) -> Iterator[Lack]:
    for wanted in template:
        if not wanted.id:
            continue
        found = catalogue.get(wanted.id)
        one = wanted.id if isinstance(wanted.id, str) else wanted.id[0]
        if found is None or not _whole(found):
            yield Lack(sentence=one, why="untranslated")
        elif found.fuzzy:
            yield Lack(sentence=one, why="unsure")
        elif not _same_gaps(found):
            yield Lack(sentence=one, why="gaps")


def _whole(message: Message) -> bool:
    said = message.string
    return all(said) if isinstance(said, (tuple, list)) else bool(said)


def _same_gaps(message: Message) -> bool:
    """Whether every form has the gaps of the English sentence; of a sentence that counts, `count` may be left out."""
    if isinstance(message.id, str):
        return _gaps(message.id) == _gaps(str(message.string))
    wanted = set().union(*(_gaps(form) or set() for form in message.id))
    return all(wanted - {"count"} <= (_gaps(form) or set()) <= wanted for form in message.string or ())


def _gaps(text: str) -> set[str] | None:
    """None for a sentence that is never filled, or that no figure can be put into."""
    try:
        return gaps_of(text)
    except ValueError:
        return None


def read_catalogue(path: Path, tag: str) -> Catalog:
    """A PO file; a catalogue without sentences where there is none."""
    return read_po(BytesIO(path.read_bytes()), locale=tag) if path.is_file() else Catalog(locale=tag)


def updated(catalogue: Catalog, template: Catalog) -> bytes:
    """A catalogue with every sentence of the program and no other, as a PO file."""
    catalogue.update(template, no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    catalogue.fuzzy = False
    catalogue.header_comment = "# Sentences of Tape & Groove; the English one is the key."
    written = BytesIO()
    write_po(written, catalogue, width=_WIDTH, sort_output=True, include_lineno=False, omit_header=False)
    return b"".join(line for line in written.getvalue().splitlines(keepends=True) if not _NOBODY.match(line))
