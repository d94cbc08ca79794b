"""Photos of one room: which proposed corners are the same one, their letters, and the order of the outline.

In: the proposals of each photo, the letters already given, and what printed targets it saw. Out: a letter (or none) for
each corner, and the outline where all walls are seen. Each photo shows its floor up to a similarity once 'up' is known
(`capture.seeing.vertical`); two photos are laid onto one another by pairs of corners of one kind, or by targets both
show. Believed with three shared corners or more and no other way that fits nearly as well; what is ambiguous is left to
the person.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from capture.seeing.proposals import Proposals
from capture.seeing.vertical import on_floor

Complex = NDArray[np.complex128]

#: Corners less sure than this take no part.
LEAST_SURE = 0.5
#: Phones are held at much the same height from one photo to the next.
_LEAST_SCALE, _MOST_SCALE = 0.82, 1.22
#: A corner may be off by this share of its distance, and by so much at least, in camera heights.
_OFF_SHARE, _OFF_LEAST = 0.02, 0.025
#: Shared corners that make a match, and by how many the best way must lead any other.
_SHARED, _LEAD = 3, 2


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Plan:
    """One photo's corners as seen from above: places in camera heights, kinds, numbers in its proposals; targets by
    number (4,)."""

    places: Complex
    convex: NDArray[np.bool_]
    numbers: tuple[int, ...]
    targets: Mapping[int, Complex]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letters:
    """points: by photo, a letter or None for each of its corners; outline: letters anticlockwise, or None; apart:
    photos that fit none."""

    points: tuple[tuple[str | None, ...], ...]
    outline: tuple[str, ...] | None
    apart: tuple[int, ...]


def letter_corners(photos: Sequence[Proposals], *, targets: Sequence[Mapping[int, NDArray[np.float64]]] = (),
                   given: Sequence[Mapping[int, str]] = ()) -> Letters:
    """Letters for the corners of photos of one room.

    targets: by photo, px (4, 2) of the printed targets seen, by number. given: by photo, letters a person has given, by
    corner's number; a given letter is never changed.
    """
    plans = [_plan(photo, targets[k] if k < len(targets) else {}) for k, photo in enumerate(photos)]
    moves = _laid_together(plans)
    groups = _groups(plans, moves)
    names = _named(groups, given, len(photos))
    points: list[list[str | None]] = [[None] * len(photo.corners) for photo in photos]
    for group, name in zip(groups, names):
        for photo, number in group.members:
            points[photo][number] = name
    seen = [k for k, plan in enumerate(plans) if len(plan.numbers)]
    apart = tuple(k for k in seen if len(seen) > 1 and k not in moves)
    return Letters(points=tuple(map(tuple, points)), outline=_outline(photos, points, groups, names, moves),
                   apart=apart)


def similarity(one: Complex, other: Complex) -> tuple[complex, complex]:
    """(a, b) of the least squares one = a other + b, for places (k,) in pairs, k at least two."""
    p, q = one - one.mean(), other - other.mean()
    a = complex(np.vdot(q, p) / max(float(np.vdot(q, q).real), 1e-12))
    return a, complex(one.mean() - a * other.mean())


def match(one: Plan, other: Plan) -> tuple[complex, complex] | None:
    """(a, b) that lay `other` onto `one`, or None where that is not clear."""
    shared = sorted(set(one.targets) & set(other.targets))
    if shared:
        a, b = similarity(np.concatenate([one.targets[n] for n in shared]),
                          np.concatenate([other.targets[n] for n in shared]))
        return (a, b) if 0.5 < abs(a) < 2.0 else None
    ways: list[tuple[int, float, tuple[complex, complex], frozenset[tuple[int, int]]]] = []
    for i, j in permutations(range(len(one.places)), 2):
        for k, m in permutations(range(len(other.places)), 2):
            if (
                one.convex[i] != other.convex[k]
                or one.convex[j] != other.convex[m]
                or abs(other.places[k] - other.places[m]) < 0.15
            ):
                continue
            a, b = similarity(one.places[[i, j]], other.places[[k, m]])
            if _LEAST_SCALE <= abs(a) <= _MOST_SCALE:
                pairs, off = _pairs(one, other, a, b)
                ways.append((len(pairs), off, (a, b), pairs))
    return _clear(one, other, ways)


def _clear(one: Plan, other: Plan, ways: list[tuple[int, float, tuple[complex, complex],
                                                    frozenset[tuple[int, int]]]]) -> tuple[complex, complex] | None:
    """The best way of laying one photo on another, if no different one comes near it."""
    if not ways:
        return None
    count, _, _, pairs = max(ways, key=lambda way: (way[0], -way[1]))
    if count < _SHARED:
        return None
    if any(len(rival) > count - _LEAD and not rival <= pairs for _, _, _, rival in ways):
        return None
    i, k = (np.array(side) for side in zip(*sorted(pairs)))
    return similarity(one.places[i], other.places[k])


def _pairs(one: Plan, other: Plan, a: complex, b: complex) -> tuple[frozenset[tuple[int, int]], float]:
    """Corners of one kind that come to lie together, each once, and their mean distance over what is allowed."""
    moved = a * other.places + b
    far = np.abs(one.places[:, None] - moved[None])
    allowed = np.maximum(_OFF_LEAST, _OFF_SHARE * np.maximum(np.abs(one.places)[:, None], np.abs(other.places)[None]))
    share = np.where(one.convex[:, None] == other.convex[None], far / allowed, np.inf)
    found: list[tuple[int, int]] = []
    offs = []
    while share.size and share.min() <= 1.0:
        i, k = np.unravel_index(int(np.argmin(share)), share.shape)
        found.append((int(i), int(k)))
        offs.append(float(share[i, k]))
        share[i], share[:, k] = np.inf, np.inf
    return frozenset(found), float(np.mean(offs)) if offs else np.inf


def _plan(photo: Proposals, targets: Mapping[int, NDArray[np.float64]]) -> Plan:
    """What a photo shows, seen from above."""
    centre = (np.array(photo.size_px) - 1) / 2
    up = np.array(photo.up)
    px = np.array([[c.x_px, c.y_px] for c in photo.corners]).reshape(-1, 2)
    places = on_floor(px, up, max(photo.focal_px, 1.0), centre)
    sure = np.array([c.sure >= LEAST_SURE for c in photo.corners], dtype=bool) & np.isfinite(places)
    numbers = tuple(int(n) for n in np.flatnonzero(sure))
    squares = {number: on_floor(np.asarray(spots), up, max(photo.focal_px, 1.0), centre)
               for number, spots in targets.items()}
    return Plan(places=places[sure], convex=np.array([photo.corners[n].convex for n in numbers], dtype=bool),
                numbers=numbers, targets={number: spots for number, spots in squares.items()
                                          if np.isfinite(spots).all()})


def _laid_together(plans: Sequence[Plan]) -> dict[int, tuple[complex, complex]]:
    """(a, b) that lay each photo onto the first one that fits another, by photo; photos that fit nothing are left
    out."""
    ties = {(i, k): found for i in range(len(plans)) for k in range(len(plans)) if i != k
            and (found := match(plans[i], plans[k])) is not None}
    first = next((i for i in range(len(plans)) if any(i == a for a, _ in ties)), None)
    if first is None:
        shown = next((k for k, plan in enumerate(plans) if len(plan.numbers)), None)
        return {} if shown is None else {shown: (1 + 0j, 0j)}
    moves, queue = {first: (1 + 0j, 0j)}, [first]
    while queue:
        i = queue.pop(0)
        a, b = moves[i]
        for k in range(len(plans)):
            if k not in moves and (i, k) in ties:
                c, d = ties[i, k]
                moves[k] = a * c, a * d + b
                queue.append(k)
    return moves


@dataclass(slots=True, kw_only=True)
class _Group:
    """One corner of the room: its place in the first photo's plan, and (photo, number) of its sightings."""

    place: complex
    convex: bool
    members: list[tuple[int, int]]


