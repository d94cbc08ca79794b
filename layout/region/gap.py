"""How wide the gap at the walls must be.

Rule of trade: 1.5 mm for every metre of the longest run at each side, never below 8 mm; at least 15 mm where the air
stays above 65 % (European trade laying guides). Physics behind it: a fibreboard core grows some 0.05 mm a metre for
every percent of relative humidity (0.25 % of its length from 35 to 85 %: the European industry guide on MDF moisture),
half of it at each side of a floor that floats; 1.5 mm a metre is that at a change of 60 %. With a climate given the
change is known, and the survey's doubt is added instead of the guide's reserve.
"""
from __future__ import annotations

from math import ceil

import shapely
from shapely.geometry import Polygon

from capture.floor import Z95
from layout.facts.reasons import GapByClimate, GapByRun
from layout.room import Climate, Room, Wishes

GAP_PER_METRE, LEAST_GAP_MM = 1.5, 8.0
DAMP_PERCENT, DAMP_GAP_MM = 65.0, 15.0
GROWTH_MM_PER_METRE_PERCENT = 0.05
#: Change of humidity assumed for shrinking where no climate is given (common practice: laid in autumn, heated in
#: winter).
USUAL_FALL_PERCENT = 30.0
LAP_MM = 2.0
#: What the edges of a usual room draw back in the dry season, mm (trade sheet, section 5: a gap of 10 under a cover of
#: 18 leaves 8 to 13).
USUAL_SHRINK_MM = 3.0
#: How much nearer to a wall than asked a board's edge may lie, mm, and how much further at least.
NEARER_MM, FURTHER_MM = 2.0, 1.0


def gap_rule(run_mm: float) -> float:
    """Gap the rule of trade asks for at each side of a run, mm."""
    return max(LEAST_GAP_MM, GAP_PER_METRE * run_mm / 1000.0)


def growth_mm(run_mm: float, percent: float) -> float:
    """How much a run grows (or shrinks) when the humidity changes by so many percent, mm."""
    return GROWTH_MM_PER_METRE_PERCENT * percent * run_mm / 1000.0


def longest_run_mm(room: Room, longest_mm: float) -> float:
    """The floor's longest stretch in one piece: the longer side of the smallest rectangle round it, or the profile's
    limit."""
    corners = shapely.get_coordinates(Polygon(room.outline_mm).minimum_rotated_rectangle)
    return min(longest_mm, max(float(shapely.Point(a).distance(shapely.Point(b)))
                               for a, b in zip(corners[:2], corners[1:3])))


def choose_gap(room: Room, wishes: Wishes) -> GapByRun | GapByClimate:
    """The gap, in whole mm, for wishes that leave it open, and the rule it comes from."""
    run = longest_run_mm(room, wishes.longest_mm)
    climate = wishes.climate
    if climate is None:
        return GapByRun(gap_mm=float(ceil(gap_rule(run) - 1e-9)), run_mm=run)
    rise = climate.high - (climate.low if climate.laid is None else climate.laid)
    doubt, damp = Z95 * room.length_sd_mm, climate.high > DAMP_PERCENT
    gap = float(ceil(max(DAMP_GAP_MM if damp else LEAST_GAP_MM, growth_mm(run, rise) / 2 + doubt) - 1e-9))
    return GapByClimate(gap_mm=gap, run_mm=run, growth_mm=growth_mm(run, rise), from_percent=climate.high - rise,
                        to_percent=climate.high, doubt_mm=doubt, damp=damp)


def asks_for_more(room: Room, wishes: Wishes, gap_mm: float) -> bool:
    """Whether the longest run asks for a wider gap than this one."""
    return choose_gap(room, wishes).gap_mm > gap_mm


def edge_window(gap_mm: float, wishes: Wishes) -> tuple[float, float]:
    """(least, most) distance of a board's edge from a wall, mm: as the reader says, else from the gap and what covers
    it.

    Nearer than the gap by 2 mm, but not under 8 where 8 was asked; further as far as the beading covers after
    shrinking, lap included (trade sheet, section 5: 8 to 13 for a gap of 10 under a cover of 18).
    """
    least = max(min(gap_mm, LEAST_GAP_MM), gap_mm - NEARER_MM) if wishes.gap_least_mm is None else wishes.gap_least_mm
    most = max(wishes.beading.width_mm - LAP_MM - USUAL_SHRINK_MM, gap_mm
               + FURTHER_MM) if wishes.gap_most_mm is None else wishes.gap_most_mm
    return least, most


def covered_mm(gap_mm: float, wishes: Wishes) -> float:
    """What the beading covers beyond the gap after shrinking, lap included, mm (trade sheet, section 5)."""
    return wishes.beading.width_mm - LAP_MM - USUAL_SHRINK_MM - gap_mm


def shrink_mm(run_mm: float, climate: Climate | None) -> float:
    """How far each edge may draw back in the dry season, mm."""
    fall = USUAL_FALL_PERCENT if climate is None else (climate.high
                                                       if climate.laid is None else climate.laid) - climate.low
    return growth_mm(run_mm, fall) / 2
