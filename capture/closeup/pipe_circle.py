"""A pipe in a close-up: its centre on the floor and its outside diameter, from clicks on the curve where it meets the
floor.

A circle on the floor is an ellipse in the picture; here the circle itself is fitted, on the floor, to places on the
visible part of its edge (the front half, as a rule). A pipe stands plumb, so its two straight outlines are seen in the
directions of the two upright planes through the camera that touch it: clicks on them, at whatever height, tell the
diameter and not the centre, for a pipe may lean. Doubt: of the edges and of the view together. Not done: pipes that run
along the floor, and collars, which hide where a pipe stands.
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.image.edge_profiles import Array
from capture.camera import px_to_rays, rotation_matrix
from capture.errors import CaptureError
from capture.image.step_edge import find_steps
from capture.closeup.tracing import fit_circle
from capture.closeup.plane_pose import VIEW, View
from capture.language.messages import lazy_gettext

#: How far a pipe leans from plumb, one standard deviation, rad; at what height its outlines are clicked, mm (common
#: practice, no source).
_LEAN_RAD, _CLICKED_AT_MM = float(np.radians(1.0)), 50.0
#: What a place on an edge is off for itself, and what all of an edge's places are off together, px: a glint, the dark
#: ring of a hole. Streaks of the floor and shade on a round thing are some parts of 255 of light, so they count the
#: more, the weaker the change of light across the edge is. No source; measured on drawn pipes with known edges.
_PLACE_PX, _EDGE_SHIFT_PX, _SHADE_PX = 0.1, 0.25, 20.0
#: Along a straight outline colours stay the same, so shade there is off together.
_SIDE_SHADE_PX = 8.0
#: A change of light weaker than this, of 255, is no edge of a pipe to go by.
_FAINTEST = 8.0
#: Clicks that lie off a fitted edge by so many of their standard deviations (root mean square) were made on another
#: edge.
_STRAY_CLICKS = 1.7
_LEAST_REACH_PX, _REACH_IN_CLICKS = 7.0, 4.0
#: A ring is looked at in so many sectors, a straight outline in so many stretches, of so many cuts each, and this share
#: must show an edge.
_SECTORS, _STRETCHES, _CUTS, _LEAST_CLEAR = 9, 4, 12, 0.55
#: Pipes of a room, mm.
_THINNEST_MM, _THICKEST_MM = 4.0, 130.0
#: Steps for derivatives by the view's parameters: rad, mm, log, -, -, px.
_STEPS = np.array([1e-6] * 3 + [1e-3] * 3 + [1e-6] * 3 + [1e-3] * 2)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ring:
    """A pipe: centre (2,), mm, diameter, and cov (3, 3) of centre x, centre y and diameter. seen_rad: how much of the
    circle was seen; snapped: laid onto edges; by_sides: its straight outlines were used."""

    centre_mm: Array
    diameter_mm: float
    cov: Array
    seen_rad: float
    snapped: bool
    by_sides: bool

    @property
    def diameter_sd_mm(self) -> float:
        """Standard deviation of the diameter."""
        return float(np.sqrt(self.cov[2, 2]))


def fit_ring(pixels: NDArray[np.uint8], view: View, clicks_px: Array, *, sides_px: Sequence[Array] = (),
             height_mm: float = 0.0, click_px: float = 2.0) -> Ring:
    """The pipe whose edge on the floor (or `height_mm` above it) was clicked at (k, 2) px, k at least 3.

    sides_px: two clicks (2, 2) on each of its straight outlines. Raises CaptureError (slug bad-ring-clicks).
    """
    if len(clicks_px) < 3:
        raise CaptureError("bad-ring-clicks", lazy_gettext(
            "A pipe needs at least three clicks on the curve where it meets the floor, and has {count}; click at "
            "its left, front and right.", count=len(clicks_px)))
    floor = view.to_floor(clicks_px, height_mm)
    if not np.all(np.isfinite(floor)):
        raise CaptureError("bad-ring-clicks", lazy_gettext(
            "A click on the pipe lies above the floor's horizon; click where the pipe meets the floor."))
    sides = [_side_places(pixels, np.asarray(side, dtype=float), click_px) for side in sides_px]
    centre, radius = fit_circle(floor)
    _refuse_size(2 * radius)
    rough, _ = _Fit(view, _clicked(clicks_px, click_px), sides, height_mm).solve(np.array([*centre, radius]))
    _refuse_size(2 * rough[2])
    edge = _on_edge(pixels, view, rough, floor, sides, height_mm, click_px)
    fit = _Fit(view, edge or _clicked(clicks_px, click_px), sides, height_mm)
    x, cov = fit.solve(rough)
    if edge is not None and _strays(view, x, floor, click_px, height_mm):
        # An edge that the clicks do not lie on is another one: a glint, or the far rim of a hole in the floor.
        sides = [_clicked(np.asarray(side, dtype=float), click_px) for side in sides_px]
        edge, fit = None, _Fit(view, _clicked(clicks_px, click_px), sides, height_mm)
        x, cov = fit.solve(rough)
    _refuse_size(2 * x[2])
    seen = _seen_rad(view.to_floor(fit.ring.places_px, height_mm) - x[:2])
    to_diameter = np.diag([1.0, 1.0, 2.0])
    return Ring(centre_mm=x[:2], diameter_mm=float(2 * x[2]), cov=to_diameter @ cov @ to_diameter, seen_rad=seen,
                snapped=edge is not None, by_sides=bool(sides))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Edge:
    """Places (k, 2) px on one edge, the spread (k,) of each, and by how much all of them may be off together, px."""

    places_px: Array
    sd_px: Array
    shift_px: float


def _clicked(places_px: Array, click_px: float) -> _Edge:
    return _Edge(places_px=places_px, sd_px=np.full(len(places_px), click_px), shift_px=0.3 * click_px)


def _measured(pixels: NDArray[np.uint8], bands: list[tuple[Array, Array]], reach_px: float,
              shade_px: float = 0.0) -> _Edge | None:
    """The edge on bands of cuts along it, a place a band; None if too few of them show one. shade_px: what shade
    does to all of it together."""
    places, spreads, changes = [], [], []
    for (spots, ways), step in zip(bands, find_steps(pixels, bands, reach_px)):
        if step is None or (change := float(np.linalg.norm(step.change))) < _FAINTEST:
            continue
        places.append(np.mean(spots + step.off_px * ways, axis=0))
        spreads.append(np.linalg.norm([_PLACE_PX, _SHADE_PX / change, step.sd_px]))
        changes.append(change)
    if len(places) < _LEAST_CLEAR * len(bands):
        return None
    shift = float(np.hypot(_EDGE_SHIFT_PX, shade_px / np.median(changes)))
    return _Edge(places_px=np.array(places), sd_px=np.array(spreads), shift_px=shift)


def _strays(view: View, x: Array, floor: Array, click_px: float, height_mm: float) -> bool:
    """Whether the clicks (k, 2) on the floor lie farther off a circle than clicks do."""
    off = np.hypot(*(floor - x[:2]).T) - x[2]
    return float(np.sqrt(np.mean(off**2))) > _STRAY_CLICKS * click_px * _mm_a_px(view, x[:2], height_mm)


def _mm_a_px(view: View, place: Array, height_mm: float) -> float:
    by_px, _ = view.slopes(place[None], height_mm)
    return float(np.sqrt(abs(np.linalg.det(by_px[0]))))


def _refuse_size(diameter_mm: float) -> None:
    if not _THINNEST_MM <= diameter_mm <= _THICKEST_MM:
        raise CaptureError("bad-ring-clicks", lazy_gettext(
            "The clicks lie on a circle {diameter:.0f} mm across, which is no pipe of a room; click on the curve "
            "where the pipe meets the floor, at its left, front and right.", diameter=diameter_mm))


def _seen_rad(away: Array) -> float:
    """The part of a circle its places (k, 2), seen from the centre, go round: all but the largest gap."""
    turn = np.sort(np.arctan2(away[:, 1], away[:, 0]))
    return float(2 * np.pi - np.max(np.diff(np.concatenate([turn, turn[:1] + 2 * np.pi]))))


def _on_edge(pixels: NDArray[np.uint8], view: View, rough: Array, floor: Array, sides: list[_Edge], height_mm: float,
             click_px: float) -> _Edge | None:
    """The edge of the clicked part of a rough circle, or None if it is not clear."""
    turn = np.sort(np.arctan2(*(floor - rough[:2])[:, ::-1].T))
    gaps = np.diff(np.concatenate([turn, turn[:1] + 2 * np.pi]))
    k = int(np.argmax(gaps))
    start, sweep = turn[(k + 1) % len(turn)], 2 * np.pi - gaps[k]
    x = rough
    for reach in (max(_LEAST_REACH_PX, _REACH_IN_CLICKS * click_px), _LEAST_REACH_PX):
        found = _measured(pixels, _ring_bands(view, x, start + np.linspace(0.02, 0.98, _SECTORS * _CUTS) * sweep,
                                              height_mm), reach)
        if found is None:
            return None
        x, _ = _Fit(view, found, sides, height_mm).solve(x)
        if not 0.6 * rough[2] < x[2] < 1.6 * rough[2]:
            return None
    return found


def _ring_bands(view: View, x: Array, turn: Array, height_mm: float) -> list[tuple[Array, Array]]:
    """Cuts across a circle, sector by sector: a round thing changes its shade all round."""
    out = np.column_stack([np.cos(turn), np.sin(turn)])
    spots, ahead = (view.to_px(x[:2] + r * out, height_mm) for r in (x[2], x[2] + 0.5))
    ways = (ahead - spots) / np.maximum(np.hypot(*(ahead - spots).T), 1e-9)[:, None]
    return [(spots[part], ways[part]) for part in np.array_split(np.arange(len(turn)), _SECTORS)]


def _side_places(pixels: NDArray[np.uint8], ends_px: Array, click_px: float) -> _Edge:
    """A straight outline between two clicks: its edge, or the clicks where that is not clear."""
    along = ends_px[1] - ends_px[0]
    length = float(np.hypot(*along))
    if length > 8.0:
        way = np.array([along[1], -along[0]]) / length
        spots = ends_px[0] + np.linspace(0.1, 0.9, _STRETCHES * _CUTS)[:, None] * along
        bands = [(part, np.tile(way, (_CUTS, 1))) for part in np.split(spots, _STRETCHES)]
        found = _measured(pixels, bands, max(_LEAST_REACH_PX, _REACH_IN_CLICKS * click_px), _SIDE_SHADE_PX)
        if found is not None:
            return found
    return _clicked(ends_px, click_px)


class _Fit:
    """Least squares for (centre x, centre y, radius); the view's own doubt is carried through by its derivatives."""

    def __init__(self, view: View, ring: _Edge, sides: list[_Edge], height_mm: float) -> None:
        self.view, self.ring, self.sides, self.height_mm = view, ring, sides, height_mm

    def residuals(self, x: Array, view: View) -> Array:
        """Distances in mm of what was seen from where it should be. x: centre, radius, lean of the outlines (2),
        then the shift of each edge."""
        away = view.to_floor(self.ring.places_px, self.height_mm) - x[:2]
        rows = [np.hypot(*away.T) - x[2]]
        eye = view.eye_mm[:2]
        for edge in self.sides:
            rays = px_to_rays(edge.places_px, np.full(len(edge.places_px), view.focal_px), view.bend,
                              view.centre_px) @ view.rotation
            ways = rays[:, :2] / np.maximum(np.hypot(*rays[:, :2].T), 1e-12)[:, None]
            off = ways[:, 0] * (x[1] + x[4] - eye[1]) - ways[:, 1] * (x[0] + x[3] - eye[0])
            rows.append(np.abs(off) - x[2])
        return np.concatenate([row - x[5 + k] for k, row in enumerate(rows)])

    def solve(self, start: Array) -> tuple[Array, Array]:
        """(3,) the circle and its (3, 3) covariance, widened if the edges contradict one another."""
        mm_a_px = _mm_a_px(self.view, start[:2], self.height_mm)
        edges = (self.ring, *self.sides)
        beside = np.array([*np.full(2, _LEAN_RAD * _CLICKED_AT_MM), *(edge.shift_px * mm_a_px for edge in edges)])
        sd = np.concatenate([edge.sd_px * mm_a_px for edge in edges])
        x = np.concatenate([start[:3], np.zeros(len(beside))])
        for _ in range(15):
            jac = _slopes(lambda v: self.residuals(v, self.view), x, np.full(len(x), 1e-4))
            lines = np.concatenate([jac / sd[:, None],
                                    np.column_stack([np.zeros((len(beside), 3)), np.diag(1 / beside)])])
            known = np.concatenate([self.residuals(x, self.view) / sd, x[3:] / beside])
            step = np.linalg.lstsq(lines, -known, rcond=None)[0]
            x = x + step
            if np.max(np.abs(step)) < 1e-8:
                break
        gain = np.linalg.pinv(lines)
        # Edges may contradict their spreads, or one another, which then had to be shifted far.
        off = self.residuals(x, self.view) / sd
        apart = max(1.0, float(np.sqrt(off @ off / max(len(off) - 3, 1))), float(np.max(np.abs(x[3:] / beside))))
        at = x
        by_view = _slopes(lambda v: self.residuals(at, _nudged(self.view, v)), np.zeros(VIEW), _STEPS)
        through = gain[:, :len(sd)] @ (by_view / sd[:, None])
        cov = gain @ gain.T * apart**2 + through @ self.view.cov @ through.T
        return x[:3], cov[:3, :3]


def _slopes(function: Callable[[Array], Array], at: Array, steps: Array) -> Array:
    """(n, p) derivatives by central differences."""
    return np.column_stack([(function(at + step) - function(at - step)) / (2 * steps[k])
                            for k, step in enumerate(np.diag(steps))])


def _nudged(view: View, step: Array) -> View:
    """The view with its parameters moved a little."""
    turn = rotation_matrix(step[:3])
    return replace(view, rotation=turn @ view.rotation, shift_mm=turn @ view.shift_mm + step[3:6],
                   focal_px=view.focal_px * float(np.exp(step[6])), bend=view.bend + step[7:9],
                   centre_px=view.centre_px + step[9:11])
