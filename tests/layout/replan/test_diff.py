"""When pages are printed anew: a row along a wall when it comes up, anything else at once."""
from dataclasses import replace

import pytest

from layout.plan import Plan, Relaxed
from layout.planning.planner import plan_floor
from layout.replan.diff import ROWS_AHEAD, is_due, saves_boards, sawn_along_a_wall
from layout.room import Wishes


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
