"""Where are floor targets best laid? ``python -m tests.bench.capture.run_targets [cases] [first seed]``

Cramer-Rao bounds (no solving) of the survey "three photos from inside, walls, one diagonal", the same rooms and photos
for every way of laying.
"""
from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from capture.network import TargetMark, TargetSighting
from tests.support import simulate
from tests.bench.capture.run_capture import bound_mm

_SIDE_MM, _IN_MM, _SIX = 150.0, 400.0, 6


def laid(case: simulate.Case, sheets: list[np.ndarray]) -> simulate.Case:
    """The survey with these sheets (4, 2) on the floor, as far as photos see them."""
    seen = [(sheet, sightings(case, sheet)) for sheet in sheets]
    seen = [(sheet, found) for sheet, found in seen if found]
    marks = tuple(TargetMark(photo=str(photo),
                             seen=TargetSighting(number=k, corners_px=tuple(map(tuple, px.tolist())),
                                                 sd_px=simulate.TARGET_SD_PX)) for k, (_, found) in enumerate(seen)
                  for photo, px in found)
    return replace(case, sheets=np.array([sheet for sheet, _ in seen]).reshape(-1, 4, 2),
                   network=replace(case.network, target_marks=marks))


def sightings(case: simulate.Case, sheet: np.ndarray) -> list[tuple[int, np.ndarray]]:
    found = [(k, simulate.target_seen(case.corners, sheet, (rotation, shift), (case.focal_px, case.bend, centre)))
             for k, (rotation, shift, centre) in enumerate(zip(case.rotations, case.shifts, case.centres))]
    return [(k, px) for k, px in found if px is not None]


def anywhere(case: simulate.Case, rng: np.random.Generator, count: int) -> list[np.ndarray]:
    return [simulate.target_at(rng, case.corners, _SIDE_MM) for _ in range(count)]


def spread_where_most_photos_look(case: simulate.Case, rng: np.random.Generator, count: int) -> list[np.ndarray]:
    """Of sixty places those that most photos see; among equals the one farthest from the others."""
    left, chosen = anywhere(case, rng, 60), []
    photos = [len(sightings(case, sheet)) for sheet in left]
    while len(chosen) < count:
        def worth(k: int, chosen: list[int] = chosen) -> tuple[int, float]:
            return photos[k], min((float(np.hypot(*(left[k].mean(axis=0) - left[j].mean(axis=0)))) for j in chosen),
                                  default=0.0)
        chosen.append(max((k for k in range(len(left)) if k not in chosen), key=worth))
    return [left[k] for k in chosen]


def in_front_of_corners(case: simulate.Case, rng: np.random.Generator, count: int) -> list[np.ndarray]:
    """Of places some 400 mm from a corner those that most photos see."""
    near = [sheet for sheet in anywhere(case, rng, 400) if np.min(np.hypot(*(case.corners - sheet.mean(axis=0)).T))
            < _IN_MM]
    return sorted(near, key=lambda sheet: -len(sightings(case, sheet)))[:count]


WAYS: dict[str, Callable[[simulate.Case, np.random.Generator], list[np.ndarray]]] = {
    "none (baseline)": lambda case, rng: [],
    "six anywhere": lambda case, rng: anywhere(case, rng, _SIX),
    "six near corners": lambda case, rng: in_front_of_corners(case, rng, _SIX),
    "six spread where most photos look (as the leaflet says)": lambda case, rng: spread_where_most_photos_look(
        case, rng, _SIX
    ),
    "twelve so": lambda case, rng: spread_where_most_photos_look(case, rng, 2 * _SIX),
    "forty anywhere": lambda case, rng: anywhere(case, rng, 40),
}


def main() -> None:
    count, first = (int(v) for v in (sys.argv[1:] + ["30", "8000"][len(sys.argv) - 1:])[:2])
    bounds: dict[str, list[float]] = {way: [] for way in WAYS}
    for seed in range(first, first + count):
        case = simulate.draw_determined(np.random.default_rng(seed), photos=3, diagonals=1, see_through=False)
        for way, lay in WAYS.items():
            bounds[way].append(bound_mm(laid(case, lay(case, np.random.default_rng(seed)))))
    for way, found in bounds.items():
        print(f"{way}: pooled bound {np.sqrt(np.mean(np.square(found))):.2f} mm, median {np.median(found):.2f}")


if __name__ == "__main__":
    main()
