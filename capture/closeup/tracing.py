"""An outline clicked in a close-up, laid onto the edges beside the clicks: straight runs stay straight and round ones
round.

In: upright pixels, a view (`plane_pose`) and clicks in px, in order: corners, and between two corners the clicks an arc
runs through. Out: runs and corners on the floor, mm, with their covariance from clicks or edges and from the view
together. Height: how far what is traced stands above the floor. Method: along each run cuts across the picture's edge;
lines and circles are fitted on the floor by orthogonal least squares, and corners are the crossings of neighbouring
runs. Where no edge is clear the clicks themselves are used.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.image.edge_profiles import Array, Bools, changes_across
from capture.errors import CaptureError
from capture.closeup.plane_pose import Z95, View
from capture.language.messages import lazy_gettext

#: Half a cut, px, in clicks' standard deviations; and the part of a run left out at its ends, px: corners round an edge
#: off.
_REACH_IN_CLICKS, _LEAST_REACH_PX, _OFF_ENDS_PX = 3.0, 5.0, 4.0
#: Share of a run that must show a clear edge; cuts that count as one.
_LEAST_CLEAR, _SHARED_CUTS = 0.5, 3.0
#: What all of an edge is off together, and what each stretch of so many px is off for itself, px. No source; measured
#: on drawn casings.
_EDGE_SD_PX, _STRETCH_SD_PX, _STRETCH_PX = 0.07, 0.1, 8.0
#: A crossing farther from its click than this many reaches is not the corner meant.
_STRAY = 2.5
#: An arc is drawn with corners no farther off it than this, mm.
_SAGITTA_MM = 0.01
_MOST_CLICKS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Click:
    """A click on an outline, px; `on_arc`: it is no corner but a place the arc between its neighbours runs through."""

    x_px: float
    y_px: float
    on_arc: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Run:
    """A stretch between two corners: a line through foot_mm along `way`, or an arc about centre_mm (None for a line;
    radius_mm then 0).

    snapped: laid onto an edge. cov: how well it is known, the view apart: (2, 2) of a line's offset at its foot and its
    turn, mm and rad; (3, 3) of an arc's centre and radius, mm.
    """

    centre_mm: Array | None
    radius_mm: float
    foot_mm: Array
    way: Array
    snapped: bool
    cov: Array

    def sd_mm(self, place: Array) -> float:
        """How well it is known across itself beside a place, the view apart; the farther from where it was seen, the
        less."""
        row = self.across(place[None])[0]
        return float(np.sqrt(row @ self.cov @ row))

    def across(self, places: Array) -> Array:
        """(k, 2) or (k, 3) how far it moves across itself beside places (k, 2) by what `cov` is of."""
        if self.centre_mm is None:
            return np.column_stack([np.ones(len(places)), (places - self.foot_mm) @ self.way])
        away = places - self.centre_mm
        return np.column_stack([away / np.maximum(np.hypot(*away.T), 1e-9)[:, None], np.ones(len(places))])


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Outline:
    """A traced outline. corners_mm: (n, 2); runs: between them, one fewer unless closed; cov_mm2: (2n, 2n) of the
    corners.

    across_sd_mm: (n,) how well each corner is known square to the runs that meet there: where they run into one another
    smoothly nobody knows how far along the corner is, and the shape does not care. line_mm: (m, 2) the whole as a chain
    of points, arcs cut fine.
    """

    corners_mm: Array
    cov_mm2: Array
    across_sd_mm: Array
    runs: tuple[Run, ...]
    line_mm: Array
    closed: bool
    height_mm: float

    def pm95_mm(self) -> Array:
        """(n,) half width of the 95 % interval of the outline at each corner."""
        return Z95 * self.across_sd_mm


def trace(pixels: NDArray[np.uint8], view: View, clicks: Sequence[Click], *, closed: bool = False,
          height_mm: float = 0.0, click_px: float = 2.0, ground: Array | None = None) -> Outline:
    """The outline along the clicks. ground: (3,) light of the floor, which tells an edge from its shadow.

    Raises CaptureError (slug bad-outline-clicks) for clicks that make no outline.
    """
    spans = _spans(clicks, closed)
    px = np.array([[click.x_px, click.y_px] for click in clicks])
    floor = view.to_floor(px, height_mm)
    if not np.all(np.isfinite(floor)):
        raise CaptureError("bad-outline-clicks", lazy_gettext(
            "A click of the outline lies above the floor's horizon; click where the thing meets the floor."))
    tracer = _Tracer(pixels, view, height_mm, click_px, ground)
    runs = [tracer.run(px[span], floor[span]) for span in spans]
    corners = [k for k, click in enumerate(clicks) if not click.on_arc]
    return _joined(tracer, runs, floor[corners], closed)


def _spans(clicks: Sequence[Click], closed: bool) -> list[list[int]]:
    """For each run the numbers of its clicks: corner, places on the arc, corner. Raises CaptureError."""
    corners = [k for k, click in enumerate(clicks) if not click.on_arc]
    if len(corners) < (3 if closed else 2) or len(clicks) > _MOST_CLICKS:
        raise CaptureError("bad-outline-clicks", lazy_gettext(
            "An outline needs at least {least} clicked corners and at most {most} clicks; this one has "
            "{corners} corners: click every corner in order.", least=3 if closed else 2, most=_MOST_CLICKS,
            corners=len(corners)))
    if not closed and (clicks[0].on_arc or clicks[-1].on_arc):
        raise CaptureError("bad-outline-clicks", lazy_gettext(
            "The first and the last click of an outline must be corners; click where an arc begins and ends."))
    ends = [*corners[1:], *([corners[0] + len(clicks)] if closed else [])]
    return [[k % len(clicks) for k in range(start, end + 1)] for start, end in zip(corners, ends)]


class _Tracer:
    """Runs of one outline, one at a time."""

    def __init__(self, pixels: NDArray[np.uint8], view: View, height_mm: float, click_px: float,
                 ground: Array | None) -> None:
        self.pixels, self.view, self.height_mm, self.click_px, self.ground = pixels, view, height_mm, click_px, ground
        self.reach_px = max(_LEAST_REACH_PX, _REACH_IN_CLICKS * click_px)

    def run(self, px: Array, floor: Array) -> Run:
        """One run through its clicks, laid onto the edge beside them if there is one."""
        rough = _known(_fitted(floor, len(px) > 2), floor, self.click_px * self.mm_a_px(floor), 0.0)
        fine = self._on_edge(rough, px, floor[0], floor[-1])
        return rough if fine is None else fine

    def mm_a_px(self, floor: Array) -> float:
        by_px, _ = self.view.slopes(floor.mean(axis=0)[None], self.height_mm)
        return float(np.linalg.norm(by_px[0], 2))

    def _on_edge(self, rough: Run, px: Array, start: Array, end: Array) -> Run | None:
        """The run measured on its edge, twice; None if there is no clear one."""
        arc = len(px) > 2
        for reach in (self.reach_px, _LEAST_REACH_PX):
            places = self._edge_places(rough, start, end, reach)
            if places is None:
                return None
            at, scatter = places
            floor, mm_a_px = self.view.to_floor(at, self.height_mm), self.mm_a_px(np.array([start, end]))
            # Cuts sit a px apart.
            sd_px = np.hypot(2.0 * scatter * np.sqrt(_SHARED_CUTS), _STRETCH_SD_PX * np.sqrt(_STRETCH_PX))
            rough = replace(_known(_fitted(floor, arc), floor, sd_px * mm_a_px, _EDGE_SD_PX * mm_a_px), snapped=True)
        return rough

    def _edge_places(self, run: Run, start: Array, end: Array, reach: float) -> tuple[Array, float] | None:
        """(k, 2) px where the edge lies along a run, outliers left out, and their scatter."""
        line = self.view.to_px(_between(run, start, end, 200), self.height_mm)
        far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        off = min(_OFF_ENDS_PX + 0.05 * far[-1], 0.3 * far[-1])
        at = np.arange(off, far[-1] - off, 1.0)
        if len(at) < 6 or not np.all(np.isfinite(line)):
            return None
        spots = np.column_stack([np.interp(at, far, line[:, axis]) for axis in (0, 1)])
        ahead = np.gradient(spots, axis=0)
        ways = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
        found = changes_across(self.pixels, spots, ways, reach, ground=self.ground)
        return _kept(spots, ways, found.off_px, found.clear)


def _kept(spots: Array, ways: Array, off: Array, clear: Bools) -> tuple[Array, float] | None:
    """Places along a smooth edge: a parabola through them leaves out the stray ones."""
    share = np.linspace(-1.0, 1.0, len(off))
    kept = clear.copy()
    for _ in range(3):
        if np.sum(kept) < max(5, _LEAST_CLEAR * len(off)):
            return None
        beside = off - np.polyval(np.polyfit(share[kept], off[kept], 2), share)
        scatter = 1.4826 * float(np.median(np.abs(beside[kept]))) + 0.03
        kept = clear & (np.abs(beside) <= 3.0 * scatter)
    return (spots[kept] + off[kept, None] * ways[kept], scatter) if scatter < 2.0 else None


def _fitted(floor: Array, arc: bool) -> Run:
    """A line or a circle through places on the floor, by orthogonal least squares."""
    middle = floor.mean(axis=0)
    way = floor[-1] - floor[0]
    if not arc:
        way = np.linalg.svd(floor - middle)[2][0] if len(floor) > 2 else way
        way = way if way @ (floor[-1] - floor[0]) > 0 else -way
        return Run(centre_mm=None, radius_mm=0.0, foot_mm=middle, way=way / max(float(np.hypot(*way)), 1e-9),
                   snapped=False, cov=np.zeros((2, 2)))
    centre, radius = fit_circle(floor)
    return Run(centre_mm=centre, radius_mm=radius, foot_mm=middle, way=way, snapped=False, cov=np.zeros((3, 3)))


def _known(run: Run, places: Array, sd_mm: float, together_mm: float) -> Run:
    """The run with its covariance: places (k, 2) it was fitted to, each off by sd_mm for itself and all by
    together_mm."""
    rows = run.across(places)
    cov = np.asarray(np.linalg.pinv(rows.T @ rows, hermitian=True), dtype=np.float64) * sd_mm**2
    cov[0 if run.centre_mm is None else 2, 0 if run.centre_mm is None else 2] += together_mm**2
    return replace(run, cov=cov)


def fit_circle(places: Array) -> tuple[Array, float]:
    """Centre (2,) and radius of the circle through places (k, 2): algebraic start, then Gauss-Newton on distances."""
    middle = places.mean(axis=0)
    off = places - middle
    scale = max(float(np.max(np.abs(off))), 1e-9)
    design = np.column_stack([2 * off / scale, np.ones(len(off))])
    solved = np.linalg.lstsq(design, np.sum((off / scale) ** 2, axis=1), rcond=None)[0]
    x = np.array([*(solved[:2] * scale), scale * np.sqrt(max(solved[2] + solved[:2] @ solved[:2], 1e-12))])
    for _ in range(20):
        away = off - x[:2]
        far = np.maximum(np.hypot(*away.T), 1e-9)
        jac = np.column_stack([-away / far[:, None], -np.ones(len(off))])
        step = np.linalg.lstsq(jac, x[2] - far, rcond=None)[0]
        x = x + step
        if np.max(np.abs(step)) < 1e-9:
            break
    return middle + x[:2], float(abs(x[2]))


def _between(run: Run, start: Array, end: Array, count: int) -> Array:
    """(count, 2) places along a run from next to one place to next to another; an arc goes the way its clicks lie."""
    share = np.linspace(0.0, 1.0, count)
    if run.centre_mm is None:
        a, b = (onto(run, place) for place in (start, end))
        return a + share[:, None] * (b - a)
    turn = [np.arctan2(*(place - run.centre_mm)[::-1]) for place in (start, run.foot_mm, end)]
    sweep = (turn[2] - turn[0]) % (2 * np.pi)
    if (turn[1] - turn[0]) % (2 * np.pi) > sweep:
        sweep -= 2 * np.pi
    at = turn[0] + share * sweep
    return run.centre_mm + run.radius_mm * np.column_stack([np.cos(at), np.sin(at)])


def onto(run: Run, place: Array) -> Array:
    """The place on a run's line or circle nearest to a place."""
    if run.centre_mm is None:
        return run.foot_mm + ((place - run.foot_mm) @ run.way) * run.way
    away = place - run.centre_mm
    return run.centre_mm + run.radius_mm * away / max(float(np.hypot(*away)), 1e-9)


