"""Days as the reader writes them."""
from __future__ import annotations

import datetime

from capture.language.messages import ENGLISH, spoken


def long_date(on: datetime.date) -> str:
    """5 March 2026; in other languages than English as CLDR has its long form."""
    language = spoken()
    if language is ENGLISH:
        return f"{on.day} {on:%B %Y}"
    from babel.dates import format_date
    return format_date(on, format="long", locale=language.tag)
