"""Sharing boards: against brute force."""
from __future__ import annotations

import random
from itertools import permutations

import numpy as np
import pytest

from layout.search.fewest.lower_bound import length_bound, lower_bound, prove
from layout.search.core.model import Seam, Span, Task, first_pieces, split_run
from layout.search.first_pieces import seek, start, tidy
from layout.search.core.state import seam_distance, state_of
from layout.search.core.board_pairing import count_boards, share_boards
from layout.search.core.forest_dp import NEVER, candidates, plant, solve

BOARD, KERF = 1200.0, 3.0


def task_of(lengths, stagger=0.0, shortest=300.0) -> Task:
    spans = tuple(Span(row=i, left_mm=0.0, right_mm=float(length), shortest_mm=shortest)
                  for i, length in enumerate(lengths))
    seams = tuple(Seam(upper=i, lower=i + 1, lo_mm=0.0, hi_mm=min(spans[i].right_mm, spans[i + 1].right_mm),
                       stagger_mm=stagger) for i in range(len(spans) - 1))
    return Task(board_mm=BOARD, kerf_mm=KERF, spans=spans, seams=seams)


def fewest_by_trying(task: Task, firsts: list[float]) -> int:
    """Boards of given first pieces, trying every pairing of ends with starts."""
    pieces = [split_run(span.length_mm, first, BOARD) for span, first in zip(task.spans, firsts)]
    whole = sum(count - 2 for count, _ in pieces)
    ends = [last for _, last in pieces]
    best = 0
    for order in permutations(range(len(firsts))):
        best = max(best, sum(ends[i] + firsts[j] + KERF <= BOARD + 1e-9 for i, j in enumerate(order)))
    return whole + 2 * len(firsts) - best


def test_pairing_is_as_good_as_trying_all_pairings():
    draw = random.Random(3)
    for _ in range(60):
        task = task_of([draw.uniform(1500, 4000) for _ in range(5)])
        firsts = [draw.uniform(200, 1200) for _ in range(5)]
        assert count_boards(task, firsts) == fewest_by_trying(task, firsts)


def test_the_list_of_shares_has_as_many_boards_as_counted_and_fits_them():
    draw = random.Random(4)
    for _ in range(60):
        task = task_of([draw.choice([draw.uniform(1500, 4000), draw.uniform(300, 1100)]) for _ in range(8)])
        firsts = [span.length_mm if span.length_mm < BOARD else draw.uniform(200, 1200) for span in task.spans]
        shares = share_boards(task, firsts)
        whole = sum(max(0, split_run(span.length_mm, first, BOARD)[0] - 2) for span, first in zip(task.spans, firsts))
        assert whole + len(shares) == count_boards(task, firsts)
        for share in shares:
            pieces = [task.spans[run].length_mm for run in share.slices]
            pieces += [firsts[share.start]] if share.start >= 0 else []
            pieces += [split_run(task.spans[share.end].length_mm, firsts[share.end],
                                 BOARD)[1]] if share.end >= 0 else []
            assert sum(pieces) + KERF * (len(pieces) - 1) <= BOARD + 1e-6


def test_slices_of_a_narrow_hall_are_packed_into_boards():
    """Twenty runs of 560: two fit on a board of 1200 (560 + 3 + 560), so ten boards."""
    task = task_of([560.0] * 20)
    assert count_boards(task, [560.0] * 20) == 10


def test_the_forest_finds_the_cheapest_candidates_that_keep_every_seam():
    draw = random.Random(9)
    for _ in range(12):
        task = task_of([draw.uniform(1300, 2900) for _ in range(3)], stagger=draw.choice([200.0, 300.0]))
        options = [candidates(span, BOARD, 60.0) for span in task.spans]
        prices = [np.array([draw.randrange(1000) for _ in lengths]) for lengths in options]
        value, chosen = solve(plant(task, options), prices)
        best = NEVER
        for i, a in enumerate(options[0]):
            for j, b in enumerate(options[1]):
                for k, c in enumerate(options[2]):
                    joints = state_of(task, [float(a), float(b), float(c)]).joints
                    if all(seam_distance(seam, joints) >= seam.stagger_mm - 1e-6 for seam in task.seams):
                        best = min(best, int(prices[0][i] + prices[1][j] + prices[2][k]))
        assert value == best or min(value, best) >= NEVER
        if value < NEVER:
            assert sum(int(price[k]) for price, k in zip(prices, chosen)) == value


@pytest.mark.parametrize("lengths", [(2900, 2900, 2900), (2500, 2600, 2700), (3550, 3550, 3550), (1300, 1310, 1320)])
def test_on_tiny_floors_search_beats_or_meets_brute_force_and_the_bound_holds(lengths):
    """Brute force: every first piece on a 25 mm grid, rules kept, boards by trying all pairings."""
    task = task_of(lengths, stagger=300.0)
    grids = [[lo + 25.0 * k for lo, hi in first_pieces(span, BOARD) for k in range(int((hi - lo) / 25.0) + 1)]
             for span in task.spans]
    best = 10 ** 6
    for a in grids[0]:
        for b in grids[1]:
            joints = state_of(task, [a, b, grids[2][0]]).joints
            if seam_distance(task.seams[0], joints) < 300.0 - 1e-6:
                continue
            for c in grids[2]:
                joints = state_of(task, [a, b, c]).joints
                if seam_distance(task.seams[1], joints) >= 300.0 - 1e-6:
                    best = min(best, count_boards(task, [a, b, c]))
    found = count_boards(*tidy(*seek(task, start(task, seed=0), moves=2000, seed=0), moves=2000, seed=0, tidying=1000))
    assert found <= best
    assert lower_bound(task, enough=found, rounds=40) <= found
    assert lower_bound(task, enough=10 ** 6, rounds=40) <= best


def test_the_bound_counts_wood_and_saw_cuts():
    """Four runs of 2397 = 1200 + 1197: 8 pieces; (4 * 2397 + 8 * 3) / 1203 = 7.99, so 8 boards."""
    assert length_bound(task_of([2397.0] * 4)) == 8


def test_the_bound_sees_pieces_that_cannot_share():
    """Ten runs of 2100. Two pieces: both at least 900, and 1197 - 900 leaves no 300, so two boards a run. Three pieces:
    a whole board and two ends that sum to 900, at best sharing one board: two again. So 20, though the wood would do
    with 18."""
    task = task_of([2100.0] * 10, stagger=300.0)
    found = count_boards(*tidy(*seek(task, start(task, seed=0), moves=3000, seed=0), moves=3000, seed=0, tidying=1500))
    assert (length_bound(task), lower_bound(task, enough=found, rounds=60), found) == (18, 20, 20)


def test_a_bound_begun_at_any_weights_proves_no_more_than_there_is():
    """The ten runs of 2100 above take 20 boards; the weights that prove it prove it at once."""
    task = task_of([2100.0] * 10, stagger=300.0)
    proof = prove(task, enough=10 ** 6, rounds=60)
    assert proof.boards == 20 and prove(task, enough=20, rounds=1, near=proof.weights).boards == 20
    for seed in range(3):
        weights = np.random.default_rng(seed).random(40)
        assert prove(task, enough=10 ** 6, rounds=5, near=weights / weights.sum()).boards <= 20
