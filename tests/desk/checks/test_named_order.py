"""Corners listed in another order than they stand in, in a job that names walls: told with the order that mends it.

Oracle: every order of the corners tried outright, rings told apart by their walls alone.
"""
from __future__ import annotations

import json
from itertools import permutations

import pytest

from desk.checks.check import find_problems
from desk.checks.named_order import named_order
from desk.cli import main
from desk.jobfile.files import parse_job

NAMES = tuple("ABCDEFG")


def ring_of(outline) -> frozenset[frozenset[str]]:
    return frozenset(map(frozenset, zip(outline, outline[1:] + outline[:1])))


def job_naming(outline, walls):
    doors = [{"name": f"D{n}", "wall": list(wall), "from": 100, "width": 700} for n, wall in enumerate(walls, 1)]
    return parse_job({"format": "tapegroove-job", "version": 1, "outline": list(outline), "doors": doors})


@pytest.mark.parametrize("corners", [4, 5, 7])
def test_two_neighbours_in_each_others_place_are_put_back(corners):
    true = NAMES[:corners]
    for i in range(corners):
        told = list(true)
        told[i], told[(i + 1) % corners] = told[(i + 1) % corners], told[i]
        order = named_order(job_naming(told, zip(true, true[1:] + true[:1])))
        assert order is not None and ring_of(order.outline) == ring_of(true), told


def test_an_order_is_offered_only_where_no_other_small_change_does():
    """Every pair and three of walls of six corners in one wrong order, against all orders there are."""
    told = ("A", "C", "B", "D", "E", "F")
    true = ("A", "B", "C", "D", "E", "F")
    every = {ring_of(other) for other in permutations(told)}
    sides = list(zip(true, true[1:] + true[:1]))
    offered = 0
    for walls in [*permutations(sides, 2), *permutations(sides, 3), sides]:
        wanted = {frozenset(wall) for wall in walls}
        order = named_order(job_naming(told, walls))
        if order is not None:
            offered += 1
            assert wanted <= ring_of(order.outline) and not wanted <= ring_of(told)
        if sum(wanted <= ring for ring in every) == 1:
            assert order is not None and ring_of(order.outline) == ring_of(true)
    assert offered


@pytest.mark.parametrize("outline, walls", [("ABCD", ["AB"]), ("ABCD", ["AC"]), ("ABCD", ["AX"]), ("AB", ["AC"])])
def test_nothing_is_offered_where_nothing_or_too_little_speaks_for_it(outline, walls):
    assert named_order(job_naming(outline, walls)) is None


def test_it_is_told_as_a_change_to_take(box, tmp_path, capsys):
    true = box["outline"]
    box["doors"] = [{"name": f"D{n}", "wall": [a, b], "from": 100, "width": 700}
                    for n, (a, b) in enumerate(zip(true, true[1:] + true[:1]), 1)]
    box["outline"] = [true[1], true[0], *true[2:]]
    problems = [p for p in find_problems(parse_job(box), {}) if p.slug == "unknown-wall"]
    assert {p.where for p in problems} == {"tape[7]", "doors[1]", "doors[3]"}
    assert all(ring_of(p.mends[0].outline) == ring_of(tuple(true)) for p in problems)
    (tmp_path / "job.json").write_text(json.dumps(box))
    assert main(["check", str(tmp_path), "--json"]) == 1
    told = [p for p in json.loads(capsys.readouterr().out)["problems"] if p["slug"] == "unknown-wall"]
    assert [mend["do"] for p in told for mend in p["mends"]] == ["outline"] * 3
    assert ring_of(tuple(told[0]["mends"][0]["outline"])) == ring_of(tuple(true))
