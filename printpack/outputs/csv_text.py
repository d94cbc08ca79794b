"""Text that is safe in a cell of a table for spreadsheets.

A spreadsheet takes a cell that begins with one of a few signs as a formula, and a formula can fetch from the network or
run a program. The rule is that of OWASP's page "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection): an
apostrophe in front of every such cell, which makes it text. A spreadsheet that splits at semicolons or tabs, as in many
languages, must find no formula after one of those either.
"""
from __future__ import annotations

import re

#: Signs that may begin a formula: OWASP's list, the full-width ones of Chinese and Japanese keyboards included.
_BEGINS = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_FORMULA = re.compile(f"(^|[;\t\r\n])(?=[{_BEGINS}])")
#: Spreadsheets take a table for UTF-8 if it begins with this (Unicode standard, 23.8: byte order mark).
BYTE_ORDER_MARK = "\ufeff"


def safe_cell(value: object) -> object:
    """The value as a cell: no text may begin a formula, be it split at semicolons or tabs; numbers stay as they are."""
    return _FORMULA.sub(r"\1'", value) if isinstance(value, str) else value
