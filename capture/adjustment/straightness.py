"""How far from straight a wall is: a wall with further corners named along it is a chain of short, nearly straight
walls.

A chain runs on through corners at which the outline turns by less than `STRAIGHT_RAD`; what is told is the point
farthest off the straight line between the chain's ends, with its 95 % interval (first-order propagation, the same in
every gauge).
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.readings.geometry import across
from capture.floor import Z95, Floor

#: A corner that turns less is a place on a bowed wall and no corner of the room (our own choice, no source): 10 mm in 1
#: m is 1 degree.
STRAIGHT_RAD = np.radians(5.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bow:
    """The wall from corner a to corner b with the named points between; `at` is farthest off its straight line, mm,
    into the room positive. says: that as a sentence, once `capture.words.in_words` has made it."""

    a: str
    b: str
    points: tuple[str, ...]
    at: str
    off_mm: float
    pm95_mm: float
    says: str = ""


def find_bows(floor: Floor) -> tuple[Bow, ...]:
    """One for every wall of the outline that has named points along it, in order from the first corner."""
    return tuple(_bow(floor, chain) for chain in _chains(floor))


def _chains(floor: Floor) -> list[tuple[str, ...]]:
    """Names of every chain of two walls or more, ends included; none where the whole outline has no true corner."""
    ring, names = floor.ring(), floor.outline
    step = np.roll(ring, -1, axis=0) - ring
    way = step[:, 0] + 1j * step[:, 1]
    corners = np.flatnonzero(np.abs(np.angle(way / np.roll(way, 1))) >= STRAIGHT_RAD)
    size = len(names)
    ends = zip(corners, np.roll(corners, -1))
    chains = [tuple(names[(i + k) % size] for k in range((j - i) % size + 1)) for i, j in ends]
    return [chain for chain in chains if len(chain) > 2]


def _bow(floor: Floor, chain: tuple[str, ...]) -> Bow:
    a, b = chain[0], chain[-1]
    offs = {name: _off(floor, name, a, b) for name in chain[1:-1]}
    at = max(offs, key=lambda name: abs(offs[name][0]))
    off, pm95 = offs[at]
    return Bow(a=a, b=b, points=chain[1:-1], at=at, off_mm=off, pm95_mm=pm95)


def _off(floor: Floor, name: str, a: str, b: str) -> tuple[float, float]:
    """(distance left of a -> b, which is into the room of an anticlockwise outline; half width of its 95 %
    interval), mm."""
    distance, derivatives = across(floor.ring((name, a, b)), np.array([[0, 1, 2]]))
    row = derivatives[0].ravel()
    variance = float(row @ floor.covariance((name, a, b)) @ row)
    return float(distance[0]), Z95 * max(variance, 0.0) ** 0.5
