"""The planner against CP-SAT (OR-Tools), which solves the same floors from the rules alone on a 10 mm grid: never
beaten on boards."""
from __future__ import annotations

import pytest

from layout.search.fewest.lower_bound import lower_bound
from layout.search.core.model import Seam, Span, Task
from layout.search.first_pieces import seek, start, tidy
from layout.search.core.board_pairing import count_boards
from tests.support import second_opinion
from tests.support.patience import PATIENCE_S


def task_of(board, lengths, lefts=None, stagger=300.0, shortest=300.0) -> Task:
    lefts = lefts or [0.0] * len(lengths)
    spans = tuple(Span(row=i, left_mm=left, right_mm=left + length, shortest_mm=shortest)
                  for i, (left, length) in enumerate(zip(lefts, lengths)))
    seams = tuple(Seam(upper=i, lower=i + 1, lo_mm=max(a.left_mm, b.left_mm), hi_mm=min(a.right_mm, b.right_mm),
                       stagger_mm=stagger) for i, (a, b) in enumerate(zip(spans, spans[1:])))
    return Task(board_mm=board, kerf_mm=3.0, spans=spans, seams=seams)


@pytest.mark.parametrize(("task", "to_cut"),
                         [(task_of(1285.0, [3580.0] * 5), 0), (task_of(1380.0, [2980.0, 2990.0, 3010.0]), 0),
                          (task_of(2050.0, [3980.0] * 4), 0),
                          (task_of(1200.0, [2980.0, 2980.0, 1700.0, 1700.0], lefts=[0.0, 0.0, 1280.0, 1280.0]), 0),
                          (task_of(800.0, [2500.0] * 5, stagger=200.0, shortest=200.0), 0),
                          (task_of(1285.0, [2980.0, 640.0, 655.0, 2980.0], lefts=[0.0, 0.0, 0.0, 0.0]), 7),
                          (task_of(2050.0, [1480.0, 600.0, 600.0, 2900.0]), 6)])
def test_cp_sat_finds_no_fewer_boards(task, to_cut):
    found, bound = second_opinion.fewest_boards(task, boards_to_cut=to_cut, seconds=PATIENCE_S)
    ours = count_boards(*tidy(*seek(task, start(task, seed=0), moves=1000, seed=0), moves=1000, seed=0, tidying=500))
    assert found is not None and bound == found
    assert lower_bound(task, enough=99, rounds=15) <= ours <= found
