"""Runs as arcs: against trying everything, and against the rules they were made from."""
from __future__ import annotations

import random
from itertools import permutations, product

import pytest

from layout.search.core.circular_arcs import arcs_of, boards_of, firsts_of, lie_of
from layout.search.fewest.decomposition import hunt_in_blocks
from layout.search.fewest.lower_bound import lower_bound
from layout.search.fewest.min_boards import hunt
from layout.search.local.feasible_moves import leeway_of
from layout.search.core.model import Seam, Span, Task, first_pieces, split_run
from layout.search.first_pieces import start
from layout.search.fewest.joint_shift import shift
from layout.search.core.state import state_of
from layout.search.core.board_pairing import count_boards, share_boards

BOARD, KERF = 1200.0, 3.0


def task_of(lengths, stagger=300.0, shortest=300.0, lefts=None) -> Task:
    lefts = lefts or [0.0] * len(lengths)
    spans = tuple(Span(row=i, left_mm=left, right_mm=left + length, shortest_mm=shortest)
                  for i, (left, length) in enumerate(zip(lefts, lengths)))
    seams = tuple(Seam(upper=i, lower=i + 1, lo_mm=max(a.left_mm, b.left_mm), hi_mm=min(a.right_mm, b.right_mm),
                       stagger_mm=stagger) for i, (a, b) in enumerate(zip(spans, spans[1:])) if stagger)
    return Task(board_mm=BOARD, kerf_mm=KERF, spans=spans, seams=seams)


def fewest_by_trying(task: Task, firsts: list[float]) -> int:
    """Boards of given first pieces, none of them a whole run: every pairing of ends with starts is tried."""
    pieces = [split_run(span.length_mm, first, BOARD) for span, first in zip(task.spans, firsts)]
    best = max(sum(pieces[i][1] + firsts[j] + KERF <= BOARD + 1e-9 for i, j in enumerate(order))
               for order in permutations(range(len(firsts))))
    return sum(count - 2 for count, _ in pieces) + 2 * len(firsts) - best


def fewest_bins(lengths: list[float]) -> int:
    """Boards that hold the given pieces: every assignment is tried (three boards hold six pieces shorter than half
    of one)."""
    def fits(bins: tuple[int, ...]) -> bool:
        return all(sum(x + KERF for x, k in zip(lengths, bins) if k == b) <= BOARD + KERF + 1e-9 for b in bins)

    return min(len(set(bins)) for bins in product(range(3), repeat=len(lengths)) if fits(bins))


def keeps_every_rule(task: Task, firsts: list[float]) -> bool:
    within = all(any(lo - 1e-6 <= first <= hi + 1e-6 for lo, hi in first_pieces(span, BOARD))
                 for span, first in zip(task.spans, firsts))
    state = state_of(task, firsts)
    return within and all(state.holds(run) for run in range(len(firsts)))


def test_boards_of_arcs_are_boards_of_pairings():
    draw = random.Random(5)
    for _ in range(80):
        lengths = [draw.choice([draw.uniform(1250, 4000), 2400.0, 2398.0]) for _ in range(5)]
        firsts = [draw.choice([draw.uniform(20, 1180), 1200.0]) for _ in lengths]
        task = task_of(lengths, stagger=0.0)
        arcs = arcs_of(task)
        assert boards_of(arcs, lie_of(arcs, firsts)) == fewest_by_trying(task, firsts) == count_boards(task, firsts)


def test_runs_of_one_piece_are_packed_as_by_trying_every_packing():
    draw = random.Random(6)
    for _ in range(6):
        lengths = [draw.uniform(150, 590) for _ in range(6)]
        task = task_of(lengths, stagger=0.0, shortest=299.0)
        arcs = arcs_of(task)
        fewest = fewest_bins(lengths)
        lie, boards = hunt(arcs, lie_of(arcs, list(lengths)), least=fewest, moves=400, seed=1)
        noted, firsts = firsts_of(arcs, lie)
        assert boards == fewest and lower_bound(task, enough=99, rounds=5) <= fewest
        assert len(share_boards(noted, firsts)) == count_boards(noted, firsts) <= boards


