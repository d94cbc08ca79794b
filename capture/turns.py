"""Rough outlines of square-cornered rooms from their wall lengths alone: every pattern of left and right turns, best first.

A room with n square corners turns left (n + 4) / 2 times and right (n - 4) / 2 times on the way round anticlockwise. The
patterns that nearly close and agree with the lengths taped across are worth bringing to their minimum. Rooms with slanted
walls are found by `placing.py` instead.
"""
from __future__ import annotations

from itertools import combinations
from math import comb

import numpy as np

from capture.indexed import Indexed
from capture.placing import Partial

_MOST_PATTERNS = 20_000


def sketch_turns(ix: Indexed, *, keep: int) -> list[Partial]:
    """Outlines (complex plan mm) by rising misfit; empty if a wall is not taped or the corners are too many or odd in number."""
    size = len(ix.outline)
    lengths = _wall_lengths(ix)
    rights = (size - 4) // 2
    if size % 2 or size < 4 or lengths is None or comb(size, rights) > _MOST_PATTERNS:
        return []
    turns = np.ones((comb(size, rights), size))
    for line, to_the_right in enumerate(combinations(range(size), rights)):
        turns[line, list(to_the_right)] = -1.0
    # Turn k is made at corner k, between wall k - 1 and wall k; the first wall lies along +x whatever is turned at corner 0.
    heading = np.cumsum(turns[:, 1:], axis=1)
    steps = lengths * np.exp(0.5j * np.pi * np.concatenate([np.zeros((len(turns), 1)), heading], axis=1))
    corners = np.concatenate([np.zeros((len(turns), 1)), np.cumsum(steps, axis=1)[:, :-1]], axis=1)
    misfit = (np.abs(steps.sum(axis=1)) / 100.0) ** 2 + _across_misfit(ix, corners)
    best = np.argsort(misfit, kind="stable")[:keep]
    return [Partial(places=dict(enumerate(map(complex, corners[k]))), against=float(misfit[k])) for k in best]


def _wall_lengths(ix: Indexed) -> np.ndarray | None:
    """(n,) taped length of each wall (their mean where taped twice); None if one is missing."""
    size = len(ix.outline)
    found = np.full(size, np.nan)
    for k in range(size):
        mine = [mm for ends, mm in zip(ix.tape_ends.tolist(), ix.tape_mm) if set(ends) == {k, (k + 1) % size}]
        found[k] = np.mean(mine) if mine else np.nan
    return None if np.isnan(found).any() else found


def _across_misfit(ix: Indexed, corners: np.ndarray) -> np.ndarray:
    """(p,) misfit of the lengths taped between corners."""
    total = np.zeros(len(corners))
    for (a, b), mm in zip(ix.tape_ends.tolist(), ix.tape_mm):
        if max(a, b) < corners.shape[1]:
            total += np.minimum(((np.abs(corners[:, a] - corners[:, b]) - mm) / 100.0) ** 2, 25.0)
    return total
