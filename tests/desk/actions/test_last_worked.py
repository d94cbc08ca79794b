"""What is kept of a job is drawn for that job only, and a file that somebody changed is left alone."""
from __future__ import annotations

import json
import os
from dataclasses import replace

import numpy as np
import pytest

from desk.actions.last_worked import last_tree, last_worked
from desk.actions.pipeline import survey_job
from desk.jobfile.files import parse_job, with_keys
from desk.jobfile.save import names_in
from desk.store.last_file import last_path, read_last, write_last

PLACES = {"A": (0, 0), "B": (4000, 0), "C": (4000, 3000), "D": (0, 3000)}


def taped_job(**more):
    tape = [{"between": [a, b], "mm": float(np.hypot(*np.subtract(PLACES[a], PLACES[b])))}
            for i, a in enumerate(PLACES) for b in list(PLACES)[i + 1:]]
    return parse_job({"format": "tapegroove-job", "version": 1, "outline": list(PLACES), "tape": tape, **more})


@pytest.fixture(scope="module")
def kept():
    job = taped_job()
    survey = survey_job(job, {})
    return job, survey, json.loads(json.dumps(last_tree(job, survey, None)))


def test_the_same_job_gets_its_survey_back(kept):
    job, survey, tree = kept
    found = last_worked(job, tree)
    assert found.plan is None
    assert np.allclose(found.survey.floor.points_mm, survey.floor.points_mm)
    assert [replace(r, says="") for r in survey.readings] == list(found.survey.readings)


def test_a_job_that_says_something_else_gets_none(kept):
    job, _, tree = kept
    assert last_worked(with_keys(job, tape=job.data["tape"][:-1]), tree) is None
    assert last_worked(with_keys(job, title="Another title"), tree) is not None


@pytest.mark.parametrize("spoil", [
    lambda tree: tree.update(version=2), lambda tree: tree.pop("survey"), lambda tree: tree.update(made_of=3),
    lambda tree: tree["survey"]["floor"]["points"][0].__setitem__(0, "x"),
    lambda tree: tree["survey"]["floor"]["points"][0].__setitem__(0, 1e300),
    lambda tree: tree["survey"]["floor"].update(outline=["A", "B", "X"]),
    lambda tree: tree["survey"].update(readings=[{"kind": "tape"}]),
    lambda tree: tree.update(plan={"format": "tapegroove-plan", "version": 1}),
])
def test_a_file_that_somebody_changed_is_left_alone(kept, spoil):
    job, _, tree = kept
    spoilt = json.loads(json.dumps(tree))
    spoil(spoilt)
    assert last_worked(job, spoilt) is None


@pytest.fixture
def machine(monkeypatch, tmp_path):
    """What a machine keeps lies here."""
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "machine" / "settings.json"))
    return tmp_path / "machine"


@pytest.mark.parametrize("data", [b"", b"{", b"[" * 100_000, b"\xff\xfe"])
def test_bytes_that_are_no_json_are_left_alone(tmp_path, machine, data):
    write_last(tmp_path / "job", {"a": 1})
    last_path(tmp_path / "job").write_bytes(data)
    assert read_last(tmp_path / "job") is None


def test_what_is_written_is_read_and_lies_outside_the_job(tmp_path, machine):
    job = tmp_path / "job"
    job.mkdir()
    write_last(job, {"a": 1})
    assert read_last(job) == {"a": 1} and names_in(job) == set()
    assert read_last(tmp_path / "nowhere") is None


def test_kept_nowhere_where_that_is_wished(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", "")
    write_last(tmp_path, {"a": 1})
    assert last_path(tmp_path) is None and read_last(tmp_path) is None and names_in(tmp_path) == set()


def test_the_usual_place_is_the_users_cache_folder(monkeypatch, tmp_path):
    """platformdirs knows each system's; on Linux that of the XDG Base Directory Specification."""
    monkeypatch.delenv("TAPEGROOVE_SETTINGS")
    for name in ("XDG_CACHE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path))
    assert last_path(tmp_path / "job").is_relative_to(tmp_path)
    assert last_path(tmp_path / "job") == last_path(tmp_path / "other" / ".." / "job") != last_path(tmp_path / "other")


def test_the_oldest_are_forgotten(tmp_path, machine):
    for number in range(33):
        write_last(tmp_path / str(number), {"number": number})
        os.utime(last_path(tmp_path / str(number)), (number, number))
    write_last(tmp_path / "33", {"number": 33})
    known = [number for number in range(34) if read_last(tmp_path / str(number)) is not None]
    assert len(known) == 30 and known == list(range(4, 34))
