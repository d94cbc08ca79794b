"""Late acceptance: a walk over first pieces that takes a step if it costs no more than now, or than some steps ago.

Burke and Bykov 2017: it needs no exponentials, so it runs the same on every machine.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import inf

from layout.search.core.state import State

#: A step may cost as much as so many steps ago.
MEMORY = 25
#: Other first pieces, by run.
Changes = dict[int, float]
#: What a state costs; of one that costs more than the second value, any number above it will do.
Cost = Callable[[State, float], int]


def accept_late(state: State, cost_of: Cost, draws: Iterable[Sequence[float]],
                step: Callable[[Sequence[float]], Changes],
                taken: Callable[[Changes], None] = lambda changes: None) -> tuple[list[float], int]:
    """(first pieces of least cost met, that cost). step: the changes a draw stands for, none if they are not
    allowed; taken: told of those made."""
    cost = cost_of(state, inf)
    best, least, memory = list(state.firsts), cost, [cost] * MEMORY
    for turn, draw in enumerate(draws):
        changes = step(draw)
        new = _attempt(state, changes, cost_of, max(cost, memory[turn % MEMORY])) if changes else None
        if new is not None:
            cost = new
            taken(changes)
            if cost < least:
                best, least = list(state.firsts), cost
        memory[turn % MEMORY] = cost
    return best, least


def _attempt(state: State, changes: Changes, cost_of: Cost, most: int) -> int | None:
    """What the state costs with these first pieces, which it then has; None, with everything as it was, if a stagger is
    broken or it is more than `most`."""
    before = {run: state.spot(run) for run in changes}
    for run, first in changes.items():
        state.place(run, first)
    holds = all(state.holds(run) for run in changes)
    if holds:
        _measure(state, changes)
        cost = cost_of(state, most)
        if cost <= most:
            return cost
    for run, spot in before.items():
        state.put_back(run, spot)
    if holds:
        _measure(state, changes)
    return None


def _measure(state: State, runs: Iterable[int]) -> None:
    for run in runs:
        state.measure(run)
