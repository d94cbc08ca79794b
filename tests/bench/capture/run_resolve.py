"""How fast is a floor solved again after one dragged mark? ``python -m tests.bench.capture.run_resolve [drags]``

A drawn room of 12 corners, 4 photos that see through walls, walls and two diagonals taped, no wall-line clicks. Each
drag moves one mark by some 20 px; the same least squares problem is then solved from the same start (the minimum before
the drag) by

- ours: `adjust.minimise`;
- scipy's least_squares (trust region, 2-point Jacobian) on our residuals: the baseline;
- CasADi: the equations written down anew in its own symbols, Gauss-Newton steps on the Jacobian it derives itself. It
  shares no line with ours, so equal minima check the equations too.

Minima are compared by their sums of squares. CasADi is needed for this bench alone: ``pip install casadi``.
"""
from __future__ import annotations

import sys
import time
from dataclasses import replace

import casadi
import numpy as np
from scipy.optimize import least_squares

from capture.adjustment.least_squares import free_columns, minimise
from capture.readings.state import State
from capture.adjustment.equations import residuals
from capture.readings.indexed import Indexed
from capture.adjustment.parameter_index import index_network
from capture.readings.photo import Marks
from capture.readings.tape import Tapes
from tests.support import simulate


def draw() -> tuple[Indexed, State]:
    """A cross-shaped room of 12 corners and its minimum."""
    rng = np.random.default_rng(7)
    case = simulate.survey_room(rng, simulate.draw_cross(rng), "cross", photos=4, see_through=True, lines=False)
    ix = index_network(case.network)
    return ix, minimise(ix, simulate.truth_state(case)).state


def dragged(ix: Indexed, rng: np.random.Generator) -> Indexed:
    """The network with one mark moved."""
    px = ix.of(Marks).px.copy()
    px[rng.integers(len(px))] += rng.normal(0, 14, 2)
    return replace(ix, mark_px=px)


def by_scipy(ix: Indexed, state: State) -> float:
    free = free_columns(ix)
    scale = 1.0 / np.maximum(np.linalg.norm(numeric_slopes(ix, state), axis=0), 1e-12)

    def at(x):
        step = np.zeros(ix.columns)
        step[free] = x * scale
        return residuals(ix, state.moved(step))

    return 2.0 * float(least_squares(at, np.zeros(len(free)), jac="2-point", xtol=1e-12, ftol=1e-10, gtol=1e-10).cost)


def numeric_slopes(ix: Indexed, state: State) -> np.ndarray:
    """(l, free) differences, for scaling alone."""
    base, slopes = residuals(ix, state), []
    for column in free_columns(ix):
        step = np.zeros(ix.columns)
        step[column] = 1e-4
        slopes.append((residuals(ix, state.moved(step)) - base) / 1e-4)
    return np.array(slopes).T


