"""In which language a request is answered: the job's, else the one its reader's browser wishes for, else English."""
from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from capture.language.messages import ENGLISH, Language
from desk.jobfile.files import JOB_NAME, read_tree
from desk.language import catalogues
from desk.language.wishes import wished
from desk.problem import JobFileError


def reader_of(folder: Path, wishes: str) -> Language:
    """The language for whoever asks about the job in a folder. wishes: the Accept-Language of the request.

    A language that is not offered, or a job that cannot be read, is no reason to refuse an answer.
    """
    if len(catalogues.OFFERED) == 1:
        return ENGLISH
    for tag in (*_asked(folder), *wished(wishes)):
        try:
            return catalogues.offered(tag)
        except JobFileError:
            continue
    return ENGLISH


def _asked(folder: Path) -> tuple[str, ...]:
    """The language the job asks for; a page asks for many parts at once, so the file is read once for all of them."""
    try:
        there = (folder / JOB_NAME).stat()
    except OSError:
        return ()
    return _asked_by(folder, there.st_mtime_ns, there.st_size)


@lru_cache(maxsize=8)
def _asked_by(folder: Path, mtime_ns: int, size: int) -> tuple[str, ...]:
    try:
        language = read_tree(folder).get("language")
    except JobFileError:
        return ()
    return (language,) if isinstance(language, str) else ()
