"""In which order the corners follow one another round the room, told by the photos that show them.

From inside a room the corners in sight lie round the camera in the order in which they follow one another along its
walls: what is seen of a polygon from a point in it is star-shaped, and its corners keep their order (visibility
polygon; de Berg et al., "Computational Geometry", from memory). So each photo tells, of its own corners, which follows
which, whatever they are tapped in. Where that leaves a choice, walls that cross, sight that goes through a wall, walls
no photo shows from end to end, walls askew to the others and a long way round speak against an order.
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.floor_prior import crosses, crossings
from capture.seeing.rough_floor import RoughFloor, View

#: What counts how much against an order: three corners of a photo the wrong way round, two walls that cross, a corner
#: seen through a wall, a wall no photo shows, a wall askew, the way round in widths of the room. Our own choice.
_WRONG_WAY, _CROSSED, _THROUGH, _UNSEEN, _ASKEW, _LONG = 4.0, 6.0, 2.0, 1.0, 2.0, 0.5
#: Bearings this far apart are told apart for certain, rad; and so much of a three against an order contradicts it.
_CLEAR, _CONTRADICTED = float(np.radians(2.0)), 0.5
#: Rounds of putting single corners elsewhere, and how many of the likeliest orders are looked into in each.
_ROUNDS, _TRIED = 3, 6
#: Orders of more corners are not sought: a hand waits for the drawing, and the work grows with the fifth power.
_MOST_SOUGHT = 16

Order = tuple[str, ...]
#: The rough floor of an order: which way the photos look is judged by the walls, so it hangs on the order.
RoughOf = Callable[[Order], RoughFloor]


def with_corner(outline: Sequence[str], name: str, rough_of: RoughOf) -> Order:
    """The outline with one more corner where the photos show it; the first corner stays the first. In an outline of
    `_MOST_SOUGHT` corners or more it comes last."""
    if len(outline) >= _MOST_SOUGHT:
        return (*outline, name)
    slots = [(*outline[:k], name, *outline[k:]) for k in range(1, len(outline) + 1)] or [(name,)]
    if len(outline) == 2:
        return slots[0] if _lies_between(name, outline[0], outline[1], rough_of(slots[1]).views) else slots[1]
    return _best(slots[::-1], rough_of)


def better_order(outline: Sequence[str], rough_of: RoughOf) -> Order | None:
    """An order against which nothing of the kind speaks, where photos contradict the outline's own or its walls cross;
    None where they do not, or no such order is found."""
    now = tuple(outline)
    if not _faults(now, rough_of(now)):
        return None
    found = settled(now, rough_of)
    return found if found != now and not _faults(found, rough_of(found)) else None


def settled(order: Order, rough_of: RoughOf) -> Order:
    """The order, bettered by putting one corner elsewhere or turning a stretch round while that helps; one of more than
    `_MOST_SOUGHT` corners as it is."""
    for _ in range(_ROUNDS if 3 < len(order) <= _MOST_SOUGHT else 0):
        rough = rough_of(order)
        near = sorted(set(_neighbours(order)), key=lambda one: (_against(one, rough), one))[:_TRIED]
        best = _best([order, *near], rough_of)
        if best == order:
            break
        order = best
    return order


def _best(orders: Sequence[Order], rough_of: RoughOf) -> Order:
    return min(orders, key=lambda order: round(_against(order, rough_of(order)), 6))


def crossing_walls(outline: Sequence[str], rough: RoughFloor) -> tuple[tuple[str, str], tuple[str, str]] | None:
    """Two walls between placed corners that cross, if any do."""
    return next(crossings([wall for wall in _walls(outline) if set(wall) <= rough.placed], _spots(rough)), None)


def _faults(order: Order, rough: RoughFloor) -> bool:
    return _wrong_ways(order, rough.views) > _CONTRADICTED or crossing_walls(order, rough) is not None


def _neighbours(order: Order) -> list[Order]:
    """The order with one corner elsewhere, or a stretch of it turned round; the first corner stays."""
    size = len(order)
    moved = [(*rest[:k], order[i], *rest[k:]) for i in range(1, size) for rest in [order[:i] + order[i + 1:]]
             for k in range(1, size)]
    turned = [(*order[:i], *order[i:k][::-1], *order[k:]) for i in range(1, size) for k in range(i + 2, size + 1)]
    return moved + turned


def _against(order: Order, rough: RoughFloor) -> float:
    """All that speaks against an order."""
    walls = _walls(order)
    seen = [set(view.corners) for view in rough.views]
    unseen = sum(not any(set(wall) <= those for those in seen) for wall in walls)
    placed = [wall for wall in walls if set(wall) <= rough.placed]
    crossed = sum(1 for _ in crossings(placed, _spots(rough)))
    return (_WRONG_WAY * _wrong_ways(order, rough.views) + _CROSSED * crossed + _THROUGH * _through(rough, placed)
            + _UNSEEN * unseen + _ASKEW * _askew(rough, placed) + _LONG * _long(rough, order))


def _wrong_ways(order: Sequence[str], views: Sequence[View]) -> float:
    """How many threes of corners run against the way round in which their photo shows them, for the direction of the
    list that suits the photos best; two corners almost behind one another count less."""
    at = {name: float(k) for k, name in enumerate(order)}
    with_list = against_list = 0.0
    for names, threes, turns, weights in map(_threes, views):
        a, b, c = np.array([at.get(name, np.nan) for name in names])[threes].T if len(threes) else np.zeros((3, 0))
        agrees = _turn(a, b, c) * turns
        known = ~np.isnan(a + b + c)
        with_list += float(weights[known & (agrees > 0)].sum())
        against_list += float(weights[known & (agrees < 0)].sum())
    return min(with_list, against_list)


@lru_cache(maxsize=256)
def _threes(view: View) -> tuple[list[str], NDArray[np.intp], NDArray[np.int_], NDArray[np.float64]]:
    """The corners a photo shows; (K, 3) every three of them, (K,) which way round they run, 1 or -1, and (K,) how much
    that counts, 0 to 1."""
    ways = view.bearings
    threes = np.array(list(combinations(range(len(ways)), 3)), dtype=np.intp).reshape(-1, 3)
    a, b, c = np.array(list(ways.values()))[threes].T if len(threes) else np.zeros((3, 0))
    gaps = np.min(np.abs([a - b, b - c, a - c]), axis=0)
    return list(ways), threes, _turn(a, b, c), np.minimum(1.0, gaps / _CLEAR)


def _lies_between(name: str, one: str, other: str, views: Sequence[View]) -> bool:
    """Whether a photo shows a corner between two others: with three, every order runs round the room, and the list is
    to run on as it began."""
    ways = [view.bearings for view in views if {name, one, other} <= view.corners.keys()]
    return any((way[one] - way[name]) * (way[other] - way[name]) < 0 for way in ways)


def _turn(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.int_]:
    """(K,) 1 if a, b, c follow one another in rising order round a circle, else -1."""
    return np.where((a < b).astype(int) + (b < c) + (c < a) == 2, 1, -1)


def _walls(order: Sequence[str]) -> list[tuple[str, str]]:
    return list(zip(order, [*order[1:], *order[:1]])) if len(order) > 2 else list(zip(order, order[1:]))


def _spots(rough: RoughFloor) -> dict[str, NDArray[np.float64]]:
    """(2,) mm of every corner."""
    return {name: np.array([spot.real, spot.imag]) for name, spot in rough.places.items()}


def _through(rough: RoughFloor, walls: Sequence[tuple[str, str]]) -> int:
    """How often a camera sees a corner through a wall."""
    count, spots = 0, _spots(rough)
    for view in rough.views:
        if view.stands is None or not walls:
            continue
        eye = np.array([view.stands.real, view.stands.imag])
        starts, ends = (np.array([spots[wall[k]] for wall in walls]) for k in (0, 1))
        for name in view.corners:
            if name in rough.placed:
                own = np.array([name in wall for wall in walls])
                count += int(np.sum(crosses(eye, spots[name], starts, ends) & ~own))
    return count


def _askew(rough: RoughFloor, walls: Sequence[tuple[str, str]]) -> float:
    """How far the walls are from one square frame, 0 to 2 a wall."""
    if not rough.frame:
        return 0.0
    steps = np.array([rough.places[b] - rough.places[a] for a, b in walls])
    ways = (steps / np.maximum(np.abs(steps), 1e-9)) ** 4 * np.conj(rough.frame / abs(rough.frame))
    return float(np.sum(1.0 - ways.real))


def _long(rough: RoughFloor, order: Order) -> float:
    spots = np.array([rough.places[name] for name in order])
    size = max(float(np.ptp(spots.real)), float(np.ptp(spots.imag)), 1.0)
    return float(np.sum(np.abs(np.roll(spots, -1) - spots))) / size
