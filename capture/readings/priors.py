"""What is known beforehand, as readings: of lenses, of their centres, and of the tape's own error."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Self

import numpy as np

from capture.network import Network
from capture.readings.indexed import Array, Indexed, Label, Names, Readings
from capture.readings.state import POSE, State


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Lenses(Readings):
    """What is known of each lens, as readings of log f (its sd is the relative sd), k1 and k2."""

    units: ClassVar[Mapping[str, str]] = {"lens": ""}
    given: ClassVar[bool] = True
    prior: ClassVar[bool] = True

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        known = [(c.name, (("focal length", c.focal_px, c.focal_sd), ("k1", c.k1, c.k1_sd), ("k2", c.k2, c.k2_sd)))
                 for c in network.cameras]
        return cls(labels=tuple(Label(kind="lens", names=(name, what), value=value, sd=sd) for name, three in known
                                for what, value, sd in three))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        sd = np.column_stack([ix.lens_focal_sd, ix.lens_distortion_sd]).ravel()
        gap = np.concatenate([(np.log(ix.lens_focal) - state.log_focal)[..., None],
                              ix.lens_distortion - state.distortion], axis=-1)
        return gap.reshape(*gap.shape[:-2], len(sd)) / sd, _by_columns(ix, state, ix.lens_column, sd)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LensCentres(Readings):
    """Each lens's axis passes through the middle of its picture, give or take: 2 lines a photo."""

    units: ClassVar[Mapping[str, str]] = {"lens": ""}
    lines_each: ClassVar[int] = 2
    given: ClassVar[bool] = True
    prior: ClassVar[bool] = True

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        return cls(labels=tuple(Label(kind="lens", names=(p.name, "centre"), photo=p.name, sd=1.0)
                                for p in network.photos))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        sd = np.repeat(ix.photo_centre_sd, 2)
        jac = ix.blank(state, len(sd))
        axes = np.arange(len(sd))
        jac[..., axes, ix.point_columns + POSE * (axes // 2) + 6 + axes % 2] = 1.0 / sd
        gap = ix.photo_centre - state.centres_px
        return gap.reshape(*gap.shape[:-2], len(sd)) / sd, jac


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TapeErrors(Readings):
    """The tape is right by itself, give or take: readings 0 of its scale and hook error, where these are unknowns."""

    units: ClassVar[Mapping[str, str]] = {"tape-error": ""}
    given: ClassVar[bool] = True
    prior: ClassVar[bool] = True

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        error = network.tape_error
        return cls(labels=() if error is None else tuple(Label(kind="tape-error", names=(what,), sd=sd,
                                                               where="tape_error")
                                                         for what, sd in (("scale", error.scale_sd),
                                                                          ("hook", error.hook_sd_mm))))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        return -state.tape_error / ix.tape_error_sd, _by_columns(ix, state, ix.tape_column, ix.tape_error_sd)


def _by_columns(ix: Indexed, state: State, first: int, sd: Array) -> Array:
    """Jacobian of readings of neighbouring parameters, one line each."""
    jac = ix.blank(state, len(sd))
    jac[..., np.arange(len(sd)), first + np.arange(len(sd))] = 1.0 / sd
    return jac
