"""A scale that enlarges what is small: lengths share the room there is, each at least as wide as it needs.

Lengths along a board or a row are mm of wood; places on paper are mm. The scale is the same everywhere except where a
length would be too narrow to read.
"""
from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

#: Rounds of halving for the common scale: far below a hundredth of a millimetre.
_HALVINGS = 50
#: Places nearer than this are one: no figure tells them apart.
_SAME_MM = 0.6


def shared_out(lengths: Sequence[float], needs: Sequence[float], room: float) -> tuple[float, ...]:
    """Widths that add up to `room`: each length at one common scale, but none less than its need. If the needs are more
    than the room, all shrink alike."""
    if sum(needs) >= room:
        return tuple(need * room / sum(needs) for need in needs)
    low, high = 0.0, room / max(max(lengths), 1e-9)
    for _ in range(_HALVINGS):
        scale = (low + high) / 2
        if sum(max(need, scale * length) for length, need in zip(lengths, needs)) < room:
            low = scale
        else:
            high = scale
    widths = [max(need, low * length) for length, need in zip(lengths, needs)]
    return tuple(width * room / sum(widths) for width in widths)


@dataclass(frozen=True, slots=True)
class Axis:
    """Places along a board and where each stands on paper, rising; between two of them the scale is even."""

    wood: tuple[float, ...]
    paper: tuple[float, ...]

    def at(self, place: float) -> float:
        """Paper place of a place on the wood; beyond the ends at the scale of the nearest stretch."""
        nearest = min(range(len(self.wood)), key=lambda k: abs(self.wood[k] - place))
        if abs(self.wood[nearest] - place) <= _SAME_MM:
            return self.paper[nearest]
        k = min(max(bisect_right(self.wood, place) - 1, 0), len(self.wood) - 2)
        share = (place - self.wood[k]) / (self.wood[k + 1] - self.wood[k])
        return self.paper[k] + share * (self.paper[k + 1] - self.paper[k])


def axis(places: Iterable[float], start: float, room: float, *, least: float,
         wider: Mapping[tuple[float, float], float] | None = None) -> Axis:
    """The axis through all `places` from the paper place `start` over `room` mm: no stretch between two places is
    narrower than `least`, those in `wider` not narrower than theirs."""
    wood: list[float] = []
    for place in sorted(places):
        if not wood or place - wood[-1] > _SAME_MM:
            wood.append(place)
    if len(wood) < 2:
        wood.append(wood[0] + 1.0)
    spans = list(zip(wood, wood[1:]))
    needs = [least] * len(spans)
    for (a, b), need in (wider or {}).items():
        within = [k for k, (x, y) in enumerate(spans) if a - _SAME_MM <= x and y <= b + _SAME_MM]
        short = need - sum(needs[k] for k in within)
        if within and short > 0:
            longest = max(within, key=lambda k: spans[k][1] - spans[k][0])
            needs[longest] += short
    paper = [start]
    for width in shared_out([y - x for x, y in spans], needs, room):
        paper.append(paper[-1] + width)
    return Axis(tuple(wood), tuple(paper))
