"""Rough places for points that no photo has placed: crossings of circles and lines, kept in a beam of alternatives.

Tape lengths to placed points are circles; wall lines, points on walls and wall offsets are lines: strong evidence. A
wall that leaves a placed corner along the room's square frame is weak evidence, used where strong evidence runs out.
Every crossing is a candidate; candidates are scored against all strong evidence and, a little, by squareness. The same
search serves a floor with tape lengths only. Nothing here decides: the adjustment takes the best floors further.
"""
from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from capture.readings.indexed import Circle, Indexed, Line, Locus
from capture.readings.tape import Tapes, unit
from capture.readings.beliefs import OnWalls

_WEAK_COST = 1.0
_SQUARE_COST = 1.5
_FOLDED_COST = 6.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Partial:
    """Points placed so far (complex plan mm) and what speaks against them."""

    places: dict[int, complex]
    against: float


#: Plan places of clicks on the line of a wall, by its two corners.
_SeenWalls = dict[frozenset[int], list[complex]]
#: One place or many.
_Spots = complex | np.ndarray


def place_rest(ix: Indexed, start: Partial, frame: complex, seen_walls: _SeenWalls, *,
               beam: int) -> list[Partial]:
    """All points placed, best first. frame: exp(4i heading) of the room's walls, 0 if unknown."""
    states = [start]
    while states and len(states[0].places) < ix.point_count:
        point = _next_point(ix, states[0], seen_walls)
        grown: list[Partial] = []
        for state in states:
            for place, cost in _candidates(ix, state, point, frame, seen_walls):
                grown.append(Partial(places={**state.places, point: place}, against=state.against + cost))
        states = _thinned(sorted(grown, key=lambda s: s.against), beam)
    return states


def _next_point(ix: Indexed, state: Partial, seen_walls: _SeenWalls) -> int:
    """The unplaced point with most evidence; outline corners first among equals."""
    waiting = [p for p in range(ix.point_count) if p not in state.places]

    def rank(point: int) -> tuple[int, bool, int, int, int]:
        strong = len(_strong(ix, state, point, seen_walls))
        neighbours = sum(n in state.places for n in _neighbours(ix, point))
        return min(strong, 2), neighbours > 0, strong, neighbours, -point

    return max(waiting, key=rank)


def _neighbours(ix: Indexed, point: int) -> tuple[int, ...]:
    size = len(ix.outline)
    return ((point - 1) % size, (point + 1) % size) if point < size else ()


def _strong(ix: Indexed, state: Partial, point: int, seen_walls: _SeenWalls) -> list[Locus]:
    """Circles and lines that the point must lie on."""
    told = [locus for kind in ix.readings if kind.places for locus in kind.loci(ix, state.places, point)]
    found: list[Locus] = [locus for locus in told if isinstance(locus, Circle)]
    for near in _neighbours(ix, point):
        found += _wall_line(state.places, point, near, seen_walls)
    return found + [locus for locus in told if isinstance(locus, Line)]


def _wall_line(placed: dict[int, complex], point: int, near: int, seen_walls: _SeenWalls) -> list[Line]:
    spots = list(seen_walls.get(frozenset((point, near)), []))
    if near in placed:
        spots.append(placed[near])
    if len(spots) < 2:
        return []
    p, q = max(combinations(spots, 2), key=lambda pair: abs(pair[0] - pair[1]))
    return [Line(through=p, way=unit(q - p))] if abs(q - p) > 100.0 else []


def _weak(ix: Indexed, state: Partial, point: int, frame: complex) -> list[Line]:
    if frame == 0:
        return []
    axis = np.exp(1j * np.angle(frame) / 4.0)
    return [Line(through=state.places[n], way=way, strong=False) for n in _neighbours(ix, point) if n in state.places
            for way in (axis, 1j * axis)]


def _candidates(ix: Indexed, state: Partial, point: int, frame: complex,
                seen_walls: _SeenWalls) -> list[tuple[complex, float]]:
    """Places for a point with what speaks against each; never empty."""
    strong, weak = _strong(ix, state, point, seen_walls), _weak(ix, state, point, frame)
    places, weakness = [], []
    for one, other in combinations([*strong, *weak], 2):
        if isinstance(one, Line) and isinstance(other, Line) and one.through == other.through:
            continue
        crossings = [place for place in _crossings(one, other) if np.isfinite(place) and abs(place) < 1e6]
        places += crossings
        weakness += [_WEAK_COST * sum(isinstance(e, Line) and not e.strong for e in (one, other))] * len(crossings)
    if not places:
        return sorted(_guesses(ix, state, point, strong), key=lambda pair: pair[1])
    spots = np.array(places)
    costs = np.array(weakness) + _against(ix, state, point, spots, strong, frame, seen_walls)
    kept: list[tuple[complex, float]] = []
    for k in np.argsort(costs, kind="stable"):
        if len(kept) < 8 and all(abs(places[k] - other) > 40.0 for other, _ in kept):
            kept.append((places[k], float(costs[k])))
    return kept


def _against(ix: Indexed, state: Partial, point: int, spots: np.ndarray, strong: list[Locus], frame: complex,
             seen_walls: _SeenWalls) -> np.ndarray:
    """What speaks against each of some places (n,) for a point."""
    cost = np.zeros(len(spots))
    for evidence in strong:
        cost += np.minimum(_gap(evidence, spots) ** 2, 25.0)
    for p, a, b in ix.of(OnWalls).ends.tolist():
        if p == point and a in state.places and b in state.places:
            cost += 8.0 * _beyond(state.places[a], state.places[b], spots)
    for a, b in _triangles(ix, state, point):
        cost += _FOLDED_COST * (np.imag(np.conj(state.places[b] - state.places[a]) * (spots - state.places[a])) < 0)
    for near in _neighbours(ix, point):
        if near in state.places:
            for clicked in seen_walls.get(frozenset((point, near)), []):
                cost += 8.0 * _beyond(spots, state.places[near], clicked)
            step = spots - state.places[near]
            short = np.abs(step) < 30.0
            skew = (1.0 - ((step / np.maximum(np.abs(step), 1e-9)) ** 4
                           * np.conj(frame / abs(frame))).real) if frame != 0 else 0.0
            cost += np.where(short, 20.0, _SQUARE_COST * skew) + 12.0 * _crosses_walls(ix, state, point, near, spots)
    return cost


