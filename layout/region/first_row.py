"""How wide the first row should be.

Rule of trade (section "row balance" of any laying guide; common practice): with n full rows and a rest r, keep the
first row whole if r is wide enough, else share (board + r) between the first and the last row. Walls out of parallel
and chimney faces make slivers elsewhere: every long edge of the cover (within 20 degrees of the rows) is looked at, for
every first-row width on a one-millimetre grid, and widths that keep all of them wide enough are preferred.

A doorway in the start wall lies before the wall: the first strip then begins in it, and the rule is kept for the row at
the wall.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from layout.facts.reasons import FirstRowRule
from layout.region.rows import LEAST_STRETCH_MM, LONG_EDGE_SLOPE

GRID_MM = 1.0
#: A wall that ends this near to the outermost corner bounds the row there, mm.
AT_TIP_MM = 1.0
#: A pipe's centre lies this near to a seam, or at least so far off it, mm (common practice, no source).
ON_SEAM_MM, OFF_SEAM_MM = 3.0, 25.0
#: Where no width keeps the narrowest row, a metre of wall with a strip to saw off weighs as much as a row narrower
#: by two millimetres.
THIN_WEIGHT = 2e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstRow:
    """Width of the first strip, of the last one, the least width along any long edge, the rule it was chosen by, and
    along how many mm of wall a strip comes off that no saw can hold (as `unsawable` counts)."""

    width_mm: float
    last_mm: float
    narrow_mm: float
    rule: FirstRowRule
    thin_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawing:
    """What a saw can do along the boards: less than `sliver_mm` (but nothing at all) may not come off an edge; a
    board's own edge may lie `out_mm` beyond the edge of the cover, or fall short of it by `in_mm`. holes_mm: t of the
    pipes' centres. pieces_mm: how long pieces are at least and at most; along them a slanted edge takes more off at one
    end than at the other, and up to `parallel_mm` of that is sawn parallel."""

    sliver_mm: float = 0.0
    out_mm: float = 0.0
    in_mm: float = 0.0
    holes_mm: tuple[float, ...] = ()
    pieces_mm: tuple[float, float] = (0.0, 0.0)
    parallel_mm: float = 0.0

    def gain_mm(self, slope: float) -> float:
        """By how much more comes off where most does than where the row is widest, of any piece along an edge of this
        slope: within the window if it is sawn parallel, else by its slant."""
        least, most = (slope * length for length in self.pieces_mm)
        if least > self.parallel_mm:
            return least
        return self.in_mm if most <= self.parallel_mm else min(self.in_mm, self.parallel_mm)


def choose_first_row(cover_rf: list[Polygon], depth_mm: float, width_mm: float, narrowest_mm: float,
                     walls: tuple[float, float] | None = None, sawing: Sawing = Sawing()) -> FirstRow:
    """The first row for a cover (row frame) `depth_mm` deep and boards `width_mm` wide.

    walls: t of the cover's edge at the start wall and at the last wall, where doorways reach beyond them.
    """
    edges = long_edges(cover_rf)
    if depth_mm <= width_mm:
        return FirstRow(width_mm=depth_mm, last_mm=depth_mm, narrow_mm=depth_mm, rule="one-deep")
    start, end = walls or (0.0, depth_mm)
    rest = (end - start) - width_mm * int((end - start + 1e-6) // width_mm)
    balanced = float(int((width_mm + rest) / 2 + 1e-6))
    usual: tuple[tuple[float, FirstRowRule], ...] = ((width_mm, "whole-board"), (balanced, "shared"))
    for wanted, rule in usual:
        first = first_strip(start, wanted, width_mm)
        narrow = float(narrowness(edges, np.array([first]), width_mm, sawing.in_mm)[0])
        narrow = min(narrow, float(_tips(edges, depth_mm, np.array([first]), width_mm)[0]))
        if narrow >= narrowest_mm and not unsawable(edges, np.array([first]), width_mm, sawing)[0]:
            return FirstRow(width_mm=first, last_mm=last_row(depth_mm, first, width_mm), narrow_mm=narrow, rule=rule)
    # Where no doorway lies before the wall, a whole board may keep as far from it as the window lets it.
    most = width_mm + (sawing.in_mm if start < 1e-6 else 0.0)
    return _best_on_grid(edges, depth_mm, width_mm, narrowest_mm, sawing, most)


def first_strip(start_mm: float, first_mm: float, width_mm: float) -> float:
    """Width of the first strip when the row at a wall `start_mm` behind it is `first_mm` wide, mm."""
    if start_mm < 1e-6:
        return first_mm
    strip = (start_mm + first_mm) % width_mm
    return width_mm if strip < 1e-6 else strip


def last_row(depth_mm: float, first_mm: float, width_mm: float) -> float:
    """Width of the last row, mm."""
    if depth_mm <= first_mm + 1e-6:
        return min(first_mm, depth_mm)
    rest = (depth_mm - first_mm) % width_mm
    return width_mm if rest < 1e-6 or width_mm - rest < 1e-6 else rest


def _best_on_grid(edges: NDArray[np.float64], depth_mm: float, width_mm: float, narrowest_mm: float,
                  sawing: Sawing, most_mm: float) -> FirstRow:
    """most_mm: the widest first strip. One wider than a board is a whole board further from the wall."""
    firsts = np.append(np.arange(np.ceil(min(narrowest_mm, width_mm)), width_mm, GRID_MM),
                       np.arange(width_mm, most_mm + 1e-6, GRID_MM))
    narrow = np.minimum(narrowness(edges, firsts, width_mm, sawing.in_mm), _tips(edges, depth_mm, firsts, width_mm))
    lasts = np.array([last_row(depth_mm, first, width_mm) for first in firsts])
    # A last row within the window is none.
    rows = np.ceil((depth_mm - firsts - 1e-6) / width_mm) - (lasts <= sawing.in_mm)
    kept, thin = np.minimum(narrow, narrowest_mm), unsawable(edges, firsts, width_mm, sawing)
    # A row more costs boards; a thin strip along a wall is told instead.
    best = np.lexsort((np.abs(firsts - lasts), thin, rows, -kept))[0]
    if narrow[best] < narrowest_mm:
        # Where all break the rule they differ little; strips off a whole wall are the greater trouble.
        best = np.lexsort((np.abs(firsts - lasts), THIN_WEIGHT * thin - kept, rows > rows[best]))[0]
    rule: FirstRowRule = "keeps-wide" if narrow[best] >= narrowest_mm else "nearest"
    return FirstRow(width_mm=float(firsts[best]), last_mm=float(lasts[best]), narrow_mm=float(narrow[best]), rule=rule,
                    thin_mm=float(thin[best]))


def _tips(edges: NDArray[np.float64], depth_mm: float, firsts: NDArray[np.float64],
          width_mm: float) -> NDArray[np.float64]:
    """For each first-row width, how far the first and the last row reach into a corner of the cover, where no wall runs
    with the rows: less makes a chip of the piece there."""
    reaches = np.full(len(firsts), width_mm)
    if not len(edges) or edges[:, :2].min() > AT_TIP_MM:
        reaches = np.minimum(reaches, firsts)
    if not len(edges) or edges[:, :2].max() < depth_mm - AT_TIP_MM:
        reaches = np.minimum(reaches, [last_row(depth_mm, first, width_mm) for first in firsts])
    return reaches


def long_edges(cover_rf: list[Polygon]) -> NDArray[np.float64]:
    """(k, 4) long edges of the cover: t at both ends, +1 where the cover lies on the far side of it, -1 on the near
    side, and its length."""
    found = []
    for part in cover_rf:
        part = orient(part)
        for ring in (part.exterior, *part.interiors):
            corners = shapely.get_coordinates(ring)
            for (s0, t0), (s1, t1) in zip(corners[:-1], corners[1:]):
                if abs(s1 - s0) >= LEAST_STRETCH_MM and abs(t1 - t0) < LONG_EDGE_SLOPE * abs(s1 - s0):
                    found.append((t0, t1, 1.0 if s1 > s0 else -1.0, abs(s1 - s0)))
    return np.array(found, dtype=np.float64).reshape(-1, 4)


def narrowness(edges: NDArray[np.float64], firsts: NDArray[np.float64], width_mm: float,
               in_mm: float = 0.0) -> NDArray[np.float64]:
    """For each first-row width, the least distance from a long edge to the seam across the row it bounds; 0 if it
    crosses a seam.

    in_mm: a row that reaches no further than this beyond a seam is none: the edge window takes it up.
    """
    least = np.full(len(firsts), width_mm)
    for edge in edges:
        to_seam, slant = _to_seam(edge, firsts, width_mm)
        to_seam = np.where(to_seam <= in_mm, width_mm, to_seam)
        least = np.minimum(least, np.maximum(to_seam - slant, 0.0))
    return least


def unsawable(edges: NDArray[np.float64], firsts: NDArray[np.float64], width_mm: float,
              sawing: Sawing) -> NDArray[np.float64]:
    """For each first-row width, how many mm of wall ask for a strip off a board's edge that no saw can hold, wherever
    in the edge window it ends, and a metre for each pipe that stands beside a seam but not on it."""
    found = np.zeros(len(firsts))
    for edge in edges if sawing.sliver_mm else ():
        to_seam, slant = _to_seam(edge, firsts, width_mm)
        # A row that reaches so little beyond a seam is none: the strip comes off the row before it.
        least = np.where(to_seam <= sawing.in_mm, -to_seam, width_mm - to_seam)
        slant = max(slant, 1e-6)
        most = least + slant
        enough = sawing.sliver_mm - sawing.gain_mm(slant / edge[3])
        stretch = np.minimum(most, enough) - np.maximum(least, sawing.out_mm)
        found += edge[3] * np.clip(stretch / slant, 0.0, 1.0)
    for t in sawing.holes_mm:
        off = np.abs((t - firsts + width_mm / 2) % width_mm - width_mm / 2)
        found += np.where((off > ON_SEAM_MM) & (off < OFF_SEAM_MM), 1000.0, 0.0)
    return found


def _to_seam(
    edge: NDArray[np.float64], firsts: NDArray[np.float64], width_mm: float
) -> tuple[NDArray[np.float64], float]:
    """(for each first-row width, how wide the row is that a long edge bounds, where it is widest; by how much the
    edge is slanted)."""
    t0, t1, side, _ = edge
    lo, hi = min(t0, t1), max(t0, t1)
    near_end, far_end = (lo, hi) if side > 0 else (-hi, -lo)
    to_seam = (firsts * side - near_end) % width_mm
    return np.where(to_seam < 1e-6, width_mm, to_seam), far_end - near_end
