"""The four sides of a rectangle in a picture, measured as edge places: never its corners, which may be rounded or bent
up.

In: upright pixels, and a rough quadrilateral (4, 2) in px, its corners in order round it, off by a few px. Out: for
each side, from corner k to corner k + 1, some dozen places on it with the direction across and their spread. A lens
bends straight sides by up to a few px, so a parabola is fitted along each to leave out what is no edge, and nothing is
taken for straight here.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.image.edge_profiles import Array, Bools, Changes, changes_across

#: Blocks a side is summed up in, and the share left out at either end beyond the corner's radius.
_BLOCKS, _OFF_ENDS = 12, 0.06
#: Cuts sit a px apart and share blur and noise: this many count as one.
_SHARED_CUTS = 3.0
#: What remains of ripples (compression, paper fibres) however many cuts are averaged, px.
_LEAST_SD_PX = 0.04
#: Share of a side that must be seen clearly.
_LEAST_CLEAR = 0.6
#: Least blur of a sharp picture counts as this many px when the reach of a cut is chosen.
_LEAST_REACH_PX = 4.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Side:
    """places_px: (b, 2) on the edge; across: (b, 2) unit vectors out of the rectangle; sd_px: (b,); spread_px: blur of
    the edge (one standard deviation); scatter_px: of single cuts about a parabola; change: (3,) light outside less
    inside; outside: (3,) light outside."""

    places_px: Array
    across: Array
    sd_px: Array
    spread_px: float
    scatter_px: float
    change: Array
    outside: Array


def measure_sides(pixels: NDArray[np.uint8], quad_px: Array, *, rough_px: float,
                  round_share: float = 0.0) -> tuple[Side, ...] | None:
    """The four sides near a quadrilateral, or None if one of them is no clear edge.

    rough_px: how far the quadrilateral may be off; round_share: share of the shorter side that a corner's radius takes.
    """
    centre = quad_px.mean(axis=0)
    sides = []
    for k in range(4):
        start, end = quad_px[k], quad_px[(k + 1) % 4]
        off = _OFF_ENDS + round_share * _shortest(quad_px) / max(float(np.hypot(*(end - start))), 1.0)
        side = _side(pixels, start, end, centre, off, rough_px)
        if side is None:
            return None
        sides.append(side)
    return tuple(sides)


def _shortest(quad_px: Array) -> float:
    return float(np.min(np.hypot(*(np.roll(quad_px, -1, axis=0) - quad_px).T)))


def _side(pixels: NDArray[np.uint8], start: Array, end: Array, centre: Array, off: float,
          rough_px: float) -> Side | None:
    """One side: found roughly first, then measured on cuts about the curve it runs along."""
    length = float(np.hypot(*(end - start)))
    if length < 12.0 or off >= 0.4:
        return None
    along = (end - start) / length
    out = np.array([along[1], -along[0]])
    out = out if (start - centre) @ out > 0 else -out
    far = np.linspace(off, 1.0 - off, int(np.clip(length * (1 - 2 * off), 16, 600))) * length
    curve, spread = np.zeros(3), rough_px
    for reach in (max(2.0 * rough_px, 6.0), max(rough_px, 5.0), 0.0):
        reach = reach or max(_LEAST_REACH_PX, 3.0 * spread)
        spots = start + far[:, None] * along + np.polyval(curve, far / length)[:, None] * out
        found = changes_across(pixels, spots, np.broadcast_to(out, spots.shape), reach)
        fitted = _curve(far / length, np.polyval(curve, far / length) + found.off_px, found.clear)
        if fitted is None:
            return None
        curve, kept, scatter = fitted
        spread = float(np.median(found.spread_px[kept]))
    return _in_blocks(spots, kept, out, scatter, spread, found)


def _curve(share: Array, off: Array, clear: Bools) -> tuple[Array, Bools, float] | None:
    """Parabola through the places, those far off it left out; None if too few are clear."""
    kept = clear.copy()
    for _ in range(4):
        if np.sum(kept) < max(10, _LEAST_CLEAR * len(share)):
            return None
        curve = np.polyfit(share[kept], off[kept], 2)
        beside = off - np.polyval(curve, share)
        scatter = 1.4826 * float(np.median(np.abs(beside[kept]))) + 0.02
        kept = clear & (np.abs(beside) <= 3.0 * scatter)
    return curve, kept, scatter


def _in_blocks(spots: Array, kept: Bools, out: Array, scatter: float, spread: float, found: Changes) -> Side:
    """Some dozen means of neighbouring places, each with its own spread."""
    off = found.off_px
    places, sd = [], []
    for block in np.array_split(np.arange(len(spots)), _BLOCKS):
        used = block[kept[block]]
        if len(used) >= 2:
            places.append(np.mean(spots[used] + off[used, None] * out, axis=0))
            sd.append(np.hypot(_LEAST_SD_PX, max(scatter, float(np.std(off[used])))
                               * np.sqrt(_SHARED_CUTS / len(used))))
    return Side(places_px=np.array(places), across=np.tile(out, (len(places), 1)), sd_px=np.array(sd), spread_px=spread,
                scatter_px=scatter, change=found.change, outside=found.outside)
