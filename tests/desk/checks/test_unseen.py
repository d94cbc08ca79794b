"""A floor with a wall that nobody has seen is a guess: told first by every command, never kept or printed (the contract
of the commands)."""
from __future__ import annotations

import copy
import json

import pytest

from desk.checks.check import find_problems
from desk.cli import main
from desk.jobfile.files import parse_job, read_job


@pytest.fixture
def guessed(box) -> dict:
    """The box without its wall C-D taped: the diagonals fix it, and nobody has looked along it."""
    tree = copy.deepcopy(box)
    tree["tape"] = [entry for entry in tree["tape"] if entry.get("between") != ["C", "D"]]
    return tree


def said(capsys) -> tuple[dict, str]:
    out, err = capsys.readouterr()
    return json.loads(out), err


def test_survey_and_plan_name_the_wall_first(on_disk, guessed, capsys):
    folder = str(on_disk(guessed))
    for command in ("survey", "plan"):
        assert main([command, folder, "--json"]) == 0
        answer, _ = said(capsys)
        assert [entry["wall"] for entry in answer["unseen"]] == [["C", "D"]]
        assert main([command, folder]) == 0
        lines = [line for line in capsys.readouterr().out.splitlines() if line]
        assert "Perhaps not your room" in lines[1] and "C-D" in lines[2]


@pytest.mark.parametrize("command", [["plan", "--keep"], ["pack"]])
def test_neither_kept_nor_printed(command, on_disk, guessed, capsys):
    folder = on_disk(guessed)
    before = (folder / "job.json").read_bytes()
    assert main([command[0], str(folder), *command[1:], "--json"]) == 1
    answer, err = said(capsys)
    assert [p["slug"] for p in answer["problems"]] == ["unseen-wall"] and "C-D" in err
    assert (folder / "job.json").read_bytes() == before and not (folder / "pack").exists()


def test_the_readers_word_is_taken(on_disk, guessed, capsys):
    folder = on_disk(guessed | {"straight": [["D", "C"]]})
    assert main(["plan", str(folder), "--keep", "--json"]) == 0
    assert said(capsys)[0]["unseen"] == []
    assert read_job(folder).has_plan


def test_check_notes_it(guessed, box):
    found = find_problems(parse_job(guessed), {})
    assert [(p.slug, p.severity) for p in found] == [("unseen-wall", "note")]
    assert not find_problems(parse_job(box), {})


def test_a_floor_given_as_coordinates_is_no_guess(l_floor):
    assert "unseen-wall" not in {p.slug for p in find_problems(parse_job(l_floor), {})}


def test_a_wall_the_room_does_not_have_is_named(box):
    found = find_problems(parse_job(box | {"straight": [["A", "C"]]}), {})
    assert [(p.slug, p.where, p.severity) for p in found] == [("unknown-wall", "straight[0]", "stop")]
