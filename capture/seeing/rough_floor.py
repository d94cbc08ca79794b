"""A rough floor from marks alone, in a moment, while corners are still being named: what a sketch is drawn from.

In: the network as far as it is told; the last survey, where there is one. Out: a place for every corner of the outline,
which of them readings place, and each photo's marks as seen from its camera. One trial of 'up' a photo
(`capture.initial.pose_hypotheses`), laid onto the others by two shared corners or more; a photo that the last survey
stood keeps its place. Nothing is adjusted here, and a corner nobody has marked is put between its neighbours, so this
is for looking at, and for judging the order of the corners (`outline_order`), not for measuring.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.equations import equations
from capture.adjustment.parameter_index import index_network
from capture.adjustment.survey import PhotoFit, Survey
from capture.floor import Floor
from capture.initial.photo_registration import Sketch, add_photo, pose_arrays
from capture.initial.pose_hypotheses import (
    Known, Look, Trial, basis, best_trials, make_looks, trial_costs, unit_floor, up_direction)
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.state import State
from capture.readings.tape import Tapes

#: Height of a phone over the floor where no length tells, mm; of a room nobody has seen, half its width. From memory.
_EYE_MM, _HALF_MM = 1500.0, 2000.0
#: Before any reading a corner may be anywhere about the room: one standard deviation, mm.
_ANYWHERE_MM = 2000.0
#: Walls that seem askew count little while corners are still missing between them.
_SQUARE_WEIGHT = 0.15


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class View:
    """One photo's corners as seen from above with its camera at 0, as complex mm; stands: where that camera stands in
    the plan, None where the photo hangs together with no other."""

    photo: str
    corners: Mapping[str, complex]
    stands: complex | None

    @property
    def bearings(self) -> dict[str, float]:
        """Which way each corner lies, rad anticlockwise from the middle of what is seen."""
        ways = {name: spot / max(abs(spot), 1e-9) for name, spot in self.corners.items()}
        middle = sum(ways.values())
        return {name: float(np.angle(way * np.conj(middle))) for name, way in ways.items()}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class RoughFloor:
    """places: by corner of the outline, complex mm, the first at 0 and the second on +x; placed: the corners that
    readings place; views: by photo; frame: exp(4i heading) of the walls, 0 if unknown; ahead: which way the first photo
    looks, rad anticlockwise from +x; state: all of it in the adjustment's own terms, of `network`."""

    places: Mapping[str, complex]
    placed: frozenset[str]
    views: tuple[View, ...]
    frame: complex
    ahead: float | None
    network: Indexed
    state: State

    def as_floor(self) -> Floor:
        """The places as a floor, with the covariance that the readings so far leave: for judging what to measure."""
        spots = np.array([[spot.real, spot.imag] for spot in self.places.values()]).reshape(-1, 2)
        names = tuple(self.places)
        return Floor(names=names, points_mm=spots, cov_mm2=_covariance(self.network, self.state),
                     outline=names)


def rough_floor(network: Network, *, near: Survey | None = None,
                ups: Mapping[str, Sequence[float]] | None = None) -> RoughFloor:
    """Places for all corners of an outline of any number of corners.

    near: the last survey; ups: by photo, which way is up in it (camera frame), where that is known. Raises CaptureError
    for names that lead nowhere.
    """
    network = _corners_only(network)
    ix = _with_lenses(index_network(network), network, near)
    walls = list(zip(range(len(network.outline) - 1), range(1, len(network.outline))))
    looks = [_with_walls(look, walls) for look in make_looks(ix)]
    stood = {} if near is None else {fit.photo: _trial(fit) for fit in near.photos}
    sketch, alone = _laid(ix, looks, stood, ups or {})
    names = network.outline
    spots = {names[point]: spot for point, spot in sketch.known.places.items() if point < len(names)}
    size = 1.0 if near is not None and near.photos else _size(ix, sketch)
    spots = {name: size * spot for name, spot in spots.items()} | _surveyed(near, names, spots)
    views = tuple(_view(ix, look, trial, size, look.photo in sketch.poses) for look, trial in alone)
    placed = frozenset(spots)
    whole = _all_placed(names, spots, dict(network.drawn))
    origin, turn = _gauge(names, whole)
    places = {name: (whole[name] - origin) * turn for name in names}
    moved = tuple(replace(view, stands=None if view.stands is None else (view.stands - origin) * turn,
                          corners={name: spot * turn for name, spot in view.corners.items()}) for view in views)
    state = _state(ix, sketch, size, origin, turn, places)
    return RoughFloor(places=places, placed=placed, views=moved, frame=sketch.known.frame * turn**4,
                      ahead=_ahead(state), network=ix, state=state)


def _corners_only(network: Network) -> Network:
    """The network without what speaks of other points than corners of its outline."""
    names = set(network.outline)
    marks = tuple(mark for mark in network.marks if mark.point in names)
    shown = {mark.photo for mark in marks if sum(other.photo == mark.photo for other in marks) >= 2}
    photos = tuple(photo for photo in network.photos if photo.name in shown)
    lenses = {photo.camera for photo in photos}
    return Network(outline=network.outline, drawn=network.drawn,
                   cameras=tuple(c for c in network.cameras if c.name in lenses),
                   photos=photos, marks=tuple(mark for mark in marks if mark.photo in shown),
                   tapes=tuple(tape for tape in network.tapes if {tape.a, tape.b} <= names))


