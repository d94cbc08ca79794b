"""Which jobs of a folder have been planned, so that a run that was interrupted goes on where it stopped.

A file a job, written whole by whoever has planned it and before anybody is told: a run that is stopped, or killed,
between the two plans no job twice. Kept in this user's own state folder, not beside the jobs: a folder of jobs may come
by mail, and figures that came with it would be believed without planning. Even so the files are read like ones from
elsewhere: strictly, and all laid aside if anything in one is not as it was written. A job counts as planned while its
digest (`desk.batch.parcel`) is the one it was planned with.
"""
from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, make_dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, get_type_hints

from pydantic import AfterValidator

from capture.language.messages import gettext, lazy_gettext, marked
from desk.actions.answers import to_json
from desk.jobfile.kinds import Entry, Length, Text, WholeFrom0, YesOrNo, words, wrong
from desk.jobfile.reader import read_as, schema_of, unknown_keys
from desk.jobfile.files import LARGEST_BYTES, parse_json
from desk.batch.outcome import Outcome
from desk.problem import JobFileError, Problem, file_error, printable
from desk.jobfile.save import sweep, write_whole

FORMAT, VERSION = "tapegroove-many-record", 1
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(slots=True, kw_only=True)
class Record:
    """The jobs planned so far, by name, each with the digest it had. folder: where they are kept, None for nowhere.
    note: what is wrong with it, a sentence."""

    folder: Path | None = None
    done: dict[str, tuple[str, Outcome]] = field(default_factory=dict)
    note: str = ""

    def digest_of(self, name: str) -> str:
        """The digest a job was planned with; "" if it was not."""
        return self.done[name][0] if name in self.done else ""

    def outcome_of(self, name: str) -> Outcome:
        """What came of a job that was planned."""
        return dataclasses.replace(self.done[name][1], earlier=True)

    def add(self, outcome: Outcome, digest: str) -> None:
        """Know of a job that has been planned (`keep_done` notes it)."""
        if outcome.planned and digest:
            self.done[outcome.name] = (digest, outcome)


def keep_done(folder: Path | None, outcome: Outcome, digest: str) -> str:
    """Note a job that has a plan; one that has none is tried again by the next run. Returns why it could not be noted,
    a sentence."""
    if folder is None or not outcome.planned or not digest:
        return ""
    try:
        write_whole(_file_of(folder, outcome.name), to_json(_tree(digest, outcome)).encode("utf-8"))
    except JobFileError as error:
        return gettext("{error} A run that is interrupted will begin anew.", error=error)
    return ""


def record_folder(folder: Path) -> Path:
    """Where the record of a folder of jobs is kept."""
    from platformdirs import user_state_path
    return user_state_path("tapegroove", appauthor=False) / "many" / _digest_of(str(folder.resolve()))


def open_record(folder: Path, names: Iterable[str], *, afresh: bool = False) -> Record:
    """The record in a folder, of the jobs named only; an empty one if there is none, if it cannot be used (`note` says
    so), or afresh: then what was kept of them is gone.
    """
    record = Record(folder=folder)
    sweep(folder)
    for name in names:
        path = _file_of(folder, name)
        try:
            if afresh:
                path.unlink(missing_ok=True)
            elif (found := _read(path)) is not None:
                record.done[name] = _of(found, name)
        except OSError as error:
            return Record(folder=folder, note=gettext(
                "What was planned before cannot be read ({path}: {why}); every job is planned.", path=path,
                why=error.strerror or error))
        except JobFileError as error:
            with contextlib.suppress(OSError):
                path.unlink()
            return Record(folder=folder, note=gettext(
                "What was planned before cannot be used ({path}: {error}) Every job is planned.", path=path,
                error=error))
    return record


def _file_of(folder: Path, name: str) -> Path:
    return folder / f"{_digest_of(name)}.json"


def _digest_of(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def _tree(digest: str, outcome: Outcome) -> dict[str, Any]:
    return {"format": FORMAT, "version": VERSION, "job": {"digest": digest} | dataclasses.asdict(outcome)}


def _line(text: str) -> str:
    if not text.isprintable():
        raise wrong(lazy_gettext("text on one line, as it was written"))
    return text


def _digest(text: str) -> str:
    if not _DIGEST.fullmatch(text):
        raise wrong(lazy_gettext("a digest, as it was written"))
    return text


_Line = Annotated[Text, AfterValidator(_line), words(marked("text, as it was written"))]
_READ_AS: dict[Any, Any] = {str: _Line, bool: YesOrNo, float: Length, int: WholeFrom0,
                            tuple[str, ...]: tuple[_Line, ...]}


class _Planned(Entry):
    """A job with a plan: nothing else is kept."""

    __slots__ = ()
    planned: bool

    def check(self) -> None:
        if not self.planned:
            raise wrong(lazy_gettext("a job with its plan, as it was written"))


#: A job as it was written: every figure of its outcome, and its digest.
_Job = make_dataclass("_Job", [("digest", Annotated[Text, AfterValidator(_digest), words(marked("a digest"))]), *(
    (name, _READ_AS[kind]) for name, kind in get_type_hints(Outcome).items())], bases=(_Planned,), kw_only=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Written(Entry):
    """The file."""

    format: Literal["tapegroove-many-record"]
    version: Annotated[Literal[1], words(marked("the version this program writes"))]
    job: _Job  # type: ignore[valid-type]


def _read(path: Path) -> Any:
    """The job in a file, None if there is no file. Raises OSError, or JobFileError unless everything in it is as
    `_tree` writes it."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise OSError(gettext("too large"))
        data = path.read_bytes()
    except FileNotFoundError:
        return None
    name = gettext("the record")
    tree = parse_json(data, name=name)
    found, problems = read_as(_Written, tree, name=name)
    problems += tuple(Problem(slug="wrong-field", where=place, says=gettext(
        "{place} holds the unknown {key}.", place=place or name, key=printable(key)))
                      for place, key, _ in unknown_keys(schema_of(_Written), tree))
    if found is None or problems:
        raise JobFileError(problems)
    return found.job


def _of(job: Any, name: str) -> tuple[str, Outcome]:
    """The digest and the outcome of a job as it was written. Raises JobFileError for another job's."""
    figures = vars(job).copy()
    digest = figures.pop("digest")
    if figures["name"] != name:
        raise file_error("wrong-field", gettext("{place} holds the unknown {key}.", place=gettext("the record"),
                                                key=figures["name"]))
    return digest, Outcome(**figures)
