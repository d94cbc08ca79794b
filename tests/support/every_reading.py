"""A drawn survey that holds a reading of every kind: what the tests of `capture.readings.table` run over. A new kind is
added here."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.camera import project
from capture.network import Mark, Network, OnWall, PaperSheet, SquareCorner, TapeError, TapeLength, WallOffset
from capture.readings.state import State
from tests.support import simulate


def every_reading(*, noise: float = 1.0) -> tuple[Network, State]:
    """The network of a drawn room, and a state near the truth; marks of the extra points are off by `noise` of their
    sd."""
    rng = np.random.default_rng(5)
    case = simulate.draw_case(rng, photos=2, shape="chimney", see_through=True, targets=2)
    net, (a, b) = case.network, case.corners[:2]
    extra = {"P": a + [700.0, 420.0], "S1": a + [900.0, 800.0], "S2": a + [1110.0, 800.0], "S3": a + [1110.0, 1097.0],
             "S4": a + [900.0, 1097.0]}
    along = (b - a) / np.hypot(*(b - a))
    off_mm = float(along[0] * (extra["P"] - a)[1] - along[1] * (extra["P"] - a)[0])
    network = replace(
        net, tape_error=TapeError(scale_sd=0.001, hook_sd_mm=1.0), marks=(*net.marks, *_marks(case, extra, noise, rng)),
        tapes=(*net.tapes, TapeLength(a="A", b="P", length_mm=float(np.hypot(*(extra["P"] - a))), sd_mm=2.0)),
        offsets=(WallOffset(point="P", wall=("A", "B"), distance_mm=off_mm, sd_mm=2.0),
                 WallOffset(point="P", wall=("A", "H"), distance_mm=700.0, sd_mm=5.0)),
        squares=(SquareCorner(corner="B", sd_rad=0.02), SquareCorner(corner="E", sd_rad=0.02)),
        on_walls=(OnWall(point="P", wall=("D", "E"), sd_mm=500.0),),
        papers=(PaperSheet(corners=("S1", "S2", "S3", "S4"), sides_mm=(210.0, 297.0)),))
    points = np.vstack([case.corners, *extra.values(), case.sheets.reshape(-1, 2)])
    return network, State(points_mm=points, rotations=case.rotations, shifts_mm=case.shifts, centres_px=case.centres,
                          log_focal=np.log([case.focal_px]), distortion=np.array([case.bend]),
                          tape_error=np.array([0.002, 1.5]))


def _marks(case: simulate.Case, places: dict[str, np.ndarray], noise: float, rng: np.random.Generator) -> list[Mark]:
    """Marks of further points in every photo."""
    spots, count = np.array(list(places.values())), len(places)
    found = []
    for k in range(len(case.rotations)):
        px = project(spots, np.tile(case.rotations[k], (count, 1, 1)), np.tile(case.shifts[k], (count, 1)),
                     np.full(count, case.focal_px), np.tile(case.bend, (count, 1)), case.centres[k])
        found += [Mark(photo=str(k), point=name, x_px=float(x), y_px=float(y))
                  for name, (x, y) in zip(places, px + noise * rng.normal(0.0, 2.0, px.shape)) if np.isfinite(x)]
    return found
