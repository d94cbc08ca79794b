"""How many boards given first pieces need, as a curve: the theory shared by the bound and the search.

With C = board - kerf, a start piece a and an end piece b share a board iff a + b <= C. For any y, no two of these share a
board: whole boards, starts a >= y, ends b > C - y, slices that are both >= y and > C - y. Their number D(y) is therefore a
lower bound, and by Konig's theorem on this nested bipartite graph the greatest D(y) *is* the number of boards when there
are no slices. It is enough to look at y equal to some candidate first piece.

Everything is counted in whole numbers, so results are the same on every machine.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout.model import SAME_MM, Task
from layout.tree import Floats, Ints, last_pieces


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Steps:
    """What each candidate first piece of a run adds to D, by index among the thresholds.

    `whole` everywhere; 1 before `start_to` (its start), 1 from `end_from` (its end), 1 in [slice_lo, slice_hi) (a slice).
    """

    whole: Ints
    start_to: Ints
    end_from: Ints
    slice_lo: Ints
    slice_hi: Ints
    single: NDArray[np.bool_]


def thresholds_of(firsts: list[Floats]) -> Floats:
    """All candidate first pieces, sorted: where D can change."""
    return np.unique(np.concatenate(firsts))


def steps_of(task: Task, run: int, firsts: Floats, thresholds: Floats, slack_mm: float = 0.0) -> Steps:
    """Steps of a run's candidates. A candidate that stands for all lengths up to `slack_mm` more takes the best of them:
    its start is the least there, its end shorter by the slack."""
    span, n = task.spans[run], len(thresholds)
    counts, lasts = last_pieces(span, firsts, task.board_mm)
    single = counts == 1
    starts = np.searchsorted(thresholds, firsts + SAME_MM, side="left")
    ends = np.searchsorted(thresholds, task.shared_mm - (lasts - slack_mm) + SAME_MM, side="right")
    slice_hi = int(np.searchsorted(thresholds, span.length_mm + SAME_MM, side="left"))
    slice_lo = min(slice_hi, int(np.searchsorted(thresholds, task.shared_mm - span.length_mm + SAME_MM, side="right")))
    return Steps(whole=np.where(single, 0, counts - 2), start_to=np.where(single, 0, starts), end_from=np.where(single, n, ends),
                 slice_lo=np.where(single, slice_lo, 0), slice_hi=np.where(single, slice_hi, 0), single=single)


def add_run(crowd: Ints, steps: Steps, k: int, sign: int) -> None:
    """Add (sign 1) or take away (-1) a run with candidate k to the curve D, in place."""
    crowd += sign * steps.whole[k]
    crowd[:steps.start_to[k]] += sign
    crowd[steps.end_from[k]:] += sign
    crowd[steps.slice_lo[k]:steps.slice_hi[k]] += sign


def prices(steps: Steps, weights: Ints) -> Ints:
    """Price of every candidate: the sum over thresholds of weight times what the run adds to D there."""
    upto = np.concatenate([[0], np.cumsum(weights)])
    total = upto[-1]
    return (total * steps.whole + upto[steps.start_to] + (total - upto[steps.end_from])
            + (upto[steps.slice_hi] - upto[steps.slice_lo]))
