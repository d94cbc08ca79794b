"""What a reader's region has by default: units, and with them the sheet a printer holds.

Letter is the usual paper of the United States and Canada by CLDR (supplemental data, paperSize). CLDR measures the
United States in inches and Canada in metres; that boards and rooms are measured in inches there all the same is common
practice, from memory. Everywhere else it is A4 and millimetres.
"""
from __future__ import annotations

import re

from desk.language.wishes import wished

_IN_INCHES = frozenset({"US", "CA"})
#: A tag's region stands behind its language and, if it tells one, its script (BCP 47).
_REGION = re.compile(r"[A-Za-z]{2,3}(?:[-_][A-Za-z]{4})?[-_]([A-Za-z]{2}|\d{3})(?:[-_].*)?")


def units_of(tag: str | None) -> str | None:
    """ "metric" or "imperial" by the region of a language's tag; None where it names none."""
    told = _REGION.fullmatch(tag or "")
    return None if told is None else "imperial" if told[1].upper() in _IN_INCHES else "metric"


def units_wished(header: str) -> str | None:
    """The same by the language a browser wishes for most, from its Accept-Language."""
    return units_of(next(iter(wished(header)), None))
