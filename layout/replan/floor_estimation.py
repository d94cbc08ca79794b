"""What the floor tells while it is laid: true cover width, where the far walls stand, how the rows have drifted and
turned.

Row frame of the plan, mm: the laid rows are what is held fixed (they cannot move); walls move against them. Parameters:
s and t of every floor point, how far row 1 lies off its place at its two ends, the true cover width, and the bow of
every wall that faces the rows. Prior: the survey's covariance seen from the start wall; the tolerances of EN 13329 for
width (mean within 0.10 mm) and joint opening (mean at most 0.15 mm), both taken as uniform; walls finished to DIN 18202
table 3 row 6 (10 mm in 4 m) taken as 2.5 sd of bow; 1 mm for setting out each end of row 1 and 1.5 mm for skirting and
plumb (common practice, no source). Readings: distances from a row's far edge to the wall, the tape's own spread each.
Estimate: linear least squares in its covariance form (the prior may be singular), x = x0 + P A' (A P A' + R)^-1 (d - A
x0). A reading more than 3.29 sd from what is expected (Baarda 1968, alpha 0.001) is left out until a second one agrees
with it.
"""
from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from capture.floor import Z95, Floor
from layout.plan import Plan
from layout.room import Room
from layout.region.baseline import ALONG_SLOPE, edges_of, start_line, start_walls

Array = NDArray[np.float64]

WIDTH_SD_MM = (0.10 ** 2 / 3 + 0.15 ** 2 / 12) ** 0.5
BOW_SD_MM = 4.0
SETTING_SD_MM, WALL_SD_MM, TAPE_SD_MM = 1.0, 1.5, 1.0
#: A survey that claims to be exact is believed to this, one standard deviation, mm.
EXACT_SD_MM = 2.0
CRITICAL = 3.29
#: Two readings left out agree if what they say more than expected differs by less than this, mm.
AGREE_MM = 6.0
#: How far behind a planned edge a wall may be planned that the rows now reach, mm.
BEHIND_MM = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A distance from the far edge of a row (0: from the wall before row 1) to the first wall met, at s, mm. entry:
    which log entry it stands in."""

    row: int
    s_mm: float
    distance_mm: float
    entry: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """The laid rows were pushed towards the start wall (negative: away) by so much, mm, all together."""

    towards_start_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """A reading beside what was expected before it: mm, half a 95 % interval, and whether it is left out for now."""

    reading: Reading
    expected_mm: float
    pm95_mm: float
    left_out: bool


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Drift:
    """The estimate. x: parameters' shifts off the plan, cov: their covariance; verdicts: the readings, each against
    those before it.

    start: the two corners of the line row 1 is laid along, which keep their place; begin: the walls that lie in it.
    Order of parameters: s, t of every floor point, two for row 1, one for cover width, one for every facing wall's bow.
    """

    plan: Plan
    floor: Floor
    places: Array = field(repr=False)
    walls: tuple[tuple[int, int], ...]
    start: tuple[int, int]
    begin: tuple[tuple[int, int], ...]
    x: Array = field(repr=False)
    cov: Array = field(repr=False)
    verdicts: tuple[Verdict, ...] = ()

    @property
    def cover_width(self) -> tuple[float, float]:
        """True cover width of a board and its sd, mm."""
        k = 2 * len(self.places) + 2
        return self.plan.board.width_mm + float(self.x[k]), float(self.cov[k, k]) ** 0.5

    def ahead(self, row: int, s_mm: float) -> tuple[float, float] | None:
        """Distance from a row's far edge to the wall at s, and its sd, mm; None where no wall faces it."""
        line = _line(self, row, s_mm)
        if line is None:
            return None
        base, slope = line
        return base + float(slope @ self.x), max(float(slope @ self.cov @ slope), 0.0) ** 0.5

    def expected(self, row: int, s_mm: float) -> tuple[float, float] | None:
        """What a tape should show from a row's far edge to the wall at s, and half its 95 % interval, the tape's own
        spread included, mm.

        The one figure that the printed page and the day both tell.
        """
        found = self.ahead(row, s_mm)
        return None if found is None else (found[0], Z95 * (found[1] ** 2 + TAPE_SD_MM ** 2) ** 0.5)

    def last_width(self, s_mm: float, row: int | None = None) -> tuple[float, float] | None:
        """Width of the last row (or of another) at s if it is ripped to leave the plan's gap, and its sd, mm."""
        found = self.ahead((row or len(self.plan.rows)) - 1, s_mm)
        return None if found is None else (found[0] - self.plan.gap_mm, found[1])

    def turn_rad(self) -> tuple[float, float] | None:
        """How far the wall that faces most of the rows has turned against them since the plan, and its sd, rad; None
        with no such wall."""
        if not self.walls:
            return None
        i, j = max(self.walls, key=lambda wall: abs(self.places[wall[1], 0] - self.places[wall[0], 0]))
        slope = np.zeros(len(self.x))
        span = self.places[j, 0] - self.places[i, 0]
        for point, sign in ((j, 1.0), (i, -1.0)):
            slope += sign * _point_t(self, point) / span
        return float(slope @ self.x), max(float(slope @ self.cov @ slope), 0.0) ** 0.5

    def moved(self) -> Array:
        """(n,) how far t of every floor point has moved in the plan's own row frame, where every board is as wide as
        planned, mm.

        A wider board is a nearer wall: t - first row is scaled by planned over true width. A bowed wall is drawn
        straight where it is on average.
        """
        first, width = self.plan.rows[0].far_mm, self.plan.board.width_mm
        t = self.places[:, 1] + np.array([float((_point_t(self, k) + _mean_bow(self, k)) @ self.x)
                                          for k in range(len(self.places))])
        seen = np.where(t > first, first + (t - first) * width / self.cover_width[0], t)
        return seen - self.places[:, 1]


