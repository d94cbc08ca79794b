"""A virtual fitter: a true room that differs from its survey, laid row by row with a saw and a tape that err. For the
bench of the day.

Row frame of the laid rows, mm, from the plan: s along the rows, t away from the start wall. Walls are the survey's
corners moved by its covariance, each bowed to a parabola. Along the rows every first piece is cut to its length and
stands off the left wall by a spacer; every last piece is measured in its place. So side gaps err by hand work, and by
what an offcut was too short.
"""
from __future__ import annotations

import random
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from layout.region.slivers import CHIP_MM
from layout.plan import Plan, Run
from layout.region.rows import LONG_EDGE_SLOPE

Array = NDArray[np.float64]

CUT_SD, TAPE_SD, SPACER_SD, READ_SD = 1.0, 1.0, 1.0, 0.5
SPOILED = 0.03
BOW, WIDTH_OFF, LENGTH_OFF = 10.0, 0.1, 0.5
LEAST_GAP = 5.0
STEPS = 60


@dataclass(frozen=True, slots=True, eq=False)
class TrueRoom:
    """What the survey does not know. corners: (n, 2) in the plan; bows: how far each wall's middle stands into the
    room (mm)."""

    corners: Array
    bows: tuple[float, ...]
    width_mm: float

    def walls(self, plan: Plan) -> list[Array]:
        """(STEPS + 1, 2) places of every wall in the plan's row frame, before the rows are set out."""
        return [(points - np.array(plan.start_mm)) @ np.array([plan.u, plan.v]).T for points in self._walls(STEPS)]

    def outline(self, parts: int) -> Array:
        """Every wall in so many straight parts, anticlockwise in the plan; wall k begins at place k * parts."""
        return np.concatenate([points[:-1] for points in self._walls(parts)])

    def _walls(self, parts: int) -> list[Array]:
        share, found = np.linspace(0.0, 1.0, parts + 1)[:, None], []
        for k, bow in enumerate(self.bows):
            a, b = self.corners[k], self.corners[(k + 1) % len(self.corners)]
            step = b - a
            inward = np.array([-step[1], step[0]]) / np.hypot(*step)
            found.append(a + share * step + 4.0 * share * (1.0 - share) * bow * inward)
        return found


def draw_truth(rng: random.Random, outline: Array, sd_mm: float, width_mm: float) -> TrueRoom:
    """A room the survey may have meant."""
    off = np.array([[rng.gauss(0, sd_mm), rng.gauss(0, sd_mm)] for _ in outline])
    bows = tuple(rng.uniform(-BOW, BOW) for _ in outline)
    return TrueRoom(corners=outline + off, bows=bows, width_mm=width_mm + rng.uniform(-WIDTH_OFF, WIDTH_OFF))


@dataclass(slots=True, eq=False)
class Site:
    """The true walls as the laid rows see them, and what was laid. Gaps: (wall length, gap) of every stretch looked
    at."""

    plan: Plan
    room: TrueRoom
    walls: list[Array]
    start: int
    gaps: list[tuple[float, float]] = field(default_factory=list)

    def facing(self) -> list[int]:
        """Walls that face the rows, without the start wall."""
        return [k for k, wall in enumerate(self.walls) if k != self.start and _is_along(wall)]

    def t_at(self, s: float, beyond: float) -> float | None:
        """t of the first wall met at s beyond a t."""
        hits = [float(np.interp(s, *_ascending(self.walls[k]))) for k in self.facing()
                if self.walls[k][:, 0].min() <= s <= self.walls[k][:, 0].max()]
        return min((t for t in hits if t > beyond), default=None)

    def edge(self, row: int) -> float:
        """t of a laid row's far edge."""
        return self.plan.rows[0].far_mm + (row - 1) * self.room.width_mm

    def place(self, row: int, run: Run) -> float:
        """From wall to wall along a row, where it is longest in the stretch a planned run fills, mm; 0 where no
        floor is left for it."""
        s = [self.plan.to_row_frame(point)[0] for piece in run.pieces for point in piece.outline_mm]
        near, far = self.edge(row - 1) if row > 1 else 0.0, self.edge(row)
        found = [ends for t in (near + 3.0, (near + far) / 2, far - 3.0) for ends in self._ends(t)]
        left, right = min(found, key=lambda ends: abs(ends[0] - min(s)) + abs(ends[1] - max(s)), default=(0.0, 0.0))
        return right - left

    def _ends(self, t: float) -> list[tuple[float, float]]:
        """Stretches of floor along s at t, left to right."""
        places = sorted(float(s) for wall in self.walls for s in _crossings(wall, t))
        return list(zip(places[::2], places[1::2]))


