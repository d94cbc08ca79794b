"""Moves of several runs at once: they take one another's first pieces.

Where rows are of one length such a move changes neither boards nor cuts, only which rows are neighbours and how long an
offcut waits.
"""
from __future__ import annotations

from collections.abc import Sequence

from layout.search.core.model import SAME_MM
from layout.search.core.state import State

#: Runs in the longest stretch that is reversed.
LONGEST_STRETCH = 9


def swapped(state: State, run: int, where: float) -> dict[int, float]:
    """First pieces of this run and another, exchanged; empty if one of them may not have the other's. where: which
    other, in 0..1."""
    other = int(where * len(state.firsts))
    return _allowed(state, {run: state.firsts[other], other: state.firsts[run]})


def reversed_stretch(state: State, run: int, ahead: bool, long: float) -> dict[int, float]:
    """First pieces of a stretch of runs that begins (ahead) or ends with this one, in reverse order, as 2-opt does with
    a tour (Croes 1958); empty if there are too few runs or one of them may not have its new one. long: how long a
    stretch, in 0..1."""
    longer = 1 + int(long * (LONGEST_STRETCH - 1))
    low = run if ahead else run - longer
    high = low + longer
    if low < 0 or high >= len(state.firsts):
        return {}
    return _allowed(state, {each: state.firsts[low + high - each] for each in range(low, high + 1)})


def exchanged(state: State, draw: Sequence[float]) -> dict[int, float]:
    """One or the other with any run. draw: four numbers in 0..1."""
    run = int(draw[0] * len(state.firsts))
    return swapped(state, run, draw[2]) if draw[1] < 0.5 else reversed_stretch(state, run, draw[3] < 0.5, draw[2])


def _allowed(state: State, wanted: dict[int, float]) -> dict[int, float]:
    """What really changes, if all of it is allowed."""
    changes = {run: first for run, first in wanted.items() if abs(first - state.firsts[run]) >= SAME_MM}
    return changes if all(state.allows(run, first) for run, first in changes.items()) else {}