def _with_lenses(ix: Indexed, network: Network, near: Survey | None) -> Indexed:
    """The lenses as the last survey found them."""
    found = {} if near is None else {fit.photo: fit.focal_px for fit in near.photos}
    focal = ix.lens_focal.copy()
    for photo, camera in zip(ix.photo_names, ix.photo_camera.tolist()):
        focal[camera] = found.get(photo, focal[camera])
    return replace(ix, lens_focal=focal)


def _with_walls(look: Look, walls: Sequence[tuple[int, int]]) -> Look:
    """The photo with those walls only of which both ends are marked: the outline's last corner need not be the first
    one's neighbour yet."""
    at = dict(zip(look.points, look.rays))
    rays = [at[end] for wall in walls for end in wall if set(wall) <= set(at)]
    return replace(look, stretch_rays=np.array(rays).reshape(-1, 3))


def _laid(ix: Indexed, looks: Sequence[Look], stood: Mapping[str, Trial],
          ups: Mapping[str, Sequence[float]]) -> tuple[Sketch, list[tuple[Look, Trial]]]:
    """Photos laid onto one another, the one with most marks first, and every photo's trial; a photo that shares fewer
    than two corners with the others takes no part."""
    grid = _usual_ways_up()
    sketch = Sketch(known=Known(square_weight=_SQUARE_WEIGHT), poses={}, against=0.0)
    waiting, trials = list(looks), []
    while waiting:
        known = sketch.known.places
        look = max(waiting, key=lambda one: (ix.photo_names[one.photo] in stood,
                                             sum(p in known for p in one.points), len(one.points)))
        waiting.remove(look)
        shared = sum(p in known for p in look.points)
        joins = not known or shared >= 2
        trial = stood.get(ix.photo_names[look.photo])
        if trial is None:
            beside = sketch.known if joins else Known(square_weight=_SQUARE_WEIGHT)
            trial = _tried(look, beside, ups.get(ix.photo_names[look.photo]), grid)
        if trial is None:
            continue
        trials.append((look, trial))
        if joins or ix.photo_names[look.photo] in stood:
            sketch = add_photo(sketch, look, trial)
    return sketch, trials


def _tried(look: Look, known: Known, up: Sequence[float] | None, grid: NDArray[np.float64]) -> Trial | None:
    """How a photo probably stands: with the way up that its picture tells, else the one that suits the walls best."""
    if up is not None:
        normals = np.array([up])
        costs, a, b = trial_costs(look, known, normals)
        if np.isfinite(costs[0]):
            x, y, z = (float(value) for value in up)
            return Trial(normal=(x, y, z), a=complex(a[0]), b=complex(b[0]), cost=float(costs[0]))
    return next(iter(best_trials(look, known, keep=1, normals=grid)), None)


def _usual_ways_up() -> NDArray[np.float64]:
    """(K, 3) trial up directions of a phone held as people hold it."""
    tilt, roll = np.meshgrid(np.radians(np.arange(3.0, 89.0, 5.0)), np.radians(np.arange(-20.0, 21.0, 10.0)))
    return up_direction(tilt.ravel(), roll.ravel())


def _trial(fit: PhotoFit) -> Trial:
    """How a surveyed photo stands over the floor, as a trial; the inverse of `pose_arrays`."""
    up = fit.rotation[:, 2]
    first, second = (axis[0] for axis in basis(up[None]))
    turn = np.arctan2(-second @ fit.rotation[:, 0], first @ fit.rotation[:, 0])
    stands = -fit.rotation.T @ fit.shift_mm
    return Trial(normal=tuple(up), cost=0.0, a=complex(stands[2] * np.exp(1j * turn)),
                 b=complex(stands[0], stands[1]))


def _size(ix: Indexed, sketch: Sketch) -> float:
    """What the sketch is multiplied by: as the tape says, else as people hold phones."""
    places = sketch.known.places
    ratios = [mm / abs(places[a] - places[b]) for a, b, mm in ix.of(Tapes).distances()
              if a in places and b in places and abs(places[a] - places[b]) > 1.0]
    return float(np.median(ratios)) if ratios else _EYE_MM / (sketch.known.height or _EYE_MM)


def _surveyed(near: Survey | None, names: Sequence[str], spots: Mapping[str, complex]) -> dict[str, complex]:
    """Places of the last survey for corners that no photo of now shows."""
    if near is None:
        return {}
    known = dict(zip(near.floor.names, near.floor.points_mm.tolist()))
    return {name: complex(*known[name]) for name in names if name in known and name not in spots}


def _view(ix: Indexed, look: Look, trial: Trial, size: float, joins: bool) -> View:
    spots = size * trial.a * unit_floor(np.array([trial.normal]), look.rays)[0][0]
    corners = {ix.names[point]: complex(spot) for point, spot in zip(look.points, spots) if point < len(ix.outline)}
    return View(photo=ix.photo_names[look.photo], corners=corners, stands=size * trial.b if joins else None)


