"""Tables for spreadsheets: comma separated, every cell in quotes, and no text that can begin a formula.

A spreadsheet takes a cell that begins with one of a few signs as a formula, and a formula can fetch from the network or
run a program. The rule is that of OWASP's page "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection): an
apostrophe in front of every such cell, which makes it text. A spreadsheet that splits at semicolons or tabs, as in many
languages, must find no formula after one of those either. A file made of it is encoded as "utf-8-sig": the mark tells a
spreadsheet that it is UTF-8 (Unicode standard, 23.8).
"""
from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

#: Signs that may begin a formula: OWASP's list, the full-width ones of Chinese and Japanese keyboards included.
_BEGINS = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_FORMULA = re.compile(f"(^|[;\t\r\n])(?= *[{_BEGINS}])")


def table_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows of cells as text."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(rows)
    return text.getvalue()


def safe_cell(value: object) -> object:
    """The value as a cell: no text may begin a formula, after blanks too, be it split at semicolons or tabs; numbers
    stay as they are."""
    return _FORMULA.sub(r"\1'", value) if isinstance(value, str) else value
