"""The sentences of the program, found in its own source by Babel: what every catalogue must hold."""
from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from importlib import resources
from io import BytesIO
from pathlib import Path
from typing import IO, Any

import bottle
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir, extract_python

ROOMS = ("capture", "layout", "printpack", "desk")
#: Functions whose first argument, or first two, are sentences.
KEYWORDS = {"marked": None, "gettext": None, "lazy_gettext": None, "ngettext": (1, 2), "lazy_ngettext": (1, 2)}
#: What else words sentences in the page's scripts.
OF_PAGE: dict[str, tuple[int, int] | None] = {"gettextNodes": None}
#: How each kind of file is read; pages are `bottle.SimpleTemplate`s.
METHODS = [("**.py", "python"), ("**.js", "javascript"), ("**.html", f"{__name__}:sentences_of_page")]
OPTIONS = {"**.js": {"parse_template_string": True}}


def template() -> Catalog:
    """Every sentence with the modules it stands in; no catalogue of a language yet."""
    found = Catalog(project="tapegroove", charset="utf-8")
    for module, message in _sentences():
        found.add(message, locations=[(module, 0)])
    return found


def _sentences() -> Iterator[tuple[str, str | tuple[str, ...]]]:
    for room in ROOMS:
        folder = Path(str(resources.files(room)))
        for name, _, message, _, _ in extract_from_dir(folder, method_map=METHODS, options_map=OPTIONS,
                                                       keywords=KEYWORDS | OF_PAGE):
            yield f"{room}/{Path(name).as_posix()}", message


def sentences_of_page(file: IO[bytes], keywords: Mapping[str, Any], comment_tags: Collection[str],
                      options: Any) -> Iterator[Any]:
    """An extractor of Babel's for a page: its calls are found in the Python that it is filled by."""
    filling = bottle.SimpleTemplate(source=file.read().decode()).code
    yield from extract_python(BytesIO(filling.encode()), keywords, comment_tags, options)
