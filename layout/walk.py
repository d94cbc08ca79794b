"""A better plan by small steps: a walk that moves one run at a time.

Moves: to a length that uses another run's offcut exactly as it is; to the edge of what a neighbour allows; to any length. A move is
kept if the cost is no worse than the present one, or than the cost `MEMORY` moves ago (late acceptance: it needs no
exponentials, so it runs the same on every machine).
"""
from __future__ import annotations

from collections.abc import Callable

import numpy as np

from layout.model import SAME_MM
from layout.state import State

MEMORY = 25


def walk(state: State, cost_of: Callable[[State], int], *, moves: int, seed: int) -> tuple[list[float], int]:
    """(first pieces of least cost met, that cost) in `moves` moves."""
    rng = np.random.default_rng(seed)
    cost = cost_of(state)
    best, best_cost, memory = list(state.firsts), cost, [cost] * MEMORY
    draws = rng.random((moves, 4))
    for turn in range(moves):
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
