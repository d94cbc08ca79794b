"""Rough outlines from wall lengths alone: every pattern of turns by eighths, best first.

Walls of rooms meet square, or nearly at 45 degrees in a bay. With its turns given, an outline follows from its wall
lengths; up to two that are not taped follow from its having to close. What is left open is shared out along the walls
by their lengths (the compass rule of traverses). The patterns that nearly close and agree with the lengths taped across
are worth bringing to their minimum.
"""
from __future__ import annotations

from functools import lru_cache
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from capture.readings.indexed import Indexed
from capture.initial.trilateration import Partial
from capture.adjustment.floor_prior import is_simple
from capture.readings.tape import Tapes

Array = NDArray[np.float64]

_MOST_PATTERNS = 20_000
#: How far a rough outline may fail to close, and a length across to agree, mm; what a turn that is not square counts
#: against a pattern.
_OPEN_MM, _ACROSS_MM, _NOT_SQUARE = 150.0, 100.0, 1.0
#: Patterns this much worse than the best are not worth trying.
_HOPELESS = 30.0


def sketch_turns(ix: Indexed, *, keep: int) -> list[Partial]:
    """Outlines (complex plan mm) by rising misfit; empty if more than two walls are not taped or the corners are too
    many."""
    size = len(ix.outline)
    lengths, turns = _wall_lengths(ix), _patterns(size)
    if np.sum(np.isnan(lengths)) > 2 or not len(turns):
        return []
    # Turn k is made at corner k, between wall k - 1 and wall k; the first wall lies along +x whatever is turned at
    # corner 0.
    ways = np.exp(0.25j * np.pi * np.concatenate([np.zeros((len(turns), 1)), np.cumsum(turns[:, 1:], axis=1)], axis=1))
    walls = _closing(lengths, ways)
    ends = np.cumsum(walls * ways, axis=1)
    gap = ends[:, -1]
    ends = ends - gap[:, None] * np.cumsum(walls, axis=1) / np.maximum(np.sum(walls, axis=1, keepdims=True), 1.0)
    corners = np.concatenate([np.zeros((len(turns), 1)), ends[:, :-1]], axis=1)
    misfit = (np.minimum((np.abs(gap) / _OPEN_MM) ** 2, 2.0 * _HOPELESS) + _across_misfit(ix, corners)
              + _NOT_SQUARE * np.sum(np.abs(turns) != 2, axis=1) + 4.0 * _HOPELESS * (np.min(walls, axis=1) < 50.0))
    return _simple(corners, misfit, keep)


def _simple(corners: NDArray[np.complex128], misfit: Array, keep: int) -> list[Partial]:
    """The best patterns whose walls do not cross."""
    found: list[Partial] = []
    for k in np.argsort(misfit, kind="stable"):
        if len(found) == keep or misfit[k] > misfit.min() + _HOPELESS:
            break
        if is_simple(np.column_stack([corners[k].real, corners[k].imag])):
            found.append(Partial(places=dict(enumerate(map(complex, corners[k]))), against=float(misfit[k])))
    return found


@lru_cache(maxsize=8)
def _patterns(size: int) -> NDArray[np.int64]:
    """(p, size) turns in eighths that go once round anticlockwise: by 45 degrees up to eight corners, square ones only
    beyond; none for a triangle or an outline with too many."""
    if 4 <= size <= 8:
        return _all_turns(size)
    rights = (size - 4) // 2
    if size % 2 or size < 4 or comb(size, rights) > _MOST_PATTERNS:
        return np.zeros((0, size), dtype=np.int64)
    turns = np.full((comb(size, rights), size), 2)
    for line, corners in enumerate(combinations(range(size), rights)):
        turns[line, list(corners)] = -2
    return turns


def _all_turns(size: int) -> NDArray[np.int64]:
    """Every row of `size` turns of -2 to 2 eighths whose sum is eight."""
    turns = np.zeros((1, 0), dtype=np.int64)
    for k in range(size):
        turns = np.concatenate([np.repeat(turns, 5, axis=0), np.tile(np.arange(-2, 3), len(turns))[:, None]], axis=1)
        turns = turns[np.abs(8 - turns.sum(axis=1)) <= 2 * (size - k - 1)]
    return turns


def _wall_lengths(ix: Indexed) -> Array:
    """(n,) taped length of each wall (their median where taped more than once); nan where not taped."""
    size, tapes = len(ix.outline), ix.of(Tapes)
    found = np.full(size, np.nan)
    for k in range(size):
        mine = [mm for ends, mm in zip(tapes.ends.tolist(), tapes.mm) if set(ends) == {k, (k + 1) % size}]
        found[k] = np.median(mine) if mine else np.nan
    return found


def _closing(lengths: Array, ways: NDArray[np.complex128]) -> Array:
    """(p, n) wall lengths of each pattern: up to two that are not taped are those that close it best; 0 where they
    cannot tell."""
    walls = np.where(np.isnan(lengths), 0.0, lengths) * np.ones(ways.shape)
    missing = np.flatnonzero(np.isnan(lengths))
    gap = -np.sum(walls * ways, axis=1)
    if len(missing) == 1:
        walls[:, missing[0]] = (np.conj(ways[:, missing[0]]) * gap).real
    elif len(missing) == 2:
        one, other = ways[:, missing[0]], ways[:, missing[1]]
        det = (np.conj(one) * other).imag
        safe = np.where(np.abs(det) > 0.1, det, np.inf)
        walls[:, missing[0]], walls[:, missing[1]] = (np.conj(gap) * other).imag / safe, (np.conj(one)
                                                                                          * gap).imag / safe
    return walls


def _across_misfit(ix: Indexed, corners: NDArray[np.complex128]) -> Array:
    """(p,) misfit of the lengths taped between corners."""
    total = np.zeros(len(corners))
    size = corners.shape[1]
    for a, b, mm in ix.of(Tapes).distances():
        if max(a, b) < size and abs(a - b) not in (1, size - 1):
            total += np.minimum(((np.abs(corners[:, a] - corners[:, b]) - mm) / _ACROSS_MM) ** 2, 25.0)
    return total
