"""How one photo may look at the floor: trial directions of 'up' in the camera frame and what speaks for each.

A photo's marks give the floor up to a similarity as soon as the floor's up direction n (camera frame) is known: two
numbers, the tilt and the roll of the phone. They are searched on a grid over the whole half sphere. What ranks a trial:
walls of rooms mostly meet at multiples of 90 degrees, phones are mostly held upright and a little downwards, tape
lengths between points of the same photo keep their ratios, points already placed must fit. These are hints for a start
value only; the adjustment that follows knows nothing of them.

Floor figures here are complex numbers: plan x + iy. A trial maps unit-height figures q to the plan by z = a q + b; |a|
is the camera's height, arg a its heading, b the spot below it.
"""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from capture.camera import px_to_rays
from capture.readings.indexed import Indexed
from capture.readings.photo import Marks, WallClicks

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

_SQUARE_SOFTNESS = 0.04
_UPRIGHT_ROLL = 0.25
_USUAL_TILT, _TILT_SPREAD = 0.45, 0.35
_TAPE_SPREAD = 0.05
_FIT_SPREAD = 0.03
_HEIGHT_SPREAD = 0.35


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Look:
    """One photo's evidence: rays (m, 3) of its marks and their points; wall stretches as consecutive pairs of rays;
    tapes whose both ends are marked here, sides and diagonals of printed targets, as (mark, mark, mm)."""

    photo: int
    points: tuple[int, ...]
    rays: Array
    stretch_rays: Array
    tapes: tuple[tuple[int, int, float], ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Known:
    """What is placed so far: points in the plan, the squareness frame exp(4i heading) (0 if none), a camera height.

    square_weight: how much the square frame counts; less for rooms with slanted walls.
    """

    places: dict[int, complex] = field(default_factory=dict)
    frame: complex = 0j
    height: float = 0.0
    square_weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One way a photo may stand over the floor: up direction, z = a q + b, and what speaks against it."""

    normal: tuple[float, float, float]
    a: complex
    b: complex
    cost: float


def make_looks(ix: Indexed) -> tuple[Look, ...]:
    """The evidence of every photo that has at least two marks."""
    return tuple(look for look in (_look(ix, photo) for photo in range(len(ix.photo_names))) if len(look.points) >= 2)


def normals_grid(step_rad: float = np.radians(5.0)) -> Array:
    """(K, 3) trial up directions, camera frame: tilt 3 to 88 degrees below the horizon, every roll."""
    tilt, roll = np.meshgrid(np.arange(np.radians(3.0), np.radians(89.0), step_rad),
                             np.arange(-np.pi, np.pi, 2 * step_rad))
    return up_direction(tilt.ravel(), roll.ravel())


def up_direction(tilt: Array, roll: Array) -> Array:
    """(K, 3) up directions of cameras looking down by `tilt` and rolled by `roll`, rad."""
    return np.stack([np.sin(roll) * np.cos(tilt), -np.cos(roll) * np.cos(tilt), -np.sin(tilt)], axis=1)


def basis(normals: Array) -> tuple[Array, Array]:
    """Two (K, 3) axes that make a right-handed frame with each up direction."""
    first = np.array([1.0, 0.0, 0.0]) - normals * normals[:, :1]
    first /= np.maximum(np.linalg.norm(first, axis=1, keepdims=True), 1e-9)
    (x, y, z), (a, b, c) = normals.T, first.T
    return first, np.stack([y * c - z * b, z * a - x * c, x * b - y * a], axis=1)


def unit_floor(normals: Array, rays: Array) -> tuple[Complex, NDArray[np.bool_]]:
    """(K, m) floor figures at camera height 1, and which trials have every ray going down to the floor."""
    first, second = basis(normals)
    depth = -(normals @ rays.T)
    valid = np.all(depth > 0.02, axis=1)
    depth = np.maximum(depth, 0.02)
    return (first @ rays.T) / depth + 1j * (second @ rays.T) / depth, valid


#: Steps of ever finer grids round a trial of `normals_grid`, rad.
GRID_STEPS = np.radians([2.5, 1.2, 0.6, 0.3])


def best_trials(look: Look, known: Known, *, keep: int, normals: Array, steps: Array = GRID_STEPS
                ) -> tuple[Trial, ...]:
    """The `keep` best trials that differ by more than 12 degrees, refined on ever finer grids of these steps, rad."""
    costs, _, _ = trial_costs(look, known, normals)
    found: list[Trial] = []
    for trial in _refined(look, known, normals[_valleys(costs, normals, 2 + 2 * keep)], steps):
        if len(found) < keep and all(float(np.dot(trial.normal, other.normal)) < np.cos(np.radians(12.0))
                                     for other in found):
            found.append(trial)
    return tuple(found)


def _valleys(costs: Array, normals: Array, most: int) -> list[int]:
    """The lowest trials, each more than 8 degrees from any lower one."""
    left = costs.copy()
    found: list[int] = []
    while len(found) < most and np.isfinite(left).any():
        found.append(int(np.argmin(left)))
        left[normals @ normals[found[-1]] > np.cos(np.radians(8.0))] = np.inf
    return found


def trial_costs(look: Look, known: Known, normals: Array) -> tuple[Array, Complex, Complex]:
    """Costs (K,) with a and b (K,) of trial up directions; inf where a ray would miss the floor."""
    whole, valid = unit_floor(normals, np.concatenate([look.rays, look.stretch_rays]))
    figure, way = whole[:, :len(look.rays)], _directions(whole[:, len(look.rays):])
    a, b, misfit = _fit(look, known, figure, way)
    costs = (
        misfit
        + _posture_cost(normals)
        + known.square_weight * _square_cost(way, a, known)
        + _tape_cost(look, figure)
        + _collapse_cost(figure)
    )
    return np.where(valid, costs, np.inf), a, b


def heading_choices(look: Look, known: Known, trial: Trial) -> tuple[complex, ...]:
    """The four unit factors that turn this trial's walls onto the square frame, one a quarter turn apart."""
    stretches, _ = unit_floor(np.array([trial.normal]), look.stretch_rays)
    total = np.sum(_directions(stretches) ** 4)
    turn = np.angle(known.frame) - np.angle(total) if abs(total) > 0 and known.frame != 0 else 0.0
    return tuple(np.exp(1j * (turn / 4.0 + quarter * np.pi / 2.0)) for quarter in range(4))


def _look(ix: Indexed, photo: int) -> Look:
    camera = ix.photo_camera[photo]

    def rays(px: Array) -> Array:
        found = px_to_rays(px.reshape(-1, 2), ix.lens_focal[camera], ix.lens_distortion[camera], ix.photo_centre[photo])
        return found / np.linalg.norm(found, axis=1, keepdims=True)

    marks = ix.of(Marks)
    mine = np.flatnonzero(marks.photo == photo)
    points = tuple(int(p) for p in marks.point[mine])
    by_point = dict(zip(points, rays(marks.px[mine])))
    pairs = _stretches(ix, photo, by_point, rays)
    tapes = tuple((points.index(a), points.index(b), float(mm)) for a, b, mm in _known_lengths(ix)
                  if a in by_point and b in by_point)
    return Look(photo=photo, points=points, rays=np.array([by_point[p] for p in points]).reshape(-1, 3),
                stretch_rays=np.array(pairs).reshape(-1, 3), tapes=tapes)


def known_lengths(ix: Indexed) -> list[tuple[int, int, float]]:
    """Lengths between named points as (point, point, mm): taped, or of a sheet of paper."""
    return [distance for kind in ix.readings for distance in kind.distances()]


def _known_lengths(ix: Indexed) -> list[tuple[int, int, float]]:
    """Lengths between points as (point, point, mm): the tapes, sheets of paper, and the sides and diagonals of
    printed targets."""
    return known_lengths(ix) + [(ring[i], ring[j], ix.target_mm * (np.sqrt(2.0) if j - i == 2 else 1.0))
                    for ring in ix.target_points.tolist() for i, j in combinations(range(4), 2)]


def _stretches(ix: Indexed, photo: int, by_point: dict[int, Array], rays: Callable[[Array], Array]) -> list[Array]:
    """The longest visible stretch of every wall: corner to corner, or from clicks on its line."""
    pairs: list[Array] = []
    clicks = ix.of(WallClicks)
    clicked = [(tuple(w), px) for w, p, px in zip(clicks.wall.tolist(), clicks.photo, clicks.px) if p == photo]
    size = len(ix.outline)
    for k in range(size):
        a, b = k, (k + 1) % size
        seen = [by_point[c] for c in (a, b) if c in by_point]
        seen += [rays(px)[0] for w, px in clicked if set(w) == {a, b}]
        if len(seen) >= 2:
            spread = [(float(np.dot(p, q)), i, j) for i, p in enumerate(seen) for j, q in enumerate(seen) if i < j]
            _, i, j = min(spread)
            pairs += [seen[i], seen[j]]
    return pairs


def _directions(stretches: Complex) -> Complex:
    """(K, w) unit directions of wall stretches given as consecutive pairs of columns."""
    step = stretches[:, 1::2] - stretches[:, 0::2]
    return step / np.maximum(np.abs(step), 1e-12)


def _fit(look: Look, known: Known, figure: Complex, way: Complex) -> tuple[Complex, Complex, Array]:
    """Similarity (a, b) of each trial onto the points already placed, and how badly it fits."""
    shared = [(i, known.places[p]) for i, p in enumerate(look.points) if p in known.places]
    height = known.height or 1500.0
    if len(shared) < 2:
        a = np.full(len(figure), height, dtype=np.complex128) * _own_scale(look, figure, height)
        total = np.sum(way**4, axis=1)
        turn = np.where(np.abs(total) > 0, np.angle(known.frame) - np.angle(total),
                        0.0) if known.frame != 0 else np.zeros(len(figure))
        a = a * np.exp(1j * turn / 4.0)
        b = shared[0][1] - a * figure[:, shared[0][0]] if shared else np.zeros(len(figure), dtype=np.complex128)
        return a, b, np.zeros(len(figure))
    q = figure[:, [i for i, _ in shared]]
    z = np.array([place for _, place in shared])
    a, b = fit_similarity(q, z)
    gap = np.abs(a[:, None] * q + b[:, None] - z)
    spread = _FIT_SPREAD * max(float(np.max(np.abs(z - z.mean()))), 1.0)
    misfit = np.sum((gap / spread) ** 2, axis=1)
    if known.height:
        misfit = misfit + (np.log(np.maximum(np.abs(a), 1e-9) / known.height) / _HEIGHT_SPREAD) ** 2
    return a, b, misfit


def fit_similarity(q: Complex, z: Complex) -> tuple[Complex, Complex]:
    """Least squares a, b (K,) of z = a q + b for K figures q (K, m) and one target z (m,); all errors in z."""
    q0, z0 = q.mean(axis=1, keepdims=True), z.mean()
    a = np.sum(np.conj(q - q0) * (z - z0), axis=1) / np.maximum(np.sum(np.abs(q - q0) ** 2, axis=1), 1e-12)
    return a, z0 - a * q0[:, 0]


def _own_scale(look: Look, figure: Complex, height: float) -> Array:
    """Factor on the assumed height that the photo's own tapes ask for; 1 without tapes."""
    if not look.tapes:
        return np.ones(len(figure))
    return np.exp(_middle(_tape_logs(look, figure) - np.log(height)))


def _posture_cost(normals: Array) -> Array:
    tilt = np.arcsin(np.clip(-normals[:, 2], -1.0, 1.0))
    upside_down = np.where(normals[:, 1] > 0, 2.0, 0.0)
    return (normals[:, 0] / _UPRIGHT_ROLL) ** 2 / (1 + (normals[:, 0] / 0.5) ** 2) + ((tilt - _USUAL_TILT)
                                                                                      / _TILT_SPREAD) ** 2 + upside_down


def _square_cost(way: Complex, a: Complex, known: Known) -> Array:
    """How far the walls are from one square frame; the known frame, where there is one."""
    fourth = way**4
    if known.frame == 0:
        return (way.shape[1] - np.abs(np.sum(fourth, axis=1))) / _SQUARE_SOFTNESS
    turned = fourth * (np.exp(4j * np.angle(a)) * np.conj(known.frame / abs(known.frame)))[:, None]
    return np.sum(np.minimum((1.0 - turned.real) / _SQUARE_SOFTNESS, 12.0), axis=1)


def _tape_cost(look: Look, figure: Complex) -> Array:
    if len(look.tapes) < 2:
        return np.zeros(len(figure))
    logs = _tape_logs(look, figure)
    return np.sum(np.minimum(((logs - _middle(logs)[:, None]) / _TAPE_SPREAD) ** 2, 16.0), axis=1)


def _tape_logs(look: Look, figure: Complex) -> Array:
    """(K, t) logarithms of the camera height that each tape asks for."""
    ends = np.array([(i, j) for i, j, _ in look.tapes])
    mm = np.array([mm for *_, mm in look.tapes])
    return np.log(mm / np.maximum(np.abs(figure[:, ends[:, 0]] - figure[:, ends[:, 1]]), 1e-9))


def _middle(values: Array) -> Array:
    """(K,) medians of (K, t) values, faster for few than NumPy's."""
    ranked, half = np.sort(values, axis=1), values.shape[1] // 2
    return ranked[:, half] if values.shape[1] % 2 else 0.5 * (ranked[:, half - 1] + ranked[:, half])


def _collapse_cost(figure: Complex) -> Array:
    """Near the horizon every figure shrinks to a streak, where all directions agree: not a room."""
    if figure.shape[1] < 3:
        return np.zeros(len(figure))
    off = figure - figure.mean(axis=1, keepdims=True)
    total, aligned = np.sum(np.abs(off) ** 2, axis=1), np.abs(np.sum(off**2, axis=1))
    ratio = np.sqrt(np.maximum((total - aligned) / np.maximum(total + aligned, 1e-12), 1e-6))
    return np.maximum(0.0, np.log(0.25 / ratio)) ** 2 * 4.0


def _refined(look: Look, known: Known, normals: Array, steps: Array) -> list[Trial]:
    """The best of ever finer grids round each trial direction, by rising cost."""
    if not len(normals):
        return []
    shifts = np.array([(0, 0), *((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0))])
    for step in steps:
        first, second = basis(normals)
        near = normals[:, None] + step * (shifts[:, :1] * first[:, None] + shifts[:, 1:] * second[:, None])
        near = (near / np.linalg.norm(near, axis=2, keepdims=True)).reshape(-1, 3)
        costs, a, b = trial_costs(look, known, near)
        best = np.argmin(costs.reshape(-1, len(shifts)), axis=1) + len(shifts) * np.arange(len(normals))
        normals, kept = near[best], (costs[best], a[best], b[best])
    trials = [Trial(normal=tuple(n), cost=float(c), a=x, b=y) for n, c, x, y in zip(normals, *kept)]
    return sorted(trials, key=lambda trial: trial.cost)