def _joined(tracer: _Tracer, runs: list[Run], clicked: Array, closed: bool) -> Outline:
    """The runs with their corners: crossings where neighbours cross near the click, else the middle of the two
    nearest places."""
    corners, spreads = [], []
    for k, place in enumerate(clicked):
        before = runs[k - 1] if k > 0 or closed else None
        after = runs[k] if k < len(runs) else None
        corner, spread = _corner(before, after, place, tracer.reach_px * tracer.mm_a_px(place[None]),
                                 tracer.click_px * tracer.mm_a_px(place[None]))
        corners.append(corner)
        spreads.append(spread)
    at = np.array(corners)
    cov = tracer.view.covariance(at, tracer.height_mm)
    for k, spread in enumerate(spreads):
        cov[2 * k:2 * k + 2, 2 * k:2 * k + 2] += spread
    across = np.array([_across_sd(cov[2 * k:2 * k + 2, 2 * k:2 * k + 2], at[k],
                                  [run for run in (runs[k - 1] if k > 0 or closed else None,
                                                   runs[k] if k < len(runs) else None) if run is not None])
                       for k in range(len(at))])
    line = [_arc_points(run, at[k], at[(k + 1) % len(at)]) for k, run in enumerate(runs)]
    last = at[:1] if closed else at[-1:]
    chain = np.concatenate([*line, *(() if closed else (last,))])
    return Outline(corners_mm=at, cov_mm2=cov, across_sd_mm=across, runs=tuple(runs), line_mm=chain, closed=closed,
                   height_mm=tracer.height_mm)


