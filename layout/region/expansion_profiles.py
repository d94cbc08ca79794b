"""Expansion profiles: where a floor longer than its limit is parted into fields.

Rule of trade (section 2 of the project's trade sheet: 8 to 10 m usual, some leaflets 13 m; a leg that narrows is parted
there; every floor stops the gap short of the profile's web). No source gives the place, so it is chosen: first a line
that leaves no sliver beside a corner, then the shortest, then the one nearest to equal fields. A line along the rows
lies a gap past a seam, so the row before it keeps its factory edge and only the row behind is ripped.

Row frame, mm. The depth of a doorway does not count as length of the floor.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from layout.region.inset import polygons_of

STEP_MM = 50.0
#: A line this near to a corner, but not at it, leaves a strip nobody wants to lay, mm.
CLEAR_OF_CORNERS_MM = 300.0
FAR_MM = 1e6
#: A profile's web needs this much on either side even where the walls are given none, mm.
LEAST_CLEAR_MM = 5.0

@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A strip kept free for profiles: "s" (across the rows) or "t" (along them), its middle, how far it
    reaches to both sides, and the chords it takes of the floor."""

    axis: str
    middle_mm: float
    clear_mm: float
    chords: tuple[tuple[float, float], ...]

    def ends(self) -> list[tuple[tuple[float, float], tuple[float, float]]]:
        """The middle line's two ends (row frame) for every chord."""
        return [(self._point(lo), self._point(hi)) for lo, hi in self.chords]

    def box(self, more_mm: float = 0.0) -> Polygon:
        """What is kept free of boards, and so much more on both sides."""
        lo, hi = self.middle_mm - self.clear_mm - more_mm, self.middle_mm + self.clear_mm + more_mm
        return shapely.box(lo, -FAR_MM, hi, FAR_MM) if self.axis == "s" else shapely.box(-FAR_MM, lo, FAR_MM, hi)

    def _point(self, along: float) -> tuple[float, float]:
        return (self.middle_mm, along) if self.axis == "s" else (along, self.middle_mm)


def part_fields(cover_rf: list[Polygon], seams: list[float], gap_mm: float, longest_mm: float, *, out_mm: float = 0.0,
                ) -> tuple[list[Polygon], tuple[Band, ...]]:
    """(the cover's parts with no field longer than the limit along or across the rows, the bands between them). out_mm:
    how far the parts' edges may move into a band later."""
    fields, bands, todo, clear = [], [], list(cover_rf), max(gap_mm, LEAST_CLEAR_MM)
    while todo:
        part = todo.pop(0)
        band = _line_for(part, seams, clear, longest_mm)
        if band is None:
            fields.append(part)
            continue
        bands.append(band)
        todo += polygons_of(part.difference(band.box(out_mm)))
    return fields, tuple(bands)


def _line_for(part: Polygon, seams: list[float], clear_mm: float, longest_mm: float) -> Band | None:
    left, near, right, far = part.bounds
    corners = shapely.get_coordinates(part)
    if right - left > longest_mm + 1e-6:
        places = _window(left, right, longest_mm)
        even, lo, hi = places
        beside = {even} | {even + STEP_MM * k for k in range(-40, 41)} | {float(s) + side for s in corners[:, 0]
                                                                          for side in (-clear_mm, clear_mm)}
        return _best(part, "s", sorted(m for m in beside if lo <= m <= hi), even, corners[:, 0], clear_mm)
    if far - near > longest_mm + 1e-6:
        even, lo, hi = _window(near, far, longest_mm)
        offers = [level + clear_mm for level in seams if lo <= level + clear_mm <= hi] or [even]
        return _best(part, "t", offers, even, corners[:, 1], clear_mm)
    return None


def _window(start: float, end: float, longest_mm: float) -> tuple[float, float, float]:
    """(place of the first line for equal fields, and the least and greatest place that need no further line)."""
    count = ceil((end - start) / longest_mm - 1e-9)
    return start + (end - start) / count, end - (count - 1) * longest_mm, start + longest_mm


def _best(part: Polygon, axis: str, offers: list[float], even: float, corners: np.ndarray, clear_mm: float) -> Band:
    def key(middle: float) -> tuple[bool, float, float, float]:
        away = np.abs(np.abs(corners - middle) - clear_mm)
        beside = bool(((away > 1e-6) & (away < CLEAR_OF_CORNERS_MM)).any())
        return beside, round(sum(hi - lo for lo, hi in _chords(part, axis, middle)), -1), abs(middle - even), middle

    middle = min(offers, key=key)
    return Band(axis=axis, middle_mm=middle, clear_mm=clear_mm, chords=_chords(part, axis, middle))


def _chords(part: Polygon, axis: str, middle: float) -> tuple[tuple[float, float], ...]:
    line = LineString([(middle, -FAR_MM), (middle, FAR_MM)] if axis == "s" else [(-FAR_MM, middle), (FAR_MM, middle)])
    along = 1 if axis == "s" else 0
    found = [shapely.get_coordinates(piece)[:, along] for piece in shapely.get_parts(part.intersection(line))
             if piece.length > 0]
    return tuple(sorted((float(ends.min()), float(ends.max())) for ends in found))
