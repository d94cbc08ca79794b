"""Files written whole or not at all: into a temporary neighbour first, then moved into place."""
from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from desk.problem import file_error

#: A temporary file of this age belongs to a write that was cut off, s.
STALE_S = 3600.0


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that a reader, or a power cut, finds the old bytes or the new ones and nothing between.

    Raises JobFileError if the disk refuses; the old file is then untouched.
    """
    temporary = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes files private; a job is shared like any other document.
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, path)
        _settle(path.parent)
    except OSError as error:
        if temporary is not None:
            _forget(temporary)
        raise file_error("cannot-write", f"{path} could not be written ({error.strerror or error}); "
                                         "nothing was changed: free some space or choose another folder.") from error


def sweep(folder: Path) -> None:
    """Take away what writes that were cut off left in a folder, once it is old enough to be nobody's work in
    progress."""
    for path in folder.glob(".*.part"):
        try:
            if path.is_file() and not path.is_symlink() and time.time() - path.stat().st_mtime > STALE_S:
                path.unlink()
        except OSError:
            continue


def write_folder(folder: Path, files: Mapping[str, bytes], *, foreign: Callable[[set[str]], set[str]]) -> None:
    """Make `folder` hold exactly these files, or leave it as it was.

    files: relative names with forward slashes. An existing folder is replaced only if `foreign`, given the names in it,
    finds none that is not an earlier result of this tool. Raises JobFileError otherwise, or if the disk refuses.
    """
    refuse_foreign(folder, foreign)
    parent = folder.absolute().parent
    building = None
    try:
        parent.mkdir(parents=True, exist_ok=True)
        building = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".part", dir=parent))
        os.chmod(building, 0o777 & ~_umask())
        for name, data in files.items():
            (building / name).parent.mkdir(parents=True, exist_ok=True)
            (building / name).write_bytes(data)
        _swap(building, folder.absolute())
    except OSError as error:
        raise file_error("cannot-write", f"{folder} could not be written ({error.strerror or error}); "
                                         "nothing was changed: free some space or choose another folder.") from error
    finally:
        if building is not None:
            shutil.rmtree(building, ignore_errors=True)


def names_in(folder: Path) -> set[str]:
    """Relative names, with forward slashes, of every file under a folder."""
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir() or path.is_symlink()}


def refuse_foreign(folder: Path, foreign: Callable[[set[str]], set[str]]) -> None:
    """Raise JobFileError if writing a result into `folder` would cost somebody other files (see `write_folder`)."""
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise file_error("folder-in-use", f"{folder} is not a folder; choose a new folder to write into.")
    if not folder.exists():
        return
    lost = foreign(names_in(folder))
    if lost:
        raise file_error("folder-in-use", f"{folder} holds other files ({min(lost)}, for one), and they would be lost; "
                                          "choose a new or empty folder.")


def _swap(building: Path, folder: Path) -> None:
    """Move the finished folder into place; if that fails the earlier one comes back."""
    if not folder.exists():
        os.rename(building, folder)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".old", dir=folder.parent))
    kept = aside / folder.name
    os.rename(folder, kept)
    try:
        os.rename(building, folder)
    except OSError:
        os.rename(kept, folder)
        raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _umask() -> int:
    """The process's file mask; reading it means setting it for a moment."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def _settle(folder: Path) -> None:
    """Ask the system to keep the folder's new entry, where it can (folders cannot be opened on every system)."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        return
    finally:
        os.close(handle)


def _forget(path: str) -> None:
    try:
        os.unlink(path)
    except OSError:
        return
