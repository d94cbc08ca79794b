"""Letters a person has given in some photos of a room, for the corners seen in the others.

In: the proposals of each photo and its marks. Out: for each proposal the letter it has, that it is a corner nobody has
named, or that neither is clear. Each photo shows its floor up to a similarity once 'up' is known
(`capture.seeing.vertical`). Photos are laid onto what is named already, one after the other: by two letters they share;
or by one, where a second corner of the same kind and a wall agree and no other way fits as well. What is ambiguous is
left to the person.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from capture.seeing.proposals import Proposals
from capture.seeing.same_room import LEAST_SURE, similarity
from capture.seeing.vertical import on_floor

#: What a corner is called that has no letter yet.
NEW = "+"
#: A mark this near a proposal, in shares of the picture's long side, is that corner.
MARKED_SHARE = 12.0 / 1600.0
#: Phones are held at much the same height from one photo to the next.
_LEAST_SCALE, _MOST_SCALE = 0.82, 1.22
#: A corner may be off by this share of its distance, and by so much at least, in camera heights.
_OFF_SHARE, _OFF_LEAST = 0.03, 0.03
#: A corner is a new one only where none that is known lies within so many times that.
_NEW_TIMES = 4.0
#: Floor lines less sure than this tell no direction.
_SURE_LINE = 0.8
#: Two walls run the same way within this, rad.
_SAME_WAY = np.radians(8.0)

Pair = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """A corner as seen from above. at: camera heights; far: from the camera that saw it; convex: None where that is not
    known; ways: unit directions of the walls seen to leave it; number: of the proposal, None for a mark beside none."""

    at: complex
    far: float
    convex: bool | None = None
    ways: tuple[complex, ...] = ()
    letter: str | None = None
    number: int | None = None


def known_letters(photos: Sequence[Proposals],
                  marks: Sequence[Mapping[str, tuple[float, float]]]) -> list[tuple[str | None, ...]]:
    """By photo, for each of its proposals: its letter, `NEW`, or None where that is not clear.

    marks: by photo, px of what is marked there, by letter. Nothing is said of a photo that hangs together with no other
    one; nothing is new while a photo has marks and does not hang together with the rest.
    """
    spots = [_spots(found, here) for found, here in zip(photos, marks)]
    told: list[tuple[str | None, ...]] = [(None,) * len(found.corners) for found in photos]
    marked = [k for k, here in enumerate(marks) if here and spots[k]]
    if not marked:
        return told
    first = max(marked, key=lambda k: len(marks[k]))
    room, waiting, laid = list(spots[first]), [k for k in marked if k != first], {first: spots[first]}
    while waiting:
        found = next(((k, move) for k in waiting if (move := _tie(room, spots[k])) is not None), None)
        if found is None:
            break
        photo, (a, b) = found
        laid[photo] = [_moved(spot, a, b) for spot in spots[photo]]
        room += _unseen(room, laid[photo])
        waiting.remove(photo)
    for photo, here in laid.items():
        told[photo] = _told(room, here, len(photos[photo].corners), may_be_new=not waiting)
    return told


def _spots(found: Proposals, marks: Mapping[str, tuple[float, float]]) -> list[_Spot]:
    """What one photo shows, sure proposals and marks; nothing where its floor was not seen."""
    if not found.corners:
        return []
    px = np.array([(corner.x_px, corner.y_px) for corner in found.corners])
    places, reach = _seen_from_above(found, px), MARKED_SHARE * max(found.size_px)
    letters: dict[int, str] = {}
    beside = []
    for letter, (x, y) in marks.items():
        off = np.hypot(*(px - (x, y)).T)
        if off.min() <= reach:
            letters[int(off.argmin())] = letter
        else:
            beside.append((letter, (x, y)))
    spots = [_Spot(at=complex(places[k]), far=abs(places[k]), convex=corner.convex, ways=_ways(found, k, places[k]),
                   letter=letters.get(k), number=k)
             for k, corner in enumerate(found.corners) if corner.sure >= LEAST_SURE or k in letters]
    if beside:
        others = _seen_from_above(found, np.array([place for _, place in beside]))
        spots += [_Spot(at=complex(at), far=abs(at), letter=letter) for (letter, _), at in zip(beside, others)]
    return [spot for spot in spots if np.isfinite(spot.at)]


def _seen_from_above(found: Proposals, px: np.ndarray) -> np.ndarray:
    centre = (np.array(found.size_px) - 1) / 2
    return on_floor(px, np.array(found.up), max(found.focal_px, 1.0), centre)


def _ways(found: Proposals, number: int, place: complex) -> tuple[complex, ...]:
    """Unit directions of the walls whose floor lines end at a corner."""
    ways = []
    for line in found.lines:
        if line.sure < _SURE_LINE or line.corners.count(number) != 1:
            continue
        end = line.ends_px[1 - line.corners.index(number)]
        way = complex(_seen_from_above(found, np.array([end]))[0]) - place
        if np.isfinite(way) and abs(way) > 0.0:
            ways.append(way / abs(way))
    return tuple(ways)


def _moved(spot: _Spot, a: complex, b: complex) -> _Spot:
    turn = a / abs(a)
    return replace(spot, at=a * spot.at + b, ways=tuple(turn * way for way in spot.ways))


def _tie(room: Sequence[_Spot], photo: Sequence[_Spot]) -> tuple[complex, complex] | None:
    """(a, b) that lay a photo onto the room, or None where that is not clear."""
    shared = [(i, k) for (i, one), (k, other) in product(enumerate(room), enumerate(photo))
              if one.letter and one.letter == other.letter]
    if not shared:
        return None
    if len(shared) == 1:
        return _by_one(room, photo, shared[0])
    a, b = _laid_by(room, photo, shared)
    fits = _is_scale(a) and all(abs(room[i].at - a * photo[k].at - b) <= 2.0 * _allowed(room[i], photo[k])
                                for i, k in shared)
    return _laid_by(room, photo, [*shared, *(set(_together(room, photo, a, b)) - set(shared))]) if fits else None


def _by_one(room: Sequence[_Spot], photo: Sequence[_Spot], known: Pair) -> tuple[complex, complex] | None:
    """By one letter, a second corner and a wall; no other way may bring as many corners together."""
    ways: list[frozenset[Pair]] = []
    for i, k in product(range(len(room)), range(len(photo))):
        if i == known[0] or k == known[1] or not _may_be_one(room[i], photo[k]) or room[i].convex is None:
            continue
        if photo[k].convex is None or photo[k].at == photo[known[1]].at:
            continue
        a, b = _laid_by(room, photo, [known, (i, k)])
        if not _is_scale(a):
            continue
        pairs = _together(room, photo, a, b)
        if {known, (i, k)} <= set(pairs) and _walls_agree(room, photo, pairs, a):
            ways.append(frozenset(pairs))
    best = max(ways, key=len, default=frozenset())
    if not best or any(len(way) >= len(best) and way != best for way in ways):
        return None
    return _laid_by(room, photo, sorted(best))


def _laid_by(room: Sequence[_Spot], photo: Sequence[_Spot], pairs: Sequence[Pair]) -> tuple[complex, complex]:
    one, other = (np.array([spots[pair[side]].at for pair in pairs]) for side, spots in enumerate((room, photo)))
    return similarity(one, other)


def _is_scale(a: complex) -> bool:
    return _LEAST_SCALE <= abs(a) <= _MOST_SCALE


def _allowed(one: _Spot, other: _Spot) -> float:
    return max(_OFF_LEAST, _OFF_SHARE * max(one.far, other.far))


def _may_be_one(one: _Spot, other: _Spot) -> bool:
    """Whether neither kind nor letter speaks against it."""
    kinds, letters = {one.convex, other.convex} - {None}, {one.letter, other.letter} - {None}
    return len(kinds) < 2 and len(letters) < 2


def _together(room: Sequence[_Spot], photo: Sequence[_Spot], a: complex, b: complex) -> list[Pair]:
    """Corners that come to lie together, each once, the nearest first."""
    near = []
    for (i, one), (k, other) in product(enumerate(room), enumerate(photo)):
        share = abs(one.at - a * other.at - b) / _allowed(one, other)
        if share <= 1.0 and _may_be_one(one, other):
            near.append((share, i, k))
    pairs: list[Pair] = []
    for _, i, k in sorted(near):
        if all(i != other[0] and k != other[1] for other in pairs):
            pairs.append((i, k))
    return pairs


def _walls_agree(room: Sequence[_Spot], photo: Sequence[_Spot], pairs: Sequence[Pair], a: complex) -> bool:
    """Whether a wall runs the same way in both, or walls at two corners square to one another, and no corner would get
    three walls."""
    turn, same, square = a / abs(a), 0, 0
    for i, k in pairs:
        off = [[float(np.angle(way / (turn * other))) for other in photo[k].ways] for way in room[i].ways]
        alike = sum(any(abs(angle) <= _SAME_WAY for angle in row) for row in off)
        if len(room[i].ways) + len(photo[k].ways) - alike > 2:
            return False
        same += alike
        square += any(abs(abs(angle) - np.pi / 2) <= _SAME_WAY for row in off for angle in row)
    return same > 0 or square > 1


def _unseen(room: Sequence[_Spot], laid: Sequence[_Spot]) -> list[_Spot]:
    """What a photo adds to the room: corners that none of it is, and letters for those that had none."""
    pairs = {k: i for i, k in _together(room, laid, 1 + 0j, 0j)}
    return [spot for k, spot in enumerate(laid) if k not in pairs or (spot.letter and not room[pairs[k]].letter)]


def _told(room: Sequence[_Spot], laid: Sequence[_Spot], count: int, *, may_be_new: bool) -> tuple[str | None, ...]:
    """The letters of a photo's proposals by the room's lettered corners."""
    lettered, here = [spot for spot in room if spot.letter], {spot.letter for spot in laid}
    pairs = {k: lettered[i].letter for i, k in _together(lettered, laid, 1 + 0j, 0j)}
    elsewhere = [spot for spot in lettered if spot.letter not in here]
    told: list[str | None] = [None] * count
    for k, spot in enumerate(laid):
        if spot.number is None:
            continue
        clear = all(abs(one.at - spot.at) > _NEW_TIMES * _allowed(one, spot) for one in elsewhere)
        told[spot.number] = spot.letter or pairs.get(k) or (NEW if may_be_new and clear else None)
    return tuple(told)
