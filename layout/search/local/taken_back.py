"""First pieces taken back to earlier ones wherever rules hold and no board is lost: what is printed already stays.

A search begins from first pieces that keep the rules with as few runs moved as can be: exactly over the forest of seams
(`layout.search.core.forest_dp`). For fewer boards it moves runs that need not move, too. Windows of runs, from all of
them down to single ones, are given their earlier first pieces again; a window that breaks a rule or costs a board is
put back.
"""
from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from layout.search.core.board_pairing import boards_taken
from layout.search.core.forest_dp import NEVER, candidates, plant, solve
from layout.search.core.model import SAME_MM, Task, split_run
from layout.search.core.repair import mend
from layout.search.core.state import State, state_of

#: Candidates lie so far apart, mm; price of a run that moves at all, beside a millimetre it moves.
STEP_MM, MOVED_PRICE = 2.0, 1_000_000


def fewest_moved(task: Task, wanted: list[float]) -> list[float] | None:
    """First pieces that keep every rule, as many as can be as wanted and the others near to that; None if none are
    found."""
    state, options = state_of(task, wanted), [candidates(span, task.board_mm, STEP_MM) for span in task.spans]
    options = [np.union1d(found, [first]) if state.allows(run, first) else found
               for run, (found, first) in enumerate(zip(options, wanted))]
    if any(len(found) == 0 for found in options):
        return None
    off = [np.round(np.abs(found - first)).astype(np.int64) for found, first in zip(options, wanted)]
    prices = [np.where(np.abs(found - first) <= SAME_MM, 0, MOVED_PRICE + away)
              for found, first, away in zip(options, wanted, off)]
    value, chosen = solve(plant(task, options), prices)
    return None if value >= NEVER else mend(task, [float(found[k]) for found, k in zip(options, chosen)])


def count_moved(firsts: list[float], wanted: list[float]) -> int:
    """How many runs do not begin as wanted."""
    return sum(abs(first - other) > SAME_MM for first, other in zip(firsts, wanted))


def taken_back(task: Task, firsts: list[float], earlier: Sequence[Sequence[float]], *, boards: int) -> list[float]:
    """The first pieces with as many as can be as they were, in no more than so many boards. earlier: first pieces to
    go back to, of the first runs of the task each; those named first are tried first."""
    state = state_of(task, firsts)
    for wanted in earlier:
        for size in _sizes(len(wanted)):
            for lo in range(0, len(wanted), max(1, size // 2)):
                _go_back(state, _moves(state, wanted, lo, lo + size), boards)
    return list(state.firsts)


def _sizes(runs: int) -> Iterator[int]:
    """How many runs a window holds: all, then half as many each time; single runs twice, since one opens the way for
    another."""
    size = runs
    while size > 1:
        yield size
        size = (size + 1) // 2
    yield from (1, 1)


def _moves(state: State, wanted: Sequence[float], lo: int, hi: int) -> dict[int, float]:
    """The runs of a window that differ from what they were, each with that. A run in one piece, now or then, stays."""
    found = {}
    for run in range(lo, min(hi, len(wanted))):
        then, _ = split_run(state.task.spans[run].length_mm, wanted[run], state.task.board_mm)
        if min(then, state.counts[run]) > 1 and abs(state.firsts[run] - wanted[run]) > SAME_MM:
            found[run] = wanted[run]
    return found


def _go_back(state: State, moves: dict[int, float], boards: int) -> None:
    if not moves or not all(state.allows(run, first) for run, first in moves.items()):
        return
    before = {run: state.firsts[run] for run in moves}
    for run, first in moves.items():
        state.set(run, first)
    if not all(map(state.holds, moves)) or boards_taken(state.task, state.firsts) > boards:
        for run, first in before.items():
            state.set(run, first)
