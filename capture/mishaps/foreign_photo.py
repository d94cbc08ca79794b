"""A photo that does not belong: all readings but its own agree. Sought where no single reading explains as much."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture import progress
from capture.readings.chi_square import chi_square
from capture.adjustment.batch import minimise_all
from capture.adjustment.datum_defect import refuse_unmeasured
from capture.adjustment.floor_prior import is_simple
from capture.adjustment.parameter_index import index_network
from capture.errors import CaptureError
from capture.mishaps.facts import StrangePhoto
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.photo import Marks, WallClicks
from capture.readings.state import POSE, State


def strange_photo(network: Network, ix: Indexed, floors: list[State]) -> StrangePhoto | None:
    """The one photo without which all other readings agree on a room; None where there is none, or more than one."""
    if len(ix.photo_names) < 2 or not floors:
        return None
    progress.tell("photo-by-photo")
    photos = [k for k, name in enumerate(ix.photo_names) if is_fixed(without_photo(network, name))]
    tries = [(state, k) for k in photos for state in floors]
    if not tries:
        return None
    weights = np.array([_without(ix, k) for _, k in tries])
    bent = minimise_all(ix, [state for state, _ in tries], robust=True, iterations=15, line_weights=weights)
    fits = minimise_all(ix, [fit.state for fit in bent], iterations=40, line_weights=weights)
    agree = {k for fit, (_, k), used in zip(fits, tries, weights)
             if fit.cost <= chi_square(max(int(np.sum(used)) - (ix.columns - 3 - POSE), 1), 0.001)
             and is_simple(fit.state.points_mm[ix.outline])}
    return StrangePhoto(photo=ix.photo_names[agree.pop()]) if len(agree) == 1 else None


def without_photo(network: Network, name: str) -> Network:
    """The network as if the photo had not been taken."""
    return replace(network, photos=tuple(p for p in network.photos if p.name != name),
                   marks=tuple(m for m in network.marks if m.photo != name),
                   wall_lines=tuple(line for line in network.wall_lines if line.photo != name),
                   target_marks=tuple(m for m in network.target_marks if m.photo != name))


def _without(ix: Indexed, photo: int) -> np.ndarray:
    """(l,) 0 on the lines of a photo, 1 elsewhere."""
    marks, clicks = ix.of(Marks), ix.of(WallClicks)
    used = np.ones(len(ix.line_groups()))
    used[ix.lines_of(Marks)] = np.repeat(marks.photo != photo, 2)
    used[ix.lines_of(WallClicks)] = clicks.photo != photo
    return used


def is_fixed(network: Network) -> bool:
    """Whether every point still has a reading."""
    try:
        refuse_unmeasured(index_network(network), network)
    except CaptureError:
        return False
    return True
