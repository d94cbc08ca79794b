"""What is laid in one way of laying: the cover parted into fields, less what is too thin to saw, cut into runs.

Row frame, mm.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry import Polygon

from layout.region.slivers import chip_width, chips_of, without
from layout.region.inset import polygons_of
from layout.region.run_ends import Window, with_ends
from layout.region.expansion_profiles import Band, part_fields
from layout.region.rows import RunShape, Strip, runs_of

#: Taking chips off may leave crumbs that are chips themselves.
MOST_PASSES = 3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ground:
    """The parts of the cover that are laid, the strips that hold a run, the runs, bands kept free for profiles,
    parts left out."""

    parts: tuple[Polygon, ...]
    strips: tuple[Strip, ...]
    runs: tuple[RunShape, ...]
    bands: tuple[Band, ...]
    chips: tuple[Polygon, ...]


def prepare(cover_rf: list[Polygon], strips: list[Strip], *, gap_mm: float, longest_mm: float,
            window: Window | None = None, walled: Sequence[Polygon] = (), covered_mm: float = 0.0) -> Ground:
    """The ground of a cover (row frame) cut into these strips. window: how far its edges may move (None: not at all).
    walled: the cover within the wall lines, where doorways reach beyond them. covered_mm: what the beading covers
    beyond the gap."""
    parts, bands = part_fields(cover_rf, [strip.far_mm for strip in strips[:-1]], gap_mm, longest_mm,
                               out_mm=0.0 if window is None else window.out_mm)
    runs = runs_of(parts, strips)
    chips: list[Polygon] = []
    for _ in range(MOST_PASSES):
        found = chips_of(runs, chip_width(covered_mm))
        kept = without(parts, found)
        if not found or not kept:
            break
        chips, parts, runs = chips + found, kept, runs_of(kept, strips)
    used, runs = _used(strips, runs)
    board_mm = strips[0].far_mm - strips[0].board_near_mm
    runs = runs if window is None else [with_ends(run, window, board_mm) for run in runs]
    if walled:
        room = shapely.union_all(list(walled))
        runs = [replace(run, in_doorway=run.shape.intersection(room).area < run.shape.area / 2) for run in runs]
    return Ground(parts=tuple(parts), strips=tuple(used), runs=tuple(runs), bands=bands,
                  chips=tuple(polygons_of(shapely.union_all(chips))) if chips else ())


def _used(strips: list[Strip], runs: list[RunShape]) -> tuple[list[Strip], list[RunShape]]:
    """Strips that hold a run, and the runs with their row counted among those."""
    rows = sorted({run.row for run in runs})
    return [strips[row] for row in rows], [replace(run, row=rows.index(run.row)) for run in runs]