def set_out(plan: Plan, room: TrueRoom, rng: random.Random, *, by_string: bool) -> tuple[Site, float]:
    """Row 1 laid along the start wall: straight against spacers at its bulge, or by a string so that its gap stays
    within bounds.

    Returns the site and how far the row's ends stand nearer to the start wall than planned, mm.
    """
    walls = room.walls(plan)
    start = min((k for k, wall in enumerate(walls) if _is_along(wall)), key=lambda k: float(walls[k][:, 1].mean()))
    s, t = _ascending(walls[start])
    chord = t[0] + (t[-1] - t[0]) * (s - s[0]) / (s[-1] - s[0])
    bulge = float((t - chord)[np.argmax(np.abs(t - chord))])
    off = bulge / 2 + 0.5 if by_string else max(0.0, bulge)
    ends = [chord[0] + off + plan.gap_mm + rng.gauss(0, SPACER_SD),
            chord[-1] + off + plan.gap_mm + rng.gauss(0, SPACER_SD)]
    line = ends[0] + (ends[1] - ends[0]) * (s - s[0]) / (s[-1] - s[0])
    read = float((line - t).min()) + rng.gauss(0, READ_SD)
    if by_string and read < LEAST_GAP + READ_SD:
        # Asked for: nowhere under 5 mm. The row is moved until that is read.
        more = LEAST_GAP + READ_SD - read
        ends, line, off = [end + more for end in ends], line + more, off + more
    site = Site(plan=plan, room=room, walls=[_seen(wall, s[0], ends[0], (ends[1] - ends[0]) / (s[-1] - s[0]))
                                             for wall in walls], start=start)
    step = float(s[-1] - s[0]) / STEPS
    site.gaps += [(step, float(gap)) for gap in line - t]
    return site, -off


def _seen(wall: Array, s0: float, t0: float, slope: float) -> Array:
    """A wall as the laid rows see it: row 1's near edge is their t = 0."""
    return np.stack([wall[:, 0], wall[:, 1] - t0 - slope * (wall[:, 0] - s0)], axis=1)


def rip_along(site: Site, rng: random.Random, gap_mm: float, *, in_place: bool, planned: Plan) -> tuple[float, int]:
    """Boards along every facing wall ripped: measured at both ends of each, or as printed. Adds the gaps; (least
    width, row of it)."""
    least, at_row = float("inf"), 0
    for k in site.facing():
        s, t = _ascending(site.walls[k])
        for row in range(1, len(planned.rows) + 2):
            near = site.edge(row - 1) if row > 1 else 0.0
            # At its very ends a wall stands beside the floor's own side gaps.
            here = (
                (t - gap_mm > near) & (t - gap_mm <= site.edge(row) + 1e-9) & (s > s[0] + gap_mm) & (s < s[-1] - gap_mm)
            )
            if not here.any():
                continue
            if float((t[here] - gap_mm - near).max()) < CHIP_MM:
                # Too thin to saw: left to the gap.
                site.gaps += [(float(s[-1] - s[0]) / STEPS, float(gap)) for gap in t[here] - near]
                continue
            for lo, hi in _boards(planned, row, float(s[here].min()), float(s[here].max())):
                inside = here & (s >= lo) & (s <= hi)
                if inside.sum() < 2:
                    continue
                widths = _ripped(site, planned, row, s[inside], t[inside], near, gap_mm, rng, in_place)
                site.gaps += [(float(s[-1] - s[0]) / STEPS, float(gap)) for gap in t[inside] - near - widths]
                if float(widths.min()) < least and s[inside][-1] - s[inside][0] > 50:
                    least, at_row = float(widths.min()), row
    return least, at_row


