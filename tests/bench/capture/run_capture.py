"""How good is the survey? Drawn rooms with known truth, four designs of survey, beside the best that any method can do.

``python -m tests.bench.capture.run_capture [cases] [first seed] [design, by a word of its name]`` prints one line per
design. Root mean square corner error after the best turn and shift, the Cramer-Rao bound for the same readings (the
covariance at the truth, in the same sense), how often the 95 % intervals hold the true wall lengths and the true area,
how often another floor was found than the truth leads to (and how often that was told), false alarms, and how often a
100 mm slip of a checked tape (redundancy 0.08 or more) is doubted at all, named, and named first. Tape alone is the
baseline. Not claimed: real lenses, real hands, rooms with furniture.
"""
from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from capture.adjustment.least_squares import assess, minimise
from capture.readings.geometry import ring_area_mm2
from capture.errors import CaptureError
from capture.floor import without_drift
from capture.adjustment.parameter_index import index_network
from capture.solve import solve_floor
from tests.support import simulate

DESIGNS = {"two photos, walls, two diagonals, soft square": {"photos": 2, "diagonals": 2, "squares": True,
                                                             "see_through": True},
           "three photos from inside, walls, one diagonal": {"photos": 3, "diagonals": 1, "see_through": False},
           "the same with six floor targets": {"photos": 3, "diagonals": 1, "see_through": False, "targets": 6},
           "tape alone (baseline), walls and up to nine lengths across": {"photos": 0, "diagonals": 9},}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one drawn survey; None where it was not asked."""

    rms_mm: float
    bound_mm: float
    held: float
    area_held: bool
    other_floor: bool
    told: bool
    alarm: bool
    slip_doubted: bool | None
    slip_named: bool | None
    slip_first: bool | None
    seconds: float


def bound_mm(case: simulate.Case) -> float:
    """Cramer-Rao bound of the aligned RMS corner error: root mean trace of the covariance under inner constraints."""
    ix = index_network(case.network)
    count = len(case.corners)
    cov = assess(ix, simulate.truth_state(case)).cov[:2 * count, :2 * count]
    ring = simulate.truth_state(case).points_mm[:count]
    inner = without_drift(ring, without_drift(ring, cov).T)
    return float(np.sqrt(np.trace(inner) / count))


def run_case(case: simulate.Case, rng: np.random.Generator) -> Outcome:
    began = time.process_time()
    survey = solve_floor(case.network)
    seconds = time.process_time() - began
    ix = index_network(case.network)
    best = minimise(ix, simulate.truth_state(case), iterations=100).state.points_mm[:len(case.corners)]
    found = survey.floor.ring(case.names)
    at = dict(zip(case.names, case.corners))
    held = [abs(w.length_mm - np.hypot(*(at[w.a] - at[w.b]))) <= w.pm95_mm for w in survey.floor.walls()]
    area, area_pm = survey.floor.area()
    slip = try_slip(case, survey, rng) or (None, None, None)
    return Outcome(rms_mm=simulate.aligned_rms_mm(found, case.corners), bound_mm=bound_mm(case),
                   held=float(np.mean(held)), area_held=abs(area - abs(ring_area_mm2(case.corners))) <= area_pm,
                   told=not survey.solved.only, other_floor=simulate.aligned_rms_mm(found, best) > 20.0
                   and not survey.suspects, alarm=bool(survey.suspects), slip_doubted=slip[0], slip_named=slip[1],
                   slip_first=slip[2], seconds=seconds)


def try_slip(case: simulate.Case, survey, rng: np.random.Generator) -> tuple[bool, bool, bool] | None:
    """(anything doubted, named among the suspects, named first) for a 100 mm slip of one checked tape; None if no tape
    is checked so far.

    The survey is solved anew, as for a job that is opened with the slip in it.
    """
    checked = [k for k, r in enumerate([r for r in survey.readings if r.kind == "tape"]) if r.redundancy >= 0.08]
    if not checked:
        return None
    k, tapes = int(rng.choice(checked)), list(case.network.tapes)
    tapes[k] = replace(tapes[k], length_mm=tapes[k].length_mm + (100.0 if rng.random() < 0.5
                                                                 or tapes[k].length_mm < 400 else -100.0))
    try:
        names = [s.names for s in solve_floor(replace(case.network, tapes=tuple(tapes))).suspects]
    except CaptureError:
        return False, False, False
    wanted = (tapes[k].a, tapes[k].b)
    return bool(names), wanted in names, names[:1] == [wanted]


def report(name: str, outcomes: list[Outcome], refused: int) -> str:
    rms, bound = (np.sqrt(np.mean(np.square([getattr(o, f) for o in outcomes]))) for f in ("rms_mm", "bound_mm"))
    slips, right = [o for o in outcomes if o.slip_doubted is not None], [o for o in outcomes if not o.other_floor]
    return (f"{name}: {len(outcomes)} cases, RMS {rms:.1f} mm = {rms / bound:.2f} x bound ({bound:.1f}), "
            f"p95 {np.quantile([o.rms_mm for o in outcomes], 0.95):.1f}, "
            f"worst {max(o.rms_mm for o in outcomes):.0f}, {np.sqrt(np.mean([o.rms_mm**2 for o in right])):.1f} where "
            "the floor is the right one; "
            f"95 % intervals hold {100 * np.mean([o.held for o in outcomes]):.1f} % of walls, "
            f"{100 * np.mean([o.area_held for o in outcomes]):.1f} % of areas; "
            f"other floor {sum(o.other_floor for o in outcomes)} (told "
            f"{sum(o.other_floor and o.told for o in outcomes)}), refused {refused}, "
            f"false alarms {sum(o.alarm for o in outcomes)} = {100 * np.mean([o.alarm for o in outcomes]):.1f} %; "
            f"slips of {len(slips)}: "
            f"found {sum(o.slip_doubted for o in slips)}, named {sum(o.slip_named for o in slips)}, first "
            f"{sum(o.slip_first for o in slips)}; "
            f"median {np.median([o.seconds for o in outcomes]):.2f} s CPU")


def run_seed(name: str, seed: int) -> Outcome | str:
    """The outcome of one drawn survey, or the sentence it was refused with."""
    rng = np.random.default_rng(seed)
    case = simulate.draw_determined(rng, **DESIGNS[name])
    try:
        return run_case(case, rng)
    except CaptureError as fault:
        return f"  seed {seed} {case.shape}: {fault}"


def main() -> None:
    words = sys.argv[1:] + ["60", "0", ""][len(sys.argv) - 1:]
    seeds = range(int(words[1]), int(words[1]) + int(words[0]))
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name in DESIGNS:
            if words[2] in name:
                found = list(pool.map(run_seed, [name] * len(seeds), seeds))
                refused = [one for one in found if isinstance(one, str)]
                print(*refused, sep="\n", end="\n" if refused else "")
                print(report(name, [one for one in found if isinstance(one, Outcome)], len(refused)), flush=True)


if __name__ == "__main__":
    main()