@pytest.mark.parametrize("seed", range(6))
def test_the_hunt_keeps_every_rule_and_counts_what_the_pieces_need(seed):
    """Rows that begin and end anywhere, short ones between: boards as counted from the pieces, pieces that fit their
    boards."""
    draw = random.Random(seed)
    lengths = [draw.choice([draw.uniform(1500, 4500), draw.uniform(320, 1100)]) for _ in range(12)]
    task = task_of(lengths, lefts=[draw.uniform(0, 400) for _ in lengths])
    firsts = start(task, seed=seed)
    arcs = arcs_of(task)
    before = boards_of(arcs, lie_of(arcs, firsts))
    lie, boards = hunt(arcs, lie_of(arcs, firsts), least=0, moves=400, seed=seed)
    noted, firsts = firsts_of(arcs, lie)
    assert keeps_every_rule(noted, firsts) and boards <= before
    assert count_boards(noted, firsts) == boards >= lower_bound(task, enough=boards, rounds=10)
    whole = sum(max(0, split_run(span.length_mm, first, BOARD)[0] - 2) for span, first in zip(task.spans, firsts))
    assert whole + len(share_boards(noted, firsts)) == boards
    for share in share_boards(noted, firsts):
        pieces = [task.spans[run].length_mm for run in share.slices] + [firsts[share.start]] * (share.start >= 0)
        pieces += [split_run(task.spans[share.end].length_mm, firsts[share.end], BOARD)[1]] * (share.end >= 0)
        assert sum(pieces) + KERF * (len(pieces) - 1) <= BOARD + 1e-6


def test_a_hall_searched_in_blocks_keeps_every_rule_and_needs_no_more_boards():
    draw = random.Random(11)
    task = task_of([draw.uniform(2500, 4500) for _ in range(150)], lefts=[draw.uniform(0, 300) for _ in range(150)])
    arcs = arcs_of(task)
    lie = lie_of(arcs, start(task, seed=1))
    found = hunt_in_blocks(arcs, lie, moves=40, seed=0)
    assert keeps_every_rule(*firsts_of(arcs, found)) and boards_of(arcs, found) < boards_of(arcs, lie)


def test_arcs_a_little_apart_are_shifted_to_meet():
    """Four rows of 3990 leave 1197 - 390 = 807 of circle each; laid 5 mm too far apart for the three boards less
    they can save."""
    task = task_of([3990.0] * 4, stagger=0.0, shortest=0.0)
    arcs = arcs_of(task)
    lie = lie_of(arcs, [1200.0 - 5.0, 800.0, 395.0, 3.0])
    aim = boards_of(arcs, lie_of(arcs, [1200.0, 807.0, 414.0, 21.0]))
    found = shift(arcs, lie, aim)
    assert boards_of(arcs, lie) >= aim and found is not None and boards_of(arcs, found) <= aim


def test_what_cannot_be_is_not_shifted():
    """Wood for less than two boards saved."""
    arcs = arcs_of(task_of([3990.0] * 2, stagger=0.0))
    assert shift(arcs, lie_of(arcs, [1200.0, 800.0]), 6) is None


@pytest.mark.parametrize("seed", range(4))
def test_a_place_within_the_leeway_needs_no_board_more_by_the_pieces(seed):
    """Whatever place is drawn for whatever run, boards counted from the pieces do not rise, and the stagger holds."""
    draw = random.Random(seed)
    lengths = [draw.choice([draw.uniform(1500, 4500), draw.uniform(320, 1100)]) for _ in range(12)]
    task = task_of(lengths, lefts=[draw.uniform(0, 400) for _ in lengths])
    arcs = arcs_of(task)
    lie, boards = hunt(arcs, lie_of(arcs, start(task, seed=seed)), least=0, moves=300, seed=seed)
    noted, firsts = firsts_of(arcs, lie)
    state = state_of(noted, firsts)
    leeway, moved = leeway_of(state), 0
    for _ in range(150):
        run = draw.randrange(len(firsts))
        first = leeway.draw(run, draw.random(), draw.random())
        if first is not None:
            moved += abs(first - state.firsts[run]) > 1.0
            state.set(run, first)
            leeway.move({run: first})
            assert keeps_every_rule(noted, state.firsts) and count_boards(noted, state.firsts) <= boards
    assert moved > 10
