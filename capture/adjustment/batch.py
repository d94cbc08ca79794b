"""Many minima sought together: the same readings from many starts, each with weights of its own.

The method is that of `least_squares.minimise`; what is gained is speed, for a search that tries hundreds of rough
floors.
"""
from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.least_squares import Fit, free_columns
from capture.readings.state import State
from capture.adjustment.equations import equations
from capture.readings.indexed import Indexed

Array = NDArray[np.float64]

#: Floors worked on together: enough to spread the cost of each call, few enough for their derivatives to stay near the
#: processor.
_TOGETHER = 24


def stacked(states: list[State]) -> State:
    """Alternatives as one state, in order; at least one."""
    return State(**{f.name: np.stack([getattr(state, f.name) for state in states]) for f in fields(State)})


def minimise_all(ix: Indexed, states: list[State], *, robust: bool = False, iterations: int = 60,
                 line_weights: Array | None = None) -> list[Fit]:
    """Least squares from each start state, all in the gauge. For `robust` see `least_squares.minimise`; line_weights:
    (states, l) or None.

    The cost of a fit is the plain one over all lines but those of weight 0; inf where a start gives no finite
    residuals.
    """
    weights = np.ones((len(states), len(ix.line_groups()))) if line_weights is None else line_weights
    fits: list[Fit] = []
    for first in range(0, len(states), _TOGETHER):
        some = slice(first, first + _TOGETHER)
        fits += _Descent(ix, stacked(states[some]), weights[some], robust).run(iterations)
    return fits


def squares_of(ix: Indexed, states: list[State]) -> Array:
    """(b, readings) sum of squared whitened residuals of each reading at each state; inf where a state has none."""
    residual = equations(ix, stacked(states))[0]
    return _group_squares(np.where(np.isfinite(residual), residual, np.inf), ix.line_groups())


def robust_costs(ix: Indexed, states: list[State]) -> Array:
    """(b,) costs with slips held off (see `least_squares.minimise`): near the plain one for sound readings, mild for
    a few wild ones."""
    return np.sum(9.0 * np.log1p(squares_of(ix, states) / 9.0), axis=-1) if states else np.zeros(0)


class _Descent:
    """Some floors on their way to their minima; each stops where it no longer gains."""

    def __init__(self, ix: Indexed, states: State, weights: Array, robust: bool) -> None:
        self._ix, self._robust, self._weights = ix, robust, weights
        self._free, self._groups = free_columns(ix), ix.line_groups()
        self._states = states
        self._residual, self._jac = equations(ix, states)
        self._damping = np.full(len(weights), 1e-3)

    def run(self, iterations: int) -> list[Fit]:
        lost = ~np.all(np.isfinite(self._residual), axis=-1)
        going = np.flatnonzero(~lost)
        for _ in range(iterations):
            if not len(going):
                break
            going = going[self._advance(going)]
        costs = np.where(lost, np.inf, _costs(self._residual, self._groups, False, self._weights))
        return [Fit(state=_taken(self._states, k), cost=float(cost)) for k, cost in enumerate(costs)]

    def _advance(self, going: NDArray[np.int64]) -> NDArray[np.bool_]:
        """One step of each; which of them should go on."""
        residual, base = self._residual[going], self._weights[going]
        weight = _line_weights(residual, self._groups, self._robust, base)
        cost = _costs(residual, self._groups, self._robust, base)
        step = np.zeros((len(going), self._ix.columns))
        step[:, self._free] = _steps(self._jac[going][:, :, self._free] * weight[..., None], residual * weight,
                                     self._damping[going])
        ahead = _taken(self._states, going).moved(step)
        new_residual, new_jac = equations(self._ix, ahead)
        sound = np.all(np.isfinite(new_residual), axis=-1)
        new_cost = np.where(sound, _costs(np.where(sound[:, None], new_residual, 0.0), self._groups, self._robust,
                                          base), np.inf)
        better = new_cost <= cost * (1 + 1e-12) + 1e-15
        self._keep(going[better], ahead, better, new_residual, new_jac)
        self._damping[going] = np.where(better, np.maximum(self._damping[going] / 8.0, 1e-12),
                                        self._damping[going] * 6.0)
        return np.where(better, cost - new_cost > 1e-9 * (1.0 + cost), self._damping[going] <= 1e8)

    def _keep(self, which: NDArray[np.int64], ahead: State, better: NDArray[np.bool_], residual: Array,
              jac: Array) -> None:
        for field in fields(State):
            getattr(self._states, field.name)[which] = getattr(ahead, field.name)[better]
        self._residual[which], self._jac[which] = residual[better], jac[better]


def _taken(states: State, which: int | NDArray[np.int64]) -> State:
    return State(**{f.name: getattr(states, f.name)[which] for f in fields(State)})


def _group_squares(residual: Array, groups: NDArray[np.int64]) -> Array:
    """(b, readings) sums of squares of each reading's lines."""
    count = int(groups[-1]) + 1
    at = groups + count * np.arange(len(residual))[:, None]
    return (
        np.bincount(at.ravel(), weights=(residual**2).ravel(), minlength=count * len(residual))
        .reshape(-1, count)
        .astype(float)
    )


def _costs(residual: Array, groups: NDArray[np.int64], robust: bool, weights: Array) -> Array:
    squares = _group_squares(residual * weights, groups)
    return np.sum(9.0 * np.log1p(squares / 9.0) if robust else squares, axis=-1)


def _line_weights(residual: Array, groups: NDArray[np.int64], robust: bool, weights: Array) -> Array:
    return weights / np.sqrt(1.0 + _group_squares(residual * weights, groups) / 9.0)[:, groups] if robust else weights


def _steps(jac: Array, residual: Array, damping: Array) -> Array:
    """Marquardt steps on scaled columns, (b, columns)."""
    scale = np.maximum(np.sqrt(np.einsum("blc,blc->bc", jac, jac)), 1e-12)
    scaled = jac / scale[:, None, :]
    across = np.swapaxes(scaled, 1, 2)
    normal = across @ scaled
    diagonal = np.arange(normal.shape[-1])
    normal[:, diagonal, diagonal] += damping[:, None]
    return np.linalg.solve(normal, across @ residual[..., None])[..., 0] / scale
