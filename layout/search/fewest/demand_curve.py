"""How many boards given first pieces need, as a curve: the theory behind the bound.

With C = board - kerf, a start piece a and an end piece b share a board iff a + b <= C. For any y, no two of these share
a board: whole boards, starts a >= y, ends b > C - y. A run of one piece of length l lies somewhere in its board, with x
of wood from its far end on (at least l); it stands in the way of y if x - l - k < y <= x (`core.circular_arcs`). The
number D(y) of pieces that cannot share is a lower bound, and by Konig's theorem on this nested bipartite graph the
greatest D(y) *is* the number of boards.

Weighed by w(y) >= 0 over a few y, each run's share is a price that depends on its own first piece alone; a run of one
piece takes the x where least weight stands in its way. Everything is counted in whole numbers, so results are the same
on every machine.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout.search.core.model import SAME_MM, Task
from layout.search.core.forest_dp import Floats, Ints, last_pieces


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Steps:
    """What each candidate first piece of a run adds to D, by index among the y that carry weight.

    `whole` everywhere; 1 before `start_to` (its start), 1 from `end_from` (its end). In one piece (`single`) it adds 1
    over one of the windows [window_lo, window_hi), whichever it likes.
    """

    whole: Ints
    start_to: Ints
    end_from: Ints
    single: NDArray[np.bool_]
    window_lo: Ints
    window_hi: Ints


def widths_of(firsts: Floats, step_mm: float) -> Floats:
    """How far each candidate's cell reaches: up to the next candidate, nowhere if that is further than a step."""
    gaps = np.diff(firsts, append=np.inf)
    return np.where(gaps <= step_mm + SAME_MM, gaps, 0.0)


def steps_of(task: Task, run: int, firsts: Floats, carriers: Floats, widths: Floats) -> Steps:
    """Steps of a run's candidates. A candidate that stands for a whole cell takes the best of it: its start is the
    least there, its end the shortest."""
    span, n = task.spans[run], len(carriers)
    counts, lasts = last_pieces(span, firsts, task.board_mm)
    single = counts == 1
    starts = np.searchsorted(carriers, np.maximum(firsts, span.least_end_mm) + SAME_MM, side="left")
    ends = np.searchsorted(carriers, task.shared_mm - np.maximum(lasts - widths, span.least_end_mm) + SAME_MM,
                           side="right")
    taken = span.length_mm + task.kerf_mm
    rests = np.concatenate([[-task.kerf_mm], carriers, [task.board_mm - taken]])
    rests = rests[rests <= max(-task.kerf_mm, task.board_mm - taken)] if single.any() else rests[:0]
    return Steps(whole=np.where(single, 0, counts - 2), start_to=np.where(single, 0, starts),
                 end_from=np.where(single, n, ends), single=single,
                 window_lo=np.searchsorted(carriers, rests + SAME_MM, side="left"),
                 window_hi=np.searchsorted(carriers, rests + taken - SAME_MM, side="right"))


def prices(steps: Steps, weights: Ints) -> Ints:
    """Price of every candidate: the sum over carriers of weight times what the run adds to D there."""
    upto = np.concatenate([[0], np.cumsum(weights)])
    price = upto[-1] * steps.whole + upto[steps.start_to] + (upto[-1] - upto[steps.end_from])
    return np.where(steps.single, _windows(steps, upto).min(), price) if len(steps.window_lo) else price


def add_run(crowd: Ints, steps: Steps, k: int, weights: Ints) -> None:
    """Add a run with candidate k to the curve D, in place; in one piece where these weights leave it most room."""
    if steps.single[k]:
        best = int(np.argmin(_windows(steps, np.concatenate([[0], np.cumsum(weights)]))))
        crowd[steps.window_lo[best]:steps.window_hi[best]] += 1
        return
    crowd += steps.whole[k]
    crowd[:steps.start_to[k]] += 1
    crowd[steps.end_from[k]:] += 1


def _windows(steps: Steps, upto: Ints) -> Ints:
    return upto[steps.window_hi] - upto[steps.window_lo]
