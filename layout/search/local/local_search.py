"""A better plan by small steps: a walk that moves one run at a time, or lets several change places.

Moves of one run: to a place that needs no board more, as the arcs tell (`feasible_moves`); to a length that uses
another run's offcut exactly as it is; to the edge of what a neighbour allows; to any length. Moves of several: two runs
exchange their first pieces, or a stretch of runs takes its own in the reverse order (`swap_moves`); they reach good
looks that single steps cannot. Some of the moves take a run whose joints lie near those of the run two rows on. Moves
are kept by late acceptance (`late_acceptance`).
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layout.search.local.late_acceptance import Cost, accept_late
from layout.search.local.swap_moves import reversed_stretch, swapped
from layout.search.local.feasible_moves import Leeway, leeway_of
from layout.search.core.model import SAME_MM
from layout.search.core.state import State

#: Share of moves that take a run of a pair too much alike, and of those of one run that take a place which needs no
#: board more.
ALIKE_SHARE, FREE_SHARE = 0.3, 0.35
#: Share of moves in which two runs exchange first pieces, and in which a stretch of runs is reversed.
SWAP_SHARE, REVERSE_SHARE = 0.2, 0.2


def walk(state: State, cost_of: Cost, *, moves: int, seed: int, alike_mm: float) -> tuple[list[float], int]:
    """(first pieces of least cost met, that cost) in `moves` moves. alike_mm: joints two rows apart and nearer than
    this look alike."""
    leeway, draws = leeway_of(state), np.random.default_rng(seed).random((moves, 8)).tolist()
    return accept_late(state, cost_of, draws, lambda draw: _changes(state, leeway, draw, alike_mm), leeway.move)


def _changes(state: State, leeway: Leeway, draw: Sequence[float], alike_mm: float) -> dict[int, float]:
    """Other first pieces of one or more runs; nothing if the draw gives none that are allowed."""
    run = _whose_turn(state, draw, alike_mm)
    if draw[6] < SWAP_SHARE:
        return swapped(state, run, draw[7])
    if draw[6] < SWAP_SHARE + REVERSE_SHARE:
        return reversed_stretch(state, run, draw[5] < 0.5, draw[7])
    first = _first_for(state, leeway, run, draw)
    return {} if first is None or abs(first - state.firsts[run]) < SAME_MM else {run: first}


def _whose_turn(state: State, draw: Sequence[float], alike_mm: float) -> int:
    """Any run, or now and then one of a pair whose joints look alike."""
    if draw[4] < ALIKE_SHARE:
        alike = [pair for pair, apart in enumerate(state.apart_mm) if apart < alike_mm]
        if alike:
            return state.two_apart[alike[int(draw[0] * len(alike))]][int(2 * draw[4] / ALIKE_SHARE)]
    return int(draw[0] * len(state.firsts))


def _first_for(state: State, leeway: Leeway, run: int, draw: Sequence[float]) -> float | None:
    return leeway.draw(run, draw[2], draw[3]) if draw[5] < FREE_SHARE else propose(state, run, draw)


def propose(state: State, run: int, draw: Sequence[float]) -> float | None:
    """Another first piece for a run; None if the draw (numbers in 0..1) gives none that is allowed."""
    span, board, shared = state.task.spans[run], state.task.board_mm, state.task.shared_mm
    kind, which, where = draw[1:4]
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
    elif not state.intervals[run]:
        return None
    else:
        lo, hi = state.intervals[run][int(which * len(state.intervals[run]))]
        first = lo + float(int(where * (hi - lo)))
    return first if state.allows(run, first) else None
