"""Photos stood on a floor already known roughly, each by itself: where a camera must be to see its marks there.

One mark of a photo may be wrong: the trial without it is taken where the others then fit better by more than a wrong
mark is worth.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.initial.photo_registration import Sketch, add_photo
from capture.readings.indexed import Indexed
from capture.initial.plane_poses import plane_poses
from capture.initial.pose_hypotheses import Known, Look, Trial, best_trials, trial_costs
from capture.initial.trilateration import Partial

#: What leaving out a mark counts against a trial: it must gain more than the two lines it would explain by chance
#: (chi-square, 0.998).
_WITHOUT_MARK = 12.0
#: The floor tells how the photos lie; that its walls are square is then only a hint.
_SQUARE_WEIGHT = 0.3

#: Grids round the up direction that three marks ask for: it is off by no more than the floor is, rad.
_NEAR_STEPS = np.radians([1.5, 0.5])


def stand_photos(ix: Indexed, floor: Partial, looks: tuple[Look, ...], normals: np.ndarray, *,
                 doubting: bool) -> Sketch | None:
    """The floor with every photo on it; None if one sees it in no way. doubting: each may do without one of its
    marks."""
    sketch = Sketch(known=_known(ix, floor.places), poses={}, against=floor.against)
    for look in sorted(looks, key=lambda one: -sum(p in floor.places for p in one.points)):
        trial = _stood(look, floor if doubting else None, sketch.known, normals)
        if trial is None:
            return None
        sketch = add_photo(sketch, look, trial)
    return sketch


def stand_without(ix: Indexed, places: dict[int, complex], look: Look, normals: np.ndarray) -> list[tuple[int, Trial]]:
    """(mark, the photo stood anew without it) for each mark of a named point, on a floor whose points are all
    placed."""
    known = _known(ix, places)
    named = [k for k, p in enumerate(look.points) if p < len(ix.names)]
    return [(k, trial) for k in named if (trial := _best(_without(look, k), known, normals)) is not None]


def _known(ix: Indexed, places: dict[int, complex]) -> Known:
    ring = np.array([places[k] for k in range(len(ix.outline))])
    way = np.roll(ring, -1) - ring
    return Known(places=places, frame=complex(np.sum((way / np.maximum(np.abs(way), 1.0)) ** 4)),
                 square_weight=_SQUARE_WEIGHT)


def _stood(look: Look, doubted: Partial | None, known: Known, normals: np.ndarray) -> Trial | None:
    """The best way a photo may stand, with all its marks or without one of those on a doubted floor."""
    whole = _best(look, known, normals)
    named = [k for k, p in enumerate(look.points) if doubted is not None and p in doubted.places]
    # Nothing counts less than nought against a trial: without a mark none is better than one that costs no more.
    if len(named) < 3 or (whole and whole.cost <= _WITHOUT_MARK):
        return whole
    tries = [_first_cost(one, known, normals) for one in (_without(look, k) for k in named)]
    _, one, near = min(tries, key=lambda pair: pair[0])
    fewer = best_trials(one, known, keep=1, normals=near[None], steps=_NEAR_STEPS)
    return min([*([whole] if whole else []), *(replace(trial, cost=trial.cost + _WITHOUT_MARK) for trial in fewer)],
               key=lambda trial: trial.cost, default=None)


def _first_cost(look: Look, known: Known, normals: np.ndarray) -> tuple[float, Look, np.ndarray]:
    """(cost, look, up direction) of the best trial as it stands, not yet refined."""
    asked = _asked_normals(look, known)
    ups = normals if asked is None else asked
    costs = trial_costs(look, known, ups)[0]
    best = int(np.argmin(costs))
    return float(costs[best]), look, ups[best]


def _best(look: Look, known: Known, normals: np.ndarray) -> Trial | None:
    """The best way up: near those that the placed marks ask for, if there are three; else of all."""
    asked = _asked_normals(look, known)
    found = (best_trials(look, known, keep=1, normals=normals) if asked is None else
             best_trials(look, known, keep=1, normals=asked, steps=_NEAR_STEPS))
    return next(iter(found), None)


def _asked_normals(look: Look, known: Known) -> np.ndarray | None:
    """(k, 3) up directions in which the placed marks are seen from above; None for fewer than three."""
    placed = [k for k, p in enumerate(look.points) if p in known.places]
    if len(placed) < 3:
        return None
    spots = np.array([(known.places[look.points[k]].real, known.places[look.points[k]].imag) for k in placed])
    ahead = look.rays[placed]
    ups = [turn[:, 2] for turn, shift in plane_poses(spots, ahead[:, :2] / ahead[:, 2:]) if turn[:, 2] @ shift < 0]
    return np.array(ups) if ups else None


def _without(look: Look, mark: int) -> Look:
    """The look without one of its marks, its stretches of wall and its lengths."""
    kept = [k for k in range(len(look.points)) if k != mark]
    pairs = look.stretch_rays.reshape(-1, 2, 3)
    sound = ~np.any(np.all(pairs == look.rays[mark], axis=2), axis=1)
    return Look(photo=look.photo, points=tuple(look.points[k] for k in kept), rays=look.rays[kept],
                stretch_rays=pairs[sound].reshape(-1, 3),
                tapes=tuple((kept.index(a), kept.index(b), mm) for a, b, mm in look.tapes if mark not in (a, b)))
