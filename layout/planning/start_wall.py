"""How well a floor can be begun at its first row: whether that is one long stretch of wall, neither broken by a breast
or a jamb nor sawn to a wedge (common practice, no source).

Row frame, mm. Where rows begin in a doorway, the first row meant here is the one at the wall.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from layout.region.rows import LEAST_STRETCH_MM, LONG_EDGE_SLOPE, RunShape, Strip

#: A first row that is a smaller share of the floor's length is a poor line for the others to follow (common practice,
#: no source for the share).
SHORT_START = 0.5
#: Board edges along a wall that differ by no more are sawn parallel, mm (common practice, no source).
PARALLEL_MM = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StartWall:
    """row: the first one at the wall, from 0. share: its longest stretch as a share of the floor's length. runs: in
    how many stretches it lies. wedge_mm: by how much its wall edge is slanted, where most."""

    row: int = 0
    share: float = 1.0
    runs: int = 1
    wedge_mm: float = 0.0

    @property
    def is_short(self) -> bool:
        """Whether all other rows would follow a short stretch, as in a bay."""
        return self.share < SHORT_START

    @property
    def is_wedge(self) -> bool:
        """Whether its boards are sawn to a wedge."""
        return self.wedge_mm > PARALLEL_MM

    @property
    def faults(self) -> int:
        """How much speaks against beginning here."""
        return int(self.is_short) + int(self.runs > 1) + int(self.is_wedge)


def start_wall(runs: Sequence[RunShape], strips: Sequence[Strip], wall_mm: float) -> StartWall:
    """The start of rows so cut. wall_mm: t of the cover's edge at the start wall."""
    row = next((k for k, strip in enumerate(strips) if strip.far_mm > wall_mm + LEAST_STRETCH_MM), 0)
    first = [run for run in runs if run.row == row]
    whole = max(run.right_mm for run in runs) - min(run.left_mm for run in runs)
    return StartWall(row=row, share=max(run.right_mm - run.left_mm for run in first) / whole, runs=len(first),
                     wedge_mm=max(map(_slant, first)))


def _slant(run: RunShape) -> float:
    """By how much the longest wall edge on the near side of a run is slanted."""
    corners = shapely.get_coordinates(orient(run.shape).exterior)
    steps = np.diff(corners, axis=0)
    near = (steps[:, 0] >= LEAST_STRETCH_MM) & (np.abs(steps[:, 1]) < LONG_EDGE_SLOPE * steps[:, 0])
    return float(np.abs(steps[near, 1])[np.argmax(steps[near, 0])]) if near.any() else 0.0