def _triangles(ix: Indexed, state: Partial, point: int) -> list[tuple[int, int]]:
    """Placed corners a, b that make a taped triangle with this one, to lie left of a-b: a tape lies on the floor, so
    the triangle lies in the room and its corners run round as those of the outline do. None where photos show which
    way that is."""
    size, near = len(ix.outline), ix.of(Tapes).neighbours
    if len(ix.photo_names) or point >= size:
        return []
    tied = {a for a, _ in near.get(point, ()) if a < size and a in state.places}
    ends = sorted(tied, key=lambda a: (a - point) % size)
    return [(a, b) for a, b in combinations(ends, 2) if any(b == other for other, _ in near.get(a, ()))]


def _beyond(a: _Spots, b: _Spots, spot: _Spots) -> np.ndarray:
    """Whether a spot lies clearly off the stretch of wall from a to b."""
    wall = b - a
    share = (np.conj(wall) * (spot - a)).real / np.maximum(np.abs(wall) ** 2, 1.0)
    return ~((-0.15 < share) & (share < 1.15))


def _crosses_walls(ix: Indexed, state: Partial, point: int, near: int, spots: np.ndarray) -> np.ndarray:
    """How many placed walls the new wall would cross, for each place of its new end."""
    size = len(ix.outline)
    walls = [(state.places[a], state.places[b]) for a, b in ((k, (k + 1) % size) for k in range(size))
             if a in state.places and b in state.places and not {a, b} & {point, near}]
    if not walls:
        return np.zeros(len(spots))
    (a, b), start, ends = np.array(walls).T, state.places[near], spots[:, None]

    def side(o: _Spots, d: _Spots, z: _Spots) -> np.ndarray:
        return np.imag(np.conj(d - o) * (z - o))
    return np.sum((side(start, ends, a) * side(start, ends, b) < 0) & (side(a, b, start) * side(a, b, ends) < 0),
                  axis=1)


def _gap(evidence: Locus, place: np.ndarray) -> np.ndarray:
    """Distance of places from a circle or line in units of what a rough floor may be off."""
    if isinstance(evidence, Circle):
        return (abs(place - evidence.centre) - evidence.radius) / (0.02 * evidence.radius + 20.0)
    return (np.conj(evidence.way) * (place - evidence.through)).imag / 60.0


def _guesses(ix: Indexed, state: Partial, point: int, strong: list[Locus]) -> list[tuple[complex, float]]:
    """Where evidence does not cross: some place on it, or near the neighbours."""
    centre = complex(np.mean(list(state.places.values())))
    near = [state.places[n] for n in _neighbours(ix, point) if n in state.places]
    base = complex(np.mean(near)) if near else centre
    line = strong[0] if strong else None
    if isinstance(line, Circle):
        return [(line.centre + line.radius * np.exp(1j * k * np.pi / 4), 3.0) for k in range(8)]
    if line is not None:
        foot = line.through + line.way * (np.conj(line.way) * (base - line.through)).real
        return [(foot + step * line.way, 3.0) for step in (0.0, 1000.0, -1000.0)]
    return [(base + 500.0 * np.exp(1j * k * np.pi / 2 + 0.3j), 6.0) for k in range(4)]


def _crossings(one: Locus, other: Locus) -> list[complex]:
    if isinstance(one, Circle):
        return _circle_crossings(one, other) if isinstance(other, Circle) else _line_through(other, one)
    if isinstance(other, Circle):
        return _line_through(one, other)
    det = (np.conj(one.way) * other.way).imag
    if abs(det) < 0.05:
        return []
    along = (np.conj(other.through - one.through) * other.way).imag / det
    return [one.through + along * one.way]


def _line_through(line: Line, circle: Circle) -> list[complex]:
    """Where a line crosses a circle; twice its nearest place where it misses."""
    foot = line.through + line.way * (np.conj(line.way) * (circle.centre - line.through)).real
    half = np.sqrt(max(circle.radius**2 - abs(foot - circle.centre) ** 2, 0.0))
    return [foot + half * line.way, foot - half * line.way]


def _circle_crossings(one: Circle, other: Circle) -> list[complex]:
    """Both crossings; the nearest place to both where they miss each other."""
    step = other.centre - one.centre
    apart = abs(step)
    if apart < 1.0:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2.0 * apart)
    half = np.sqrt(max(one.radius**2 - along**2, 0.0))
    unit = step / apart
    along = float(np.clip(along, -one.radius, one.radius))
    return [one.centre + unit * (along + 1j * half), one.centre + unit * (along - 1j * half)]


def _thinned(states: list[Partial], beam: int) -> list[Partial]:
    """The best states, without near copies. All of them have the same points placed."""
    if not states:
        return []
    places = np.array([[state.places[p] for p in states[0].places] for state in states])
    kept: list[int] = []
    for k in range(len(states)):
        if len(kept) == beam:
            break
        if not kept or np.all(np.any(np.abs(places[kept[-40:]] - places[k]) > 60.0, axis=1)):
            kept.append(k)
    return [states[k] for k in kept]
