"""The demo, copied out and taken the whole way."""
from __future__ import annotations

import json

import pytest

from desk.cli import main
from desk.actions.demo import copy_demo, demo_files
from desk.problem import JobFileError
from desk.jobfile.save import names_in


def test_the_demo_goes_the_whole_way(tmp_path, capsys):
    assert main(["demo", str(tmp_path / "demo"), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == "" and "plan.json" in json.loads(out)["files"]
    names = names_in(tmp_path / "demo")
    assert names >= set(demo_files()) | {"pack/booklet.pdf", "pack/templates.pdf", "pack/plan.json"}
    assert main(["check", str(tmp_path / "demo")]) == 0


def test_every_picture_of_the_demo_travels_with_it():
    job = json.loads(demo_files()["job.json"])
    named = {photo["file"] for photo in job["photos"]} | {closeup["file"] for closeup in job.get("closeups", [])}
    assert named and named <= set(demo_files())


def test_a_folder_in_use_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(JobFileError, match="mine.txt"):
        copy_demo(tmp_path)
    assert names_in(tmp_path) == {"mine.txt"}


def test_a_demo_that_somebody_has_changed_is_left_alone_and_an_unchanged_one_taken(tmp_path):
    copy_demo(tmp_path)
    copy_demo(tmp_path)
    (tmp_path / "job.json").write_text("{}")
    with pytest.raises(JobFileError, match="job.json"):
        copy_demo(tmp_path)
    assert (tmp_path / "job.json").read_text() == "{}"
