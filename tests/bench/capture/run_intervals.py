"""Do the 95 % intervals of walls and areas hold? ``python -m tests.bench.capture.run_intervals [cases] [first seed]
[design, by a word of its name]``

The surveys of `run_capture`, each brought to its minimum from the truth: no search, no snooping, so hundreds of cases
take a minute. Second method for the area's spread, which is taken to first order: areas of 4000 floors drawn from the
corners' covariance. Printed: the share of intervals that hold, mean and spread of error over claimed sd (0 and 1 if all
is well), and how far drawn and first-order spreads differ.
"""
from __future__ import annotations

import sys

import numpy as np

from capture.adjustment.least_squares import assess, minimise
from capture.readings.geometry import ring_area_mm2
from capture.floor import Floor
from capture.adjustment.parameter_index import index_network
from tests.support import simulate
from tests.bench.capture.run_capture import DESIGNS

_DRAWN = 4000


def run_case(name: str, seed: int) -> tuple[list[float], float, float]:
    """(error over sd of each wall, of the area, drawn over first-order spread of the area less 1)."""
    rng = np.random.default_rng(seed)
    case = simulate.draw_determined(rng, **DESIGNS[name])
    ix, count = index_network(case.network), len(case.corners)
    fit = minimise(ix, simulate.truth_state(case), iterations=100)
    cov, ring = assess(ix, fit.state).cov[:2 * count, :2 * count], fit.state.points_mm[:count]
    floor = Floor(names=case.names, points_mm=ring, cov_mm2=cov, outline=case.names, islands=(), gauge="")
    at = dict(zip(case.names, case.corners))
    walls = [(w.length_mm - float(np.hypot(*(at[w.a] - at[w.b])))) / w.pm95_mm * 1.96 for w in floor.walls()]
    area, pm95 = floor.area()
    values, vectors = np.linalg.eigh(cov)
    drawn = ring.ravel() + rng.normal(size=(_DRAWN, 2 * count)) * np.sqrt(np.maximum(values, 0.0)) @ vectors.T
    spread = float(np.std(ring_area_mm2(drawn.reshape(-1, count, 2))))
    return walls, (area - abs(ring_area_mm2(case.corners))) / pm95 * 1.96, spread / (pm95 / 1.96) - 1.0


def main() -> None:
    words = sys.argv[1:] + ["250", "7000", ""][len(sys.argv) - 1:]
    for name in DESIGNS:
        if words[2] in name:
            found = [run_case(name, seed) for seed in range(int(words[1]), int(words[1]) + int(words[0]))]
            walls, areas = np.concatenate([w for w, _, _ in found]), np.array([a for _, a, _ in found])
            told = ", ".join(
                f"{what} {100 * np.mean(np.abs(z) < 1.96):.1f} % (mean {z.mean():.2f}, spread {z.std():.2f})"
                for what, z in (("walls", walls), ("areas", areas)))
            print(f"{name}: {len(found)} cases, intervals hold {told}; drawn and first-order spread of areas differ by "
                  f"{100 * max(abs(gap) for _, _, gap in found):.1f} % at most", flush=True)


if __name__ == "__main__":
    main()