class ByCasadi:
    """The same problem in CasADi's symbols: unknowns are points, rotation vectors, camera centres and lenses."""

    def __init__(self, ix: Indexed) -> None:
        n, m = len(ix.names), len(ix.photo_names)
        points, turns, eyes = casadi.SX.sym("p", 2, n), casadi.SX.sym("t", 3, m), casadi.SX.sym("e", 3, m)
        axes, lens = casadi.SX.sym("c", 2, m), casadi.SX.sym("l", 3, 1)
        self.start_turns, px = casadi.SX.sym("R", 9, m), casadi.SX.sym("m", 2, len(ix.of(Marks).px))
        rows = [gap for k in range(len(ix.of(Marks).px)) for gap in self._mark(ix, k, points, turns, eyes, axes, lens,
                                                                               px)]
        for (a, b), mm, sd in zip(ix.of(Tapes).ends, ix.of(Tapes).mm, ix.of(Tapes).sd):
            rows.append((mm - casadi.norm_2(points[:, int(b)] - points[:, int(a)])) / sd)
        for i, axis in enumerate(ix.photo_centre):
            rows += [(axis[j] - axes[j, i]) / ix.photo_centre_sd[i] for j in (0, 1)]
        priors = [np.log(ix.lens_focal[0]), *ix.lens_distortion[0]]
        rows += [(prior - lens[j]) / sd for j, (prior,
                                                sd) in enumerate(zip(priors,
                                                                     [ix.lens_focal_sd[0], *ix.lens_distortion_sd[0]]))]
        x = casadi.vertcat(*(casadi.vec(v) for v in (points, turns, eyes, axes, lens)))
        held = [0, 1, 3]
        self.free = [k for k in range(x.shape[0]) if k not in held]
        r = casadi.vertcat(*rows)
        given = [x, self.start_turns, px]
        self.value = casadi.Function("r", given, [r])
        self.both = casadi.Function("rj", given, [r, casadi.jacobian(r, x)])

    def _mark(self, ix, k, points, turns, eyes, axes, lens, px):
        i = int(ix.of(Marks).photo[k])
        w, angle = turns[:, i], casadi.sqrt(casadi.sumsqr(turns[:, i]) + 1e-30)
        base = casadi.reshape(self.start_turns[:, i], 3, 3).T
        ray = base @ (casadi.vertcat(points[:, int(ix.of(Marks).point[k])], 0) - eyes[:, i])
        unit = w / angle
        body = (
            ray * casadi.cos(angle)
            + casadi.cross(unit, ray) * casadi.sin(angle)
            + unit * casadi.dot(unit, ray) * (1 - casadi.cos(angle))
        )
        u, v = body[0] / body[2], body[1] / body[2]
        r2 = u * u + v * v
        stretch = casadi.exp(lens[0]) * (1 + lens[1] * r2 + lens[2] * r2**2)
        return [(px[0, k] - stretch * u - axes[0, i]) / ix.of(Marks).sd[k],
                (px[1, k] - stretch * v - axes[1, i]) / ix.of(Marks).sd[k]]

    def solve(self, ix: Indexed, state: State) -> float:
        """Sum of squares at the minimum, by Levenberg-Marquardt."""
        eyes = -np.einsum("kji,kj->ki", state.rotations, state.shifts_mm)
        m = len(ix.photo_names)
        x = np.concatenate([state.points_mm.ravel(), np.full(3 * m, 1e-9), eyes.ravel(), state.centres_px.ravel(),
                            state.log_focal, state.distortion[0]])
        given = (state.rotations.reshape(m, 9).T, ix.of(Marks).px.T)
        damping, (r, jac) = 1e-3, self._both(x, given)
        for _ in range(60):
            scale = np.linalg.norm(jac, axis=0)
            normal = (jac / scale).T @ (jac / scale) + damping * np.eye(len(self.free))
            step = -np.linalg.solve(normal, (jac / scale).T @ r) / scale
            trial = x.copy()
            trial[self.free] += step
            after = np.asarray(self.value(trial, *given)).ravel()
            if after @ after <= r @ r:
                done = r @ r - after @ after <= 1e-9 * (1 + r @ r)
                x, damping = trial, damping / 8
                r, jac = self._both(x, given)
                if done:
                    break
            else:
                damping *= 6
        return float(r @ r)

    def _both(self, x, given):
        r, jac = self.both(x, *given)
        return np.asarray(r).ravel(), np.asarray(jac.full())[:, self.free]


def main() -> None:
    drags = int((sys.argv[1:] or ["100"])[0])
    ix, state = draw()
    casadis, rng = ByCasadi(ix), np.random.default_rng(1)
    spent: dict[str, list[float]] = {"ours": [], "scipy 2-point": [], "casadi": []}
    worst = 0.0
    for _ in range(drags):
        moved = dragged(ix, rng)
        costs = {}
        for name, solve in (("ours", lambda moved=moved: minimise(moved, state).cost),
                            ("scipy 2-point", lambda moved=moved: by_scipy(moved, state)),
                            ("casadi", lambda moved=moved: casadis.solve(moved, state))):
            began = time.perf_counter()
            costs[name] = solve()
            spent[name].append(time.perf_counter() - began)
        worst = max(worst, *(abs(cost / costs["ours"] - 1.0) for cost in costs.values()))
    mine = float(np.median(spent["ours"]))
    print(f"{len(ix.names)} corners, {len(ix.photo_names)} photos, {len(ix.of(Marks).px)} marks, {ix.columns - 3} "
          f"unknowns, {drags} drags")
    for name, times in spent.items():
        print(f"{name}: median {1000 * np.median(times):.2f} ms, p95 {1000 * np.quantile(times, 0.95):.2f} ms, "
              f"{np.median(times) / mine:.1f} x ours")
    print(f"minima agree to {worst:.1e} of their sum of squares")


if __name__ == "__main__":
    main()
