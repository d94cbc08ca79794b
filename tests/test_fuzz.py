"""A second of fuzzing for every aim, after each input it begins with; longer runs by command (`tests/fuzz/run.py`).
"""
from __future__ import annotations

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
def test_a_second_of_fuzzing_finds_nothing(aim, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(ROOT)
    is_sound = run.run_aim(aim, 1.0, tmp_path, 1)
    kept = [f"{path.name}: {path.read_bytes().hex()}" for path in tmp_path.iterdir()]
    assert is_sound, "\n".join([capsys.readouterr().out[-6000:], *kept])


def test_an_input_that_was_slow_for_the_machines_other_work_alone_is_no_finding(tmp_path):
    kept = tmp_path / "lengths-timeout-1"
    kept.write_bytes(b"4.312 m")
    told = (f"ALARM: working on the last Unit for 12 seconds\nartifact_prefix='{tmp_path}/lengths-'; Test unit written "
            f"to {kept}\nBase64: ")
    assert run.was_busy("lengths", told) and not kept.exists()
    assert not run.was_busy("lengths", told), "an input that cannot be run again stays a finding"
    assert not run.was_busy("lengths", told.replace("timeout", "crash"))
