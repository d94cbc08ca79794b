"""What the estimate means for the last row: how wide it will be, whether that matters, what puts it right and how long
that is free.

Two corrections are free in time. While no more than row 1 is down it can be ripped narrower (or a wider one laid
instead). Later the laid rows, which float, can be pushed together towards a wall by what its gap can spare. That is
free while one person can do it: the floor's weight times friction of about 0.5 stays below 200 N (a usual initial push;
from memory), some 40 kg of boards at 0.88 kg a m2 and mm of thickness (fibreboard of 860 kg/m3, trade sheet section 1),
and no pipe stands in it.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import floor

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from capture.floor import Z95
from layout.region.slivers import CHIP_MM
from layout.region.inset import cover_parts
from layout.replan.floor_estimation import Drift, middles
from layout.region.first_row import long_edges, narrowness
from layout.plan import Plan
from layout.room import Room

#: A gap may shrink to this before the floor is pushed against a wall later, mm (half of what is planned, as a rule).
LEAST_GAP_MM = 5.0
KG_PER_M2_MM, MOST_KG = 0.88, 40.0
#: A last row that comes out within this of the plan, for sure, is as planned, mm.
MATTERS_MM = 2.0
#: A rule is likely kept if it is kept 4 times in 5: one-sided, in standard deviations.
LIKELY = 0.84
#: Another first row costs the same whatever its width, so it is chosen to keep the rule for all but sure, else at 95 %,
#: else likely; the readings are taken at two places, and a wall may bow between them.
FIRST_ROW_SDS = (3.0, Z95, LIKELY)
#: A push that falls short of the rule by less is told all the same, mm.
NEARLY_MM = 1.0
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
    """The last row at its two ends (where it is, or may be, one along the wall), and the correction, if one is needed.

    fix: "" (none needed), "first-row" (rip row 1 to `fix_mm`), "push" (push the laid rows `fix_mm` towards the start
    wall; negative: away from it), "measure" (expected to be wide enough, but too little is known to say which way to
    push), "none" (too late for any). free_until: the last row after which the fix is still free.
    """

    ends: tuple[LastRow, ...]
    fix: str
    fix_mm: float
    free_until: int

    @property
    def matters(self) -> bool:
        """Whether the last row comes out otherwise than planned."""
        return any(end.matters for end in self.ends)


def outlook_of(drift: Drift, planned: Drift, down: int, rooms: tuple[Room, Room], pushed_mm: float = 0.0) -> Outlook:
    """What is to be expected of the last row. planned: the drift before any reading; down: rows that are down; rooms:
    as surveyed, and as now known; pushed_mm: how far the laid rows stand nearer to the start wall than planned.
    """
    plan = drift.plan
    seen = [end for side, s in zip(("left", "right"), middles(plan, len(plan.rows)))
            if (end := _end(side, drift, planned, s)) is not None]
    # A last row that lies in a doorway only has no width along the wall; a strip too thin to saw is left to the gap.
    ends = tuple(end for end in seen if end.planned_mm > 0 or (end.matters and end.high_mm > CHIP_MM))
    free_until = free_pushing(plan)
    none = Outlook(ends=ends, fix="", fix_mm=0.0, free_until=free_until)
    known = any(not verdict.left_out for verdict in drift.verdicts)
    if not seen or not known or len(plan.rows) < 2 or down == len(plan.rows):
        return none
    sd = max(end.pm95_mm for end in seen) / Z95
    before, now = (_Widths(plan, room) for room in rooms)
    rule = min(plan.rules.narrowest_mm, before.least(now.present, 0.0, 0.0))
    if now.least(now.present, LIKELY * sd, 0.0) >= rule:
        return none
    push = now.best_push(rule, LIKELY * sd, pushed_mm) if down <= free_until else 0.0
    first = next((first for share in FIRST_ROW_SDS if (first := now.better_first(rule, share * sd))),
                 0.0) if down <= 1 else 0.0
    # A push away leaves a strip of a row nobody planned to the gap; another first row would cost that row's boards.
    if first and push >= 0:
        return Outlook(ends=ends, fix="first-row", fix_mm=first, free_until=1)
    expected = down <= free_until and now.least(now.present, 0.0, 0.0) >= rule
    return Outlook(ends=ends, fix="push" if push else "measure" if expected else "none", fix_mm=push,
                   free_until=free_until)


class _Widths:
    """How wide rows get along the walls that run with them, in one room, for any first row and any push."""

    def __init__(self, plan: Plan, room: Room) -> None:
        frame = plan.frame
        cover = cover_parts(room.outline_mm, room.islands, plan.gap_mm)
        self.plan, self.edges, self.present = plan, long_edges([frame.shape_to_row(part)
                                                                for part in cover]), plan.rows[0].far_mm
        self.ahead = self.edges[:, :2].max(axis=1) > CHIP_MM if len(self.edges) else np.zeros(0, dtype=bool)

    def least(self, first_mm: float, margin_mm: float, push_mm: float) -> float:
        """Least width with walls ahead moved by `push_mm` and anywhere within the margin; a strip too thin to saw is
        none."""
        return float(self._least(np.array([first_mm]), margin_mm, push_mm)[0])

    def better_first(self, rule_mm: float, margin_mm: float) -> float:
        """A first row that keeps every row as wide as the rule: of the stretch of such first rows that is nearest the
        present one the middle, since a rip costs the same wherever it goes and walls may stand further off than anybody
        knows; 0 if there is none."""
        firsts = np.arange(self.plan.rules.narrowest_mm, self.plan.board.width_mm + 1e-9, RIP_STEP_MM)
        fitting = np.flatnonzero(self._least(firsts, margin_mm, 0.0) >= rule_mm)
        if not len(fitting):
            return 0.0
        stretches = np.split(fitting, np.flatnonzero(np.diff(fitting) > 1) + 1)
        nearest = min(stretches, key=lambda stretch: float(np.abs(firsts[stretch] - self.present).min()))
        return float(firsts[nearest[len(nearest) // 2]])

    def best_push(self, rule_mm: float, margin_mm: float, pushed_mm: float) -> float:
        """A push that likely keeps the rule, or all but keeps it where it is expected to break; 0 if there is none."""
        likely = self.push(rule_mm, margin_mm, pushed_mm)
        return (
            likely
            if likely or self.least(self.present, 0.0, 0.0) >= rule_mm
            else self.push(rule_mm - NEARLY_MM, 0.0, pushed_mm)
        )

    def push(self, rule_mm: float, margin_mm: float, pushed_mm: float) -> float:
        """The least push, in whole mm towards the start wall (negative: away), that keeps the rule; 0 if none within
        the gap's slack does."""
        room = self.plan.gap_mm - LEAST_GAP_MM
        pushes = range(-floor(room + min(0.0, pushed_mm)), floor(room - max(0.0, pushed_mm)) + 1)
        fitting = [push for push in pushes if push and self.least(self.present, margin_mm, float(push)) >= rule_mm]
        return float(min(fitting, key=abs, default=0))

    def _least(self, firsts: NDArray[np.float64], margin_mm: float, push_mm: float) -> NDArray[np.float64]:
        found = []
        for off in (-margin_mm, 0.0, margin_mm):
            moved = self.edges.copy()
            moved[self.ahead, :2] += push_mm + off
            found.append([_narrowest(moved, float(first), self.plan.board.width_mm) for first in firsts])
        return np.min(np.array(found), axis=0)