def _corner(
    before: Run | None, after: Run | None, place: Array, near_mm: float, click_mm: float
) -> tuple[Array, Array]:
    """Where two runs meet next to a click, and its (2, 2) covariance, the view apart."""
    if before is None or after is None:
        run = before if before is not None else after
        assert run is not None, "a corner has a run beside it"
        foot = onto(run, place)
        across = _normal_at(run, foot)
        return foot, _cov_of([(across, run.sd_mm(foot)), (np.array([-across[1], across[0]]), click_mm)])
    at = place
    for _ in range(30):
        feet = [onto(run, at) for run in (before, after)]
        normals = [_normal_at(run, foot) for run, foot in zip((before, after), feet)]
        lines = np.array(normals)
        if abs(np.linalg.det(lines)) < 0.17:
            # They run into one another smoothly: the click says how far along.
            middle = (onto(before, place) + onto(after, place)) / 2
            return middle, _cov_of([(normals[0], before.sd_mm(middle)),
                                    (np.array([-normals[0][1], normals[0][0]]), click_mm)])
        step = np.linalg.solve(lines, np.einsum("ki,ki->k", lines, np.array(feet) - at))
        at = at + step
        if np.hypot(*step) < 1e-9:
            break
    if np.hypot(*(at - place)) > _STRAY * near_mm:
        return place, click_mm**2 * np.eye(2)
    return at, _cov_of([(normals[0], before.sd_mm(at)), (normals[1], after.sd_mm(at))])


