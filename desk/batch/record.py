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
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from desk.actions.answers import to_json
from desk.jobfile.json_reader import LARGEST, Node
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
            self.path, self.note = None, f"{error} A run that is interrupted will begin anew."
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
            raise OSError("too large")
        data = path.read_bytes()
    except FileNotFoundError:
        return record
    except OSError as error:
        record.note = (f"What was planned before cannot be read ({path}: {error.strerror or error}); "
                       "every job is planned.")
        return record
    try:
        done = _read(data)
    except JobFileError as error:
        record.note = f"What was planned before cannot be used ({path}: {error}) Every job is planned."
        return record
    record.done = {name: done[name] for name in names if name in done}
    return record


def _tree(done: dict[str, tuple[str, Outcome]]) -> dict[str, Any]:
    return {"format": FORMAT, "version": VERSION,
            "jobs": [{"digest": digest} | dataclasses.asdict(outcome) for digest, outcome in done.values()]}


def _read(data: bytes) -> dict[str, tuple[str, Outcome]]:
    """Raises JobFileError unless everything in it is as `_tree` writes it."""
    problems: list[Problem] = []
    root = Node(parse_json(data, name="the record"), "", problems)
    found = root.attempt(_jobs)
    problems += [Problem(slug="wrong-field", where=place,
                         says=f"{place or 'the record'} holds the unknown {printable(key)}.")
                 for place, key, _ in root.unread()]
    if found is None or problems:
        raise JobFileError(problems)
    return {outcome.name: (digest, outcome) for digest, outcome in found}


def _jobs(root: Node) -> tuple[tuple[str, Outcome], ...]:
    root.mapping().leave("format", "version")
    if root.value.get("format") != FORMAT or root.value.get("version") != VERSION:
        raise root.fault("it is of another kind or version.", "wrong-format")
    return root.each("jobs", _job)


def _job(node: Node) -> tuple[str, Outcome]:
    """A job with a plan: nothing else is kept."""
    node.mapping()
    digest = node.need("digest", Node.text, wanted="a digest")
    figures: dict[str, Any] = {each.name: node.need(each.name, _READERS[str(each.type)], wanted="as it was written")
                               for each in dataclasses.fields(Outcome)}
    if not _DIGEST.fullmatch(digest) or not figures["planned"] or not all(map(str.isprintable, _texts(figures))):
        raise node.wrong("a job with its plan, as it was written")
    return digest, Outcome(**figures)


def _texts(figures: dict[str, Any]) -> tuple[str, ...]:
    return (figures["name"], figures["title"], *figures["doubts"], *figures["says"])


def _sentences(node: Node) -> tuple[str, ...]:
    if not isinstance(node.value, list):
        raise node.wrong("a list of sentences")
    return tuple(node.child(place).text() for place in range(len(node.value)))


def _figure(node: Node) -> float:
    return node.number(wanted=f"a number from 0 to {LARGEST:g}", least=0.0)


_READERS: dict[str, Any] = {"str": Node.text, "bool": Node.yes_or_no, "float": _figure, "tuple[str, ...]": _sentences,
                            "int": lambda node: node.whole(wanted="a whole number", least=0)}
