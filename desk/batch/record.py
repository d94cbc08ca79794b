"""Which jobs of a folder have been planned, so that a run that was interrupted goes on where it stopped.

Kept in this user's own state folder, not beside the jobs: a folder of jobs may come by mail, and figures that came with
it would be believed without planning. Even so the file is read like one from elsewhere: strictly, and laid aside as a
whole if anything in it is not as it was written. A job counts as planned while its digest (`desk.batch.parcel`) is the
one it was planned with.
"""
from __future__ import annotations

import dataclasses
import hashlib
import re
import time
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
from desk.problem import JobFileError, Problem, printable
from desk.jobfile.save import write_whole

FORMAT, VERSION = "tapegroove-many-record", 1
#: The file is written at most this often, s: whoever pulls the plug loses the jobs of that time at most.
_PAUSE_S = 1.0
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(slots=True, kw_only=True)
class Record:
    """The jobs planned so far, by name, each with the digest it had. path: where they are kept, None for nowhere."""

    path: Path | None = None
    done: dict[str, tuple[str, Outcome]] = field(default_factory=dict)
    note: str = ""
    _unsaved: bool = False
    _saved_s: float = 0.0

    def digest_of(self, name: str) -> str:
        """The digest a job was planned with; "" if it was not."""
        return self.done[name][0] if name in self.done else ""

    def outcome_of(self, name: str) -> Outcome:
        """What came of a job that was planned."""
        return dataclasses.replace(self.done[name][1], earlier=True)

    def keep(self, outcome: Outcome, digest: str) -> None:
        """Note a job that has a plan; one that has none is tried again by the next run."""
        if outcome.planned and digest:
            self.done[outcome.name] = (digest, outcome)
            self._unsaved = True

    def settle(self, *, now: bool = False) -> None:
        """Write the file if there is news and the last time is a while ago (now: in any case). `note` says if the disk
        refuses.
        """
        if self.path is None or not self._unsaved or not (now or time.monotonic() - self._saved_s > _PAUSE_S):
            return
        try:
            write_whole(self.path, to_json(_tree(self.done)).encode("utf-8"))
        except JobFileError as error:
            self.path, self.note = None, gettext(
                "{error} A run that is interrupted will begin anew.", error=error)
        self._unsaved, self._saved_s = False, time.monotonic()


def record_path(folder: Path) -> Path:
    """Where the record of a folder of jobs is kept."""
    from platformdirs import user_state_path
    here = hashlib.sha256(str(folder.resolve()).encode("utf-8", "surrogatepass")).hexdigest()[:32]
    return user_state_path("tapegroove", appauthor=False) / "many" / f"{here}.json"


def open_record(path: Path, names: Iterable[str], *, afresh: bool = False) -> Record:
    """The record at a path, of the jobs named only; an empty one if there is none, if it cannot be used (`note` says
    so), or afresh.
    """
    record = Record(path=path)
    if afresh:
        return record
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise OSError(gettext("too large"))
        data = path.read_bytes()
    except FileNotFoundError:
        return record
    except OSError as error:
        record.note = gettext(
            "What was planned before cannot be read ({path}: {why}); every job is planned.", path=path,
            why=error.strerror or error)
        return record
    try:
        done = _read(data)
    except JobFileError as error:
        record.note = gettext(
            "What was planned before cannot be used ({path}: {error}) Every job is planned.", path=path, error=error)
        return record
    record.done = {name: done[name] for name in names if name in done}
    return record


def _tree(done: dict[str, tuple[str, Outcome]]) -> dict[str, Any]:
    return {"format": FORMAT, "version": VERSION,
            "jobs": [{"digest": digest} | dataclasses.asdict(outcome) for digest, outcome in done.values()]}


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
    jobs: tuple[_Job, ...]  # type: ignore[valid-type]


def _read(data: bytes) -> dict[str, tuple[str, Outcome]]:
    """Raises JobFileError unless everything in it is as `_tree` writes it."""
    name = gettext("the record")
    tree = parse_json(data, name=name)
    found, problems = read_as(_Written, tree, name=name)
    problems += tuple(Problem(slug="wrong-field", where=place, says=gettext(
        "{place} holds the unknown {key}.", place=place or name, key=printable(key)))
                      for place, key, _ in unknown_keys(schema_of(_Written), tree))
    if found is None or problems:
        raise JobFileError(problems)
    jobs = [vars(job).copy() for job in found.jobs]
    return {figures["name"]: (figures.pop("digest"), Outcome(**figures)) for figures in jobs}