def _all_placed(names: Sequence[str], spots: Mapping[str, complex],
                drawn: Mapping[str, tuple[float, float]]) -> dict[str, complex]:
    """A place for every corner: the drawing's where the outline was drawn, else between its neighbours, away from the
    middle of the others."""
    hand = {name: complex(*drawn[name]) for name in names if name in drawn}
    known = sorted(hand.keys() & spots.keys())
    if len(hand) >= 2:
        grow, shift = _laid_on([hand[name] for name in known], [spots[name] for name in known])
        spots = {name: grow * hand[name] + shift for name in hand} | dict(spots)
    if len(spots) < 2:
        size = max(len(names), 3)
        ring = [_HALF_MM * np.exp(2j * np.pi * k / size) for k in range(len(names))]
        return {name: complex(spot) for name, spot in zip(names, ring)}
    return dict(spots) | _between(names, spots)


def _laid_on(one: Sequence[complex], other: Sequence[complex]) -> tuple[complex, complex]:
    """a, b of other = a one + b, least squares; as it is where fewer than two points tell."""
    if len(one) < 2:
        return 1.0 + 0j, (other[0] - one[0]) if one else 0j
    p, q = np.array(one), np.array(other)
    p0, q0 = p - p.mean(), q - q.mean()
    a = complex(np.vdot(p0, q0) / max(float(np.sum(np.abs(p0) ** 2)), 1e-9))
    return a, complex(q.mean() - a * p.mean())


def _between(names: Sequence[str], spots: Mapping[str, complex]) -> dict[str, complex]:
    """Corners that nothing places, on a bow between the placed ones before and behind them."""
    size, middle = len(names), sum(spots.values()) / len(spots)
    found: dict[str, complex] = {}
    for k, name in enumerate(names):
        if name in spots:
            continue
        back = next(i for i in range(1, size + 1) if names[(k - i) % size] in spots)
        on = next(i for i in range(1, size + 1) if names[(k + i) % size] in spots)
        p, q = spots[names[(k - back) % size]], spots[names[(k + on) % size]]
        share, half = back / (back + on), (p + q) / 2
        away = half - middle
        out = away / abs(away) if abs(away) > 1.0 else (1j * (p - q) / abs(p - q) if abs(p - q) > 1.0 else 1.0)
        deep = 0.6 * max(abs(q - p), _HALF_MM / 2)
        found[name] = p + share * (q - p) + out * deep * np.sin(np.pi * share)
    return found


def _gauge(names: Sequence[str], places: Mapping[str, complex]) -> tuple[complex, complex]:
    """The first corner, and the unit number that turns the second onto +x from there."""
    if not names:
        return 0j, 1.0 + 0j
    origin = places[names[0]]
    step = places[names[1]] - origin if len(names) > 1 else 1.0 + 0j
    return origin, complex(np.conj(step) / abs(step)) if abs(step) > 1e-6 else 1.0 + 0j


def _state(ix: Indexed, sketch: Sketch, size: float, origin: complex, turn: complex,
           places: Mapping[str, complex]) -> State:
    """The rough floor as values of all parameters."""
    rotations, shifts = np.tile(np.eye(3), (len(ix.photo_names), 1, 1)), np.zeros((len(ix.photo_names), 3))
    for photo, trial in sketch.poses.items():
        moved = replace(trial, a=trial.a * turn, b=(size * trial.b - origin) * turn / size)
        rotations[photo], shift = pose_arrays(moved)
        shifts[photo] = size * shift
    points = np.array([[spot.real, spot.imag] for spot in places.values()]).reshape(-1, 2)
    return State(points_mm=points, rotations=rotations, shifts_mm=shifts, log_focal=np.log(ix.lens_focal),
                 distortion=ix.lens_distortion.copy(), centres_px=ix.photo_centre.copy(), tape_error=np.zeros(0))


def _ahead(state: State) -> float | None:
    """Which way the first photo looks, seen from above."""
    ways = [float(np.arctan2(rotation[2, 1], rotation[2, 0])) for rotation, shift in zip(state.rotations,
                                                                                         state.shifts_mm)
            if np.any(shift)]
    return ways[0] if ways else None


def _covariance(ix: Indexed, state: State) -> NDArray[np.float64]:
    """(2n, 2n) covariance of the corners by the readings so far, each corner beforehand somewhere about the room.

    Normal equations at the rough floor, photos and lenses eliminated (Schur complement).
    """
    size = 2 * len(ix.names)
    _, jac = equations(ix, state)
    jac = jac[np.all(np.isfinite(jac), axis=1)]
    normal = jac.T @ jac
    rest = normal[size:, size:] + 1e-9 * np.eye(len(normal) - size) * max(float(np.trace(normal)), 1.0)
    own = normal[:size, :size] - normal[:size, size:] @ np.linalg.pinv(rest) @ normal[size:, :size]
    return np.asarray(np.linalg.inv((own + own.T) / 2 + np.eye(size) / _ANYWHERE_MM**2), dtype=np.float64)
