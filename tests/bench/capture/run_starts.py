"""Does the solver find the right start? Drawn rooms with known truth, one to four photos, some clicks 150 px off.

``python -m tests.bench.capture.run_starts [cases] [first seed] [share of cases with a click off, 0.25] [walls not
taped, 0]``. A case is drawn only if its readings, without the click that is off, fix its floor (covariance at the
truth). A start is right when its minimum is the one that the truth itself leads to (all readings, slips held off, or
the bad click left out), every corner within 30 mm. Where it is another, what speaks against it (its cost, one reading
of any kind called wrong at its price, what is odd in a room) is held against the same for the truth: if it is no more,
the readings fit another floor as well and the answer must say so; if it is more, the search has missed the room.
Baseline: the one most likely rough floor, refined, as a plain solver would do it. Not claimed: real lenses, real hands.
"""
from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from capture.initial import selection as start
from capture.adjustment.least_squares import minimise
from capture.errors import CaptureError
from capture.readings.indexed import Indexed
from capture.adjustment.parameter_index import index_network
from capture.initial.initial_floors import EFFORTS, rough_states
from tests.support import simulate

_SAME_MM = 30.0
_OFF_PX = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What became of one start: right; if not, whether its floor fits as well, is within 100 mm of the truth, and
    whether another was told of; the baseline's; CPU seconds."""

    seed: int
    shape: str
    photos: int
    click_off: bool
    right: bool
    as_well: bool
    near: bool
    told: bool
    refused: str
    baseline: bool
    seconds: float


def draw(seed: int, share: float, left_out: int) -> tuple[simulate.Case, int, simulate.Case | None]:
    """A determined case, its number of photos, and the same case without the click that is off, if one is."""
    rng = np.random.default_rng(seed)
    photos, off = int(rng.integers(1, 5)), bool(rng.random() < share)
    while True:
        case = simulate.draw_case(rng, photos=photos, diagonals=int(rng.integers(1, 4)), walls_left_out=left_out)
        if not off and simulate.is_determined(case):
            return case, photos, None
        if off and case.network.marks:
            k = int(rng.integers(len(case.network.marks)))
            marks = list(case.network.marks)
            rest = replace(case, network=replace(case.network, marks=tuple(marks[:k] + marks[k + 1:])))
            if simulate.is_determined(rest):
                angle = rng.uniform(0, 2 * np.pi)
                marks[k] = replace(marks[k], x_px=marks[k].x_px + _OFF_PX * np.cos(angle),
                                   y_px=marks[k].y_px + _OFF_PX * np.sin(angle))
                return replace(case, network=replace(case.network, marks=tuple(marks))), photos, rest


def begin(task: tuple[int, float, int]) -> Begun:
    case, photos, sound = draw(*task)
    seed, off = task[0], sound is not None
    ix = index_network(case.network)
    truth = simulate.truth_state(case)
    wanted = [minimise(ix, truth, iterations=100), minimise(ix, truth, robust=True, iterations=100)]
    wanted += [minimise(index_network(sound.network), truth, iterations=100)] if sound else []
    began = time.process_time()
    try:
        found = start.find_start(ix)
    except CaptureError as fault:
        return Begun(seed=seed, shape=case.shape, photos=photos, click_off=off, right=False, as_well=False, near=False,
                     told=True, refused=fault.slug, baseline=False, seconds=time.process_time() - began)
    seconds = time.process_time() - began
    fits = [found.fit.state] + ([found.fit.robust_state] if found.fit.robust_state else [])
    right = any(_same(case, fit, want.state) for fit in fits for want in wanted)
    near = any(simulate.aligned_rms_mm(fit.points_mm[:len(case.corners)], case.corners) < 100.0 for fit in fits)
    as_well = min(start.doubts(ix, fits)) <= min(start.doubts(ix, [want.state for want in wanted])) + 1e-3
    return Begun(seed=seed, shape=case.shape, photos=photos, click_off=off, right=right, as_well=as_well, near=near,
                 told=found.rival is not None, refused="", baseline=_plain(ix, case, wanted), seconds=seconds)


def _same(case: simulate.Case, one, other) -> bool:
    count = len(case.corners)
    return float(np.max(np.hypot(*(one.points_mm - other.points_mm)[:count].T))) < _SAME_MM


def _plain(ix: Indexed, case: simulate.Case, wanted) -> bool:
    """The first rough floor alone, refined."""
    states = rough_states(ix, EFFORTS[0])
    return bool(states) and any(_same(case, minimise(ix, states[0], robust=r, iterations=100).state, want.state)
                                for want in wanted for r in (False, True))


def report(name: str, mine: list[Begun]) -> str:
    right, well = sum(o.right for o in mine), [o for o in mine if not o.right and o.as_well]
    determined = len(mine) - len(well)
    return (f"{name}: {len(mine)} cases; the readings fit another floor as well in {len(well)} (told "
            f"{sum(o.told for o in well)}, "
            f"not told but within 100 mm of the truth {sum(o.near and not o.told for o in well)}); "
            f"of the other {determined} right {right} = {100 * right / max(determined, 1):.2f} % (wrong and not told "
            f"{sum(not o.right and not o.as_well and not o.told for o in mine)}); "
            f"another floor told of where right {sum(o.right and o.told for o in mine)}; "
            f"baseline (first rough floor) {100 * np.mean([o.baseline for o in mine]):.1f} %; "
            f"CPU median {np.median([o.seconds for o in mine]):.2f} s, p95 "
            f"{np.quantile([o.seconds for o in mine], 0.95):.1f} s")


def main() -> None:
    given = sys.argv[1:]
    count, first, share, left_out = (float(v) for v in given + ["200", "0", "0.25", "0"][len(given):])
    found: list[Begun] = []
    with ProcessPoolExecutor(int(os.environ.get("WORKERS", os.cpu_count() or 1))) as pool:
        for one in pool.map(begin, [(seed, share, int(left_out)) for seed in range(int(first), int(first + count))]):
            found.append(one)
            if not one.right:
                print(f"  seed {one.seed}: {one.shape}, {one.photos} photos{', a click off' if one.click_off else ''}: "
                      f"{one.refused or 'another floor'}{', which fits as well' if one.as_well else ''}"
                      f"{', near the truth' if one.near else ''}"
                      f"{', told' if one.told and not one.refused else ''}", flush=True)
            if len(found) % 100 == 0 or len(found) == count:
                kinds = {"sound": [o for o in found if not o.click_off],
                         "one click 150 px off": [o for o in found if o.click_off]}
                for name, mine in ({"mixed": found} | kinds).items():
                    print(report(name, mine) if mine else f"{name}: none", flush=True)


if __name__ == "__main__":
    main()
