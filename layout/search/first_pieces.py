"""First pieces for every run: fewest boards, then few cuts and a good look.

`start` finds first pieces that keep every rule (exactly over the forest of seams, mended where a seam closes a ring);
`layout.search.fewest.min_boards` searches for fewest boards; a walk (`layout.search.local.local_search`) then keeps the
boards and lowers, in whole numbers: saw cuts (10 each); joints of rows i and i + 2 within 100 mm of each other, which
look like an H (100 a pair of runs, 1000 of long boards); three equal steps in succession, which look like stairs (6). A
saw cut takes a minute and a bad pattern stays, so an H weighs as much as ten cuts.
`layout.search.core.joint_preferences` adds joints near notches. Before the walk joints are put on the centre lines of
pipes where that costs no board (`layout.search.fewest.pipe_joints`); after it rows change places so that offcuts wait
less, where that costs nothing else (`layout.search.local.offcut_storage`).
"""
from __future__ import annotations

from collections.abc import Iterable
from math import inf

import numpy as np

from layout.search.core.circular_arcs import arcs_of, firsts_of, lie_of
from layout.search.fewest.decomposition import hunt_in_blocks
from layout.search.fewest.lower_bound import length_bound
from layout.search.fewest.min_boards import PLAIN, hunt
from layout.search.core.joint_preferences import manner_cost
from layout.search.core.repair import mend
from layout.search.core.model import SAME_MM, Task
from layout.search.fewest.pipe_joints import pin_pipes, unpinned
from layout.search.core.state import State, state_of
from layout.search.core.board_pairing import boards_taken, count_boards
from layout.search.core.forest_dp import NEVER, candidates, plant, solve
from layout.search.local.offcut_storage import shorten_waits
from layout.search.local.local_search import walk

#: A task with the places of its one-piece runs noted, and first pieces.
Sought = tuple[Task, list[float]]

BOARD_COST, CUT_COST, H_COST, STAIR_COST = 1_000_000, 10, 100, 6
#: Boards so long keep joints two rows apart `H_MM` from one another unless that costs a board (common practice, no
#: source): an H weighs as much as a hundred cuts.
LONG_BOARD_MM, FAR_COST = 1200.0, 1000
H_MM, STAIR_MM = 100.0, 25.0
STEP_MM = 2.0
#: Seeds of searches that begin anew are that far apart: one search draws from the next seeds too.
SEED_STEP = 1000
#: What is added to the seed of each walk more.
MORE_WALKS = (3, 4)
#: One move that lets offcuts wait less for so many of the walk.
WAITS_SHARE = 5


