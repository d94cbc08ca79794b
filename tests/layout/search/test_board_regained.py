"""A board lost is won back with one or two runs moved. Rules are written down here; whether any one run could do it is
tried over every whole millimetre."""
from __future__ import annotations

import random

from layout.search.core.board_pairing import boards_taken
from layout.search.core.model import Span, Task, split_run
from layout.search.first_pieces import start
from layout.search.local.board_regained import board_regained
from layout.search.local.taken_back import count_moved
from tests.layout.search.test_taken_back import BOARD, SHORTEST, drawn, keeps_all


def test_what_comes_back_is_as_asked_with_one_run_moved_or_two_that_touch():
    rng = random.Random(2)
    found = []
    for seed in range(40):
        task = drawn(rng)
        firsts = start(task, seed=seed)
        if firsts is None:
            continue
        boards = boards_taken(task, firsts) - 1
        again = board_regained(task, firsts, boards=boards)
        if again is None:
            continue
        moved = [run for run, (a, b) in enumerate(zip(firsts, again)) if a != b]
        assert boards_taken(task, again) <= boards and keeps_all(task, again)
        assert 1 <= len(moved) <= 2 and moved[-1] - moved[0] <= 1 and count_moved(again, firsts) == len(moved)
        found.append(moved)
    assert len(found) >= 5


def test_one_run_is_found_wherever_one_does():
    """Runs apart from one another, so that only wood counts: the oracle tries every whole mm of every run."""
    rng, won = random.Random(7), 0
    for _ in range(15):
        spans = tuple(Span(row=2 * row, left_mm=0.0, right_mm=float(rng.randrange(2500, 3300)), shortest_mm=SHORTEST)
                      for row in range(4))
        task = Task(board_mm=BOARD, kerf_mm=3.0, spans=spans, seams=())
        firsts = [float(rng.choice([first for first in range(300, 1201) if long_enough(span, first)]))
                  for span in spans]
        boards = boards_taken(task, firsts) - 1
        tried = any(boards_taken(task, [*firsts[:run], float(first), *firsts[run + 1:]]) <= boards
                    for run, span in enumerate(spans) for first in range(300, 1201) if long_enough(span, first))
        again = board_regained(task, firsts, boards=boards)
        assert not tried or (again is not None and count_moved(again, firsts) == 1)
        won += tried
    assert won >= 3


def long_enough(span: Span, first: float) -> bool:
    count, last = split_run(span.length_mm, float(first), BOARD)
    return count > 1 and min(first, last) >= SHORTEST
