"""As few runs move as can be, and what a search moved without need is taken back. The oracle tries every choice on a
coarse grid, with rules written down here."""
from __future__ import annotations

import itertools
import random

from layout.search.core.board_pairing import boards_taken
from layout.search.core.model import Seam, Span, Task, joints_of, split_run
from layout.search.core.neat_pairing import pair_neatly
from layout.search.first_pieces import start
from layout.search.local.taken_back import count_moved, fewest_moved, taken_back

BOARD, STAGGER, SHORTEST, COARSE_MM = 1200.0, 300.0, 300.0, 50
ROWS = 4


def drawn(rng: random.Random) -> Task:
    spans = tuple(Span(row=row, left_mm=0.0, right_mm=float(10 * rng.randrange(260, 330)), shortest_mm=SHORTEST)
                  for row in range(ROWS))
    return Task(board_mm=BOARD, kerf_mm=3.0, spans=spans,
                seams=tuple(Seam(upper=row, lower=row + 1, lo_mm=0.0, hi_mm=3300.0, stagger_mm=STAGGER)
                            for row in range(ROWS - 1)))


def long_enough(span: Span, first: float) -> bool:
    count, last = split_run(span.length_mm, first, BOARD)
    return count > 1 and SHORTEST <= first <= BOARD and last >= SHORTEST - 1e-6


def apart(upper: list[float], lower: list[float]) -> bool:
    return min(abs(a - b) for a, b in itertools.product(upper, lower)) >= STAGGER - 1e-6


def keeps_all(task: Task, firsts: list[float]) -> bool:
    joints = [joints_of(span, first, BOARD) for span, first in zip(task.spans, firsts)]
    return all(map(long_enough, task.spans, firsts)) and all(itertools.starmap(apart, itertools.pairwise(joints)))


def fewest_by_trial(task: Task, wanted: list[float]) -> int | None:
    """Fewest runs moved, of choices of what is wanted or the coarse grid: row by row, since a row is held only to those
    beside it, the fewest for every place of the last one's joints."""
    fewest: dict[tuple[float, ...], int] = {}
    for row, (span, want) in enumerate(zip(task.spans, wanted)):
        options = [first for first in {float(first) for first in range(300, 1201, COARSE_MM)} | {want}
                   if long_enough(span, first)]
        places = {first: joints_of(span, first, BOARD) for first in options}
        fewest = {tuple(places[first]): count_moved([first], [want]) + min(before) for first in options
                  if (before := [count for upper, count in fewest.items() if apart(list(upper), places[first])]
                      if row else [0])}
    return min(fewest.values(), default=None)


def test_as_few_runs_as_can_be_move_and_every_rule_is_kept():
    rng, moved = random.Random(5), 0
    for _ in range(25):
        task = drawn(rng)
        wanted = [float(rng.randrange(250, 1201)) for _ in range(ROWS)]
        found, tried = fewest_moved(task, wanted), fewest_by_trial(task, wanted)
        if found is None:
            assert tried is None
            continue
        assert keeps_all(task, found)
        assert tried is None or count_moved(found, wanted) <= tried
        moved += 0 < count_moved(found, wanted) < ROWS
    assert moved >= 5


def test_what_keeps_every_rule_does_not_move():
    task = drawn(random.Random(1))
    wanted = start(task, seed=4)
    assert fewest_moved(task, wanted) == wanted


def test_taking_back_costs_no_board_breaks_no_rule_and_leaves_no_run_that_could_go_back():
    rng, went = random.Random(9), 0
    for seed in range(25):
        task = drawn(rng)
        wanted, found = (start(task, seed=number) for number in (seed, seed + 100))
        if wanted is None or found is None:
            continue
        boards = boards_taken(task, found)
        back = taken_back(task, found, [wanted], boards=boards)
        assert keeps_all(task, back) and boards_taken(task, back) <= boards
        assert count_moved(back, wanted) <= count_moved(found, wanted)
        if boards_taken(task, wanted) <= boards:
            assert back == wanted
        went += count_moved(back, wanted) < count_moved(found, wanted)
    assert went >= 5


def test_pairs_of_before_come_back_where_they_still_fit():
    """Ends of 500 and starts of 600 on boards of 1200 fit in any order; of those wanted again one no longer fits."""
    task = Task(board_mm=BOARD, kerf_mm=3.0, seams=(),
                spans=tuple(Span(row=row, left_mm=0.0, right_mm=2000.0, shortest_mm=300.0) for row in range(6)))
    starts, ends = [(600.0, 0), (600.0, 1), (800.0, 2)], [(500.0, 3), (500.0, 4), (300.0, 5)]
    pairs = {(share.end, share.start) for share in pair_neatly(task, starts, ends, kept={(3, 1), (4, 2), (5, 0)})}
    assert (3, 1) in pairs and {(4, 0), (5, 2)} < pairs
