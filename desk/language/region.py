"""What a reader's region has by default: units, and with them the sheet a printer holds.

Letter is the usual paper of the United States and Canada by CLDR (supplemental data, paperSize). CLDR measures the
United States in inches and Canada in metres; that boards and rooms are measured in inches there all the same is common
practice, from memory. Everywhere else it is A4 and millimetres.
"""
from __future__ import annotations

import re

_IN_INCHES = frozenset({"US", "CA"})
#: A tag's region stands behind its language and, if it tells one, its script (BCP 47).
_REGION = re.compile(r"[A-Za-z]{2,3}(?:[-_][A-Za-z]{4})?[-_]([A-Za-z]{2}|\d{3})(?:[-_].*)?")
#: One language of an Accept-Language header with its weight (RFC 9110, 12.5.4).
_WISH = re.compile(r"\s*([A-Za-z0-9-]+)\s*(?:;\s*q\s*=\s*([01](?:\.\d{0,3})?))?\s*")


def units_of(tag: str | None) -> str | None:
    """ "metric" or "imperial" by the region of a language's tag; None where it names none."""
    told = _REGION.fullmatch(tag or "")
    return None if told is None else "imperial" if told[1].upper() in _IN_INCHES else "metric"


def units_wished(header: str) -> str | None:
    """The same by the language a browser wishes for most, from its Accept-Language."""
    wishes = [(float(match[2] or 1.0), match[1]) for part in header[:400].split(",")
              if (match := _WISH.fullmatch(part))]
    dearest = max(wishes, key=lambda wish: wish[0], default=(0.0, ""))
    return units_of(dearest[1]) if dearest[0] > 0 else None
