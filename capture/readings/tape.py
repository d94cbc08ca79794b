"""Readings of a tape: straight lengths between points, and distances square off a wall."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import ClassVar, Self

import numpy as np

from capture.errors import CaptureError
from capture.language.messages import lazy_gettext
from capture.network import Network
from capture.readings.findings import LEAST_TOLERANCE_MM, LengthOff
from capture.readings.geometry import across, ring_area_mm2
from capture.readings.indexed import (
    Array, Circle, Indexed, Ints, Label, Line, Names, Placed, Readings, floats, ints, three_points)
from capture.readings.state import State

#: 1 in 50 lengths is a slip, which may be anywhere within 5 m: our own guess, no source.
_SLIP_COST = 22.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Taped(Readings):
    """What is read off a tape by a person: it may be a slip, gives the floor its scale, and places points."""

    slip_cost: ClassVar[float] = _SLIP_COST
    taken: ClassVar[bool] = True
    scales: ClassVar[bool] = True
    places: ClassVar[bool] = True

    mm: Array
    sd: Array


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Tapes(_Taped):
    """Lengths between two points: ends (k, 2) points, mm and sd (k,)."""

    units: ClassVar[Mapping[str, str]] = {"tape": "mm"}

    ends: Ints
    #: For each point, the others it was taped to and how far off they are, mm.
    neighbours: dict[int, list[tuple[int, float]]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        for (a, b), mm in zip(self.ends.tolist(), self.mm.tolist()):
            if a != b:
                self.neighbours.setdefault(a, []).append((b, mm))
                self.neighbours.setdefault(b, []).append((a, mm))

    def triangles(self, size: int) -> Ints:
        """(t, 3) the first `size` points by threes, in order, of which every two have a tape."""
        ahead = {a: {b for b, _ in near if a < b < size} for a, near in self.neighbours.items() if a < size}
        return ints([(a, b, c) for a, near in ahead.items() for b in near for c in near & ahead.get(b, set())], 3)

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        tapes = network.tapes
        return cls(labels=tuple(Label(kind="tape", names=(t.a, t.b), value=t.length_mm, sd=t.sd_mm, where=t.where)
                                for t in tapes),
                   ends=ints([(names.point(t.a, t.where), names.point(t.b, t.where)) for t in tapes], 2),
                   mm=floats([t.length_mm for t in tapes]), sd=floats([t.sd_mm for t in tapes]))

    @classmethod
    def points(cls, network: Network) -> Iterable[tuple[str, str]]:
        return ((name, t.where) for t in network.tapes for name in (t.a, t.b))

    @classmethod
    def faults(cls, network: Network) -> Iterable[CaptureError]:
        for tape in network.tapes:
            if tape.a == tape.b:
                yield CaptureError("same-point", lazy_gettext(
                    "tape {a}-{b} goes from a point to itself; name its other end", a=tape.a, b=tape.b),
                                   where=tape.where)
            if not tape.length_mm > 0:
                yield CaptureError("zero-length", lazy_gettext(
                    "tape {a}-{b}: {length:g} mm is no length; measure it again", a=tape.a, b=tape.b,
                    length=tape.length_mm), where=tape.where)

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        length, jac = lengths(ix, state, self.ends)
        read = _as_read(ix, state, length, jac)
        return (self.mm - read) / self.sd, jac / self.sd[:, None]

    def finding(self, ix: Indexed, state: State, cov: Array, k: int) -> LengthOff:
        found = _length_off(self, ix, state, cov, k)
        pairs = [(kept, point) for kept in self.ends[k].tolist() for point in range(len(ix.names))
                 if point != kept and frozenset((kept, point)) not in self._pairs()]
        if not pairs:
            return found
        length, jac = lengths(ix, state, ints(pairs, 2))
        gaps = self.mm[k] - _as_read(ix, state, length, jac)
        sds = np.sqrt(np.einsum("kc,cd,kd->k", jac, cov, jac).clip(0.0) + self.sd[k] ** 2)
        fits, bare = np.abs(gaps) <= np.maximum(3.0 * sds, LEAST_TOLERANCE_MM), self._bare_walls(ix)
        walls = np.array([frozenset(pair) in bare for pair in pairs])
        best = int(np.lexsort((np.abs(gaps) / sds, ~walls, ~fits))[0])
        a, b = pairs[best]
        return found if not fits[best] else replace(
            found, measures=(ix.names[a], ix.names[b]), pair_gap_mm=float(gaps[best]), pair_sd_mm=float(sds[best]),
            pair_wanted=bool(walls[best]))

    def _pairs(self) -> set[frozenset[int]]:
        """The pairs of points that have a tape."""
        return {frozenset(ends) for ends in self.ends.tolist()}

    def _bare_walls(self, ix: Indexed) -> set[frozenset[int]]:
        """Walls of the outline without a tape, where most have one."""
        size = len(ix.outline)
        bare = {frozenset((k, (k + 1) % size)) for k in range(size)} - self._pairs()
        return bare if 2 * len(bare) < size else set()

    def without(self, k: int) -> Self:
        return replace(self, labels=self.labels[:k] + self.labels[k + 1:], ends=np.delete(self.ends, k, axis=0),
                       mm=np.delete(self.mm, k), sd=np.delete(self.sd, k))

    def distances(self) -> list[tuple[int, int, float]]:
        return [(a, b, float(mm)) for (a, b), mm in zip(self.ends.tolist(), self.mm)]

    def loci(self, ix: Indexed, placed: Placed, point: int) -> Iterable[Circle]:
        return (Circle(centre=placed[there], radius=mm) for there, mm in self.neighbours.get(point, ())
                if there in placed)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Offsets(_Taped):
    """Distances of a point square off a wall: ends (k, 3) point and wall, mm and sd (k,).

    side (k,): +1 if the wall is named in the outline's order, -1 if against it, 0 if it is no wall of the outline. A
    typed offset has no sign: off a wall of the outline it is into the room, off any other line it is where the point
    lies.
    """

    units: ClassVar[Mapping[str, str]] = {"offset": "mm"}

    ends: Ints
    side: Array

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        offsets = network.offsets
        return cls(labels=tuple(Label(kind="offset", names=(o.point, *o.wall), value=o.distance_mm, sd=o.sd_mm,
                                      where=o.where) for o in offsets),
                   ends=ints([(names.point(o.point, o.where), *(names.point(w, o.where) for w in o.wall))
                              for o in offsets], 3), mm=floats([o.distance_mm for o in offsets]),
                   sd=floats([o.sd_mm for o in offsets]), side=floats([_side(o.point, o.wall, names) for o in offsets]))

    @classmethod
    def points(cls, network: Network) -> Iterable[tuple[str, str]]:
        return ((o.point, o.where) for o in network.offsets)

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        distance, derivatives = across(state.points_mm, self.ends)
        turning = np.where(ring_area_mm2(state.points_mm[..., ix.outline, :]) < 0, -1.0, 1.0)[..., None]
        side = np.where(self.side != 0, self.side * turning, np.where(distance < 0, -1.0, 1.0))
        jac = three_points(ix, self.ends, derivatives * side[..., None, None])
        read = _as_read(ix, state, side * distance, jac)
        return (self.mm - read) / self.sd, jac / self.sd[:, None]

    def finding(self, ix: Indexed, state: State, cov: Array, k: int) -> LengthOff:
        return _length_off(self, ix, state, cov, k)

    def loci(self, ix: Indexed, placed: Placed, point: int) -> Iterable[Line]:
        """Both parallels at the typed distance; once the outline is whole, only the one inside."""
        for (p, a, b), mm, side in zip(self.ends.tolist(), self.mm, self.side):
            if p == point and a in placed and b in placed:
                way = unit(placed[b] - placed[a])
                turning = _turning(ix, placed)
                for sign in (side * turning,) if side and turning else (1.0, -1.0):
                    yield Line(through=placed[a] + 1j * way * sign * mm, way=way)


def _length_off(readings: Readings, ix: Indexed, state: State, cov: Array, k: int) -> LengthOff:
    """A length beside what the other readings have for it."""
    residual, jac = readings.equations(ix, state)
    label = readings.labels[k]
    slope = jac[k] * label.sd
    return LengthOff(value_mm=label.value, sd_mm=label.sd, expected_mm=label.value - float(residual[k]) * label.sd,
                     expected_sd_mm=float(np.sqrt(max(slope @ cov @ slope, 0.0))))


def lengths(ix: Indexed, state: State, ends: Ints) -> tuple[Array, Array]:
    """Distances (k,) between pairs of points (k, 2) and their Jacobian (k, columns)."""
    k = len(ends)
    jac = ix.blank(state, k)
    step = state.points_mm[..., ends[:, 1], :] - state.points_mm[..., ends[:, 0], :]
    length = np.hypot(step[..., 0], step[..., 1])
    along = step / np.maximum(length, 1e-9)[..., None]
    for column, sign in ((0, -1.0), (1, 1.0)):
        jac[..., np.arange(k)[:, None], 2 * ends[:, column, None] + np.arange(2)] += sign * along
    return length, jac


def unit(step: complex) -> complex:
    """The direction of a step."""
    return step / max(abs(step), 1e-9)


def _as_read(ix: Indexed, state: State, length: Array, jac: Array) -> Array:
    """(k,) true lengths as the tape reads them, with its own scale and hook; their derivatives are put into (k,
    columns) `jac`."""
    if not state.tape_error.shape[-1]:
        return length
    scale, hook = state.tape_error[..., :1], state.tape_error[..., 1:]
    jac *= 1.0 + scale[..., None]
    jac[..., ix.tape_column], jac[..., ix.tape_column + 1] = length, 1.0
    return length * (1.0 + scale) + hook


def _side(point: str, wall: tuple[str, str], names: Names) -> float:
    """See `Offsets`; a chain of walls along which the point lies is a wall too."""
    ring, size = names.ring, len(names.outline)
    if wall[0] not in ring or wall[1] not in ring:
        return 0.0
    step = (ring[wall[1]] - ring[wall[0]]) % size
    if step in (1, size - 1):
        return 1.0 if step == 1 else -1.0
    if is_between(point, wall, names.outline):
        return 1.0 if step < size - step else -1.0
    return 0.0


def is_between(point: str, wall: tuple[str, str], outline: tuple[str, ...]) -> bool:
    """Whether an outline corner lies between two others, on the way round with fewer corners: a place along a bowed
    wall."""
    if not {point, *wall} <= set(outline):
        return False
    size, first = len(outline), outline.index(wall[0])
    step, place = (outline.index(wall[1]) - first) % size, (outline.index(point) - first) % size
    return 0 < place < step if step < size - step else step < place and step > size - step


def _turning(ix: Indexed, placed: Placed) -> float:
    """+1 anticlockwise, -1 clockwise, 0 while corners are missing."""
    if any(k not in placed for k in range(len(ix.outline))):
        return 0.0
    ring = np.array([placed[k] for k in range(len(ix.outline))])
    return float(np.sign(np.sum((np.conj(ring) * np.roll(ring, -1)).imag)))
