"""Floors that the readings do not fix: which corner can still move, and a reading that would hold it."""
from __future__ import annotations

from itertools import combinations

import numpy as np

from capture.adjustment.least_squares import Precision
from capture.readings.state import State
from capture.errors import CaptureError
from capture.language.messages import Message, lazy_gettext, lazy_ngettext
from capture.floor import without_drift
from capture.readings.indexed import Indexed
from capture.network import Network
from capture.readings.table import KINDS
from capture.readings.tape import Tapes

#: A wall less sure than this (one standard deviation) is no basis for anything: the readings leave a flat valley.
HOPELESS_SD_MM = 120.0


def refuse_unmeasured(ix: Indexed, network: Network) -> None:
    """Raise CaptureError for a point with no reading at all ("unmeasured-point") or a floor with no size
    ("no-scale")."""
    for fault in (fault for kind in KINDS for fault in kind.faults(network)):
        raise fault
    if not any(kind.scales and len(kind) for kind in ix.readings):
        raise CaptureError("no-scale", lazy_gettext(
            "nothing tells the size of the room: type at least one tape length between two marked corners"))
    seen = {name for kind in KINDS if kind.locates for name, _ in kind.points(network)}
    lines = {frozenset(line.wall) for line in network.wall_lines}
    outline = network.outline
    bare = [corner for k, corner in enumerate(outline) if corner not in seen
            and not all(frozenset((corner, near)) in lines for near in (outline[k - 1],
                                                                        outline[(k + 1) % len(outline)]))]
    bare += [name for name in ix.names if name not in seen and name not in outline]
    if bare:
        raise CaptureError("unmeasured-point", _unmeasured(bare, of_outline=bare[0] in outline))


def _unmeasured(bare: list[str], *, of_outline: bool) -> Message:
    if len(bare) > 1:
        return lazy_gettext("nobody has measured points {points}: mark each in a photo, or measure to each from two "
                            "other corners", points=", ".join(bare))
    if of_outline:
        return lazy_gettext("nobody has measured corner {corner}: mark it in a photo, or measure to it from two other "
                            "corners", corner=bare[0])
    return lazy_gettext("nobody has measured point {point}: mark it in a photo, or measure to it from two other "
                        "corners", point=bare[0])


def refuse_loose(ix: Indexed, state: State, precision: Precision) -> None:
    """Raise CaptureError "loose-floor" if a direction that nothing fixes moves a point of the floor."""
    moves = _without_drift(state, precision.loose[:2 * len(ix.names)])
    travel = np.sqrt(np.sum(moves**2, axis=(1, 2)))
    if travel.size and travel.max() > 1e-6:
        free = int(np.linalg.matrix_rank(moves.reshape(len(travel) * 2, -1), tol=1e-6))
        error = _loose(ix, state, travel, moves)
        if free > 1:
            error = CaptureError(error.slug, lazy_ngettext(
                "{sentence}; after that one more such reading is needed",
                "{sentence}; after that up to {count} more such readings are needed", free - 1, sentence=error.message))
        raise error


def refuse_vague(ix: Indexed, state: State, precision: Precision) -> None:
    """Raise CaptureError "loose-floor" if a point is fixed on paper only: its uncertainty is of the size of
    furniture."""
    named = 2 * len(ix.names)
    root = np.linalg.cholesky(precision.cov[:named, :named] + 1e-9 * np.eye(named))
    moves = _without_drift(state, root)
    travel = np.sqrt(np.sum(moves**2, axis=(1, 2)))
    worst = int(np.argmax(travel))
    if travel[worst] > 2.0 * HOPELESS_SD_MM:
        error = _loose(ix, state, travel, moves)
        raise CaptureError(error.slug, lazy_gettext(
            "corner {corner} is only known to some {off:.0f} mm; {sentence}", corner=ix.names[worst],
            off=float(2 * travel[worst]), sentence=error.message))


def _without_drift(state: State, columns: np.ndarray) -> np.ndarray:
    """(n, 2, d) movements of the first n points with the shift and turn of the whole floor taken out: those belong to
    the gauge, and would blame the corners far from it."""
    points = state.points_mm[:len(columns) // 2]
    return without_drift(points, columns).reshape(len(points), 2, -1)


def _loose(ix: Indexed, state: State, travel: np.ndarray, moves: np.ndarray) -> CaptureError:
    corner = ix.names[int(np.argmax(travel))]
    mark = (lazy_gettext("mark {corner} in one more photo", corner=corner) if ix.photo_names
            else lazy_gettext("mark {corner} in a photo", corner=corner))
    pair = _helpful_pair(ix, state, moves)
    way_out = lazy_gettext("measure {a} to {b}, or {mark}", a=pair[0], b=pair[1], mark=mark) if pair else mark
    return CaptureError("loose-floor", lazy_gettext(
        "the readings do not fix {corner}: it can still move; {way_out}", corner=corner, way_out=way_out))


def _helpful_pair(ix: Indexed, state: State, moves: np.ndarray) -> tuple[str, str] | None:
    """The untaped pair of points, corners if any will do, whose distance changes most along the loose direction."""
    taken = {frozenset(pair) for pair in ix.of(Tapes).ends.tolist()}
    pool = [p for p in combinations(range(len(ix.names)), 2) if frozenset(p) not in taken]

    def change(pair: tuple[int, int]) -> float:
        step = state.points_mm[pair[1]] - state.points_mm[pair[0]]
        unit = step / max(float(np.hypot(*step)), 1e-9)
        return float(np.sqrt(np.sum((unit @ (moves[pair[1]] - moves[pair[0]])) ** 2)))

    for candidates in ([p for p in pool if max(p) < len(ix.outline)], pool):
        best = max(candidates, key=change, default=None)
        if best is not None and change(best) > 1e-6:
            return ix.names[best[0]], ix.names[best[1]]
    return None
