"""Where end joints may not fall, where they are better avoided, and where they are welcome.

Row frame, mm. Three habits of trade (section 6 of the project's trade sheet; common practice, no source): a joint on a
pipe's centre line gives each board half the hole and needs no wedge, so it is welcome; any other joint of a board the
hole bites keeps 30 mm off the hole's edge, or a tongue of wood too weak to click is left; and a joint keeps 60 mm off
the inner corner of a notch (chimney breast, jamb, step in a wall) where that costs no board.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, sqrt

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.polygon import orient

from layout.search.core.model import SAME_MM, Bar, Span, Task, joints_of
from layout.region.rows import LONG_EDGE_SLOPE, RunShape
from layout.room import SLIVER_MM

HOLE_CLEAR_MM, NOTCH_CLEAR_MM = 30.0, 60.0
#: A step shallower than this is no notch, mm.
LEAST_NOTCH_MM = 15.0
NOTCH_COST = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A pipe's hole in the row frame: name, centre, radius of the hole, mm."""

    pipe: str
    s_mm: float
    t_mm: float
    radius_mm: float


def bars_of(run: RunShape, notches: Sequence[float], bores: tuple[Bore, ...]) -> tuple[Bar, ...]:
    """Stretches of a run that no end joint may enter: round each hole that bites the run, and beside each notch, where
    one would leave a strip of it that no saw can hold. notches: s of the run's `notch_corners`."""
    bars = [Bar(lo_mm=float(floor(s - SLIVER_MM)), hi_mm=float(ceil(s + SLIVER_MM))) for s in notches]
    for bore in bores:
        if run.shape.distance(Point(bore.s_mm, bore.t_mm)) < bore.radius_mm:
            _, near, _, far = run.shape.bounds
            off = max(near - bore.t_mm, bore.t_mm - far, 0.0)
            reach = sqrt((bore.radius_mm + HOLE_CLEAR_MM) ** 2 - off ** 2)
            bars.append(Bar(lo_mm=float(floor(bore.s_mm - reach)), hi_mm=float(ceil(bore.s_mm + reach)),
                            spot_mm=float(round(bore.s_mm))))
    return tuple(bars)


def wary_of(notches: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Stretches of a run within 60 mm of a notch's inner corner."""
    return tuple((s - NOTCH_CLEAR_MM, s + NOTCH_CLEAR_MM) for s in notches)


def notch_corners(shape: Polygon) -> list[float]:
    """s of every inner corner of a run's shape (row frame): a reflex corner with a side steeper than 20 degrees to
    the rows."""
    turned = orient(shape)
    found = set()
    for ring in (turned.exterior, *turned.interiors):
        corners = shapely.get_coordinates(ring)
        ahead = corners[1:] - corners[:-1]
        behind = np.concatenate([ahead[-1:], ahead[:-1]])
        reflex = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0] < 0.0
        found.update(corners[:-1][reflex & (_steep(behind) | _steep(ahead)), 0].tolist())
    return sorted(found)


def wary_joints(span: Span, joints: list[float]) -> int:
    """How many joints fall where one is better avoided."""
    return sum(lo + SAME_MM < s < hi - SAME_MM for s in joints for lo, hi in span.wary)


def manner_cost(task: Task, joints: list[list[float]]) -> int:
    """Price of joints near notches, to be weighed against saw cuts (10)."""
    return NOTCH_COST * sum(wary_joints(span, places) for span, places in zip(task.spans, joints) if span.wary)


def ill_placed(task: Task, firsts: list[float]) -> tuple[int, int]:
    """(joints on a bar, joints near a notch) of given first pieces."""
    joints = [joints_of(span, first, task.board_mm) for span, first in zip(task.spans, firsts)]
    on_bars = sum(any(bar.stops(s) for bar in span.bars) for span, places in zip(task.spans, joints) for s in places)
    return on_bars, sum(wary_joints(span, places) for span, places in zip(task.spans, joints))


def _steep(steps: np.ndarray) -> np.ndarray:
    along, across = np.abs(steps).T
    return np.asarray((across >= LEAST_NOTCH_MM) & (across >= LONG_EDGE_SLOPE * along))