def seek(task: Task, firsts: list[float], *, moves: int, seed: int, least: int = 0, plain: int = PLAIN) -> Sought:
    """(the task with the places of its one-piece runs noted, first pieces of fewer boards than the given ones, which
    must keep every rule).

    least: boards known to be needed. plain: moves at first that push nobody (`layout.search.fewest.min_boards`). Same
    arguments, same answer.
    """
    arcs = arcs_of(task)
    lie = hunt_in_blocks(arcs, lie_of(arcs, firsts), moves=moves, seed=seed)
    lie, _ = hunt(arcs, lie, least=max(least, length_bound(task)), moves=moves // 2, seed=seed, plain=plain)
    return firsts_of(arcs, lie)


def seek_again(task: Task, found: Sought, others: Iterable[tuple[list[float], int]], *, moves: int,
               least: int) -> Sought:
    """What `seek` found, or fewer boards from other first pieces, until none is left to win. others: (first pieces,
    seed of the draws); neighbours are pushed from the first move on."""
    boards, others = boards_taken(*found), iter(others)
    while boards > least and (other := next(others, None)) is not None:
        sought = seek(task, other[0], moves=moves, seed=other[1], least=least, plain=0)
        if boards_taken(*sought) < boards:
            found, boards = sought, boards_taken(*sought)
    return found


def tidy(noted: Task, found: list[float], *, moves: int, seed: int, tidying: int) -> Sought:
    """The same as what `seek` gives, with no more boards: joints put on pipes' middles, then a walk of `tidying` moves
    for cuts and looks, and a fifth of that for offcuts that wait less. Both count two pieces at hand in one board as a
    board saved: if that is all they win, what was found stays as it is."""
    pinned, tidied = pin_pipes(noted, found, moves=moves, seed=seed)
    tidied = _walked(pinned, tidied, tidying, seed)
    tidied = shorten_waits(state_of(pinned, tidied), neat_cost, moves=tidying // WAITS_SHARE, seed=seed + 2)
    better = unpinned(pinned, noted), tidied
    return better if boards_taken(*better) <= boards_taken(noted, found) else (noted, found)


def _walked(task: Task, firsts: list[float], moves: int, seed: int) -> list[float]:
    """First pieces after a walk of so many moves; up to twice as many again, while that helps, where joints of long
    boards two rows apart stay alike."""
    firsts, cost = walk(state_of(task, firsts), neat_cost, moves=moves, seed=seed + 1, alike_mm=H_MM)
    for more in MORE_WALKS if has_long_boards(task) else ():
        before = cost
        if count_h(state_of(task, firsts)):
            firsts, cost = walk(state_of(task, firsts), neat_cost, moves=moves, seed=seed + more, alike_mm=H_MM)
        if cost >= before:
            break
    return firsts


def start(task: Task, *, seed: int) -> list[float] | None:
    """First pieces that keep every rule; None if none were found."""
    rng = np.random.default_rng(seed)
    options = [candidates(span, task.board_mm, STEP_MM) for span in task.spans]
    if any(len(lengths) == 0 for lengths in options):
        return None
    for _ in range(3):
        value, chosen = solve(plant(task, options), [rng.integers(0, 1024, len(lengths)) for lengths in options])
        if value >= NEVER:
            return None
        mended = mend(task, [float(lengths[k]) for lengths, k in zip(options, chosen)])
        if mended is not None:
            return mended
    return None


def neat_cost(state: State, most: float = inf) -> int:
    """Boards, then cuts and look; of what costs more than `most` only so much as shows that."""
    cost = BOARD_COST * count_boards(state.task, state.firsts, zip(state.counts, state.lasts))
    if cost <= most:
        cost += (FAR_COST if has_long_boards(state.task) else H_COST) * count_h(state)
    if cost <= most:
        cost += CUT_COST * _cuts(state) + manner_cost(state.task, state.joints)
    if cost <= most:
        cost += STAIR_COST * count_stairs(state.task, state.firsts)
    return cost


def has_long_boards(task: Task) -> bool:
    """Whether boards are so long that joints two rows apart can keep off one another."""
    return task.board_mm >= LONG_BOARD_MM


def count_cuts(task: Task, firsts: list[float]) -> int:
    """Saw cuts across boards: one for every end piece, unless it is a whole board or another's offcut fits as it is."""
    return _cuts(state_of(task, firsts))


def count_h(state: State) -> int:
    """Pairs of runs two rows apart with joints within 100 mm of each other."""
    return sum(apart < H_MM for apart in state.apart_mm)


def count_stairs(task: Task, firsts: list[float]) -> int:
    """Threes of successive equal steps (within 25 mm, round the board's length) between rows of one run each."""
    board, stairs, so_far = task.board_mm, 0, 0
    row, place, step = -2, 0.0, 0.0
    for span, first in zip(task.spans, firsts):
        now = span.left_mm + first
        if span.row == row + 1:
            off = (now - place - step) % board
            so_far = so_far + 1 if so_far and (off < STAIR_MM or off > board - STAIR_MM) else 1
            stairs += so_far >= 3
            step = now - place
        else:
            so_far = 0
        row, place = span.row, now
    return stairs


def _cuts(state: State) -> int:
    """Saw cuts across; an offcut that fits as it is, or as the edge window lets it, saves the second cut (if both
    sawn ends are square)."""
    shared, cuts = state.task.shared_mm, 0
    offered, asked = [], []
    for ends, first, last, count in zip(state.ends, state.firsts, state.lasts, state.counts):
        if last < ends.last_whole_mm:
            cuts += 1
            if count > 1 and ends.square_right:
                offered.append((shared - last, ends.right_give_mm))
        if count > 1 and first < ends.first_whole_mm:
            cuts += 1
            if ends.square_left:
                asked.append((first, ends.left_give_mm))
    return cuts - _as_they_are(offered, asked)


def _as_they_are(offered: list[tuple[float, float]], asked: list[tuple[float, float]]) -> int:
    """How many starts take an offcut as it is: (length, how much shorter it may come out) against (length, how much
    longer it may be), greedily."""
    offered.sort()
    asked.sort()
    taken = at = 0
    for length, give in asked:
        while at < len(offered) and offered[at][0] < length - SAME_MM:
            at += 1
        if at == len(offered):
            break
        if offered[at][0] - offered[at][1] - give <= length + SAME_MM:
            taken += 1
            at += 1
    return taken
