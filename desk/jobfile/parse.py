"""From the JSON of a job file to a Job: every field checked, every fault told with its place.

Keys this version does not know are neither read nor refused; they stay in the job, and `unknown_keys` lists them.
"""
from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Any

from capture.language.messages import gettext
from desk.jobfile import reader
from desk.jobfile.job import Job
from desk.problem import JobFileError, Problem, file_error, shown

FORMAT = "tapegroove-job"
VERSION = 1


def parse_job(tree: Any) -> Job:
    """The Job of a JSON tree, which is the job's from now on. Raises JobFileError with every fault found."""
    job, problems = parse_tree(tree)
    if problems:
        raise JobFileError(problems)
    return job


def parse_tree(tree: Any) -> tuple[Job, tuple[Problem, ...]]:
    """The Job of what can be read of a JSON tree, and every fault; entries with a fault are left out of the Job.

    Raises JobFileError if the tree is no job of a known version at all.
    """
    told = _of_known_version(tree)
    # A kept plan is read by `desk.actions.kept_plan` when it is wanted; here it is only known to be one.
    plan: dict[str, Any] = {"plan": {}} if isinstance(told.get("plan"), dict) else {}
    try:
        job, problems = reader.read_as(Job, told | plan)
    except RecursionError:
        raise file_error("unreadable-job", gettext("job.json holds a nesting too deep for any job; go back to a copy.")
                         ) from None
    return replace(job or Job(), data=told), problems


def unknown_keys(tree: Any) -> tuple[tuple[str, str, set[str]], ...]:
    """(place, key, keys known there) of every key of a JSON tree that no version up to this one knows. They are
    kept, not used."""
    return tuple(reader.unknown_keys(_shipped_schema(), _of_known_version(tree)))


@cache
def _shipped_schema() -> dict[str, Any]:
    """The schema of `Job` (`desk.jobfile.schema`): to read it takes far less time than to make it."""
    return json.loads((resources.files("desk") / "schemas" / f"{FORMAT}-{VERSION}.schema.json").read_text("utf-8"))


def _of_known_version(tree: Any) -> dict[str, Any]:
    """The tree, if it is a job of a version this tool reads; a job that does not say is taken as version 1."""
    if not isinstance(tree, dict):
        raise file_error("unreadable-job", gettext(
            "job.json holds {value}, not a job; it must be one object in braces with an outline.", value=shown(tree)))
    kind, version = tree.get("format", FORMAT), tree.get("version", VERSION)
    if kind != FORMAT:
        raise file_error("wrong-format", gettext(
            'format is {kind}, so this is another kind of file; a job says "{format}".',
            kind=shown(kind), format=FORMAT), where="format")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise file_error("wrong-format", gettext(
            "version is {version}, but it must be a whole number from 1 to {newest}.",
            version=shown(version), newest=VERSION), where="version")
    if version > VERSION:
        raise file_error("newer-format", gettext(
            "This job was saved by a newer version of the tool (job format {version}; this one reads up to "
            "{newest}); update the tool to open it.", version=version, newest=VERSION),
                         where="version")
    return tree
