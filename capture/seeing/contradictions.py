"""What contradicts itself in marks as they are tapped: told at once, before any solving.

In: marks by photo and letter, which way is up in each photo (`capture.seeing.vertical`), the outline as listed. Out:
contradictions as values; whoever shows them words them. Seen from above, two photos of one floor differ by a turn, a
size and a shift, never by a mirror: letters that fit only mirrored are swapped left to right. Walls of one photo that
cross are listed in a wrong order.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from capture.seeing.same_room import similarity
from capture.seeing.vertical import on_floor

Complex = NDArray[np.complex128]
What = Literal["mirrored", "crossing", "one-corner", "unseen-wall"]

#: Two letters this near in one photo mark one corner, px of a picture 1600 px long.
_ONE_CORNER_PX = 6.0
#: Letters count as mirrored if they fit so much better mirrored, and so well, shares of the figure's own size.
_TIMES_BETTER, _FITS = 4.0, 0.08


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """what: "mirrored" (points: the shared letters; photos: the two), "crossing" (points: two walls, four letters),
    "one-corner" (two letters on one spot of a photo), "unseen-wall" (points: a taped wall's two letters that no photo
    shows)."""

    what: What
    points: tuple[str, ...]
    photos: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Marked:
    """One photo's marks by letter, px; its lens; its up direction or None where it is not known."""

    marks: Mapping[str, tuple[float, float]]
    size_px: tuple[int, int]
    focal_px: float
    up: tuple[float, float, float] | None = None

    def from_above(self) -> dict[str, complex]:
        """The marks' places on the floor in camera heights; those at the horizon are left out."""
        if self.up is None or not self.marks:
            return {}
        spots = on_floor(np.array(list(self.marks.values())), np.array(self.up), self.focal_px,
                         (np.array(self.size_px) - 1) / 2)
        return {name: complex(spot) for name, spot in zip(self.marks, spots) if np.isfinite(spot)}


def contradictions(photos: Sequence[Marked], outline: Sequence[str], taped: Sequence[tuple[str, str]] = (),
                   lined: Sequence[tuple[str, str]] = (), *, closed: bool = True) -> list[Contradiction]:
    """All that contradicts. taped: walls with a tape length; lined: walls with a mark on their floor line; closed: the
    outline's last corner is joined to its first, which holds only once all are listed."""
    views = [photo.from_above() for photo in photos]
    found = [c for k, photo in enumerate(photos) for c in _one_corner(k, photo)]
    found += [c for (i, one), (k, other) in combinations(enumerate(views), 2)
              if (c := _mirrored(i, one, k, other)) is not None]
    found += [c for k, view in enumerate(views) for c in _crossing(k, view, outline, closed)]
    return found + _unseen(photos, outline, taped, lined)


def _one_corner(number: int, photo: Marked) -> list[Contradiction]:
    reach = _ONE_CORNER_PX * max(photo.size_px) / 1600.0
    return [Contradiction(what="one-corner", points=(a, b), photos=(number,)) for (a, p),
            (b, q) in combinations(photo.marks.items(), 2) if np.hypot(p[0] - q[0], p[1] - q[1]) <= reach]


def _mirrored(i: int, one: Mapping[str, complex], k: int, other: Mapping[str, complex]) -> Contradiction | None:
    """Whether the letters two photos share fit far better as mirror images."""
    shared = tuple(sorted(set(one) & set(other)))
    if len(shared) < 3:
        return None
    p, q = (np.array([view[name] for name in shared]) for view in (one, other))
    size = float(np.sqrt(np.mean(np.abs(p - p.mean()) ** 2)))
    plain, turned = (_off(p, figure) / max(size, 1e-9) for figure in (q, np.conj(q)))
    swapped = turned <= _FITS and plain > max(_FITS, _TIMES_BETTER * turned)
    return Contradiction(what="mirrored", points=shared, photos=(i, k)) if swapped else None


def _off(p: Complex, q: Complex) -> float:
    """Root mean square distance of two figures laid on one another."""
    a, b = similarity(p, q)
    return float(np.sqrt(np.mean(np.abs(p - a * q - b) ** 2)))


def _crossing(number: int, view: Mapping[str, complex], outline: Sequence[str], closed: bool) -> list[Contradiction]:
    walls = [(a, b) for a, b in zip(outline, [*outline[1:], *outline[:closed]]) if a in view and b in view]
    return [Contradiction(what="crossing", points=(*one, *other), photos=(number,))
            for one, other in combinations(walls, 2) if not set(one) & set(other)
            and _cross(*(view[name] for name in (*one, *other)))]


def _cross(a: complex, b: complex, c: complex, d: complex) -> bool:
    """Whether the stretches a-b and c-d cross."""
    def side(p: complex, q: complex, r: complex) -> float:
        return ((q - p).conjugate() * (r - p)).imag
    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def _unseen(photos: Sequence[Marked], outline: Sequence[str], taped: Sequence[tuple[str, str]],
            lined: Sequence[tuple[str, str]]) -> list[Contradiction]:
    """Taped walls of the outline that no photo shows from end to end nor by a mark on their floor line."""
    walls = {frozenset(pair) for pair in zip(outline, [*outline[1:], *outline[:1]])}
    seen = {frozenset(pair) for pair in lined} | {frozenset(pair) for photo in photos
                                                  for pair in combinations(photo.marks, 2)}
    return [Contradiction(what="unseen-wall", points=pair) for pair in taped if frozenset(pair) in walls
            and frozenset(pair) not in seen]