def _ripped(site: Site, planned: Plan, row: int, s: Array, t: Array, near: float, gap_mm: float, rng: random.Random,
            in_place: bool) -> Array:
    """Width of a board along the wall: along the line between its two measured ends, or as the plan has it."""
    if in_place:
        a, b = (float(t[k]) - gap_mm - near + rng.gauss(0, CUT_SD) for k in (0, -1))
        return a + (b - a) * (s - s[0]) / max(float(s[-1] - s[0]), 1e-9)
    edge = np.array([_cover_edge(planned, x, row) for x in s]) - planned.rows[min(row, len(planned.rows)) - 1].near_mm
    return np.minimum(edge + rng.gauss(0, CUT_SD), site.room.width_mm)


def _cover_edge(plan: Plan, s: float, row: int) -> float:
    """t where the planned cover ends in a row at s: a whole board's width where it ends in none."""
    near = plan.rows[min(row, len(plan.rows)) - 1].near_mm
    best = near
    for part in plan.cover:
        ring = np.array([plan.to_row_frame(point) for point in part.outline])
        for a, b in zip(ring, np.roll(ring, -1, axis=0)):
            if min(a[0], b[0]) <= s <= max(a[0], b[0]) and abs(b[0] - a[0]) > 1e-9:
                t = float(a[1] + (b[1] - a[1]) * (s - a[0]) / (b[0] - a[0]))
                if near < t <= near + plan.board.width_mm + 1.0:
                    best = max(best, t)
    return best if best > near else near + plan.board.width_mm


def _boards(plan: Plan, row: int, lo: float, hi: float) -> list[tuple[float, float]]:
    """Stretches of s that one board covers in a row."""
    pieces = plan.rows[min(row, len(plan.rows)) - 1].pieces
    cuts = sorted({min(plan.to_row_frame(point)[0] for point in piece.outline_mm) for piece in pieces} | {lo, hi})
    return [(a, b) for a, b in zip(cuts, cuts[1:]) if b > lo and a < hi]


def _is_along(wall: Array) -> bool:
    step = wall[-1] - wall[0]
    return bool(abs(step[1]) < LONG_EDGE_SLOPE * abs(step[0]))


def _ascending(wall: Array) -> tuple[Array, Array]:
    return (wall[:, 0], wall[:, 1]) if wall[-1, 0] > wall[0, 0] else (wall[::-1, 0], wall[::-1, 1])


def _crossings(wall: Array, t: float) -> list[float]:
    over = wall[:, 1] > t
    where = np.flatnonzero(over[:-1] != over[1:])
    return [float(wall[k, 0] + (wall[k + 1, 0] - wall[k, 0]) * (t - wall[k, 1]) / (wall[k + 1, 1] - wall[k, 1]))
            for k in where]


def could_be_wide(site: Site, narrowest_mm: float, gap_mm: float) -> bool:
    """Whether any first row would have left the first and the last row wide enough in this very room."""
    reach = [float(site.walls[k][:, 1].min()) - gap_mm for k in site.facing()] + [float(site.walls[k][:, 1].max())
                                                                                  - gap_mm for k in site.facing()]
    near, far = min(reach), max(reach)
    if len(site.facing()) != 1:
        return False
    width = site.room.width_mm
    for first in np.arange(narrowest_mm, width + 0.5, 1.0):
        whole = (near - first - 1e-9) // width * width
        if near - first - whole >= narrowest_mm and far - first - whole <= width:
            return True
    return False

