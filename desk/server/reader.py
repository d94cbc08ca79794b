"""In which language a request is answered: the job's, else the one its reader's browser wishes for, else English."""
from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path

from capture.language.messages import ENGLISH, Language
from desk.jobfile.files import JOB_NAME, language_named
from desk.language import catalogues
from desk.language.wishes import wished
from desk.problem import JobFileError


def reader_of(folders: Iterable[Path], wishes: str) -> Language:
    """The language for whoever asks about these jobs: that of the first that names one. wishes: the Accept-Language of
    the request.

    A language that is not offered, or a job that cannot be read, is no reason to refuse an answer.
    """
    if len(catalogues.OFFERED) == 1:
        return ENGLISH
    for tag in _tags(folders, wishes):
        try:
            return catalogues.offered(tag)
        except JobFileError:
            continue
    return ENGLISH


def _tags(folders: Iterable[Path], wishes: str) -> Iterator[str]:
    for folder in folders:
        if (tag := _asked(folder)) is not None:
            yield tag
    yield from wished(wishes)


def _asked(folder: Path) -> str | None:
    """The language the job asks for; a page asks for many parts at once, so the file is read once for all of them."""
    try:
        there = (folder / JOB_NAME).stat()
    except OSError:
        return None
    return _asked_by(folder, there.st_mtime_ns, there.st_size)


@lru_cache(maxsize=64)
def _asked_by(folder: Path, mtime_ns: int, size: int) -> str | None:
    return language_named(folder)
