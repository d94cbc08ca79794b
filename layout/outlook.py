"""What the estimate means for the last row: how wide it will be, whether that matters, what puts it right and how long that is free.

Two corrections cost no board. While no more than row 1 is down it can be ripped narrower (or a wider one laid instead). Later the
laid rows, which float, can be pushed together towards a wall by what its gap can spare. That is free while one person can do
it: the floor's weight times friction of about 0.5 stays below 200 N (a usual initial push; from memory), some 40 kg of boards at
0.88 kg a m2 and mm of thickness (fibreboard of 860 kg/m3, trade sheet section 1), and no pipe stands in it.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from shapely.geometry import Polygon

from capture.floor import Z95
from layout.drift import Drift, middles
from layout.plan import Plan

#: A gap may shrink to this before the floor is pushed against a wall later, mm (half of what is planned, as a rule).
LEAST_GAP_MM = 5.0
KG_PER_M2_MM, MOST_KG = 0.88, 40.0
#: A last row that comes out within this of the plan, for sure, is as planned, mm.
MATTERS_MM = 2.0
#: A rule is likely kept if it is kept 4 times in 5: one-sided, in standard deviations.
LIKELY = 0.84
#: A taper is judged this far from its tip, mm.
TIP_MM = 5.0
#: First rows are weighed this far apart, mm.
RIP_STEP_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LastRow:
    """The last row at one place: planned width, expected width, half a 95 % interval, mm."""

    side: str
    planned_mm: float
    mean_mm: float
    pm95_mm: float

    @property
    def low_mm(self) -> float:
        """Narrowest it may be, 19 times in 20."""
        return self.mean_mm - self.pm95_mm

    @property
    def high_mm(self) -> float:
        """Widest it may be, 19 times in 20."""
        return self.mean_mm + self.pm95_mm

    @property
    def matters(self) -> bool:
        """Whether it differs from the plan by more than a person would notice while ripping."""
        return abs(self.mean_mm - self.planned_mm) > MATTERS_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """The last row at its two ends, and the correction, if one is needed.

    fix: "" (none needed), "first-row" (rip row 1 to `fix_mm`), "push" (push the laid rows `fix_mm` towards the start wall; negative: away
    from it), "none" (too late for either). free_until: the last row after which the fix is still free.
    """

    ends: tuple[LastRow, ...]
    fix: str
    fix_mm: float
    free_until: int

    @property
    def matters(self) -> bool:
        """Whether the last row comes out otherwise than planned."""
        return any(end.matters for end in self.ends)


def outlook_of(drift: Drift, planned: Drift, down: int, pushed_mm: float = 0.0) -> Outlook:
    """What is to be expected of the last row. planned: the drift before any reading; down: rows that are down; pushed_mm: how far the
    laid rows stand nearer to the start wall than planned.
    """
    plan = drift.plan
    ends = tuple(end for side, s in zip(("left", "right"), middles(plan, len(plan.rows))) if (end := _end(side, drift, planned, s)) is not None)
    tips = tuple(tip for s in _tips(plan) if (tip := _end("", drift, planned, s)) is not None) or ends
    known = any(not verdict.left_out for verdict in drift.verdicts)
    if not ends or not known or len(plan.rows) < 2 or down == len(plan.rows) or _wide_enough(plan, tips):
        return Outlook(ends=ends, fix="", fix_mm=0.0, free_until=free_pushing(plan))
    first = better_first_row(plan, min(tip.low_mm for tip in tips), max(tip.high_mm for tip in tips)) if down <= 1 else 0.0
    if first:
        return Outlook(ends=ends, fix="first-row", fix_mm=first, free_until=1)
    push, last = _push(plan, tips, pushed_mm), free_pushing(plan)
    return Outlook(ends=ends, fix="push" if push and down <= last else "none", fix_mm=push, free_until=last)


def better_first_row(plan: Plan, lowest_mm: float, highest_mm: float) -> float:
    """Width of the first row nearest the present one that leaves first and last row wide enough; 0 if none does."""
    width, rules = plan.board.width_mm, plan.rules
    present = plan.rows[0].far_mm - plan.rows[0].near_mm
    firsts = [rules.narrowest_mm + RIP_STEP_MM * k for k in range(int((width - rules.narrowest_mm) / RIP_STEP_MM) + 1)] + [width]
    fitting = [first for first in firsts if _last_fits(plan, lowest_mm + present - first, highest_mm + present - first)]
    return min(fitting, key=lambda first: (abs(first - present), first), default=0.0)


def free_pushing(plan: Plan) -> int:
    """The last row after which the laid rows can still be pushed by one person: by weight, and no pipe or wall's jog in them."""
    square_metres, last = 0.0, 0
    bored = {name for hole in plan.holes for name in hole.pieces}
    for row in plan.rows:
        square_metres += sum(Polygon(piece.outline_mm).area for piece in row.pieces) / 1e6
        if square_metres * KG_PER_M2_MM * plan.board.thickness_mm > MOST_KG or bored & {piece.id for piece in row.pieces}:
            break
        last = row.number
    return max(last, 1)


def _tips(plan: Plan) -> tuple[float, float]:
    """s of the last row's very ends, where a taper is narrowest."""
    s = [plan.to_row_frame(point)[0] for piece in plan.rows[-1].pieces for point in piece.outline_mm]
    return min(s) + TIP_MM, max(s) - TIP_MM


def _end(side: str, drift: Drift, planned: Drift, s_mm: float) -> LastRow | None:
    now, before = drift.last_width(s_mm), planned.last_width(s_mm)
    return None if now is None or before is None else LastRow(side=side, planned_mm=before[0], mean_mm=now[0], pm95_mm=Z95 * now[1])


def _wide_enough(plan: Plan, ends: tuple[LastRow, ...]) -> bool:
    """The rule kept at the narrow end (or what the plan could keep of it), and no sliver of one row more at the wide end: each likely."""
    narrow = min(end.mean_mm - LIKELY * end.pm95_mm / Z95 for end in ends)
    wide = max(end.mean_mm + LIKELY * end.pm95_mm / Z95 for end in ends)
    rule = min(plan.rules.narrowest_mm, min(end.planned_mm for end in ends))
    return narrow >= rule and wide <= plan.board.width_mm + plan.gap_mm - LEAST_GAP_MM


def _last_fits(plan: Plan, lowest: float, highest: float) -> bool:
    """Whether a last row so wide, counted on or back by whole boards, is wide enough at both ends."""
    whole = (lowest - 1e-9) // plan.board.width_mm * plan.board.width_mm
    return lowest - whole >= plan.rules.narrowest_mm and highest - whole <= plan.board.width_mm


def _push(plan: Plan, ends: tuple[LastRow, ...], pushed_mm: float) -> float:
    """How far to push towards the start wall (negative: away), in whole mm, so that the last row likely keeps its rule; 0 if no push can."""
    room = plan.gap_mm - LEAST_GAP_MM
    towards = room - max(0.0, pushed_mm)
    need = ceil(plan.rules.narrowest_mm - min(end.mean_mm - LIKELY * end.pm95_mm / Z95 for end in ends))
    over = ceil(max(end.mean_mm + LIKELY * end.pm95_mm / Z95 for end in ends) - plan.board.width_mm - room)
    if 0 < need <= towards + 1 and towards >= 1:
        return float(min(need, floor(towards)))
    return -float(over) if 0 < over <= room else 0.0
