"""Photos laid side by side on the floor, one after another, each onto the points placed before.

Every photo may be first, with several trials of its tilt; each next photo is the one that shares most placed points.
Where fewer than two points are shared, heading (and place) come from the walls' square frame in all four quarter turns.
What comes out is a number of rough floors; the adjustment picks.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from capture.readings.indexed import Indexed
from capture.initial.pose_hypotheses import (
    Known, Look, Trial, basis, best_trials, heading_choices, make_looks, normals_grid, unit_floor)
from capture.readings.tape import Tapes

#: Sketches kept while photos are added; found enough in the drawn surveys of the bench.
_BEAM = 9


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sketch:
    """A rough floor: placed points (complex plan mm) and, per photo, the trial that placed it; `against` sums the
    costs."""

    known: Known
    poses: dict[int, Trial]
    against: float


def sketch_photos(ix: Indexed, *, first_trials: int, limit: int, square_weight: float) -> tuple[Sketch, ...]:
    """Rough floors from the photos, most likely first; empty if no photo has two marks."""
    looks = make_looks(ix)
    grid = normals_grid()
    bases = sorted(looks, key=lambda look: -len(look.points))[:3]
    sketches: list[Sketch] = []
    for base in bases:
        for trial in best_trials(base, Known(square_weight=square_weight), keep=first_trials, normals=grid):
            start = add_photo(Sketch(known=Known(square_weight=square_weight), poses={}, against=0.0), base, trial)
            sketches += _extend(ix, start, looks, grid)
    return tuple(sorted(sketches, key=lambda s: s.against)[:limit])


def pose_arrays(trial: Trial) -> tuple[np.ndarray, np.ndarray]:
    """(3, 3) rotation and (3,) shift of a trial (see `looks`): body = rotation @ (x, y, 0) + shift."""
    normal = np.array(trial.normal)
    first, second = (axis[0] for axis in basis(normal[None]))
    turn, height = np.angle(trial.a), abs(trial.a)
    rotation = np.stack([np.cos(turn) * first - np.sin(turn) * second, np.sin(turn) * first + np.cos(turn) * second,
                         normal], axis=1)
    return rotation, -height * normal - rotation[:, :2] @ np.array([trial.b.real, trial.b.imag])


def _extend(ix: Indexed, start: Sketch, looks: tuple[Look, ...], grid: np.ndarray) -> list[Sketch]:
    """The likeliest ways found to add all other photos: one beam over the sketches, a photo at a time."""
    beam = [start]
    for _ in range(len(looks) - 1):
        grown = [longer for sketch in beam for longer in _one_more(ix, sketch, looks, grid)]
        beam = sorted(grown, key=lambda s: s.against)[:_BEAM]
    return beam


def _one_more(ix: Indexed, sketch: Sketch, looks: tuple[Look, ...], grid: np.ndarray) -> list[Sketch]:
    """A sketch with the waiting photo that shares most placed points, in each likely way."""
    def shared(look: Look) -> int:
        return sum(p in sketch.known.places for p in look.points)

    look = max((one for one in looks if one.photo not in sketch.poses), key=lambda one: (shared(one), len(one.points)))
    count = shared(look)
    trials = best_trials(look, sketch.known, keep=2 if count < 3 else 1, normals=grid)
    return [add_photo(sketch, look, placed) for trial in trials
            for placed in ([trial] if count >= 2 else _turned(ix, look, sketch.known, trial))]


def _turned(ix: Indexed, look: Look, known: Known, trial: Trial) -> list[Trial]:
    """A trial in its four headings, each moved to where the shared point, or tapes and walls to placed points, want
    it."""
    figure = unit_floor(np.array([trial.normal]), look.rays)[0][0]
    found = []
    for factor in heading_choices(look, known, trial):
        a = abs(trial.a) * factor
        shared = [i for i, p in enumerate(look.points) if p in known.places]
        if shared:
            b, extra = known.places[look.points[shared[0]]] - a * figure[shared[0]], 0.0
            extra = _link_cost(ix, look, known, a * figure, np.array([b]))[0]
        else:
            b, extra = _searched_place(ix, look, known, a * figure)
        found.append(replace(trial, a=a, b=b, cost=trial.cost + extra))
    return found


def _searched_place(ix: Indexed, look: Look, known: Known, shape: np.ndarray) -> tuple[complex, float]:
    """Best shift of a figure that shares no point with the floor so far, on a grid of 250 mm."""
    span = np.arange(-10_000.0, 10_001.0, 250.0)
    centre = np.mean(list(known.places.values())) - shape.mean()
    shifts = (centre + span[:, None] + 1j * span[None, :]).ravel()
    costs = _link_cost(ix, look, known, shape, shifts)
    k = int(np.argmin(costs))
    return complex(shifts[k]), float(costs[k])


def _link_cost(ix: Indexed, look: Look, known: Known, shape: np.ndarray, shifts: np.ndarray) -> np.ndarray:
    """How badly tapes and walls between placed points and a shifted figure fit, (k,)."""
    cost = np.zeros(len(shifts))
    here = dict(zip(look.points, shape))
    for p, q, mm in ix.of(Tapes).distances():
        for a, b in ((p, q), (q, p)):
            if a in known.places and b in here and a not in here:
                cost += np.minimum(((np.abs(here[b] + shifts - known.places[a]) - mm) / (0.05 * mm + 50.0)) ** 2, 25.0)
    size = len(ix.outline)
    for k in range(size):
        for a, b in ((k, (k + 1) % size), ((k + 1) % size, k)):
            if a in known.places and b in here and a not in here and known.frame != 0:
                step = here[b] + shifts - known.places[a]
                fourth = (step / np.maximum(np.abs(step), 1.0)) ** 4 * np.conj(known.frame / abs(known.frame))
                cost += np.minimum((1.0 - fourth.real) / 0.04, 12.0)
    return cost


def add_photo(sketch: Sketch, look: Look, trial: Trial) -> Sketch:
    """The sketch with one more photo; points placed before stay."""
    figure = unit_floor(np.array([trial.normal]), look.rays)[0][0]
    places = dict(sketch.known.places)
    for point, q in zip(look.points, figure):
        places.setdefault(point, complex(trial.a * q + trial.b))
    stretches = unit_floor(np.array([trial.normal]), look.stretch_rays)[0][0]
    ways = (stretches[1::2] - stretches[0::2]) * trial.a
    frame = sketch.known.frame + complex(np.sum((ways / np.maximum(np.abs(ways), 1e-9)) ** 4))
    height = sketch.known.height or abs(trial.a)
    return Sketch(known=replace(sketch.known, places=places, frame=frame, height=height),
                  poses={**sketch.poses, look.photo: trial}, against=sketch.against + trial.cost)