def _narrowest(edges: NDArray[np.float64], first_mm: float, width_mm: float) -> float:
    """Least width along the long edges, those aside that leave only a strip too thin to saw: that is left to the
    gap."""
    beyond_seam = (edges[:, :2].max(axis=1) - first_mm) % width_mm
    kept = edges[(edges[:, 2] > 0) | (beyond_seam >= CHIP_MM)]
    return float(narrowness(kept, np.array([first_mm]), width_mm)[0])


def free_pushing(plan: Plan) -> int:
    """The last row after which the laid rows can still be pushed by one person: by weight, and no pipe or wall's jog
    in them."""
    square_metres, last = 0.0, 0
    bored = {name for hole in plan.holes for name in hole.pieces}
    for row in plan.rows:
        square_metres += sum(Polygon(piece.outline_mm).area for piece in row.pieces) / 1e6
        if square_metres * KG_PER_M2_MM * plan.board.thickness_mm > MOST_KG or bored & {piece.id
                                                                                        for piece in row.pieces}:
            break
        last = row.number
    return max(last, 1)


def _end(side: str, drift: Drift, planned: Drift, s_mm: float) -> LastRow | None:
    now, before = drift.last_width(s_mm), planned.last_width(s_mm)
    return None if now is None or before is None else LastRow(side=side, planned_mm=before[0], mean_mm=now[0],
                                                              pm95_mm=Z95 * now[1])
