"""Photos stood on a floor already known roughly, each by itself: where a camera must be to see its marks there.

One mark of a photo may be wrong: the trial without it is taken where the others then fit better by more than a wrong
mark is worth.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.initial.photo_registration import Sketch, add_photo
from capture.readings.indexed import Indexed
from capture.initial.pose_hypotheses import Known, Look, Trial, best_trials
from capture.initial.trilateration import Partial

#: What leaving out a mark counts against a trial: it must gain more than the two lines it would explain by chance
#: (chi-square, 0.998).
_WITHOUT_MARK = 12.0
#: The floor tells how the photos lie; that its walls are square is then only a hint.
_SQUARE_WEIGHT = 0.3


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
    return [(k, trial) for k in named for trial in best_trials(_without(look, k), known, keep=1, normals=normals)]


def _known(ix: Indexed, places: dict[int, complex]) -> Known:
    ring = np.array([places[k] for k in range(len(ix.outline))])
    way = np.roll(ring, -1) - ring
    return Known(places=places, frame=complex(np.sum((way / np.maximum(np.abs(way), 1.0)) ** 4)),
                 square_weight=_SQUARE_WEIGHT)


def _stood(look: Look, doubted: Partial | None, known: Known, normals: np.ndarray) -> Trial | None:
    """The best way a photo may stand, with all its marks or without one of those on a doubted floor."""
    whole = best_trials(look, known, keep=1, normals=normals)
    named = [k for k, p in enumerate(look.points) if doubted is not None and p in doubted.places]
    # Nothing counts less than nought against a trial: without a mark none is better than one that costs no more.
    if len(named) < 3 or (whole and whole[0].cost <= _WITHOUT_MARK):
        return whole[0] if whole else None
    fewer = [replace(trial, cost=trial.cost + _WITHOUT_MARK) for k in named
             for trial in best_trials(_without(look, k), known, keep=1, normals=normals)]
    return min([*whole, *fewer], key=lambda trial: trial.cost, default=None)


def _without(look: Look, mark: int) -> Look:
    """The look without one of its marks, its stretches of wall and its lengths."""
    kept = [k for k in range(len(look.points)) if k != mark]
    pairs = look.stretch_rays.reshape(-1, 2, 3)
    sound = ~np.any(np.all(pairs == look.rays[mark], axis=2), axis=1)
    return Look(photo=look.photo, points=tuple(look.points[k] for k in kept), rays=look.rays[kept],
                stretch_rays=pairs[sound].reshape(-1, 3),
                tapes=tuple((kept.index(a), kept.index(b), mm) for a, b, mm in look.tapes if mark not in (a, b)))