def floor_now(drift: Drift, room: Room) -> Floor:
    """The floor as it is now known: corners as in `room`, with the estimate's covariance, seen from the start wall.
    Plan frame, mm."""
    n, turn = len(drift.places), np.array([drift.plan.u, drift.plan.v])
    seen = np.zeros((2 * n, len(drift.x)))
    for k in range(n):
        seen[2 * k, 2 * k] = 0.0 if k in drift.start else 1.0
        seen[2 * k + 1] = _point_t(drift, k)
    back = np.kron(np.eye(n), turn.T)
    points = np.array(drift.floor.points_mm)
    known = dict(zip(room.names, np.asarray(room.outline_mm))) | {pipe.name: np.array(pipe.centre_mm)
                                                                  for pipe in room.pipes}
    known |= {corner: place for island in drift.floor.islands for name, ring in room.islands if name == island.name
              for corner, place in zip(island.corners, ring)}
    for k, name in enumerate(drift.floor.names):
        points[k] = known.get(name, points[k])
    return replace(drift.floor, points_mm=points, cov_mm2=back @ seen @ drift.cov @ seen.T @ back.T,
                   gauge="the laid rows")


def estimate(plan: Plan, floor: Floor, readings: Sequence[Reading | Push]) -> Drift:
    """What these readings (and pushes), in their order, tell about the floor a plan was made for."""
    drift = _prior(plan, floor)
    waiting: list[tuple[Verdict, float]] = []
    for reading in readings:
        if isinstance(reading, Push):
            drift, waiting = _pushed(drift, reading), []
            continue
        verdict, misfit = _against(drift, reading)
        if verdict is None:
            continue
        friends = [held for held in waiting if verdict.left_out and held[0].reading.entry != reading.entry
                   and abs(held[1] - misfit) < AGREE_MM]
        taken = [friend[0].reading for friend in friends] + ([reading] if friends or not verdict.left_out else [])
        if verdict.left_out and not friends:
            waiting.append((verdict, misfit))
        believed = _loosened(drift) if friends else drift
        drift = _with_verdict(_updated(believed, taken), _seen(verdict, bool(friends)),
                              [friend[0] for friend in friends])
        waiting = [held for held in waiting if held not in friends]
    return drift


def middles(plan: Plan, row: int) -> tuple[float, float]:
    """s of the middle of a row's first and last piece: where distances are asked for."""
    row = max(row, 1)
    pieces = plan.rows[row - 1].pieces
    spans = [[plan.to_row_frame(point)[0] for point in piece.outline_mm] for piece in (pieces[0], pieces[-1])]
    return (min(spans[0]) + max(spans[0])) / 2, (min(spans[1]) + max(spans[1])) / 2


