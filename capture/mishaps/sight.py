"""An order of the corners whose walls do not cross and that is wrong all the same: photos then show corners through
walls.

No photo shows a corner of the floor through a wall. Where one does, as the corners are listed, another order of the
same corners is sought in which none does and which leaves fewer walls that no reading speaks of. The readings do not
depend on the order, so the floor is the same; only which corners are neighbours changes.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.floor_prior import crosses, implausibility, is_simple
from capture.adjustment.least_squares import Fit
from capture.adjustment.parameter_index import index_network
from capture.mishaps.facts import OrderMixed, SeenThrough
from capture.mishaps.outline import orders, untold_walls
from capture.mishaps.trial import Explained, carried, tried
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.photo import Marks

Array = NDArray[np.float64]

#: A sight that passes a wall's end nearer than this, or ends nearer than this behind a wall, does not clearly go
#: through it, mm; our own choice, no source.
_CLEARLY_MM = 60.0


def order_seen(network: Network, ix: Indexed, fit: Fit) -> Explained | None:
    """The order in which no corner is seen through a wall, where the listed one has such corners; None where it has
    none, or no other order does without."""
    spots = dict(zip(ix.names, fit.state.points_mm))
    sights = _sights(ix, fit)
    seen = _through(network.outline, spots, sights)
    if seen is None:
        return None
    untold = untold_walls(network)
    better = [(untold_walls(mended), k, points, mended) for k, (points, outline) in enumerate(orders(network.outline))
              for mended in [replace(network, outline=outline)] if untold_walls(mended) < untold
              and is_simple(np.array([spots[name] for name in outline])) and _through(outline, spots, sights) is None]
    for _, _, points, mended in sorted(better, key=lambda one: one[:2])[:1]:
        other = index_network(mended)
        start = carried(ix, fit.state, other)
        mishap = OrderMixed(points=points, crossing=None, outline=mended.outline, through=seen)
        if start is not None and implausibility(other, start) <= implausibility(ix, fit.state):
            return tried(mishap, mended, other, start)
    return None


def _sights(ix: Indexed, fit: Fit) -> list[tuple[str, str, Array]]:
    """(photo, corner, where the camera stands) of each mark of a named point."""
    marks = ix.of(Marks)
    eyes = -np.einsum("kji,kj->ki", fit.state.rotations, fit.state.shifts_mm)[:, :2]
    return [(ix.photo_names[photo], ix.names[point], eyes[photo])
            for photo, point in zip(marks.photo.tolist(), marks.point.tolist()) if point < len(ix.names)]


def _through(outline: tuple[str, ...], spots: dict[str, Array], sights: list[tuple[str, str, Array]]
             ) -> SeenThrough | None:
    """The first corner that a photo shows clearly through a wall."""
    walls = list(zip(outline, outline[1:] + outline[:1]))
    starts, ends = (np.array([spots[wall[k]] for wall in walls]) for k in (0, 1))
    way = ends - starts
    step = way * np.minimum(_CLEARLY_MM / np.maximum(np.hypot(*way.T), 1e-9), 0.5)[:, None]
    for photo, corner, eye in sights:
        sight = spots[corner] - eye
        far = float(np.hypot(*sight))
        if corner not in outline or far <= 2.0 * _CLEARLY_MM:
            continue
        end = eye + sight * (1.0 - _CLEARLY_MM / far)
        crossed = np.flatnonzero(crosses(eye, end, starts + step, ends - step))
        behind = [walls[k] for k in crossed if corner not in walls[k]]
        if behind:
            return SeenThrough(photo=photo, corner=corner, wall=behind[0])
    return None
