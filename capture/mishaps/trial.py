"""A changed survey brought to its minimum from a floor found before, and judged: does everything agree now?"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from capture.adjustment.floor_prior import implausibility
from capture.adjustment.least_squares import Fit, minimise
from capture.initial.selection import is_sound
from capture.mishaps.facts import Mishap
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.state import State

#: What a changed survey may have against it as a room: all cameras of three photos outside it, but no walls that cross.
_TOO_ODD = 30.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Explained:
    """A mishap that explains the readings: the survey as it was probably meant, and its minimum."""

    mishap: Mishap
    network: Network
    ix: Indexed
    fit: Fit

    @property
    def against(self) -> float:
        """What speaks against it still."""
        return against(self.ix, self.fit)


def against(ix: Indexed, fit: Fit) -> float:
    """What speaks against a floor: its readings, and what is odd in a room."""
    return fit.cost + implausibility(ix, fit.state)


def carried(ix: Indexed, state: State, other: Indexed) -> State | None:
    """A state for another network of the same photos and lenses, its points found by name; None where it has others."""
    if ix.photo_names != other.photo_names or not set(other.names) <= set(ix.names):
        return None
    rows = [ix.names.index(name) for name in other.names] + list(range(len(ix.names), ix.point_count))
    return replace(state, points_mm=state.points_mm[rows]).in_gauge(0, 1)


def tried(mishap: Mishap, network: Network, ix: Indexed, start: State) -> Explained | None:
    """The mishap, if the changed readings agree and make a room: all of them, so that none is left out."""
    for bent in (False, True):
        fit = minimise(ix, minimise(ix, start, robust=True, iterations=25).state if bent else start)
        if is_sound(ix, fit) and implausibility(ix, fit.state) < _TOO_ODD and np.all(fit.state.camera_heights() > 0):
            return Explained(mishap=mishap, network=network, ix=ix, fit=replace(fit, robust_state=fit.state))
    return None
