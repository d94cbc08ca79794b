"""Observation equations: residuals (observed - computed) and derivatives of the computed value, divided by each sd.

One line per scalar observation, in the order of `capture.readings.table.KINDS`; each kind has its own in its class.
Shapes are told for one floor; any axes before them are alternatives worked out together, much faster than one by one.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture import progress
from capture.readings.indexed import Indexed
from capture.readings.state import State

Array = NDArray[np.float64]


def equations(ix: Indexed, state: State) -> tuple[Array, Array]:
    """Whitened residuals (l,) and whitened Jacobian of the computed values (l, columns).

    Whoever listens to a solve hears of it here, and may end it (`capture.progress`).
    """
    progress.tell()
    parts = [kind.equations(ix, state) for kind in ix.readings if len(kind)] or [(np.zeros(0),
                                                                                  np.zeros((0, ix.columns)))]
    return np.concatenate([r for r, _ in parts], axis=-1), np.concatenate([j for _, j in parts], axis=-2)


def residuals(ix: Indexed, state: State) -> Array:
    """Whitened residuals (l,) only."""
    return equations(ix, state)[0]
