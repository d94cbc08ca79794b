"""What a page gets of its reader's language: the words in its HTML, and the catalogue of what its scripts word."""
from __future__ import annotations

import json

import bottle

from capture.language.messages import Language, gettext, read_by
from desk.language.catalogues import Sentences

#: The catalogue's place among the parts of the page; there lies the one of English.
CATALOGUE = "catalogue.js"


def worded_page(page: bytes, language: Language, **values: str) -> bytes:
    """A page in a language: an HTML template whose gaps call `gettext` or name one of the values."""
    rightwards = language_fact(language, "direction", "left-to-right") == "left-to-right"
    with read_by(language):
        filled: str = bottle.SimpleTemplate(source=page.decode()).render(
            gettext=gettext, language=language.tag, direction="ltr" if rightwards else "rtl", **values)
    return filled.encode()


def page_catalogue(language: Language) -> bytes | None:
    """The module of scripts that holds a language; None for English, whose lies among the page's parts.

    plural: the rule at the head of the PO file, C's and JavaScript's alike, which reading the catalogue has judged.
    """
    if not isinstance(language.catalogue, Sentences):
        return None
    told = {name: json.dumps(value) for name, value in (
        ("tag", language.tag), ("decimal", language.decimal), ("sentences", language.catalogue.of_page()))}
    told["plural"] = f"(n) => Number({language.catalogue.said_by_cldr('plural')})"
    return "".join(f"export const {name} = {value};\n" for name, value in told.items()).encode()


def language_fact(language: Language, what: str, english: str) -> str:
    """What CLDR says of a language ("direction", "name")."""
    return language.catalogue.said_by_cldr(what) if isinstance(language.catalogue, Sentences) else english
