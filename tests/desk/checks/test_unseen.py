"""A floor with a wall that nobody has seen is a guess: told first by every command, never kept or printed (the contract
of the commands)."""
from __future__ import annotations

import copy
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from capture.floor import Floor
from desk.checks.check import find_problems
from desk.checks.seen_order import seen_order
from desk.checks.unseen import unseen_of
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


#: An L, its corners anticlockwise, mm.
L_ROOM = {"A": (0, 0), "B": (5000, 0), "C": (5000, 2000), "D": (2400, 2000), "E": (2400, 4000), "F": (0, 4000)}


def test_two_neighbours_in_each_other_s_place_are_offered_the_order_in_which_all_is_seen():
    """Every wall of the L is taped and three lengths across: with two corners swapped in the list, walls that are none
    are asked about."""
    names = list(L_ROOM)
    pairs = list(zip(names, names[1:] + names[:1])) + [("A", "D"), ("B", "E"), ("C", "F")]
    tape = [{"between": list(pair), "mm": round(math.dist(*(L_ROOM[name] for name in pair)))} for pair in pairs]
    right = parse_job({"format": "tapegroove-job", "version": 1, "outline": names, "tape": tape})
    floor = Floor(names=tuple(names), points_mm=np.array(list(L_ROOM.values()), dtype=float), cov_mm2=np.eye(12),
                  outline=tuple(names))
    assert not unseen_of(right)
    for i in range(len(names)):
        swapped = list(names)
        j = (i + 1) % len(names)
        swapped[i], swapped[j] = swapped[j], swapped[i]
        job = replace(right, outline=tuple(swapped))
        order = seen_order(job, floor)
        assert unseen_of(job) and order is not None and ring_of(order.outline) == ring_of(names)


def ring_of(outline) -> set[frozenset[str]]:
    return {frozenset(pair) for pair in zip(outline, outline[1:] + outline[:1])}