def edge_of(plan: Plan, row: int) -> float:
    """t of a row's far edge as planned; of the start wall for row 0."""
    return plan.rows[row - 1].far_mm if row else -plan.gap_mm


def _prior(plan: Plan, floor: Floor) -> Drift:
    turn = np.array([plan.u, plan.v])
    places = (floor.points_mm - np.array(plan.start_mm)) @ turn.T
    n = len(places)
    start, begin = start_line(plan, floor), start_walls(plan, floor)
    walls = tuple(edge for edge in edges_of(floor) if edge not in begin and _faces(places, edge))
    size = 2 * n + 3 + len(walls)
    cov = np.zeros((size, size))
    spread = np.kron(np.eye(n), turn)
    seen = _from_start(places, start) @ spread
    cov[:2 * n, :2 * n] = seen @ floor.cov_mm2 @ seen.T
    sd = WALL_SD_MM if floor.cov_mm2.any() else EXACT_SD_MM
    still = {2 * k + axis for k in start for axis in (0, 1)}
    for k in range(2 * n):
        cov[k, k] += 0.0 if k in still else sd ** 2
    cov[range(2 * n, size),
        range(2 * n, size)] = [SETTING_SD_MM ** 2] * 2 + [WIDTH_SD_MM ** 2] + [BOW_SD_MM ** 2] * len(walls)
    return Drift(plan=plan, floor=floor, places=places, walls=walls, start=start, begin=begin, x=np.zeros(size),
                 cov=cov)


def _from_start(places: Array, start: tuple[int, int]) -> Array:
    """(2n, 2n): movements of all points, to movements as seen from the start line, which keeps its place (first
    order)."""
    n, (a, b) = len(places), start
    seen = np.eye(2 * n)
    span = places[b, 0] - places[a, 0]
    turn = np.zeros(2 * n)
    turn[2 * b + 1], turn[2 * a + 1] = 1.0 / span, -1.0 / span
    for k in range(n):
        seen[2 * k, 2 * a] -= 1.0
        seen[2 * k] += turn * (places[k, 1] - places[a, 1])
        seen[2 * k + 1, 2 * a + 1] -= 1.0
        seen[2 * k + 1] -= turn * (places[k, 0] - places[a, 0])
    return seen


def _faces(places: Array, edge: tuple[int, int]) -> bool:
    step = places[edge[1]] - places[edge[0]]
    return bool(abs(step[0]) > 1.0 and abs(step[1]) < ALONG_SLOPE * abs(step[0]))


def _line(drift: Drift, row: int, s_mm: float) -> tuple[float, Array] | None:
    """(distance as planned, its slope in every parameter) from a row's far edge to the first wall met at s.

    For row 0 it is the distance from wall to wall: beside the start wall another wall may be the one the tape begins
    at.
    """
    plan, n = drift.plan, len(drift.places)
    found = list(_walls_at(drift, s_mm))
    begins = min((wall for wall in found if wall[3] and not wall[4]), key=lambda wall: wall[0],
                 default=None) if row == 0 else None
    edge_t = begins[0] if begins else edge_of(plan, row)
    # Walls that close the room off may have come nearer than the edge was planned to lie.
    ahead = [wall for wall in found if wall[1] not in drift.begin and wall[0] > edge_t
             - (BEHIND_MM if wall[3] and wall[4] else -1.0)]
    if not ahead:
        return None
    t, edge, share, _, _ = min(ahead, key=lambda wall: wall[0])
    slope = _wall_t(drift, edge, share)
    if begins:
        slope -= _wall_t(drift, begins[1], begins[2])
    if row:
        slope[2 * n:2 * n + 2] = _ends(drift, s_mm)
        slope[2 * n + 2] = -(row - 1.0)
    return t - edge_t, slope


def _walls_at(drift: Drift, s_mm: float) -> Iterator[tuple[float, tuple[int, int], float, bool, bool]]:
    """Walls met at s: t, the wall, s as a share of it, whether it is the room's own (no island's), and whether it
    closes the room off (it then runs from left to right)."""
    places, outer = drift.places, len(drift.floor.outline)
    for number, (i, j) in enumerate(edges_of(drift.floor)):
        lo, hi = sorted((places[i, 0], places[j, 0]))
        if lo <= s_mm <= hi and hi - lo >= 1e-9:
            share = float((s_mm - places[i, 0]) / (places[j, 0] - places[i, 0]))
            yield float(places[i, 1] + share * (places[j, 1] - places[i, 1])), (i,
                                                                                j), share, number < outer, bool(
                places[j, 0] > places[i, 0])


