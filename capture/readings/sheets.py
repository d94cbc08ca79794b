"""Sheets on the floor: plain paper of known size, and the shape and size of printed targets."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import ClassVar, Self

import numpy as np

from capture.network import PRINT_SD, SHEET_SD_MM, Network
from capture.readings.findings import Contradicted, Finding, SizeOff
from capture.readings.indexed import Array, Indexed, Ints, Label, Names, Readings, floats, ints
from capture.readings.state import State
from capture.readings.tape import lengths

#: The four sides and a diagonal of a sheet of paper, by its corners: what makes it a rectangle of its size, nothing
#: twice.
_PAPER_LENGTHS = ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Papers(Readings):
    """Sheets of paper, five lengths each: ends (5k, 2) points, mm and sd (5k,). Answers give no unit, since one value
    stands for five."""

    units: ClassVar[Mapping[str, str]] = {"paper": ""}
    lines_each: ClassVar[int] = len(_PAPER_LENGTHS)
    scales: ClassVar[bool] = True
    locates: ClassVar[bool] = False

    ends: Ints
    mm: Array
    sd: Array

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        papers = network.papers
        return cls(labels=tuple(Label(kind="paper", names=p.corners, value=p.sides_mm[0], sd=p.sd_mm, where=p.where)
                                for p in papers),
                   ends=ints([[names.point(p.corners[i], p.where) for i in pair] for p in papers
                              for pair in _PAPER_LENGTHS], 2),
                   mm=floats([mm for p in papers for w, h in [p.sides_mm] for mm in (w, h, w, h,
                                                                                     float(np.hypot(w, h)))]),
                   sd=floats([p.sd_mm for p in papers for _ in _PAPER_LENGTHS]))

    @classmethod
    def points(cls, network: Network) -> Iterable[tuple[str, str]]:
        return ((name, p.where) for p in network.papers for name in p.corners)

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        length, jac = lengths(ix, state, self.ends)
        return (self.mm - length) / self.sd, jac / self.sd[:, None]

    def distances(self) -> list[tuple[int, int, float]]:
        return [(a, b, float(mm)) for (a, b), mm in zip(self.ends.tolist(), self.mm)]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TargetShapes(Readings):
    """Every target is a square: its diagonals halve one another (2 lines), are equally long and square to one another.

    Written so that the mirror image of a square is one too. Each line is scaled to move as far as one corner that is
    off.
    """

    units: ClassVar[Mapping[str, str]] = {"sheet": "mm"}
    lines_each: ClassVar[int] = 4
    given: ClassVar[bool] = True

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        return cls(labels=tuple(Label(kind="sheet", names=(f"T{number}",), sd=SHEET_SD_MM) for number in names.targets))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        p, q, long_p, long_q = _diagonals(ix, state)
        count, total = len(ix.target_numbers), long_p + long_q
        unit_p, unit_q = p / long_p[..., None], q / long_q[..., None]
        slant = np.sum(p * q, axis=-1) / total
        many = slant.shape[:-1]
        jac = np.zeros((*many, count, 4, ix.columns))
        for corner, sign in enumerate((0.5, -0.5, 0.5, -0.5)):
            for axis in (0, 1):
                jac[..., np.arange(count), axis, 2 * ix.target_points[:, corner] + axis] = sign
        jac[..., 2, :] = _by_corners(ix, unit_p / 2, -unit_q / 2)
        jac[..., 3, :] = _by_corners(ix, (q - slant[..., None] * unit_p) / total[..., None],
                                     (p - slant[..., None] * unit_q) / total[..., None])
        middle = np.einsum("...tci,c->...ti", state.points_mm[..., ix.target_points, :],
                           np.array([0.5, -0.5, 0.5, -0.5]))
        computed = np.concatenate([middle, ((long_p - long_q) / 2)[..., None], slant[..., None]], axis=-1)
        return -computed.reshape(*many, 4 * count) / SHEET_SD_MM, jac.reshape(*many, 4 * count,
                                                                              ix.columns) / SHEET_SD_MM


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TargetSizes(Readings):
    """The first target is as large as printed, but for the printer's scale; all others are as large as the first."""

    units: ClassVar[Mapping[str, str]] = {"sheet-size": "mm"}
    given: ClassVar[bool] = True

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        targets, size = [f"T{number}" for number in names.targets], network.target_size_mm
        printed = [Label(kind="sheet-size", names=(name,), value=size, sd=PRINT_SD * size, where="targets")
                   for name in targets[:1]]
        return cls(labels=(*printed, *(Label(kind="sheet-size", names=(name, targets[0]), sd=SHEET_SD_MM)
                                       for name in targets[1:])))

    def finding(self, ix: Indexed, state: State, cov: Array, k: int) -> Finding:
        if k > 0:
            return Contradicted()
        corners = state.points_mm[ix.target_points[0]]
        return SizeOff(value_mm=self.labels[0].value,
                       expected_mm=float(np.hypot(*(corners[2] - corners[0])) / np.sqrt(2.0)))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        p, q, long_p, long_q = _diagonals(ix, state)
        side = (long_p + long_q) / np.sqrt(8.0)
        jac = _by_corners(ix, p / long_p[..., None] / np.sqrt(8.0), q / long_q[..., None] / np.sqrt(8.0))
        jac[..., 1:, :] -= jac[..., :1, :]
        gap = np.concatenate([ix.target_mm - side[..., :1], side[..., :1] - side[..., 1:]], axis=-1)
        sd = np.concatenate([[PRINT_SD * ix.target_mm], np.full(side.shape[-1] - 1, SHEET_SD_MM)])
        return gap / sd, jac / sd[:, None]


def _diagonals(ix: Indexed, state: State) -> tuple[Array, Array, Array, Array]:
    """Diagonals p, q (t, 2) of the targets and their lengths (t,), mm."""
    a, b, c, d = (state.points_mm[..., ix.target_points[:, i], :] for i in range(4))
    p, q = c - a, d - b
    return p, q, np.maximum(np.hypot(p[..., 0], p[..., 1]), 1e-6), np.maximum(np.hypot(q[..., 0], q[..., 1]), 1e-6)


def _by_corners(ix: Indexed, by_p: Array, by_q: Array) -> Array:
    """Jacobian lines (t, columns) of values that depend on the diagonals of a target alone."""
    jac = np.zeros((*by_p.shape[:-1], ix.columns))
    line = np.arange(len(ix.target_numbers))[:, None]
    for corner, slope in enumerate((-by_p, -by_q, by_p, by_q)):
        jac[..., line, 2 * ix.target_points[:, corner, None] + np.arange(2)] = slope
    return jac
