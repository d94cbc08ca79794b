"""A minute of fuzzing, shared by every aim; longer runs by command (`tests/fuzz/run.py`)."""
from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.fuzz import aims, run

ROOT = Path(__file__).parent.parent


def test_the_command_knows_every_aim():
    assert run.AIMS == tuple(aims.AIMS)


@pytest.mark.parametrize("aim", aims.AIMS)
def test_sound_inputs_are_no_findings(aim):
    for data in aims.seeds(aim):
        aims.AIMS[aim](data)


@pytest.mark.parametrize("aim", aims.AIMS)
def test_some_seconds_of_fuzzing_find_nothing(aim, tmp_path):
    done = subprocess.run([sys.executable, "-m", "tests.fuzz.run", aim, "--seconds", str(60 / len(aims.AIMS)), "--keep", str(tmp_path)],
                          cwd=ROOT, capture_output=True, text=True)
    kept = [f"{path.name}: {path.read_bytes().hex()}" for path in tmp_path.iterdir()]
    assert done.returncode == 0, "\n".join([done.stdout[-6000:], *kept])
