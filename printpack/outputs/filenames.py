"""Names of files that every system can hold, and that lie where they are put.

Rules: no separator, no character and no device name that Windows reserves, no blank or dot at the end (Microsoft Learn,
"Naming Files, Paths, and Namespaces"); no drive, no leading slash, forward slashes only (APPNOTE.TXT of the zip format,
4.4.17); no two that differ in case alone.
"""
from __future__ import annotations

import re
from collections.abc import Iterable

LONGEST = 120
_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]')
_DEVICES = frozenset({"con", "prn", "aux", "nul", "conin$", "conout$",
                      *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³")})
_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")


def is_portable(name: str) -> bool:
    """Whether one part of a path (a file or a folder) can have this name on every system."""
    return (0 < len(name) <= LONGEST and name.isprintable() and not _FORBIDDEN.search(name) and name[-1] not in ". "
            and name[0] != " " and name.split(".")[0].rstrip().casefold() not in _DEVICES)


def safe_names(wanted: Iterable[str]) -> tuple[str, ...]:
    """A name for each of these, of letters of the alphabet, digits, dots and hyphens only, no two alike, whatever
    they held."""
    found: dict[str, str] = {}
    for number, text in enumerate(wanted, start=1):
        name = _UNSAFE.sub("-", text).strip(".-")[:LONGEST - 10]
        name = name if is_portable(name) else f"file-{number}"
        while name.casefold() in found:
            name = f"{name}-{number}"
        found[name.casefold()] = name
    return tuple(found.values())
