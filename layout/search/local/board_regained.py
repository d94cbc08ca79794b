"""A board lost is won back by one run, or by one and a neighbour it pushes.

Of all first pieces of a run those are tried that fill a board up, its start beside some end or its end beside some
start, and the first and last of those the rules leave.
Everything else stays where it is, which a search for fewer boards does not care for.
"""
from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from layout.search.core.board_pairing import boards_taken, count_boards
from layout.search.core.model import SAME_MM, Task
from layout.search.core.state import State, seam_distance, state_of


def board_regained(task: Task, firsts: list[float], *, boards: int) -> list[float] | None:
    """First pieces of no more than so many boards with one run moved, else with two that share a seam; None if there
    are none. Rules are asked of what moves only."""
    state = state_of(task, firsts)
    free = [run for run, span in enumerate(task.spans) if span.row >= 0 and state.counts[run] > 1]
    for pushing in (False, True):
        for run in free:
            before = state.firsts[run]
            for first in _filling(state, run):
                state.set(run, first)
                if (_pushes(state, run, boards) if pushing else state.holds(run) and _is_enough(state, boards)):
                    return list(state.firsts)
            state.set(run, before)
    return None


def _pushes(state: State, run: int, boards: int) -> bool:
    """Whether the only neighbour that a moved run comes too near finds a place that does; it stays there then."""
    broken = {other for seam in state.seams_of[run] for other in (seam.upper, seam.lower)
              if other != run and seam_distance(seam, state.joints) < seam.stagger_mm - SAME_MM}
    if len(broken) != 1:
        return False
    other = broken.pop()
    before = state.firsts[other]
    for first in _filling(state, other) if state.counts[other] > 1 else ():
        state.set(other, first)
        if state.holds(other) and state.holds(run) and _is_enough(state, boards):
            return True
    state.set(other, before)
    return False


def _is_enough(state: State, boards: int) -> bool:
    counted = count_boards(state.task, state.firsts, zip(state.counts, state.lasts))
    return counted <= boards and boards_taken(state.task, state.firsts) <= boards


def _filling(state: State, run: int) -> Iterator[float]:
    """First pieces, whole mm, with which the run's start fills a board that holds another's end, or its end one that
    holds another's start, and those where rules begin and end; nearest to the present one first."""
    length, board, present = state.task.spans[run].length_mm, state.task.board_mm, state.firsts[run]
    others = [other for other in range(len(state.firsts)) if other != run and state.counts[other] > 1]
    starts = {float(floor(state.task.shared_mm - state.lasts[other] + SAME_MM)) for other in others}
    ends = {floor(state.task.shared_mm - state.firsts[other] + SAME_MM) for other in others}
    starts |= {(length - end) % board or board for end in ends}
    starts |= {float(first) for lo, hi in state.intervals[run] for first in (ceil(lo - SAME_MM), floor(hi + SAME_MM))}
    yield from sorted((first for first in starts if state.allows(run, first)),
                      key=lambda first: (abs(first - present), first))
