"""Does the solver find the right start? Drawn rooms with known truth, one to four photos, some clicks 150 px off.

``python -m tests.bench.run_starts [cases] [first seed]``. A start is right when its minimum is the one that the truth itself leads
to (all readings, slips held off, or the bad click left out), every corner within 30 mm. A quarter of the cases has one click 150 px off its place;
such a case is drawn only if its floor is determined without that click. Baseline: the one most likely rough floor, refined, as a plain
solver would do it. Not claimed: real lenses, real hands.
"""
from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from capture import start
from capture.adjust import minimise
from capture.errors import CaptureError
from capture.indexed import Indexed, index_network
from tests.bench import simulate

_SAME_MM = 30.0
_OFF_PX = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What became of one start: right, and if not whether another floor was told of; the baseline's; CPU seconds."""

    seed: int
    shape: str
    photos: int
    click_off: bool
    right: bool
    told: bool
    refused: str
    baseline: bool
    seconds: float


def draw(seed: int) -> tuple[simulate.Case, int, simulate.Case | None]:
    """A determined case, its number of photos, and the same case without the click that is off, if one is."""
    rng = np.random.default_rng(seed)
    photos, off = int(rng.integers(1, 5)), bool(rng.random() < 0.25)
    while True:
        case = simulate.draw_case(rng, photos=photos, diagonals=int(rng.integers(1, 4)))
        if not off and simulate.is_determined(case):
            return case, photos, None
        if off and case.network.marks:
            k = int(rng.integers(len(case.network.marks)))
            marks = list(case.network.marks)
            rest = replace(case, network=replace(case.network, marks=tuple(marks[:k] + marks[k + 1:])))
            if simulate.is_determined(rest):
                angle = rng.uniform(0, 2 * np.pi)
                marks[k] = replace(marks[k], x_px=marks[k].x_px + _OFF_PX * np.cos(angle), y_px=marks[k].y_px + _OFF_PX * np.sin(angle))
                return replace(case, network=replace(case.network, marks=tuple(marks))), photos, rest


def begin(seed: int) -> Begun:
    case, photos, sound = draw(seed)
    off = sound is not None
    ix = index_network(case.network)
    truth = simulate.truth_state(case)
    wanted = [minimise(ix, truth, iterations=100), minimise(ix, truth, robust=True, iterations=100)]
    wanted += [minimise(index_network(sound.network), truth, iterations=100)] if sound else []
    began = time.process_time()
    try:
        found = start.find_start(ix)
    except CaptureError as fault:
        return Begun(seed=seed, shape=case.shape, photos=photos, click_off=off, right=False, told=True, refused=fault.slug, baseline=False,
                     seconds=time.process_time() - began)
    seconds = time.process_time() - began
    fits = [found.fit.state] + ([found.fit.robust_state] if found.fit.robust_state else [])
    right = any(_same(case, fit, want.state) for fit in fits for want in wanted)
    return Begun(seed=seed, shape=case.shape, photos=photos, click_off=off, right=right, told=found.rival is not None, refused="",
                 baseline=_plain(ix, case, wanted), seconds=seconds)


def _same(case: simulate.Case, one, other) -> bool:
    count = len(case.corners)
    return float(np.max(np.hypot(*(one.points_mm - other.points_mm)[:count].T))) < _SAME_MM


def _plain(ix: Indexed, case: simulate.Case, wanted) -> bool:
    """The first rough floor alone, refined."""
    states = start._photo_states(ix, start._EFFORTS[0])
    return bool(states) and any(_same(case, minimise(ix, states[0], robust=r, iterations=100).state, want.state) for want in wanted
                                for r in (False, True))


def main() -> None:
    count, first = (int(v) for v in (sys.argv[1:] + ["200", "0"][len(sys.argv) - 1:])[:2])
    found = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for one in pool.map(begin, range(first, first + count)):
            found.append(one)
            if not one.right:
                print(f"  seed {one.seed}: {one.shape}, {one.photos} photos{', a click off' if one.click_off else ''}: "
                      f"{one.refused or 'another floor'}"
                      f"{', told' if one.told and not one.refused else ''}", flush=True)
    for off in (False, True):
        mine = [one for one in found if one.click_off == off]
        if mine:
            print(f"{'one click 150 px off' if off else 'all clicks sound'}: {len(mine)} cases, right {sum(o.right for o in mine)} = "
                  f"{100 * np.mean([o.right for o in mine]):.2f} %, wrong and not told {sum(not o.right and not o.told for o in mine)}; "
                  f"baseline (first rough floor) {100 * np.mean([o.baseline for o in mine]):.1f} %; "
                  f"CPU median {np.median([o.seconds for o in mine]):.2f} s, "
                  f"p95 {np.quantile([o.seconds for o in mine], 0.95):.1f} s")


if __name__ == "__main__":
    main()
