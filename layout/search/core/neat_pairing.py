"""Which end and which start share a board, so that a saw can make both: as many pairs as can be, then no strip no saw
holds, then fewest cuts.

What an end and a start leave of their board is sawn off one of them. Nothing may be left, which the edge window helps
(the one laid later is then taken as it is), or at least `SLIVER_MM`. The pairs are an assignment of least price
(SciPy's solver); among equal ones offcuts wait fewest rows. Of runs in several rooms, as few as can be go from one to
another; of the pairs named in `kept` as many as can be come back, as long as no strip comes of it.
"""
from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from layout.search.core.model import SAME_MM, Task
from layout.search.core.board_pairing import Shares

#: Price of a pair that does not fit, of an offcut carried to another room, of a strip that no saw can hold (joints are
#: moved for that, `layout.search.core.joint_nudges`), of a pair other than before, of a cut, of a row waited.
NEVER, CARRY_PRICE, SLIVER_PRICE, OTHER_PRICE, CUT_PRICE, WAIT_PRICE = 1e7, 2e3, 1e3, 1e2, 10.0, 0.01


def pair_neatly(task: Task, starts: list[tuple[float, int]], ends: list[tuple[float, int]], *,
                rooms: Sequence[int] = (), kept: Collection[tuple[int, int]] = ()) -> list[Shares]:
    """As many pairs as can be, as `layout.search.core.board_pairing` lists them. rooms: the room of each run, of those
    that lie in one. kept: pairs (run that ends, run that starts) wanted again."""
    if not starts or not ends:
        return [Shares(end=run, start=-1) for _, run in ends] + [Shares(end=-1, start=run) for _, run in starts]
    from scipy.optimize import linear_sum_assignment  # what prints a kept plan pairs nothing
    prices = _prices(task, starts, ends)
    if rooms:
        prices += CARRY_PRICE * _carried(rooms, starts, ends)
    if kept:
        prices += OTHER_PRICE * np.array([[(end, start) not in kept for _, start in starts] for _, end in ends])
    chosen = [(e, s) for e, s in zip(*(side.tolist() for side in linear_sum_assignment(prices)))
              if prices[e, s] < NEVER]
    served, used = {e for e, _ in chosen}, {s for _, s in chosen}
    pairs = [Shares(end=ends[e][1], start=starts[s][1]) for e, s in chosen]
    return (pairs + [Shares(end=run, start=-1) for e, (_, run) in enumerate(ends) if e not in served]
            + [Shares(end=-1, start=run) for s, (_, run) in enumerate(starts) if s not in used])


def _carried(rooms: Sequence[int], starts: list[tuple[float, int]],
             ends: list[tuple[float, int]]) -> NDArray[np.bool_]:
    """(ends, starts) whether a pair lies in two rooms; a piece at hand lies in none."""
    known = np.array([*rooms, -1])
    left, right = (known[np.minimum([run for _, run in side], len(rooms))] for side in (ends, starts))
    return (left[:, None] != right[None, :]) & (left[:, None] >= 0) & (right[None, :] >= 0)


def _prices(task: Task, starts: list[tuple[float, int]], ends: list[tuple[float, int]]) -> NDArray[np.float64]:
    """(ends, starts) price of every pair."""
    left_over = (
        task.shared_mm
        - np.array([length for length, _ in ends])[:, None]
        - np.array([length for length, _ in starts])[None, :]
    )
    gives = (np.array([task.spans[run].right_give_mm for _, run in ends])[:, None]
             + np.array([task.spans[run].left_give_mm for _, run in starts])[None, :])
    over = (np.array([task.spans[run].right_over_mm for _, run in ends])[:, None]
            + np.array([task.spans[run].left_over_mm for _, run in starts])[None, :])
    slanted = [np.array([not task.spans[run].square_right for _, run in ends])[:, None],
               np.array([not task.spans[run].square_left for _, run in starts])[None, :]]
    tapers = np.maximum(np.array([task.spans[run].right_taper_mm for _, run in ends])[:, None],
                        np.array([task.spans[run].left_taper_mm for _, run in starts])[None, :])
    sliver = np.array([task.spans[run].sliver_mm for _, run in starts])[None, :] - tapers
    enough = left_over + over >= sliver - SAME_MM
    as_it_is = ~slanted[0] & ~slanted[1] & (left_over <= gives + SAME_MM)
    price = np.where(enough, CUT_PRICE, np.where(as_it_is, 0.0, SLIVER_PRICE))
    rows = np.array([run for _, run in starts])[None, :] - np.array([run for _, run in ends])[:, None]
    return np.where(left_over < -SAME_MM, NEVER, price + WAIT_PRICE * (np.abs(rows) + (rows <= 0)))
