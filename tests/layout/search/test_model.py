"""Runs as one number: splitting, joints, allowed first pieces."""
from __future__ import annotations

import random

import pytest

from layout.search.core.model import Span, first_pieces, joints_of, split_run


def span(length: float, shortest: float = 300.0) -> Span:
    return Span(row=0, left_mm=100.0, right_mm=100.0 + length, shortest_mm=shortest)


@pytest.mark.parametrize(("length", "first", "expected"), [
    (1000.0, 1000.0, (1, 1000.0)),
    (4290.0, 1285.0, (4, 435.0)),
    (4290.0, 1000.0, (4, 720.0)),
    (4290.0, 435.0, (4, 1285.0)),
    (4290.0, 434.0, (5, 1.0)),
    (2570.0, 1285.0, (2, 1285.0)),
])
def test_a_run_splits_into_whole_boards_between_its_ends(length, first, expected):
    count, last = split_run(length, first, 1285.0)
    assert (count, pytest.approx(last)) == expected
    if count > 1:
        assert first + (count - 2) * 1285.0 + last == pytest.approx(length)


def test_joints_are_a_board_apart_from_the_first_piece_on():
    assert joints_of(span(4290.0), 500.0, 1285.0) == [600.0, 1885.0, 3170.0]
    assert joints_of(span(900.0), 900.0, 1285.0) == []


def test_allowed_first_pieces_are_exactly_those_that_leave_no_short_end():
    draw = random.Random(5)
    for _ in range(60):
        board, length, least = draw.choice([800.0, 1285.0, 2050.0]), draw.uniform(500,
                                                                                  7000), draw.choice([200.0, 300.0])
        run = span(length, least)
        intervals = first_pieces(run, board)
        for first in [draw.uniform(1, min(board, length)) for _ in range(40)]:
            count, last = split_run(length, first, board)
            legal = count > 1 and first >= least and last >= least
            near_an_edge = min(abs(first - least), abs(last - least), abs(last - board), abs(first - board)) < 1e-3
            listed = any(lo <= first <= hi for lo, hi in intervals)
            assert listed == legal or near_an_edge or count == 1


@pytest.mark.parametrize(("run", "stagger"), [(3990.0, 138.0), (4500.0, 637.0), (3200.0, 633.0), (5130.0, 7.0)])
def test_feeding_each_offcut_to_the_next_row_drifts_by_the_step_of_the_worked_examples(run, stagger):
    """Board 1285, saw 3: step (nL - R - k) mod L, stagger min(step, L - step). Derived figures of the trade fact
    sheet, section 3."""
    first = 640.0
    _, last = split_run(run, first, 1285.0)
    step = (1285.0 - 3.0 - last - first) % 1285.0
    assert min(step, 1285.0 - step) == pytest.approx(stagger)
