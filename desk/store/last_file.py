"""The file beside a job in which what was worked out of it last is kept.

It bears this machine's seal: one that came with a folder from elsewhere, or that anybody changed, is as good as none.
"""
from __future__ import annotations

import json
from pathlib import Path

from desk.jobfile.save import write_whole
from desk.problem import JobFileError
from desk.store.machine_key import is_sealed, seal_of

LAST_NAME = ".last.json"
#: A survey of a hundred points with its plan stays below this.
_LARGEST_BYTES = 8_000_000


def read_last(folder: Path) -> object:
    """The JSON in it; None where there is none, or none that this machine wrote."""
    path = folder / LAST_NAME
    try:
        if path.is_symlink() or not path.is_file() or path.stat().st_size > _LARGEST_BYTES:
            return None
        told = json.loads(path.read_bytes())
        return told["last"] if isinstance(told, dict) and is_sealed(told.get("last"), told.get("seal")) else None
    except (OSError, ValueError, RecursionError):
        return None


def write_last(folder: Path, tree: object) -> None:
    """Keep it, whole or not at all; a disk that refuses costs no more than the wait at the next opening."""
    try:
        write_whole(folder / LAST_NAME, json.dumps({"seal": seal_of(tree), "last": tree}, allow_nan=False).encode())
    except (JobFileError, ValueError):
        return
