"""Fewest boards: a local search that moves one run at a time.

The boards of given first pieces are the peak of the curve D (`layout.crowding`). Two plans of equal boards are not equally
near to saving one: the search also counts how long a stretch of y stands at the peak and one below it, in mm. Moves: to a
length that uses another run's offcut exactly as it is; to the edge of what a neighbour allows; to any length. A move is
kept if the cost is no worse than the present one, or than the cost `MEMORY` moves ago (late acceptance: it needs no
exponentials, so it runs the same on every machine). Chains of exact offcuts are what fills boards, and only exact lengths
find them: candidates on a grid, though searched far harder, gave 1 to 2 % more boards in our trials.
"""
from __future__ import annotations

from collections.abc import Callable

import numpy as np

from layout.model import SAME_MM
from layout.state import State
from layout.stock import count_boards

BOARD_COST = 100_000
MEMORY = 25


def walk(state: State, cost_of: Callable[[State], int], *, moves: int, enough: int, seed: int) -> tuple[list[float], int]:
    """(first pieces of least cost met, that cost) in `moves` moves; stops early at a cost below ``enough``."""
    rng = np.random.default_rng(seed)
    cost = cost_of(state)
    best, best_cost, memory = list(state.firsts), cost, [cost] * MEMORY
    draws = rng.random((moves, 4))
    for turn in range(moves):
        if best_cost < enough:
            break
        run = int(draws[turn, 0] * len(state.firsts))
        before = state.firsts[run]
        first = propose(state, run, draws[turn])
        if first is not None and abs(first - before) >= SAME_MM:
            state.set(run, first)
            new = cost_of(state) if state.holds(run) else None
            if new is None or (new > cost and new > memory[turn % MEMORY]):
                state.set(run, before)
            else:
                cost = new
                if cost < best_cost:
                    best, best_cost = list(state.firsts), cost
        memory[turn % MEMORY] = cost
    return best, best_cost


def propose(state: State, run: int, draw: np.ndarray) -> float | None:
    """Another first piece for a run; None if the draw (4 numbers in 0..1) gives none that is allowed."""
    span, board, shared = state.task.spans[run], state.task.board_mm, state.task.shared_mm
    kind, which, where = float(draw[1]), float(draw[2]), float(draw[3])
    other = int(which * len(state.firsts))
    if kind < 0.45:
        first = shared - state.lasts[other]
    elif kind < 0.65:
        first = (span.length_mm - (shared - state.firsts[other])) % board
    elif kind < 0.75 and state.seams_of[run]:
        seam = state.seams_of[run][int(which * len(state.seams_of[run]))]
        neighbour = seam.lower if seam.upper == run else seam.upper
        place = state.task.spans[neighbour].left_mm + state.firsts[neighbour]
        first = (place + (seam.stagger_mm if where < 0.5 else -seam.stagger_mm) - span.left_mm) % board
    else:
        lo, hi = state.intervals[run][int(which * len(state.intervals[run]))]
        first = lo + float(int(where * (hi - lo)))
    return first if any(lo - SAME_MM <= first <= hi + SAME_MM for lo, hi in state.intervals[run]) else None


def crowd_cost(state: State) -> int:
    """Boards, then how broad the peak of D is: 4 for every mm at the peak, 1 for every mm one below it."""
    boards, at_peak, below = _peak(state)
    if 1 in state.counts:
        boards = count_boards(state.task, state.firsts)
    return BOARD_COST * boards + 4 * int(at_peak) + int(below)


def _peak(state: State) -> tuple[int, float, float]:
    """(boards, mm of y at the peak of D, mm one below): D falls by one past every start, rises past every end's offcut."""
    shared, whole, events = state.task.shared_mm + SAME_MM, 0, []
    for first, last, count in zip(state.firsts, state.lasts, state.counts):
        if count > 1:
            whole += count - 2
            events.append((first, -1))
            events.append((shared - last, 1))
    events.sort()
    level, y = 0, 0.0
    length: dict[int, float] = {0: 0.0}
    for place, step in events:
        if place > y:
            length[level] = length.get(level, 0.0) + place - y
            y = place
        level += step
    length[level] = length.get(level, 0.0) + max(0.0, shared - y)
    peak = max(level for level, mm in length.items() if mm > 0.0)
    return whole + len(events) // 2 + peak, length[peak], length.get(peak - 1, 0.0)
