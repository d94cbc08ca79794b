"""What was worked out of a job last, kept on this machine and not in the job's folder: whoever copies the folder, or
packs it up for somebody, passes on the job and nothing else.

In the user's own cache folder, or beside the file that TAPEGROOVE_SETTINGS names; where that is set and empty, nowhere.
Each job has one file, named by where its folder lies; the oldest go when there are too many.
"""
from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

from desk.jobfile.save import write_whole
from desk.problem import JobFileError
from desk.store.settings import PLACE

#: A survey of a hundred points with its plan stays below this.
_LARGEST_BYTES = 8_000_000
#: So many jobs are remembered.
_JOBS = 30


def last_path(folder: Path) -> Path | None:
    """The file of the job in `folder`; None: nowhere."""
    if (said := os.environ.get(PLACE)) is not None:
        if not said:
            return None
        place = Path(said).parent / "last"
    else:
        from platformdirs import user_cache_path
        place = user_cache_path("tapegroove", appauthor=False) / "last"
    return place / f"{hashlib.sha256(os.fsencode(folder.resolve())).hexdigest()[:32]}.json"


def read_last(folder: Path) -> object:
    """The JSON kept for the job in `folder`; None where there is none, or none that can be read."""
    path = last_path(folder)
    try:
        if path is None or path.is_symlink() or not path.is_file() or path.stat().st_size > _LARGEST_BYTES:
            return None
        return json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None


def write_last(folder: Path, tree: object) -> None:
    """Keep it, whole or not at all; a disk that refuses costs no more than the wait at the next opening."""
    path = last_path(folder)
    if path is None:
        return
    try:
        write_whole(path, json.dumps(tree, allow_nan=False).encode())
        _forget_oldest(path.parent)
    except (OSError, JobFileError, ValueError):
        return


def _forget_oldest(place: Path) -> None:
    kept = sorted(place.glob("[0-9a-f]*.json"), key=lambda path: path.stat().st_mtime)
    for path in kept[:-_JOBS]:
        path.unlink(missing_ok=True)
