"""Tables for spreadsheets: comma separated, every cell in quotes, and no text that can begin a formula.

What begins one: = + - @, tab, carriage return, line feed, and the wide forms of the first four (OWASP, "CSV
Injection"). Numbers are no text. A file made of it is encoded as "utf-8-sig": the mark tells a spreadsheet that it is
UTF-8.
"""
from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

_BEGINS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def table_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows of cells as text."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(rows)
    return text.getvalue()


def words(text: str) -> str:
    """Somebody's words as a cell that stays text: an apostrophe goes before what would begin a formula, after blanks
    too."""
    return f"'{text}" if text.lstrip(" ").startswith(_BEGINS) else text
