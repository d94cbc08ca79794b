"""When pages are printed anew: a row along a wall when it comes up, anything else at once."""
import csv
import io
import random
import re
from dataclasses import replace

import pytest

from layout.plan import Plan, Relaxed
from layout.planning.planner import plan_floor
from layout.replan.diff import ROWS_AHEAD, changed_rows, is_due, saves_boards, sawn_along_a_wall
from layout.room import Wishes
from printpack.outputs.cuts_csv import cuts_csv


@pytest.fixture(scope="module")
def plan(box_3x4, board):
    return plan_floor(box_3x4, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)


def with_row(plan: Plan, number: int, **changes) -> Plan:
    """The plan with every piece of one row altered."""
    rows = tuple(replace(row, runs=tuple(replace(run, pieces=tuple(
        replace(piece, **{key: change(getattr(piece, key)) for key, change in changes.items()})
        for piece in run.pieces)) for run in row.runs)) if row.number == number else row for row in plan.rows)
    return replace(plan, rows=rows)


def test_a_last_row_ripped_narrower_waits_until_it_comes_up(plan):
    last = len(plan.rows)
    ripped = with_row(plan, last, far_mm=lambda far: far - 6.0)
    assert [is_due(plan, ripped, (last,), down, advised=False) for down in range(last)] == [
        down >= last - ROWS_AHEAD for down in range(last)]


@pytest.mark.parametrize("changes", [{"to_mm": lambda to: to - 6.0}, {"takes": lambda takes: takes + "x"},
                                     {"leaves": lambda leaves: (*leaves, "99R")}])
def test_another_length_or_another_board_does_not_wait(plan, changes):
    last = len(plan.rows)
    assert is_due(plan, with_row(plan, last, **changes), (last,), 0, advised=False)


def test_a_row_more_or_a_last_row_under_the_rule_waits_for_advice_only(plan):
    fewer = replace(plan, rows=plan.rows[:-1])
    narrow = replace(plan, relaxed=(*plan.relaxed, Relaxed(rule="narrowest", where=f"row {len(plan.rows)}",
                                                           asked_mm=60.0, had_mm=40.0)))
    for made in (fewer, narrow):
        assert is_due(plan, made, (len(plan.rows),), 0, advised=False)
        assert not is_due(plan, made, (len(plan.rows),), 0, advised=True)


def test_the_last_row_is_sawn_along_a_wall_and_one_in_the_middle_is_not(plan):
    assert sawn_along_a_wall(plan, len(plan.rows)) and not sawn_along_a_wall(plan, 4)
    assert not sawn_along_a_wall(plan, len(plan.rows) + 1)


def test_only_fewer_boards_are_a_saving(plan):
    assert saves_boards(plan, replace(plan, boards=plan.boards - 1)) and not saves_boards(plan, plan)


#: Columns of the cut list that no page prints: where a piece lies in the floor and which board it is of.
UNPRINTED = ("board", "stock_from_mm", "stock_to_mm", "left_mm", "top_mm", "templates")


def printed(plan: Plan) -> dict[int, list[list[str]]]:
    """What the cut list says of every row, cell by cell."""
    lines = list(csv.DictReader(io.StringIO(cuts_csv(plan, {}).lstrip("\ufeff"))))
    rows: dict[int, list[list[str]]] = {row.number: [] for row in plan.rows}
    for line in lines:
        rows[int(line.pop("row"))].append([cell for name, cell in line.items() if name not in UNPRINTED])
    return rows


def says_alike(old: list[list[str]], new: list[list[str]], alike_mm: float) -> bool:
    """Whether two rows' lines have the same words and figures that differ by less than this."""
    one, other = (" | ".join(" | ".join(line) for line in lines) for lines in (old, new))
    figure = re.compile(r"-?\d+\.\d{3}")
    same_words = figure.sub("#", one) == figure.sub("#", other)
    return same_words and all(abs(float(a) - float(b)) < alike_mm
                              for a, b in zip(figure.findall(one), figure.findall(other)))


def altered(rng: random.Random) -> dict:
    """A way to alter the pieces of a row."""
    off, name = rng.choice((0.2, 0.9, 1.2, 1.9, 2.3, -0.4, -1.6, -5.0)), rng.choice(("from_mm", "to_mm", "far_mm"))
    return rng.choice(({name: lambda mm: mm + off}, {"leaves": lambda labels: (*labels, "99R")}, {},
                       {"cuts": lambda cuts: tuple(replace(cut, at=(cut.at[0], cut.at[1] + off)) for cut in cuts)},
                       {"cuts": lambda cuts: ()}))


@pytest.mark.parametrize("alike_mm", [1.0, 2.0])
def test_a_page_is_printed_again_just_where_the_cut_list_says_another_thing(plan, alike_mm):
    """Against the cut list that goes out with the pages: figures altered at random by less or more than a fitter saws
    alike, offcuts renamed, cuts left out."""
    rng = random.Random(7)
    for _ in range(200):
        row = rng.choice(plan.rows)
        made = with_row(plan, row.number, **altered(rng))
        old, new = printed(plan), printed(made)
        assert changed_rows(plan, made, alike_mm=alike_mm) == tuple(
            number for number in new if not says_alike(old[number], new[number], alike_mm))
