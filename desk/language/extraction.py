"""The sentences of the program, found in its own source by Babel: what every catalogue must hold."""
from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir

ROOMS = ("capture", "layout", "printpack", "desk")
#: Functions whose first argument, or first two, are sentences.
KEYWORDS = {"marked": None, "gettext": None, "lazy_gettext": None, "ngettext": (1, 2), "lazy_ngettext": (1, 2)}


def template() -> Catalog:
    """Every sentence with the modules it stands in; no catalogue of a language yet."""
    found = Catalog(project="tapegroove", charset="utf-8")
    for module, message in _sentences():
        found.add(message, locations=[(module, 0)])
    return found


def _sentences() -> Iterator[tuple[str, str | tuple[str, ...]]]:
    for room in ROOMS:
        folder = Path(str(resources.files(room)))
        for name, _, message, _, _ in extract_from_dir(folder, method_map=[("**.py", "python")], keywords=KEYWORDS):
            yield f"{room}/{Path(name).as_posix()}", message
