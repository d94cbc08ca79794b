"""What a person believes of the floor: square corners, and points on the line of a wall."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import ClassVar, Self

import numpy as np

from capture.errors import CaptureError
from capture.language.messages import lazy_gettext
from capture.network import Network
from capture.readings.geometry import across
from capture.readings.indexed import (
    Array,
    Indexed,
    Ints,
    Label,
    Line,
    Names,
    Placed,
    Readings,
    floats,
    ints,
    three_points,
)
from capture.readings.state import State
from capture.readings.tape import unit


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Squares(Readings):
    """Outline corners believed square: ends (k, 3) the corner before, itself and the one after, sd (k,) rad."""

    units: ClassVar[Mapping[str, str]] = {"square": "deg"}

    ends: Ints
    sd: Array

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        return cls(labels=tuple(Label(kind="square", names=(s.corner,), value=np.pi / 2, sd=s.sd_rad, where=s.where)
                                for s in network.squares),
                   ends=ints([_neighbours(s.corner, s.where, names) for s in network.squares], 3),
                   sd=floats([s.sd_rad for s in network.squares]))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        before, corner, after = (state.points_mm[..., self.ends[:, i], :] for i in range(3))
        back, ahead = before - corner, after - corner
        angle = np.arctan2(ahead[..., 0] * back[..., 1] - ahead[..., 1] * back[..., 0], np.sum(ahead * back, axis=-1))
        by_back = (
            np.stack([-back[..., 1], back[..., 0]], axis=-1) / np.maximum(np.sum(back**2, axis=-1), 1e-9)[..., None]
        )
        by_ahead = (
            np.stack([ahead[..., 1], -ahead[..., 0]], axis=-1) / np.maximum(np.sum(ahead**2, axis=-1), 1e-9)[..., None]
        )
        derivatives = np.stack([by_back, -by_back - by_ahead, by_ahead], axis=-2)
        target = np.where(angle >= 0, np.pi / 2, -np.pi / 2)
        return (target - angle) / self.sd, three_points(ix, self.ends, derivatives) / self.sd[:, None]


def _neighbours(corner: str, where: str, names: Names) -> tuple[int, int, int]:
    """An outline corner between the one before and the one after."""
    if corner not in names.ring:
        raise CaptureError("not-a-corner", lazy_gettext(
            "{where}: '{corner}' is not a corner of the outline; only outline corners can be called square",
            where=where or "square", corner=corner), where=where)
    k, outline = names.ring[corner], names.outline
    return names.point(outline[k - 1], where), k, names.point(outline[(k + 1) % len(outline)], where)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class OnWalls(Readings):
    """Points on the line of a wall: ends (k, 3) point and wall, sd (k,) mm."""

    units: ClassVar[Mapping[str, str]] = {"on-wall": "mm"}
    places: ClassVar[bool] = True

    ends: Ints
    sd: Array

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        return cls(labels=tuple(Label(kind="on-wall", names=(o.point, *o.wall), sd=o.sd_mm, where=o.where)
                                for o in network.on_walls),
                   ends=ints([(names.point(o.point, o.where), *(names.point(w, o.where) for w in o.wall))
                              for o in network.on_walls], 3), sd=floats([o.sd_mm for o in network.on_walls]))

    @classmethod
    def points(cls, network: Network) -> Iterable[tuple[str, str]]:
        return ((o.point, o.where) for o in network.on_walls)

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        distance, derivatives = across(state.points_mm, self.ends)
        return -distance / self.sd, three_points(ix, self.ends, derivatives) / self.sd[:, None]

    def loci(self, ix: Indexed, placed: Placed, point: int) -> Iterable[Line]:
        return (Line(through=placed[a], way=unit(placed[b] - placed[a])) for p, a, b in self.ends.tolist()
                if p == point and a in placed and b in placed)
