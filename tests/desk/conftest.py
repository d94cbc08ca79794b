"""Small jobs with names a fitter would use, and a way to put one on disk."""
from __future__ import annotations

import io
import json
import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from desk.server.app import Opened, open_desk
from tests.support.houses import invented_flat
from tests.support.kept_processes import keep_processes
from tests.support.patience import PATIENCE_S
from tests.support.solved import answer_once

JOBS = Path(__file__).parent.parent / "data" / "jobs" / "v1"


def _tree(name: str) -> dict:
    return json.loads((JOBS / f"{name}.json").read_text())


@pytest.fixture
def box() -> dict:
    """Tape alone: a 4 x 3 m room with both diagonals, a pipe, a door, boards."""
    return _tree("box")


@pytest.fixture
def l_floor() -> dict:
    """A floor given as coordinates, in feet and inches for people, with flooring."""
    return _tree("l_floor")


@pytest.fixture
def closet() -> dict:
    """A floor of 1.4 x 1.2 m given as coordinates, with a pipe, in feet and inches for people: planned and printed
    in a moment."""
    return {"title": "Closet (invented)", "date": "2026-03-05", "show": "imperial",
            "floor": {"outline": [[0, 0], [1400, 0], [1400, 1200], [0, 1200]]},
            "pipes": [{"name": "P1", "diameter": 15, "at": [700, 60]}],
            "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}}


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A flat of three rooms."""
    return invented_flat(tmp_path / "flat")


@pytest.fixture
def in_photos() -> dict:
    """A 4.3 x 3.4 m room: three photos without their picture files, two tape lengths. The marks were made with OpenCV's
    projectPoints from a lens of 1180 px and k1 0.01, with 1 px of noise."""
    return _tree("photos")


@pytest.fixture
def own_record(tmp_path, monkeypatch):
    """What this user's commands remember of many jobs lies in the test's own folder, on every system."""
    for name in ("XDG_STATE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path / "state"))


@pytest.fixture
def three_jobs(tmp_path) -> Path:
    """A folder of three jobs that misbehave in no way: attic, bath, cellar."""
    from tests.support.bad_jobs import write_job
    for name in ("attic", "bath", "cellar"):
        write_job(tmp_path / "jobs" / name, name)
    return tmp_path / "jobs"


@pytest.fixture
def on_disk(tmp_path):
    """Writes a tree, or raw bytes, as job.json in a fresh folder and returns the folder."""
    def put(content) -> Path:
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        data = content if isinstance(content, bytes) else json.dumps(content).encode()
        (folder / "job.json").write_bytes(data)
        return folder
    return put


@pytest.fixture
def jpeg():
    """Bytes of a small grey JPEG; `focal_35mm` writes the EXIF tag of that name, `orientation` the one of that name."""
    def make(width: int = 80, height: int = 60, *, focal_35mm: int | None = None,
             orientation: int | None = None) -> bytes:
        image = Image.fromarray(np.full((height, width, 3), 128, dtype=np.uint8))
        exif = Image.Exif()
        if orientation:
            exif[0x0112] = orientation
        if focal_35mm:
            exif.get_ifd(0x8769)[0xA405] = focal_35mm
        target = io.BytesIO()
        image.save(target, "JPEG", exif=exif)
        return target.getvalue()
    return make


@pytest.fixture
def processes_kept(monkeypatch):
    """The processes of one desk go on to the next."""
    keep_processes(monkeypatch)


@pytest.fixture
def running(tmp_path, processes_kept) -> Iterator[Opened]:
    """A desk on an empty job that listens and answers, in a thread of the tests."""
    opened = open_desk(tmp_path / "job", 0)
    thread = threading.Thread(target=opened.run, daemon=True)
    thread.start()
    yield opened
    opened.stop()
    thread.join(timeout=PATIENCE_S)
    assert not thread.is_alive()


@pytest.fixture(autouse=True)
def answers_once(monkeypatch):
    """The same job is solved and planned once, for whoever asks."""
    answer_once(monkeypatch)
