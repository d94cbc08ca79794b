"""Figures as the reader writes them."""
from __future__ import annotations

from capture.language.messages import spoken


def thousands_mark() -> str:
    """The mark that parts thousands in the reader's language, by CLDR; "" where the decimal mark is a point: English is
    read by people of both customs, and is asked."""
    language = spoken()
    return "" if language.decimal == "." else language.thousands