def _across_sd(cov: Array, place: Array, runs: Sequence[Run]) -> float:
    normals = [_normal_at(run, onto(run, place)) for run in runs]
    return float(np.sqrt(max(normal @ cov @ normal for normal in normals)))


def _normal_at(run: Run, foot: Array) -> Array:
    if run.centre_mm is None:
        return np.array([run.way[1], -run.way[0]])
    away = foot - run.centre_mm
    return away / max(float(np.hypot(*away)), 1e-9)


def _cov_of(known: list[tuple[Array, float]]) -> Array:
    """(2, 2) covariance of a place known along two directions, each to its own spread."""
    weight = np.sum([np.outer(way, way) / max(sd, 1e-3) ** 2 for way, sd in known], axis=0)
    return np.asarray(np.linalg.inv(weight), dtype=np.float64)


def _arc_points(run: Run, start: Array, end: Array) -> Array:
    """The run from one corner up to the next, which is left out."""
    if run.centre_mm is None:
        return start[None]
    step = 2.0 * np.arccos(max(0.0, 1.0 - _SAGITTA_MM / max(run.radius_mm, _SAGITTA_MM)))
    count = int(np.clip(np.ceil(2 * np.pi / max(step, 1e-3)), 8, 400))
    line = _between(run, start, end, count)
    # The circle and the corners differ by their own doubt: the arc is pulled onto its ends.
    share = np.linspace(0.0, 1.0, count)[:, None]
    return (line + (1 - share) * (start - line[0]) + share * (end - line[-1]))[:-1]
