"""Outlines of many corners from a tape alone, laid as a fan: every triangle could fold over its neighbour, and only one
of all those floors is a room. The truth is an ellipse (its points by its own equation), known to the test alone.

Why the triangles cannot fold: three corners whose sides all lie in a simple polygon run round as the polygon does
(de Berg et al., "Computational Geometry", ch. 3, triangulation; from memory).
"""
from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from capture.network import Network, TapeLength
from capture.solve import solve_floor


def ellipse(size: int) -> np.ndarray:
    turn = np.linspace(0.0, 2.0 * np.pi, size, endpoint=False)
    return np.column_stack([3000.0 * np.cos(turn), 2200.0 * np.sin(turn)])


def taped(ring: np.ndarray, pairs: list[tuple[int, int]], sd: float = 2.0) -> Network:
    rng = np.random.default_rng(1)
    return Network(outline=tuple(f"P{k}" for k in range(len(ring))), tapes=tuple(
        TapeLength(a=f"P{a}", b=f"P{b}", sd_mm=sd, where=f"tape[{n}]",
                   length_mm=float(np.hypot(*(ring[a] - ring[b])) + rng.normal(0, sd)))
        for n, (a, b) in enumerate(pairs)))


@pytest.mark.parametrize("size, from_corner", [(12, 0), (20, 7)])
def test_a_bare_fan_of_tapes_gives_the_room_that_does_not_fold(size, from_corner):
    ring, walls = ellipse(size), [(k, (k + 1) % size) for k in range(size)]
    spokes = [(from_corner, k) for k in range(size) if (k - from_corner) % size not in (0, 1, size - 1)]
    floor = solve_floor(taped(ring, walls + spokes)).floor
    off = [np.hypot(*(floor.points_mm[a] - floor.points_mm[b])) - np.hypot(*(ring[a] - ring[b]))
           for a, b in combinations(range(size), 2)]
    # No length is checked: the floor is as sure as it says, and a folded triangle would be off by a metre.
    assert np.max(np.abs(off)) < 100.0
