"""What to measure next: the tape length that would shrink the expected error of the corners most (A-optimal design).

A new length with derivative row j and standard deviation s changes the covariance C to C - C j'j C / (s2 + j C j').
The corners' error is taken in the gauge of inner constraints (their mean position and heading held), so that no corner
looks good for being held: S-transformation, Baarda 1973 (from memory).
"""
from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from capture.floor import Z95, Floor, without_drift
from capture.network import Network, default_tape_sd_mm
from capture.adjustment.floor_prior import crosses, inside
from capture.adjustment.survey import Advice

#: Corners this sure (one standard deviation, mm) are good enough to plan rows from: trade fact sheet, section 5, "what
#: accuracy is needed" (each last piece is measured in place anyway).
ENOUGH_SD_MM = 2.0


def corner_sd_mm(floor: Floor) -> float:
    """Root mean square standard deviation of the outline's corners under inner constraints, mm per coordinate pair /
    2."""
    return float(np.sqrt(np.trace(inner_covariance(floor)) / (2 * len(floor.outline))))


def good_enough(floor: Floor) -> bool:
    """Whether corners and every wall are sure enough for planning."""
    return is_sure(corner_sd_mm(floor), max(w.pm95_mm for w in floor.walls()) / Z95)


def is_sure(corner_sd_mm: float, wall_sd_mm: float) -> bool:
    """Whether a floor is: its corners on the whole, and its worst wall, one standard deviation each."""
    return corner_sd_mm <= ENOUGH_SD_MM and wall_sd_mm <= 1.25 * ENOUGH_SD_MM


def measure_next(floor: Floor, network: Network, *, most: int = 5) -> tuple[Advice, ...]:
    """Tape lengths not yet taken between corners in sight of each other, best first; each shrinks the error by 0.05
    mm or more."""
    if not np.any(floor.cov_mm2):
        return ()
    inner, names = inner_covariance(floor), floor.outline
    before = np.sqrt(np.trace(inner) / (2 * len(names)))
    found = []
    for i, j in open_pairs(floor, network):
        after, length = _after(floor, inner, i, j)
        if before - after > 0.05:
            found.append((before - after, after, i, j, length))
    found.sort(reverse=True)
    return tuple(Advice(a=names[i], b=names[j], gain_mm=float(gain), length_mm=length, before_sd_mm=float(before),
                        after_sd_mm=after) for gain, after, i, j, length in found[:most])


def best_check(
    floor: Floor, pairs: Sequence[tuple[int, int]], a: str, b: str, sd_mm: float
) -> tuple[str, str, float] | None:
    """The tape length not yet taken that would check the one taken from a to b best, and the redundancy that one would
    then have.

    pairs: what could be taped (`open_pairs`). With the rows j of the one and k of the other, its redundancy 1 - j C j'
    / sd2 grows by (j C k')2 / (s2 + k C k') / sd2. None if no length is left to take.
    """
    row, names = _row(floor, a, b), floor.outline
    spread = floor.cov_mm2 @ row
    if not pairs:
        return None
    firsts, seconds = (np.array([floor.index(names[pair[end]]) for pair in pairs]) for end in (0, 1))
    step = floor.points_mm[seconds] - floor.points_mm[firsts]
    length = np.hypot(*step.T)
    along = step / np.maximum(length, 1e-9)[:, None]
    # What a row of derivatives (-along at the first, along at the second point) makes of the covariance, all pairs at
    # once.
    met = np.sum(along * (spread.reshape(-1, 2)[seconds] - spread.reshape(-1, 2)[firsts]), axis=1)
    blocks = floor.cov_mm2.reshape(len(floor.names), 2, len(floor.names), 2).swapaxes(1, 2)
    between = blocks[firsts, firsts] + blocks[seconds, seconds] - blocks[firsts, seconds] - blocks[seconds, firsts]
    own = np.einsum("ki,kij,kj->k", along, between, along)
    s2 = np.array([default_tape_sd_mm(float(mm)) ** 2 for mm in length])
    redundancy = 1.0 - (float(row @ spread) - met ** 2 / (s2 + own)) / sd_mm ** 2
    best = int(np.argmax(redundancy))
    return names[pairs[best][0]], names[pairs[best][1]], float(redundancy[best])


def open_pairs(floor: Floor, network: Network) -> list[tuple[int, int]]:
    """Pairs of corners, by their number in the outline, that no tape length joins yet and one could."""
    taken, names = {frozenset((t.a, t.b)) for t in network.tapes}, floor.outline
    return [(i, j) for i, j in combinations(range(len(names)), 2) if frozenset((names[i], names[j])) not in taken
            and _in_sight(floor, i, j)]


def _row(floor: Floor, a: str, b: str) -> np.ndarray:
    """(2n,) derivative of the distance from a to b by the coordinates of all points."""
    return length_rows(floor.points_mm, [(floor.index(a), floor.index(b))])[0][0]


def length_rows(points_mm: np.ndarray, pairs: Sequence[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    """(m, 2n) derivatives of the lengths between pairs of points (n, 2) by their coordinates, and (m,) the lengths."""
    ends = np.array(pairs)
    step = points_mm[ends[:, 1]] - points_mm[ends[:, 0]]
    length = np.maximum(np.hypot(*step.T), 1e-9)
    rows = np.zeros((len(pairs), len(points_mm), 2))
    each = np.arange(len(pairs))
    rows[each, ends[:, 0]], rows[each, ends[:, 1]] = -step / length[:, None], step / length[:, None]
    return rows.reshape(len(pairs), -1), length


def _after(floor: Floor, inner: np.ndarray, i: int, j: int) -> tuple[float, float]:
    ring = floor.ring()
    (row,), lengths = length_rows(ring, [(i, j)])
    length = float(lengths[0])
    moved = inner @ row
    trace = np.trace(inner) - float(moved @ moved) / (default_tape_sd_mm(length) ** 2 + float(row @ moved))
    return float(np.sqrt(max(trace, 0.0) / (2 * len(ring)))), length


def inner_covariance(floor: Floor) -> np.ndarray:
    """Covariance of the outline's corners with mean position and heading held."""
    ring = floor.ring()
    return without_drift(ring, without_drift(ring, floor.covariance(floor.outline)).T)


def _in_sight(floor: Floor, i: int, j: int) -> bool:
    """Whether a tape can lie straight on the floor between two corners: inside the outline, clear of islands."""
    ring = floor.ring()
    p, q = ring[i], ring[j]
    size = len(ring)
    if (i + 1) % size == j or (j + 1) % size == i:
        return True
    blocks = [(ring[k], ring[(k + 1) % size]) for k in range(size) if not {k, (k + 1) % size} & {i, j}]
    for island in floor.islands:
        corners = floor.ring(island.corners)
        blocks += list(zip(corners, np.roll(corners, -1, axis=0)))
    starts, ends = (np.array(side) for side in zip(*blocks)) if blocks else (np.empty((0, 2)), np.empty((0, 2)))
    if np.any(crosses(p, q, starts, ends)):
        return False
    return all(inside(ring, p + share * (q - p)) for share in (0.02, 0.5, 0.98))
