"""What is still to be measured, from the first corner on: the fewest tape lengths that fix a floor and check one
another.

One length after another, each the one that helps most (`network_design`: A-optimal design, one at a time); once the
corners are sure enough, those that check a length which nothing would contradict. A greedy design: not always the
fewest there are, but within one of them on small nets, and the same lengths a surveyor would name first.
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.network_design import inner_covariance, is_sure, length_rows, open_pairs
from capture.adjustment.residuals import HIDDEN_SLIP_MM, NON_CENTRALITY
from capture.floor import Floor
from capture.network import Network, default_tape_sd_mm
from capture.readings.coverage import unseen_walls

#: A tape along a wall that nobody has seen also shows that it is one: it counts so many times. Our own choice.
_UNSEEN_TIMES = 2.0
#: No list is longer: beyond it a person has stopped reading.
_MOST = 40

Pair = tuple[int, int]


def measuring_plan(floor: Floor, network: Network) -> tuple[tuple[str, str], ...]:
    """Pairs of corners to tape, the most useful first; none where the floor is sure and every length checked.

    floor: of the outline's corners as far as they are known, with the covariance that the readings so far leave.
    """
    cov, names = inner_covariance(floor), floor.outline
    ring = floor.ring()
    waiting = open_pairs(floor, network)
    taken = [(names.index(t.a), names.index(t.b)) for t in network.tapes if {t.a, t.b} <= set(names)]
    unseen = [frozenset(wall) for wall in unseen_walls(network)]
    chosen: list[Pair] = []
    while waiting and len(chosen) < _MOST:
        rows, spread = _rows(ring, waiting)
        moved = rows @ cov
        own = np.sum(moved * rows, axis=1)
        if not _is_sure(ring, cov):
            times = [_UNSEEN_TIMES if frozenset((names[i], names[j])) in unseen else 1.0 for i, j in waiting]
            best = int(np.argmax(times * np.sum(moved**2, axis=1) / (spread**2 + own)))
        else:
            unchecked = _least_checked(ring, cov, [*taken, *chosen])
            if unchecked is None:
                break
            best = int(np.argmax((moved @ unchecked) ** 2 / (spread**2 + own)))
        cov = cov - np.outer(moved[best], moved[best]) / (spread[best] ** 2 + own[best])
        chosen.append(waiting.pop(best))
    return tuple((names[i], names[j]) for i, j in chosen)


def _rows(ring: NDArray[np.float64], pairs: Sequence[Pair]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(m, 2n) derivatives of the lengths by the corners, and (m,) the spread of a tape of that length."""
    rows, lengths = length_rows(ring, pairs)
    return rows, np.array([default_tape_sd_mm(float(mm)) for mm in lengths])


def _is_sure(ring: NDArray[np.float64], cov: NDArray[np.float64]) -> bool:
    walls, _ = length_rows(ring, [(k, (k + 1) % len(ring)) for k in range(len(ring))])
    worst = float(np.sqrt(np.max(np.sum(walls @ cov * walls, axis=1))))
    return is_sure(float(np.sqrt(np.trace(cov) / (2 * len(ring)))), worst)


def _least_checked(ring: NDArray[np.float64], cov: NDArray[np.float64],
                   taped: Sequence[Pair]) -> NDArray[np.float64] | None:
    """(2n,) row of the length whose slip would stay unseen longest; None if every slip of `HIDDEN_SLIP_MM` shows."""
    if not taped:
        return None
    rows, spread = _rows(ring, taped)
    redundancy = 1.0 - np.sum(rows @ cov * rows, axis=1) / spread**2
    slips = NON_CENTRALITY * spread / np.sqrt(np.maximum(redundancy, 1e-9))
    worst = int(np.argmax(slips))
    return rows[worst] if slips[worst] > HIDDEN_SLIP_MM else None
