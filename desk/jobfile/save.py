"""Files written whole or not at all: into a temporary neighbour first, then moved into place.

Neighbours are called ``.NAME.xxxxxxxx.part`` while they are written, and ``.NAME.xxxxxxxx.old`` for the moment in which
an earlier folder is out of the way. What a write that was cut off leaves of them is taken away by the next one, or put
back where nothing else is left.
"""
from __future__ import annotations

import os
import re
import secrets
import shutil
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from desk.jobfile.exchange import exchange
from desk.problem import JobFileError, file_error

#: A temporary neighbour of this age belongs to a write that was cut off, s.
STALE_S = 600.0
_NEIGHBOUR = re.compile(r"[.].+[.][a-z0-9_]{8}[.](part|old)", re.DOTALL)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that a reader, or a power cut, finds the old bytes or the new ones and nothing between.

    Raises JobFileError if the disk refuses; the old file is then untouched.
    """
    temporary = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        temporary = _neighbour(path, "part")
        _write_to_disk(temporary, data)
        os.replace(temporary, path)
        _settle(path.parent)
    except OSError as error:
        if temporary is not None:
            _forget(temporary)
        raise _refused(path, error) from error


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write several files, all or none: none is moved into place before the disk holds every one of them.

    Raises JobFileError if the disk refuses; the old files are then untouched.
    """
    waiting: dict[Path, Path] = {}
    try:
        for path, data in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            waiting[path] = _neighbour(path, "part")
            _write_to_disk(waiting[path], data)
        for path, temporary in waiting.items():
            os.replace(temporary, path)
            _settle(path.parent)
    except OSError as error:
        for temporary in waiting.values():
            _forget(temporary)
        raise _refused(path, error) from error


def sweep(folder: Path) -> None:
    """Take away what writes that were cut off left in a folder, once it is old enough to be nobody's work in progress.

    An earlier folder that was out of the way when its writer ended, with nothing in its place, is put back.
    """
    for path in folder.glob(".*"):
        try:
            if not _NEIGHBOUR.fullmatch(
                    path.name) or path.is_symlink() or time.time() - path.stat().st_mtime <= STALE_S:
                continue
            if path.is_dir():
                _put_back(path)
                shutil.rmtree(path)
            else:
                path.unlink()
        except OSError:
            continue


def write_folder(folder: Path, files: Mapping[str, bytes], *, foreign: Callable[[set[str]], set[str]]) -> None:
    """Make `folder` hold exactly these files, or leave it as it was.

    files: relative names with forward slashes. An existing folder is replaced only if `foreign`, given the names in it,
    finds none that is not an earlier result of this tool. Raises JobFileError otherwise, or if the disk refuses.
    """
    folder = folder.absolute()
    _put_back_last(folder)
    refuse_foreign(folder, foreign)
    building = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        sweep(folder.parent)
        building = _neighbour(folder, "part")
        _build(building, files)
        _swap(building, folder)
        _settle(folder.parent)
    except OSError as error:
        raise _refused(folder, error) from error
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


def _neighbour(path: Path, ending: str) -> Path:
    return path.with_name(f".{path.name}.{secrets.token_hex(4)}.{ending}")


def _write_to_disk(path: Path, data: bytes) -> None:
    """A new file, as readable by others as the process's mask says: the system applies it where a file is made."""
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666),
                   "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _build(building: Path, files: Mapping[str, bytes]) -> None:
    """The folder with its files, all of it on the disk and not on its way there."""
    building.mkdir()
    for name, data in files.items():
        (building / name).parent.mkdir(parents=True, exist_ok=True)
        _write_to_disk(building / name, data)
    for place in {building, *((building / name).parent for name in files)}:
        _settle(place)


def _swap(building: Path, folder: Path) -> None:
    """Put the finished folder into place and the earlier one where it was built: in one step, where the system has
    one."""
    if not folder.exists():
        os.rename(building, folder)
    elif not exchange(building, folder):
        _swap_by_turns(building, folder)


def _swap_by_turns(building: Path, folder: Path) -> None:
    """The same in two steps; if the second fails the earlier folder comes back, and if there is nobody left to do
    that, at the next write."""
    aside = _neighbour(folder, "old")
    aside.mkdir()
    kept = aside / folder.name
    try:
        os.rename(folder, kept)
        try:
            os.rename(building, folder)
        except OSError:
            os.rename(kept, folder)
            raise
    finally:
        if folder.exists():
            shutil.rmtree(aside, ignore_errors=True)


def _put_back_last(folder: Path) -> None:
    """Where a folder is missing, its earlier state that a writer left beside it: a write to it is about to begin, so
    no other is going on."""
    if not folder.parent.is_dir():
        return
    for aside in sorted(folder.parent.glob(f".{_literal(folder.name)}.*.old"), key=lambda path: path.stat().st_mtime,
                        reverse=True):
        if _NEIGHBOUR.fullmatch(aside.name) and not aside.is_symlink():
            try:
                _put_back(aside)
            except OSError:
                continue


def _put_back(aside: Path) -> None:
    name = aside.name[1:].rpartition(".")[0].rpartition(".")[0]
    folder = aside.with_name(name)
    if aside.suffix == ".old" and (aside / name).is_dir() and not folder.exists():
        os.rename(aside / name, folder)


def _literal(name: str) -> str:
    return re.sub(r"([*?[])", r"[\1]", name)


def _refused(path: Path, error: OSError) -> JobFileError:
    return file_error("cannot-write", f"{path} could not be written ({error.strerror or error}); "
                                      "nothing was changed: free some space or choose another folder.")


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


def _forget(path: Path) -> None:
    try:
        path.unlink()
    except OSError:
        return
