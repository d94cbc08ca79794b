"""How much underlay and film: sheets side by side over the floor, counted strip by strip.

Rules (trade sheet, section 4): underlay butts and does not lap, one layer, its joints across the board joints, so its
sheets run across the rows; film on a mineral subfloor laps 200 mm, is taped, and turns up at the walls. What is left of
a roll goes on in the next strip. Two directions are not compared: across the rows is the rule. Width of film sheets (2
m) and the turn-up (50 mm) are common practice, no source.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import shapely
from shapely.geometry.base import BaseGeometry

from layout.region.inset import polygons_of
from layout.room import Underlay

FILM_WIDTH_MM, FILM_LAP_MM, TURN_UP_MM = 2000.0, 200.0, 50.0
FAR_MM = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """Strips laid side by side: their number, their length in all, and how much joint lies between them, mm."""

    strips: int
    length_mm: float
    joint_mm: float


def underlay_sheets(floor_rf: BaseGeometry, underlay: Underlay) -> Sheets:
    """Strips of a roll's width across the rows. floor_rf: the floor in the row frame."""
    return _strips(floor_rf, underlay.roll_width_mm, 0.0, 0.0)


def film_sheets(floor_rf: BaseGeometry) -> Sheets:
    """Strips of film across the rows, lapped and turned up at both ends and at the outermost walls."""
    return _strips(floor_rf, FILM_WIDTH_MM, FILM_LAP_MM, TURN_UP_MM)


def rolls_for(sheets: Sheets, underlay: Underlay) -> int:
    """Whole rolls for so much length."""
    return ceil(sheets.length_mm / underlay.roll_length_mm - 1e-9)


def _strips(floor_rf: BaseGeometry, width: float, lap: float, turn_up: float) -> Sheets:
    left, near, right, far = floor_rf.bounds
    step = width - lap
    count = max(1, ceil((right - left + 2 * turn_up - lap) / step - 1e-9))
    length = joint = 0.0
    for k in range(count):
        lo = left - turn_up + k * step
        parts = polygons_of(floor_rf.intersection(shapely.box(lo, near - 1.0, lo + width, far + 1.0)))
        length += sum(part.bounds[3] - part.bounds[1] + 2 * turn_up for part in parts)
        if k > 0:
            line = shapely.LineString([(lo, -FAR_MM), (lo, FAR_MM)])
            joint += floor_rf.intersection(line).length
    return Sheets(strips=count, length_mm=length, joint_mm=joint)
