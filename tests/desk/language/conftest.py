"""A made-up language: every sentence stands in white brackets, so that what was never looked up is seen."""
from __future__ import annotations

from functools import cache
from io import BytesIO

import pytest
from babel.messages.pofile import write_po

from capture.language.messages import Language
from desk.language.catalogues import read_language
from desk.language.extraction import template

OPEN, CLOSE = "⟦", "⟧"


@pytest.fixture(scope="session")
def bracketed() -> Language:
    """As `bracketed_language`."""
    return bracketed_language()


@cache
def bracketed_language() -> Language:
    """German by its plural rule and decimal mark, English in brackets by its words."""
    from babel.messages.catalog import Catalog
    made = Catalog(locale="de", charset="utf-8")
    for message in template():
        if message.id:
            forms = message.id if isinstance(message.id, tuple) else (message.id,)
            said = tuple(f"{OPEN}{form}{CLOSE}" for form in forms)
            made.add(message.id, said if isinstance(message.id, tuple) else said[0], locations=message.locations)
    written = BytesIO()
    write_po(written, made)
    return read_language("de", written.getvalue(), cache=None)
