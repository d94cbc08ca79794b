"""Boards of several lengths in a job: read, checked, planned by command, printed, and followed by the day."""
from __future__ import annotations

import csv
import json

import pytest

from desk.checks.check import find_problems
from desk.cli import main
from desk.convert import to_board, to_wishes
from desk.jobfile.files import parse_job
from tests.support.looks import all_text

LENGTHS = [{"length": 2000, "count": 3}, {"length": 600, "count": 1}, {"length": 1400, "count": 2},
           {"length": 1000, "count": 2}]


def tree(**board):
    return {"format": "tapegroove-job", "version": 1, "title": "Invented",
            "floor": {"outline": [[0, 0], [3620, 0], [3610, 2440], [0, 2450]]},
            "flooring": {"board": {"width": 180, "thickness": 14, "lengths": LENGTHS, **board}}}


@pytest.fixture
def job(tmp_path):
    (tmp_path / "job.json").write_text(json.dumps(tree()), "utf-8")
    return tmp_path


def test_the_longest_and_the_sum_follow_from_the_list():
    board = to_board(parse_job(tree()))
    assert (board.length_mm, board.pack) == (2000.0, 8)
    assert board.mix == ((600.0, 1), (1000.0, 2), (1400.0, 2), (2000.0, 3))


def test_a_short_board_lowers_the_usual_rule_to_its_own_length():
    lengths = [{"length": 280, "count": 2}, {"length": 1400, "count": 4}]
    assert to_wishes(parse_job(tree(lengths=lengths))).rules.shortest_mm == 280.0


@pytest.mark.parametrize(("board", "where", "words"),
                         [({"length": 1800}, "flooring.board.length",
                           "1800 mm, but the longest of the lengths listed is 2000 mm"),
                          ({"pack": 9}, "flooring.board.pack", "hold 9 boards, but the lengths listed add up to 8"),
                          ({"lengths": [{"length": 600, "count": 1}, {"length": 600, "count": 2}]},
                           "flooring.board.lengths", "600 mm is listed twice"),
                          ({"lengths": [{"length": 60, "count": 1}, {"length": 1400, "count": 2}]},
                           "flooring.board.lengths", "60 mm")])
def test_what_is_told_to_be_wrong(board, where, words):
    stops = [problem for problem in find_problems(parse_job(tree(**board)), {}) if problem.severity == "stop"]
    assert [(stop.slug, stop.where) for stop in stops] == [("board-lengths", where)]
    assert words in stops[0].says


def test_a_pack_is_printed_that_names_every_board_s_length(job, tmp_path, capsys):
    assert main(["pack", str(job), "-o", str(tmp_path / "out")]) == 0
    plan = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    words = all_text((tmp_path / "out/booklet.pdf").read_bytes())
    rows = list(csv.DictReader((tmp_path / "out/cuts.csv").read_text("utf-8-sig").splitlines()))
    pieces = [piece for row in plan["rows"] for run in row["runs"] for piece in run["pieces"]]
    fresh = {piece["id"]: plan["board_lengths"][piece["board"] - 1] for piece in pieces if not piece["takes"]}
    assert len(fresh) == plan["boards"]
    for length in set(fresh.values()):
        assert f"new board {length:.0f}" in words or f" {length:.0f} " in words
    assert "sort the boards by length and count them" in words
    assert {row["piece"] for row in rows} == {piece["id"] for piece in pieces}
    assert all(float(row["stock_to_mm"]) == fresh[row["piece"]] for row in rows if row["piece"] in fresh)


def test_the_day_follows_it(job, capsys):
    """What it refuses: `tests/desk/actions/test_day_lengths.py`."""
    assert main(["plan", str(job), "--keep"]) == 0
    assert main(["day", str(job), "row", "1", "done"]) == 0
    assert not capsys.readouterr().err
