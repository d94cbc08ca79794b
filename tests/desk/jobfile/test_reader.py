"""How a file is read where some of it is at fault: every fault in one go at its place, and the rest as it stands."""
from __future__ import annotations

import json
from pathlib import Path

import pytest

from desk.jobfile.day_entries import entry_tree
from desk.jobfile.files import parse_job, parse_json, parse_tree
from desk.jobfile.house_file import HouseEntry
from desk.jobfile.parse import unknown_keys
from desk.jobfile.reader import read_as
from desk.problem import JobFileError

JOBS = Path(__file__).parents[2] / "data" / "jobs" / "v1"


def places(tree) -> list[tuple[str, str]]:
    return [(problem.slug, problem.where) for problem in parse_tree(tree)[1]]


def test_a_fault_that_shows_only_once_others_are_out_of_the_way_is_told_with_them_at_its_own_place():
    tree = {"tape": [{"between": ["A", "A"], "mm": 4312}, {"between": ["A", "B"], "mm": 4312, "typed": "4 m", "sd": 0}]}
    assert places(tree) == [("same-point", "tape[0].between"), ("wrong-field", "tape[1].sd"),
                            ("lengths-disagree", "tape[1]")]
    assert parse_tree(tree)[0].tape == ()


def test_what_was_taken_out_is_no_fault_of_its_own():
    tree = {"day": [{"what": "obstacle", "name": "P9", "row": 1, "left": 5, "ahead": 5, "diameter": 0}],
            "tape": [{"between": ["A", 5], "mm": 4312}], "pipes": [{"name": "P1", "diameter": "thin"}],
            "doors": [{"name": "D1", "wall": ["A", "B"], "from": 1, "width": 700,
                       "casing": {"width": 57, "thickness": 15, "legs": {"left": [[0, 0], [1, "x"], [1, 1]]}}}]}
    assert places(tree) == [("wrong-field", "tape[0].between[1]"), ("wrong-field", "pipes[0].diameter"),
                            ("wrong-field", "doors[0].casing.legs.left[1][1]"), ("wrong-field", "day[0].diameter")]
    job, _ = parse_tree(tree)
    assert (job.tape, job.pipes, job.day) == ((), (), ()) and job.doors[0].casing_mm == (57.0, 15.0)
    assert job.doors[0].legs == (), "a ring with a wrong place is no ring"


def test_a_wrong_size_of_targets_leaves_the_targets():
    job, problems = parse_tree({"targets": {"size": 3}})
    assert len(problems) == 1 and job.targets is not None and job.targets.size_mm is None


def test_faults_of_a_long_list_are_told_one_by_one():
    marks = [{"point": "A", "x": "left" if place % 2 else 5, "y": 5} for place in range(2000)]
    job, problems = parse_tree({"photos": [{"file": "photos/1.jpg", "marks": marks}]})
    assert [problem.where for problem in problems] == [f"photos[0].marks[{place}].x" for place in range(1, 2000, 2)]
    assert len(job.photos[0].marks) == 1000 and job.photos[0].marks[1].where == "photos[0].marks[2]"


@pytest.mark.parametrize("field", ["where", "data", "name", "length_mm", "sd_mm"])
def test_names_of_the_program_are_no_keys_of_the_file(field, box):
    box[field] = box["tape"][0][field] = {"wild": 1}
    job = parse_job(box)
    assert job.data == box and job.tapes[0].where == "tape[0]"
    assert {(place, key) for place, key, _ in unknown_keys(box)} == {("", field), ("tape[0]", field)}


def test_a_key_called_like_a_kind_of_entry_leads_nowhere_else():
    entry = {"what": "obstacle", "obstacle": {"row": 5}, "name": "P9", "row": "x", "left": 5, "ahead": 5, "diameter": 9}
    assert places({"day": [entry], "tape": [{"straight": {"mm": 1}, "between": ["A", "B"], "mm": "x"}]}) == [
        ("wrong-field", "tape[0].mm"), ("wrong-field", "day[0].row")]


def test_a_camera_is_called_by_its_key():
    (camera,) = parse_job({"cameras": {"c1": {"name": 5, "focal_px": 3011}}}).cameras
    assert (camera.name, camera.where) == ("c1", "cameras.c1")


def test_half_a_letter_is_refused_wherever_it_stands_and_a_whole_one_is_not():
    assert parse_json(b'{"title": "\\ud83d\\ude00"}', name="job.json") == {"title": "\U0001f600"}
    with pytest.raises(JobFileError, match="half a letter"):
        parse_json(b'{"plan": {"says": ["\\ud83d"]}}', name="job.json")


def test_a_nesting_too_deep_is_one_sentence():
    deep: list = []
    for _ in range(5000):
        deep = [deep]
    with pytest.raises(JobFileError, match="nesting"):
        parse_tree({"notes": deep})


@pytest.mark.parametrize("entry", [entry for name in ("whole-day", "whole-more")
                                   for entry in json.loads((JOBS / f"{name}.json").read_text())["day"]
                                   if entry["what"] != "undo"], ids=lambda entry: entry["what"])
def test_an_entry_of_the_day_is_written_as_it_was_read(entry):
    (read,) = parse_job({"day": [entry]}).day
    assert entry_tree(read.event) == {key: value for key, value in entry.items() if key not in ("on", "said")}


@pytest.mark.parametrize("tree", [None, 5, "x", [], [None]])
def test_a_file_that_holds_no_object_is_refused_as_a_whole(tree):
    found, problems = read_as(HouseEntry, tree, name="house.json")
    assert found is None and [(problem.slug, problem.where) for problem in problems] == [("wrong-field", "")]
