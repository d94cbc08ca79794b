"""Weighted least squares: damped Gauss-Newton to the minimum, then covariance, redundancy and the gauge.

Model: Mikhail & Ackermann, "Observations and Least Squares" (1976), ch. 7 (book from memory). With whitened Jacobian J
the covariance is (J'J)^-1, the hat matrix H = J (J'J)^-1 J', redundancy numbers are the diagonal of I - H. Gauge: the
outline's first corner held at (0, 0), the second on the x axis; three columns are left out. Lengths, areas, residuals
and redundancy do not depend on that choice. Damping: Marquardt's, on columns scaled to unit length (More 1978; the
scaling makes mm, rad and log f comparable).
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.readings.state import State
from capture.adjustment.equations import equations
from capture.readings.indexed import Indexed

Array = NDArray[np.float64]

#: Below this ratio of singular values (columns scaled) a direction counts as not fixed by the readings.
RANK_TOLERANCE = 1e-7


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fit:
    """A minimum: its state and the sum of squared whitened residuals.

    robust_state: the minimum with slips held off, from which this one was reached, if it was.
    """

    state: State
    cost: float
    robust_state: State | None = None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Precision:
    """What the minimum is worth.

    cov: (columns, columns), zero in the gauge's columns. residual: whitened residuals (l,). residual_cov: (l, l) their
    covariance, I - H among the lines used and I + J C J' for lines left out. hat: (l, l), zero for lines left out.
    loose: (columns, d) unit vectors of directions that nothing fixes; empty for a determined floor.
    """

    cov: Array
    residual: Array
    residual_cov: Array
    hat: Array
    loose: Array


def free_columns(ix: Indexed) -> NDArray[np.int64]:
    """Columns that are solved: all but x and y of the first corner and y of the second."""
    return np.setdiff1d(np.arange(ix.columns), [0, 1, 3])


def minimise(ix: Indexed, state: State, *, robust: bool = False, iterations: int = 60,
             line_weights: Array | None = None) -> Fit:
    """Least squares from a start state in the gauge (see `State.in_gauge`).

    robust: each reading's weight falls with its own residual (Cauchy, 3 standard deviations), so that a slip cannot
    bend the start; line_weights: (l,) factors on the whitened lines, 0 leaves a line out.
    """
    free = free_columns(ix)
    groups = ix.line_groups()
    residual, jac = equations(ix, state)
    if not np.all(np.isfinite(residual)):
        return Fit(state=state, cost=np.inf)
    damping = 1e-3
    for _ in range(iterations):
        weight = _weights(residual, groups, robust, line_weights)
        cost = _cost(residual, groups, robust, line_weights)
        step = _step(jac[:, free] * weight[:, None], residual * weight, damping)
        whole = np.zeros(ix.columns)
        whole[free] = step
        new_state = state.moved(whole)
        new_residual, new_jac = equations(ix, new_state)
        new_cost = _cost(new_residual, groups, robust, line_weights) if np.all(np.isfinite(new_residual)) else np.inf
        if new_cost <= cost * (1 + 1e-12) + 1e-15:
            state, residual, jac = new_state, new_residual, new_jac
            damping = max(damping / 8.0, 1e-12)
            if cost - new_cost <= 1e-9 * (1.0 + cost):
                break
        else:
            damping *= 6.0
            if damping > 1e8:
                break
    return Fit(state=state, cost=_cost(residual, groups, False, line_weights))


def assess(ix: Indexed, state: State, *, line_weights: Array | None = None) -> Precision:
    """Covariance, residuals, hat matrix and loose directions at a minimum."""
    free = free_columns(ix)
    residual, whole = equations(ix, state)
    weight = np.ones(len(residual)) if line_weights is None else line_weights
    jac = whole[:, free] * weight[:, None]
    scale = np.linalg.norm(jac, axis=0)
    scale[scale == 0] = 1.0
    # Only a floor with fewer lines than unknowns needs the directions that no line touches.
    left, sizes, right = np.linalg.svd(jac / scale, full_matrices=len(jac) < len(free))
    sizes = np.concatenate([sizes, np.zeros(len(free) - len(sizes))])
    sound = sizes > RANK_TOLERANCE * sizes[0]
    root = (right[sound].T / sizes[sound]) / scale[:, None]
    cov = np.zeros((ix.columns, ix.columns))
    cov[np.ix_(free, free)] = root @ root.T
    loose = np.zeros((ix.columns, int(np.sum(~sound))))
    loose[free] = right[~sound].T / scale[:, None]
    loose /= np.maximum(np.linalg.norm(loose, axis=0), 1e-300)
    kept = left[:, sound[:left.shape[1]]]
    hat = kept @ kept.T
    residual_cov = np.eye(len(residual)) - hat
    idle = np.flatnonzero(weight == 0)
    residual_cov[idle] = residual_cov[:, idle] = 0.0
    residual_cov[np.ix_(idle, idle)] = np.eye(len(idle)) + whole[idle] @ cov @ whole[idle].T
    return Precision(cov=cov, residual=residual, residual_cov=residual_cov, hat=hat, loose=loose)


def reading_squares(ix: Indexed, state: State) -> Array:
    """Sum of squared whitened residuals of each reading, in the order of `Indexed.line_groups`."""
    return _group_squares(equations(ix, state)[0], ix.line_groups(), None)


def _group_squares(residual: Array, groups: NDArray[np.int64], line_weights: Array | None) -> Array:
    weighted = residual if line_weights is None else residual * line_weights
    # The stub of bincount knows whole numbers only; with weights it counts in floats.
    return np.asarray(np.bincount(groups, weights=weighted**2), dtype=np.float64)


def _cost(residual: Array, groups: NDArray[np.int64], robust: bool, line_weights: Array | None) -> float:
    squares = _group_squares(residual, groups, line_weights)
    return float(np.sum(9.0 * np.log1p(squares / 9.0))) if robust else float(np.sum(squares))


def _weights(residual: Array, groups: NDArray[np.int64], robust: bool, line_weights: Array | None) -> Array:
    base = np.ones(len(residual)) if line_weights is None else line_weights
    if not robust:
        return base
    return base / np.sqrt(1.0 + _group_squares(residual, groups, line_weights) / 9.0)[groups]


def _step(jac: Array, residual: Array, damping: float) -> Array:
    """Marquardt step on scaled columns."""
    scale = np.maximum(np.linalg.norm(jac, axis=0), 1e-12)
    scaled = jac / scale
    normal = scaled.T @ scaled
    normal[np.diag_indices_from(normal)] += damping
    return np.linalg.solve(normal, scaled.T @ residual) / scale
