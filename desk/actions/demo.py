"""The demo job: an invented room that travels with the tool, copied out to be looked at and tried on."""
from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from capture.language.messages import gettext
from desk.jobfile.files import JOB_NAME
from desk.store.photos import PHOTO_DIR
from desk.problem import file_error
from desk.jobfile.save import names_in, write_whole

PACK_DIR = "pack"


def copy_demo(folder: Path) -> Path:
    """Copy the demo job into `folder` and return it; a folder that holds exactly an earlier demo is taken as it is.

    Raises JobFileError, before anything is written, if the folder holds other files.
    """
    demo = demo_files()
    if folder.exists():
        _refuse_foreign(folder, demo)
    for name, data in demo.items():
        write_whole(folder / name, data)
    return folder


def demo_files() -> dict[str, bytes]:
    """The demo's files by relative name."""
    source = files("demo_photos")
    found = {JOB_NAME: (source / JOB_NAME).read_bytes()}
    pictures = (entry for entry in (source / PHOTO_DIR).iterdir() if entry.is_file() and not entry.name.startswith("."))
    return found | {f"{PHOTO_DIR}/{entry.name}": entry.read_bytes() for entry in pictures}


def _refuse_foreign(folder: Path, demo: dict[str, bytes]) -> None:
    if not folder.is_dir():
        raise file_error("folder-in-use", gettext(
            "{folder} is not a folder; name a new folder for the demo.", folder=folder))
    for name in sorted(names_in(folder)):
        if name.startswith(f"{PACK_DIR}/"):
            continue
        if name not in demo or (folder / name).read_bytes() != demo[name]:
            raise file_error("folder-in-use",
                             gettext(
                                 "{folder} already holds something that is not the demo as it came ({name}); name a "
                                 "new folder for the demo.", folder=folder, name=name))
