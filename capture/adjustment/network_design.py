"""What to measure next: the tape length that would shrink the expected error of the corners most (A-optimal design).

A new length with derivative row j and standard deviation s changes the covariance C to C - C j'j C / (s2 + j C j').
The corners' error is taken in the gauge of inner constraints (their mean position and heading held), so that no corner
looks good for being held: S-transformation, Baarda 1973 (from memory).
"""
from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from capture.floor import Z95, Floor, without_drift
from capture.network import Network, default_tape_sd_mm
from capture.adjustment.floor_prior import crosses, inside
from capture.adjustment.survey import Advice
from capture.tape import format_length, format_spread

#: Corners this sure (one standard deviation, mm) are good enough to plan rows from: trade fact sheet, section 5, "what
#: accuracy is needed" (each last piece is measured in place anyway).
ENOUGH_SD_MM = 2.0


def corner_sd_mm(floor: Floor) -> float:
    """Root mean square standard deviation of the outline's corners under inner constraints, mm per coordinate pair /
    2."""
    return float(np.sqrt(np.trace(_inner(floor)) / (2 * len(floor.outline))))


def good_enough(floor: Floor) -> bool:
    """Whether corners and every wall are sure enough for planning."""
    return corner_sd_mm(floor) <= ENOUGH_SD_MM and max(w.pm95_mm for w in floor.walls()) <= Z95 * ENOUGH_SD_MM * 1.25


def measure_next(floor: Floor, network: Network, *, show: str, most: int = 5) -> tuple[Advice, ...]:
    """Tape lengths not yet taken between corners in sight of each other, best first; each shrinks the error by 0.05
    mm or more."""
    if not np.any(floor.cov_mm2):
        return ()
    inner, names = _inner(floor), floor.outline
    before = np.sqrt(np.trace(inner) / (2 * len(names)))
    found = []
    for i, j in _open_pairs(floor, network):
        after, length = _after(floor, inner, i, j)
        if before - after > 0.05:
            found.append((before - after, after, i, j, length))
    found.sort(reverse=True)
    return tuple(Advice(a=names[i], b=names[j], gain_mm=float(gain),
                        says=_sentence(names[i], names[j], length, before, after, show))
                 for gain, after, i, j, length in found[:most])


def best_check(floor: Floor, network: Network, a: str, b: str, sd_mm: float) -> tuple[str, str, float] | None:
    """The tape length not yet taken that would check the one taken from a to b best, and the redundancy that one would
    then have.

    With the rows j of the one and k of the other, its redundancy 1 - j C j' / sd2 grows by (j C k')2 / (s2 + k C k') /
    sd2. None if no length is left to take.
    """
    row, names = _row(floor, a, b), floor.outline
    spread = floor.cov_mm2 @ row
    best: tuple[str, str, float] | None = None
    for i, j in _open_pairs(floor, network):
        other = _row(floor, names[i], names[j])
        s2 = default_tape_sd_mm(floor.length(names[i], names[j]).length_mm) ** 2
        gain = float(spread @ other) ** 2 / (s2 + float(other @ floor.cov_mm2 @ other))
        redundancy = 1.0 - (float(row @ spread) - gain) / sd_mm**2
        if best is None or redundancy > best[2]:
            best = names[i], names[j], redundancy
    return best


def _open_pairs(floor: Floor, network: Network) -> Iterator[tuple[int, int]]:
    """Pairs of corners, by their number in the outline, that no tape length joins yet and one could."""
    taken, names = {frozenset((t.a, t.b)) for t in network.tapes}, floor.outline
    return ((i, j) for i, j in combinations(range(len(names)), 2) if frozenset((names[i], names[j])) not in taken
            and _in_sight(floor, i, j))


def _row(floor: Floor, a: str, b: str) -> np.ndarray:
    """(2n,) derivative of the distance from a to b by the coordinates of all points."""
    step, row = floor.at(b) - floor.at(a), np.zeros(len(floor.cov_mm2))
    along = step / max(float(np.hypot(*step)), 1e-9)
    for name, part in ((a, -along), (b, along)):
        row[2 * floor.index(name):2 * floor.index(name) + 2] = part
    return row


def _sentence(a: str, b: str, length: float, before: float, after: float, show: str) -> str:
    return (f"measure {a} to {b} (about {format_length(length, show=show)}): the corners would be sure to "
            f"± {format_spread(Z95 * after, show=show)} instead of ± {format_spread(Z95 * before, show=show)}")


def _after(floor: Floor, inner: np.ndarray, i: int, j: int) -> tuple[float, float]:
    ring = floor.ring()
    step = ring[j] - ring[i]
    length = float(np.hypot(*step))
    row = np.zeros(2 * len(ring))
    row[2 * i:2 * i + 2], row[2 * j:2 * j + 2] = -step / length, step / length
    moved = inner @ row
    trace = np.trace(inner) - float(moved @ moved) / (default_tape_sd_mm(length) ** 2 + float(row @ moved))
    return float(np.sqrt(max(trace, 0.0) / (2 * len(ring)))), length


def _inner(floor: Floor) -> np.ndarray:
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
    if any(crosses(p, q, a, b) for a, b in blocks):
        return False
    return all(inside(ring, p + share * (q - p)) for share in (0.02, 0.5, 0.98))
