"""Reading and writing a job: a folder with job.json and photos/.

Format 1 is the only one so far. A later format adds its step here, from the older tree to the newer, before the tree is
read; the file itself is never rewritten by reading it.
"""
from __future__ import annotations

import datetime
import json
import math
import re
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from capture.language.messages import gettext, lazy_gettext
from desk.jobfile.day_entries import DayEntry, entry_tree
from desk.jobfile.job import Job
from desk.jobfile.kinds import is_tag, key_of
from desk.jobfile.parse import parse_job, parse_tree
from desk.problem import JobFileError, file_error
from desk.jobfile.save import write_whole
from layout.replan.events import Event

JOB_NAME = "job.json"
#: A job file larger than this is no job (a room of a hundred photos stays below 1 MB).
LARGEST_BYTES = 20_000_000
#: How half a letter may be written; whole ones of the same look are two halves.
_HALF_A_LETTER = re.compile(r"\\u[dD][89a-fA-F]")

#: The field that a key of the file is read into.
FIELD_OF = {key_of(each.name): each.name for each in fields(Job)} | {"plan": "has_plan"}

__all__ = ["JOB_NAME", "job_folder", "language_named", "parse_job", "parse_tree", "read_job",
           "read_tree", "readable_job", "with_entry", "with_keys", "with_plan_data", "write_job"]


def read_job(folder: Path) -> Job:
    """The job in a folder. Raises JobFileError, with every fault, if there is none or it cannot be read."""
    return parse_job(read_tree(folder))


def readable_job(folder: Path) -> Job | None:
    """The job in a folder; None if there is none or it cannot be read, for those who go on without it."""
    try:
        return read_job(folder)
    except (JobFileError, OSError):
        return None


def language_named(folder: Path) -> str | None:
    """The language that the job in a folder asks for, spoken here or not; None where it names none or cannot be
    read."""
    try:
        tree = read_tree(folder)
    except JobFileError:
        return None
    tag = tree.get("language") if isinstance(tree, dict) else None
    return str(tag) if is_tag(tag) else None


def write_job(folder: Path, job: Job) -> None:
    """Save the job, whole or not at all. Raises JobFileError if the disk refuses; the earlier file is then
    untouched."""
    write_whole(folder / JOB_NAME, job.text.encode("utf-8"))


def with_keys(job: Job, **keys: Any) -> Job:
    """The job with top-level keys set afresh (None takes a key out); they alone are read. Raises JobFileError if they
    do not fit."""
    told = parse_job({key: value for key, value in keys.items() if value is not None})
    data = {key: value for key, value in (job.data | keys).items() if not (key in keys and value is None)}
    return replace(job, data=data, **{FIELD_OF[key]: getattr(told, FIELD_OF[key]) for key in keys if key in FIELD_OF})


def with_plan_data(job: Job, plan: dict[str, Any]) -> Job:
    """The job with a plan of this program's own making kept in it."""
    return replace(job, data=job.data | {"plan": plan}, has_plan=True)


def with_entry(job: Job, event: Event | int, said: str, on: datetime.date) -> Job:
    """The job with one entry more in its log: an event, or the number of the entry that it takes back."""
    undoes, told = (event, {"what": "undo", "entry": event}) if isinstance(event, int) else (0, entry_tree(event))
    entry = DayEntry(event=None if isinstance(event, int) else event, undoes=undoes, said=said,
                     where=f"day[{len(job.day)}]")
    log = [*(job.data.get("day") or []), told | {"said": said, "on": on.isoformat()}]
    return replace(job, data=job.data | {"day": log}, day=(*job.day, entry))


def job_folder(path: Path) -> Path:
    """The folder of a job named by its folder or by its job.json. Raises JobFileError if there is no job there."""
    folder = path.parent if path.name == JOB_NAME and not path.is_dir() else path
    if path.suffix.lower() == ".zip":
        raise file_error("no-job", gettext("{path} is a zip file; unpack it and name the folder it makes.", path=path))
    if not folder.is_dir():
        raise file_error("no-job", gettext(
            "There is no folder {folder}; name the folder that holds {file}.", folder=folder, file=JOB_NAME))
    if not (folder / JOB_NAME).is_file():
        raise file_error("no-job",
                         gettext(
                             "The folder {folder} holds no {file}; name the folder of a job, or make one with "
                             "tapegroove demo.", folder=folder, file=JOB_NAME))
    return folder


def read_tree(folder: Path) -> Any:
    """The JSON of the job in a folder, as plain data. Raises JobFileError if it cannot be read."""
    path = job_folder(folder) / JOB_NAME
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise file_error("unreadable-job",
                             gettext(
                                 "{path} is larger than {most} MB, so it is no job; name another file.", path=path,
                                 most=LARGEST_BYTES // 1_000_000))
        data = path.read_bytes()
    except OSError as error:
        raise file_error("unreadable-job", gettext(
            "{path} cannot be read ({why}); check that it may be opened.", path=path,
            why=error.strerror or error)) from error
    return parse_json(data, name=str(path))


def parse_json(data: bytes, *, name: str) -> Any:
    """Plain data from JSON text in UTF-8, with or without a byte order mark.

    Raises JobFileError for broken text, naming the line, and for NaN, infinities and keys that stand twice.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise file_error("unreadable-job",
                         gettext(
                             "{name} is not UTF-8 text (byte {byte}); save it as UTF-8, or go back to a copy.",
                             name=name, byte=error.start + 1)) from None
    try:
        tree = json.loads(text, object_pairs_hook=_without_doubles, parse_constant=_not_finite, parse_float=_finite)
        if _HALF_A_LETTER.search(text):
            json.dumps(tree, ensure_ascii=False).encode("utf-8")
        return tree
    except UnicodeEncodeError:
        raise file_error("unreadable-job", gettext(
            "{name} holds text that is no text (half a letter, written \\ud...); take it out, or go back to a copy.",
            name=name)) from None
    except json.JSONDecodeError as error:
        raise _broken(text, error, name) from None
    except (RecursionError, ValueError):
        raise file_error("unreadable-job", gettext(
            "{name} holds a number or a nesting too large for any job; go back to a copy.", name=name)) from None


def _broken(text: str, error: json.JSONDecodeError, name: str) -> JobFileError:
    cut_short = not text[error.pos:].strip() or error.msg.startswith("Unterminated string")
    says = (lazy_gettext("{name} stops in the middle, as if it was not saved completely (line {line}, column "
                         "{column}); go back to a copy of it, or mend that line.") if cut_short else
            lazy_gettext("{name} is not valid JSON (line {line}, column {column}); go back to a copy of it, or "
                         "mend that line."))
    return file_error("unreadable-job", str(says.filled(name=name, line=error.lineno, column=error.colno)))


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise file_error("double-key",
                             gettext(
                                 'The key "{key}" stands twice in one object of job.json; keep the one that is right.',
                                 key=key[:60]))
        found[key] = value
    return found


def _finite(word: str) -> float:
    value = float(word)
    return value if math.isfinite(value) else _not_finite(word)


def _not_finite(word: str) -> Any:
    raise file_error("not-finite", gettext(
        "job.json holds {word} where a number should be; write a number or take it out.", word=word))
