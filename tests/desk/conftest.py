"""Small jobs with names a fitter would use, and a way to put one on disk."""
from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

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
def in_photos() -> dict:
    """A 4.3 x 3.4 m room: three photos without their picture files, two tape lengths. The marks were made with OpenCV's
    projectPoints from a lens of 1180 px and k1 0.01, with 1 px of noise."""
    return _tree("photos")


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