def _wall_t(drift: Drift, edge: tuple[int, int], share: float) -> Array:
    """How t of a wall, at a share of its length, changes with every parameter."""
    (i, j), places = edge, drift.places
    slope = np.zeros(len(drift.x))
    slant = float((places[j, 1] - places[i, 1]) / (places[j, 0] - places[i, 0]))
    for point, part in ((i, 1.0 - share), (j, share)):
        slope[2 * point], slope[2 * point + 1] = -slant * part, part
    if edge in drift.walls:
        slope[2 * len(places) + 3 + drift.walls.index(edge)] = 4.0 * share * (1.0 - share)
    return slope


def _ends(drift: Drift, s_mm: float) -> tuple[float, float]:
    """Shares of row 1's two ends at s."""
    a, b = (float(drift.places[k, 0]) for k in drift.start)
    share = (s_mm - a) / (b - a)
    return 1.0 - share, share


def _point_t(drift: Drift, point: int) -> Array:
    """How t of a floor point, as the rows see it, changes with every parameter. Points of the start wall keep their
    place."""
    n = len(drift.places)
    slope = np.zeros(len(drift.x))
    if point not in drift.start:
        slope[2 * point + 1] = 1.0
        slope[2 * n:2 * n + 2] = _ends(drift, float(drift.places[point, 0]))
    return slope


def _mean_bow(drift: Drift, point: int) -> Array:
    """How the bows of the facing walls that end at a point move it, where walls are drawn straight: a parabola's
    mean is 2/3 of its height."""
    slope = np.zeros(len(drift.x))
    mine = [k for k, wall in enumerate(drift.walls) if point in wall]
    for k in mine if point not in drift.start else ():
        slope[2 * len(drift.places) + 3 + k] = 2.0 / 3.0 / len(mine)
    return slope


def _against(drift: Drift, reading: Reading) -> tuple[Verdict | None, float]:
    found = drift.ahead(reading.row, reading.s_mm)
    if found is None:
        return None, 0.0
    expected, sd = found
    spread = (sd ** 2 + TAPE_SD_MM ** 2) ** 0.5
    misfit = reading.distance_mm - expected
    return Verdict(reading=reading, expected_mm=expected, pm95_mm=Z95 * spread,
                   left_out=abs(misfit) > CRITICAL * spread), misfit


def _updated(drift: Drift, readings: Sequence[Reading]) -> Drift:
    x, cov = drift.x, drift.cov
    for reading in readings:
        line = _line(drift, reading.row, reading.s_mm)
        if line is None:
            continue
        base, slope = line
        gain = cov @ slope / (float(slope @ cov @ slope) + TAPE_SD_MM ** 2)
        x = x + gain * (reading.distance_mm - base - float(slope @ x))
        cov = cov - np.outer(gain, slope @ cov)
    return replace(drift, x=x, cov=(cov + cov.T) / 2)


def _pushed(drift: Drift, push: Push) -> Drift:
    """Seen from the rows every wall has come nearer to the start, or gone further from it."""
    x, cov, n = drift.x.copy(), drift.cov.copy(), len(drift.places)
    for k in (2 * n, 2 * n + 1):
        x[k] += push.towards_start_mm
        cov[k, k] += SETTING_SD_MM ** 2
    return replace(drift, x=x, cov=cov)


def _loosened(drift: Drift) -> Drift:
    """Walls are far from where they were thought: the survey is no longer believed to more than a few centimetres."""
    cov = drift.cov.copy()
    for k in range(len(drift.places)):
        if k not in drift.start:
            cov[2 * k + 1, 2 * k + 1] += 30.0 ** 2
    return replace(drift, cov=cov)


def _seen(verdict: Verdict, confirmed: bool) -> Verdict:
    return replace(verdict, left_out=False) if confirmed else verdict


def _with_verdict(drift: Drift, verdict: Verdict, confirmed: Sequence[Verdict]) -> Drift:
    earlier = [_seen(old, True) if old in confirmed else old for old in drift.verdicts]
    return replace(drift, verdicts=(*earlier, verdict))
