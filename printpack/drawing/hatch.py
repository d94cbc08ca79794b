"""Parallel lines that fill a region: how waste is shown without colour.

The region is given by rings (outer ring and holes in any order and direction); inside means an odd number of rings
(even-odd rule). Lines are laid at fixed places of the drawing, so two regions beside each other share one hatch.
"""
from __future__ import annotations

from math import ceil, cos, floor, radians, sin

from printpack.drawing.sheet import HAIR, Line, Pen, Point

Ring = tuple[Point, ...]


def hatch(
    rings: tuple[Ring, ...], *, spacing_mm: float = 2.0, angle_deg: float = 45.0, pen: Pen = HAIR
) -> tuple[Line, ...]:
    """Lines `spacing_mm` apart inside the rings, rising at `angle_deg` as the reader sees them."""
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    turned = [[(c * x - s * y, s * x + c * y) for x, y in ring] for ring in rings if len(ring) >= 3]
    heights = [y for ring in turned for _, y in ring]
    if not heights:
        return ()
    lines: list[Line] = []
    for k in range(ceil(min(heights) / spacing_mm), floor(max(heights) / spacing_mm) + 1):
        level = k * spacing_mm
        crossings = sorted(x for ring in turned for x in _crossings(ring, level))
        for left, right in zip(crossings[::2], crossings[1::2]):
            if right - left > 0.05:
                lines.append(Line((c * left + s * level, -s * left + c * level),
                                  (c * right + s * level, -s * right + c * level), pen, "hatch"))
    return tuple(lines)


def _crossings(ring: list[Point], level: float) -> list[float]:
    """Where the ring's edges cross the height `level`; each corner counts for one of its two edges only."""
    found = []
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1]):
        if (y0 <= level) != (y1 <= level):
            found.append(x0 + (level - y0) * (x1 - x0) / (y1 - y0))
    return found
