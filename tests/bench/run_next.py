"""Is 'measure next' good advice? ``python -m tests.bench.run_next [cases] [first seed]``

Rooms of eight corners (alcove, chimney breast, bay) and of six (L), four photos from inside that show every corner, one wall taped. Then either eight
lengths more, each the one advised at that moment, or twelve lengths drawn from all that a tape can reach, walls too (the baseline), or the
first eight of those. Root mean square corner error after the best turn and shift. The eight are taken
even where the survey has said before that the floor is good enough; when it did is told.
"""
from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import combinations

import numpy as np

from capture.advise import measure_next
from capture.network import TapeLength
from capture.solve import solve_floor
from tests.bench import simulate

_SD_MM, _PHOTOS = 2.0, 4


def taken(case: simulate.Case, a: str, b: str, rng: np.random.Generator) -> TapeLength:
    at = dict(zip(case.names, case.corners))
    return TapeLength(a=a, b=b, sd_mm=_SD_MM, length_mm=float(np.hypot(*(at[a] - at[b])) + rng.normal(0, _SD_MM)))


def run_seed(shape: str, seed: int) -> tuple[float, float, float, float, int, int]:
    """RMS mm before, after eight advised, after eight random, after twelve random; lengths after which it was good enough; pairs in reach."""
    rng = np.random.default_rng(seed)
    case = draw(rng, shape)
    before = survey = solve_floor(case.network)
    network, enough = case.network, 0
    for _ in range(8):
        enough += bool(survey.advice)
        advice = measure_next(survey.floor, network, show="metric", most=1)
        if advice:
            network = replace(network, tapes=(*network.tapes, taken(case, advice[0].a, advice[0].b, rng)))
            survey = solve_floor(network, near=survey)
    pool = reachable(case)
    rng.shuffle(pool)
    lengths = [taken(case, a, b, rng) for a, b in pool[:12]]
    eight, twelve = (solve_floor(replace(case.network, tapes=(*case.network.tapes, *lengths[:k])), near=before) for k in (8, 12))
    return (*(simulate.aligned_rms_mm(s.floor.ring(case.names), case.corners) for s in (before, survey, eight, twelve)), enough, len(pool))


def draw(rng: np.random.Generator, shape: str) -> simulate.Case:
    """A survey that four photos and the first wall fix, roughly: of twelve photos the few that show all corners, as a person would choose."""
    while True:
        case = simulate.draw_case(rng, shape=str(rng.choice(["alcove", "chimney", "bay"])) if shape != "L" else shape, photos=12, diagonals=0)
        few = _chosen(case)
        if few is not None and simulate.is_determined(few, sd_mm=100.0):
            return few


def _chosen(case: simulate.Case) -> simulate.Case | None:
    """The case with the four photos that show most corners not yet seen and the first tape alone; None if a corner stays unseen."""
    seen = {k: {m.point for m in case.network.marks if m.photo == str(k)} for k in range(len(case.rotations))}
    chosen: list[int] = []
    for _ in range(_PHOTOS):
        shown = set().union(*(seen[k] for k in chosen))
        chosen.append(max((k for k in seen if k not in chosen), key=lambda k: (len(seen[k] - shown), len(seen[k]))))
    if set().union(*(seen[k] for k in chosen)) != set(case.names):
        return None
    kept, full = {str(k): str(new) for new, k in enumerate(chosen)}, case.network
    network = replace(full, photos=tuple(replace(full.photos[k], name=kept[str(k)]) for k in chosen), tapes=full.tapes[:1],
                      marks=tuple(replace(m, photo=kept[m.photo]) for m in full.marks if m.photo in kept),
                      wall_lines=tuple(replace(w, photo=kept[w.photo]) for w in full.wall_lines if w.photo in kept))
    return replace(case, network=network, rotations=case.rotations[chosen], shifts=case.shifts[chosen], centres=case.centres[chosen])


def reachable(case: simulate.Case) -> list[tuple[str, str]]:
    """Untaped pairs of corners that see each other or are a wall."""
    count = len(case.names)
    return [(case.names[i], case.names[j]) for i, j in combinations(range(count), 2)
            if (i, j) != (0, 1) and ((j - i) % count in (1, count - 1) or simulate.in_sight(case.corners, i, j))]


def main() -> None:
    count, first = (int(v) for v in (sys.argv[1:] + ["100", "0"][len(sys.argv) - 1:])[:2])
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for shape in ("eight corners", "L"):
            report(shape, np.array(list(pool.map(run_seed, [shape] * count, range(first, first + count)))))


def report(shape: str, found: np.ndarray) -> None:
    print(f"{shape}: {len(found)} rooms, {found[:, 5].mean():.0f} lengths can be reached; "
          f"told that it is good enough after {found[:, 4].mean():.1f} advised lengths on average")
    for name, column in zip(("four photos and one wall alone", "and eight lengths as advised", "and eight random lengths",
                             "and twelve random lengths (baseline)"), found.T):
        print(f"  {name}: RMS {np.sqrt(np.mean(column**2)):.2f} mm, median {np.median(column):.2f}, p95 {np.quantile(column, 0.95):.2f}")


if __name__ == "__main__":
    main()
