"""The outline as a hand drew it: no reading, but it tells which of two floors that fit alike is meant, and left from
right where no photo does."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from capture.initial.selection import Start
from capture.network import Network
from capture.readings.geometry import ring_area_mm2
from capture.readings.indexed import Indexed
from capture.readings.state import State

#: The drawing decides if one floor is so many times nearer to it in shape than the other; our own choice.
_NEARER = 1.5


def turned_as_drawn(network: Network) -> Network:
    """A network without photos, its outline listed anticlockwise as drawn: tape alone cannot tell."""
    ring = drawn_ring(network)
    if network.photos or ring is None or ring_area_mm2(ring) >= 0:
        return network
    return replace(network, outline=network.outline[:1] + network.outline[:0:-1])


def drawn_ring(network: Network) -> NDArray[np.float64] | None:
    """(n, 2) corners of the outline as drawn, any unit; None unless all are."""
    at = dict(network.drawn)
    if not set(network.outline) <= set(at):
        return None
    return np.array([at[name] for name in network.outline], dtype=np.float64)


def settled_as_drawn(ix: Indexed, start: Start, network: Network) -> Start:
    """The floor whose shape is the drawn one, with no rival any more; the start as it is where nothing was drawn or
    both are as near."""
    ring = drawn_ring(network)
    if ring is None or start.rival is None:
        return start
    fits = (start.fit, start.rival)
    off = [_off(_ring(ix, fit.robust_state or fit.state), ring) for fit in fits]
    best = int(np.argmin(off))
    return start if off[1 - best] < _NEARER * off[best] else Start(fit=fits[best], rival=None)


def _ring(ix: Indexed, state: State) -> NDArray[np.float64]:
    return state.points_mm[ix.outline]


def _off(ring: NDArray[np.float64], drawn: NDArray[np.float64]) -> float:
    """How far a ring is from another of any size, place and heading, never mirrored: root mean square, as a share of
    its own size (Procrustes; Gower 1975, from memory)."""
    p, q = (points[:, 0] + 1j * points[:, 1] for points in (ring, drawn))
    p, q = p - p.mean(), q - q.mean()
    size = float(np.sum(np.abs(p) ** 2))
    share = abs(np.vdot(q, p)) ** 2 / max(size * float(np.sum(np.abs(q) ** 2)), 1e-12)
    return float(np.sqrt(max(1.0 - share, 0.0)))