def _groups(plans: Sequence[Plan], moves: Mapping[int, tuple[complex, complex]]) -> list[_Group]:
    groups: list[_Group] = []
    for photo, (a, b) in moves.items():
        plan = plans[photo]
        for place, convex, number in zip(a * plan.places + b, plan.convex, plan.numbers):
            allowed = 2.0 * max(_OFF_LEAST, _OFF_SHARE * abs(place - b))
            near = [g for g in groups if g.convex == convex and abs(g.place - place) <= allowed
                    and all(p != photo for p, _ in g.members)]
            if near:
                min(near, key=lambda g: abs(g.place - place)).members.append((photo, number))
            else:
                groups.append(_Group(place=complex(place), convex=bool(convex), members=[(photo, number)]))
    return groups


def _named(groups: Sequence[_Group], given: Sequence[Mapping[int, str]], photos: int) -> list[str]:
    """A letter for each group: the one a person gave it, else the next free ones, anticlockwise as seen from their
    middle."""
    told = [next((given[p][n] for p, n in g.members if p < len(given) and n in given[p]), None) for g in groups]
    free = (letter for letter in _letters() if letter not in {name for names in given for name in names.values()})
    middle = np.mean([g.place for g in groups]) if groups else 0j
    order = sorted(range(len(groups)), key=lambda k: float(np.angle(groups[k].place - middle)))
    names = list(told)
    for k in order:
        names[k] = names[k] or next(free)
    return [name or "" for name in names]


def _letters() -> Iterator[str]:
    """A to Z, then A1 to Z1, and so on."""
    k = 0
    while True:
        yield chr(ord("A") + k % 26) + (str(k // 26) if k >= 26 else "")
        k += 1


def _outline(photos: Sequence[Proposals], points: Sequence[Sequence[str | None]], groups: Sequence[_Group],
             names: Sequence[str], moves: Mapping[int, tuple[complex, complex]]) -> tuple[str, ...] | None:
    """Letters anticlockwise along the floor lines seen, or None unless these make one ring through every corner."""
    beside: dict[str, set[str]] = {name: set() for name in names}
    for photo in moves:
        for line in photos[photo].lines:
            ends = [points[photo][n] if n is not None else None for n in line.corners]
            if ends[0] and ends[1] and ends[0] != ends[1]:
                beside[ends[0]].add(ends[1])
                beside[ends[1]].add(ends[0])
    if len(names) < 3 or any(len(others) != 2 for others in beside.values()):
        return None
    ring, last = [min(names)], ""
    while len(ring) <= len(names):
        after = min(beside[ring[-1]] - {last})
        if after == ring[0]:
            break
        last = ring[-1]
        ring.append(after)
    if len(ring) != len(names):
        return None
    place = {name: group.place for name, group in zip(names, groups)}
    spots = np.array([place[name] for name in ring])
    area = float(np.sum((np.conj(spots) * np.roll(spots, -1)).imag))
    return tuple(ring) if area > 0 else (ring[0], *ring[:0:-1])
