"""The list of corners gone wrong: two in the wrong order, or one corner under two letters.

The readings do not depend on the order (but for hints), so a floor that fits them and whose walls cross is held against
other orders of its own corners. Two letters are one corner if the floor with one letter less fits as well: a test of
two linear hypotheses (x and y), chi-square with 2 degrees of freedom.
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np

from capture.readings.chi_square import chi_square
from capture.adjustment.floor_prior import Wall, crossings, implausibility, is_simple
from capture.adjustment.least_squares import Fit, Precision, assess
from capture.adjustment.parameter_index import index_network
from capture.initial.selection import fits_readings
from capture.mishaps.facts import OneCorner, OrderMixed
from capture.mishaps.trial import Explained, carried, tried
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.state import State

#: Letters farther apart than this in every floor that fits are two corners, mm.
_ONE_SPOT_MM = 100.0
#: How well the place of one against the other must be known for that, one standard deviation, mm.
_SURE_SD_MM = 40.0
#: What another order must have less against it than the next one.
_LEAD = 2.0
#: Orders adjusted at most: each is a full descent.
_ADJUSTED = 4


def one_corner(network: Network, ix: Indexed, fits: list[Fit]) -> list[Explained]:
    """Pairs of letters that are one corner by the readings."""
    found = []
    for fit in [fit for fit in fits if fits_readings(ix, fit)][:2]:
        spots = dict(zip(ix.names, fit.state.points_mm))
        pairs = sorted((float(np.hypot(*(spots[a] - spots[b]))), a, b) for a, b in combinations(ix.names, 2))
        near = [pair for pair in pairs if pair[0] < _ONE_SPOT_MM][:2]
        precision = assess(ix, fit.state) if near else None
        for away, a, b in near:
            if precision is None or not _is_sure(ix, precision, a, b):
                continue
            for kept, dropped in ((a, b), (b, a)):
                explained = _merged(network, ix, fit.state, OneCorner(kept=kept, dropped=dropped, away_mm=away))
                if explained is not None and explained.fit.cost < fit.cost + chi_square(2, 0.001):
                    found.append(explained)
                    break
    return sorted(found, key=lambda one: one.against)


def _is_sure(ix: Indexed, precision: Precision, a: str, b: str) -> bool:
    """Whether the readings hold two points against each other; letters that nothing holds may lie anywhere."""
    if precision.loose.size and float(np.abs(precision.loose).max()) > 1e-6:
        return False
    i, j = 2 * ix.names.index(a), 2 * ix.names.index(b)
    step = np.zeros((2, ix.columns))
    step[[0, 1], [i, i + 1]], step[[0, 1], [j, j + 1]] = 1.0, -1.0
    return float(np.linalg.eigvalsh(step @ precision.cov @ step.T)[-1]) < _SURE_SD_MM**2


def _merged(network: Network, ix: Indexed, state: State, mishap: OneCorner) -> Explained | None:
    mended = merged(network, mishap.kept, mishap.dropped)
    if mended is None:
        return None
    other = index_network(mended)
    start = carried(ix, state, other)
    return None if start is None else tried(mishap, mended, other, start)


def merged(network: Network, kept: str, dropped: str) -> Network | None:
    """The network with one letter in the other's place everywhere, and out of the outline; None where both stand in
    one photo or are the ends of one length, or too few corners are left."""
    photos = [{m.photo for m in network.marks if m.point == name} for name in (kept, dropped)]
    if photos[0] & photos[1] or any({t.a, t.b} == {kept, dropped} for t in network.tapes):
        return None
    if dropped not in network.outline or kept not in network.outline or len(network.outline) < 4:
        return None
    on_lines = [(o.point, *o.wall) for o in network.offsets] + [(o.point, *o.wall) for o in network.on_walls]
    rings = [island.corners for island in network.islands] + [paper.corners for paper in network.papers]
    if any({kept, dropped} <= set(names) for names in on_lines) or any(dropped in corners for corners in rings):
        return None

    def now(name: str) -> str:
        return kept if name == dropped else name

    def wall(ends: Wall) -> Wall:
        return now(ends[0]), now(ends[1])

    return replace(
        network, outline=tuple(name for name in network.outline if name != dropped),
        marks=tuple(replace(m, point=now(m.point)) for m in network.marks),
        wall_lines=tuple(replace(w, wall=wall(w.wall)) for w in network.wall_lines if set(w.wall) != {kept, dropped}),
        tapes=tuple(replace(t, a=now(t.a), b=now(t.b)) for t in network.tapes),
        offsets=tuple(replace(o, point=now(o.point), wall=wall(o.wall)) for o in network.offsets),
        squares=tuple(s for s in network.squares if s.corner not in (kept, dropped)),
        on_walls=tuple(replace(o, point=now(o.point), wall=wall(o.wall)) for o in network.on_walls))


def order_mixed(network: Network, ix: Indexed, fits: list[Fit]) -> list[Explained]:
    """Orders of the corners that make a room of floors that fit but cross, the likeliest first."""
    tries: list[tuple[float, OrderMixed, Network, Indexed, State]] = []
    for fit in [fit for fit in fits if fits_readings(ix, fit)][:2]:
        crossing = crossing_walls(network.outline, fit.state.points_mm[ix.outline])
        both = set(map(frozenset, crossing or ()))
        rings: set[frozenset[frozenset[str]]] = set()
        for points, outline in orders(network.outline):
            ring = frozenset(map(frozenset, zip(outline, outline[1:] + outline[:1])))
            mended = replace(network, outline=outline)
            spots = fit.state.points_mm[[ix.names.index(name) for name in outline]]
            # With both walls as they are they still cross.
            if ring in rings or (both and both <= ring) or not is_simple(spots):
                continue
            rings.add(ring)
            other = index_network(mended)
            start = carried(ix, fit.state, other)
            if start is not None:
                mishap = OrderMixed(points=points, crossing=crossing, outline=outline)
                against = implausibility(other, start) + 2.0 * untold_walls(mended) + 0.01 * len(tries)
                tries.append((against, mishap, mended, other, start))
    best = sorted(tries, key=lambda one: one[0])[:_ADJUSTED]
    found = [(one[0], explained) for one in best if (explained := tried(*one[1:])) is not None]
    return [explained for _, explained in found]


def untold_walls(network: Network) -> int:
    """Walls that readings speak of and that are none in this order, and walls that nobody taped along though others
    are."""
    walls = set(map(frozenset, zip(network.outline, network.outline[1:] + network.outline[:1])))
    clicked = {frozenset(line.wall) for line in network.wall_lines}
    taped = {frozenset((t.a, t.b)) for t in network.tapes}
    return 4 * len(clicked - walls) + len(walls - taped - clicked)


def neighbours_swapped(outline: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """(the two, the order then) for each two neighbours."""
    return (_swapped(outline, i, (i + 1) % len(outline)) for i in range(len(outline)))


def _swapped(outline: tuple[str, ...], i: int, j: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    other = list(outline)
    other[i], other[j] = other[j], other[i]
    return (outline[i], outline[j]), tuple(other)


def orders(outline: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """(what was moved, the order then): neighbours swapped, then any two swapped, then one corner put elsewhere."""
    size = len(outline)
    yield from neighbours_swapped(outline)
    for i, j in combinations(range(size), 2):
        if (j - i) % size not in (1, size - 1):
            yield _swapped(outline, i, j)
    for i in range(size):
        rest = outline[:i] + outline[i + 1:]
        for j in range(len(rest)):
            if j not in (i - 1, i):
                yield (outline[i],), rest[:j + 1] + (outline[i],) + rest[j + 1:]


def crossing_walls(outline: tuple[str, ...], ring: np.ndarray) -> tuple[Wall, Wall] | None:
    """The first two walls that cross, by their corners; None where none do. ring: (n, 2) in the outline's order."""
    return next(crossings(list(zip(outline, outline[1:] + outline[:1])), dict(zip(outline, ring))), None)
