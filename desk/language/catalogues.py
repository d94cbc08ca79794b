"""Catalogues: a PO file for each language, read as a `Language` with Babel and the standard library's gettext.

Only the PO files are kept in the tree. Reading one takes a tenth of a second and its compiled form (MO) a hundredth, so
the compiled form is kept in the user's cache folder under the digest of the PO file it was made of: an old one is never
taken for a newer file's. Plural rules stand in the PO file's head and are CLDR's; the marks in figures are CLDR's.
"""
from __future__ import annotations

import contextlib
import gettext as gnu
import hashlib
import json
import os
from functools import lru_cache
from importlib import resources
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from capture.language.messages import ENGLISH, Language, gettext
from desk.problem import JobFileError, file_error, shown

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

    from babel.messages.catalog import Catalog

#: Languages a reader may ask for: those that lack no sentence and no word of the glossary (the tests see to it).
OFFERED = ("en", "de", "fr", "es", "nl")
#: Where compiled catalogues are kept, if the variable says so; set and empty: nowhere.
_PLACE = "TAPEGROOVE_CACHE"
#: Before a compiled catalogue in the cache stands its own digest, so many bytes.
_SEAL = 32
#: What CLDR says of a language stands in its compiled catalogue under this context, and what the page shows.
_CLDR, _PAGE = "CLDR", "page"
#: Told apart from what earlier programs compiled of the same file.
_FORM = b"3 "


class Sentences:
    """A language's sentences; those it lacks stay English and are remembered in `lacked`. They can be sent to another
    process, where they are read once."""

    def __init__(self, compiled: bytes) -> None:
        self.lacked: set[str] = set()
        self._compiled = compiled
        self._known = gnu.GNUTranslations(BytesIO(compiled))
        self._known.add_fallback(_Lacking(self.lacked))

    def gettext(self, message: str, /) -> str:
        """The sentence, or the English one."""
        return self._known.gettext(message) if message else ""

    def ngettext(self, one: str, many: str, count: int, /) -> str:
        """The sentence for so many, or the English one."""
        return self._known.ngettext(one, many, count)

    def __reduce__(self) -> tuple[Any, ...]:
        return _sent, (self._compiled,)

    def said_by_cldr(self, what: str) -> str:
        """What CLDR says of the language, as it was compiled in."""
        return self._known.pgettext(_CLDR, what)

    def of_page(self) -> dict[str, list[str]]:
        """The forms of the sentences that the page words itself, by the English one (of one, where it counts)."""
        return json.loads(self._known.pgettext(_PAGE, "sentences"))


@lru_cache(maxsize=4)
def _sent(compiled: bytes) -> Sentences:
    return Sentences(compiled)


class _Lacking(gnu.NullTranslations):
    """English in place of what is lacking."""

    def __init__(self, lacked: set[str]) -> None:
        super().__init__()
        self._lacked = lacked

    def gettext(self, message: str) -> str:
        """The sentence, noted down."""
        self._lacked.add(message)
        return message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """The sentence for so many, noted down."""
        self._lacked.add(msgid1)
        return super().ngettext(msgid1, msgid2, n)


def folder_of_catalogues() -> Traversable:
    """Where the PO files are."""
    return resources.files("capture.language") / "catalogues"


def offered(tag: str) -> Language:
    """The language a reader asked for by its tag (BCP 47; a region is disregarded). Raises JobFileError
    (unknown-language) for one that is not offered."""
    known = _bare(tag)
    if known not in OFFERED:
        raise file_error("unknown-language", gettext(
            "{tag} is not a language this program speaks; choose one of {offered}.", tag=shown(tag),
            offered=", ".join(OFFERED)), where="language")
    return language(known)


@lru_cache(maxsize=8)
def language(tag: str) -> Language:
    """A language with a catalogue, offered or begun. Raises JobFileError (unknown-language) where there is none."""
    if tag == ENGLISH.tag:
        return ENGLISH
    po = folder_of_catalogues().joinpath(f"{tag}.po")
    if not tag.isalpha() or not po.is_file():
        raise file_error("unknown-language", gettext("There is no catalogue for {tag}.", tag=shown(tag)),
                         where="language")
    return read_language(tag, po.read_bytes(), cache=_cache_path())


def read_language(tag: str, po: bytes, *, cache: Path | None) -> Language:
    """A language from its PO file, compiled or taken from the cache folder (None: there is none)."""
    kept = None if cache is None else cache / f"{tag}-{hashlib.sha256(_FORM + po).hexdigest()[:32]}.mo"
    sentences = _kept(kept)
    if sentences is None:
        compiled = compiled_catalogue(tag, po)
        _keep(kept, compiled)
        sentences = Sentences(compiled)
    return Language(tag=tag, catalogue=sentences, decimal=sentences.said_by_cldr("decimal"),
                    thousands=sentences.said_by_cldr("group"))


def compiled_catalogue(tag: str, po: bytes) -> bytes:
    """A PO file as an MO file, with what CLDR says of the language and, once more, what the page shows."""
    from babel import Locale
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po
    catalogue = read_po(BytesIO(po), locale=tag, abort_invalid=True)
    page, locale = _of_page(catalogue), Locale.parse(tag)
    marks = locale.number_symbols["latn"]
    for what, said in (("decimal", marks["decimal"]), ("group", marks["group"]), ("name", locale.get_display_name(tag)),
                       ("direction", locale.character_order), ("plural", catalogue.plural_expr)):
        catalogue.add(what, said, context=_CLDR)
    catalogue.add("sentences", json.dumps(page), context=_PAGE)
    compiled = BytesIO()
    write_mo(compiled, catalogue)
    return compiled.getvalue()


def _of_page(catalogue: Catalog) -> dict[str, list[str]]:
    """The forms of every sentence that stands in a script of the page, by the English one."""
    found = {}
    for message in catalogue:
        forms = (message.string,) if isinstance(message.string, str) else message.string or ("",)
        if all(forms) and not message.fuzzy and any(place.endswith(".js") for place, _ in message.locations):
            found[message.id if isinstance(message.id, str) else message.id[0]] = list(forms)
    return found


def _bare(tag: str) -> str:
    return tag.replace("_", "-").partition("-")[0].lower()


def _cache_path() -> Path | None:
    if (said := os.environ.get(_PLACE)) is not None:
        return Path(said) if said else None
    from platformdirs import user_cache_path
    return user_cache_path("tapegroove", appauthor=False) / "languages"


def _kept(path: Path | None) -> Sentences | None:
    """What the cache holds; a file that is damaged, or none of ours, is as if there were none."""
    try:
        kept = b"" if path is None else path.read_bytes()
    except OSError:
        return None
    sealed, compiled = kept[:_SEAL], kept[_SEAL:]
    return Sentences(compiled) if sealed == hashlib.sha256(compiled).digest() and compiled else None


def _keep(path: Path | None, compiled: bytes) -> None:
    """Put a compiled catalogue into the cache; a disk that refuses costs only time."""
    if path is None:
        return
    from desk.jobfile.save import write_whole
    with contextlib.suppress(JobFileError):
        write_whole(path, hashlib.sha256(compiled).digest() + compiled)
