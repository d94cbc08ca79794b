"""Where arcs are missing on the circle of a board, and where a run's arc may lie to mend that
(`core.circular_arcs`)."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout.search.core.circular_arcs import Arcs, Contact, Lie, Stretch, barred, cover_of
from layout.search.core.forest_dp import Ints


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Lack:
    """Where one more arc would help: stops on 0..C, 1 or 0 between them, and what lies before each stop in sum."""

    stops: Ints
    helps: Ints
    before: Ints
    board: int

    def mended(self, starts: Ints, surplus: int) -> Ints:
        """How much of the circle that lacks an arc one from each of `starts` would cover, pm."""
        upto = self._upto(np.concatenate([starts, starts + surplus]))
        return upto[len(starts):] - upto[:len(starts)]

    def _upto(self, y: Ints) -> Ints:
        turns, rest = np.divmod(y, self.board)
        rest = np.minimum(rest, self.stops[-1])
        at = self.stops[1:-1].searchsorted(rest, side="right")
        return turns * self.before[-1] + self.before[at] + self.helps[at] * (rest - self.stops[at])


def missing(arcs: Arcs, starts: Ints, wanted: int) -> int:
    """Length of circle lacking arcs, each stretch as often as it lacks one, pm."""
    stops, cover = cover_of(arcs, starts, arcs.surplus)
    return int((np.maximum(wanted - cover, 0) * (stops[1:] - stops[:-1])).sum())


def lack_without(arcs: Arcs, starts: Ints, run: int, wanted: int) -> tuple[Lack, int]:
    """(where a run's arc would help, what is missing without it)."""
    others = np.concatenate([starts[:run], starts[run + 1:]])
    stops, cover = cover_of(arcs, others, np.concatenate([arcs.surplus[:run], arcs.surplus[run + 1:]]))
    steps = stops[1:] - stops[:-1]
    helps = (cover < wanted + (arcs.surplus[run] < 0)).astype(np.int64)
    lack = Lack(stops=stops, helps=helps, before=np.concatenate([[0], np.cumsum(helps * steps)]), board=arcs.board)
    return lack, int((np.maximum(wanted - cover, 0) * steps).sum())


def options(arcs: Arcs, lie: Lie, run: int, stops: Ints, where: float, heeded: tuple[Contact, ...]) -> tuple[Ints, int]:
    """(places a run may take that are worth weighing, how many of the first of them have a joint); of its seams only
    those `heeded` bar any."""
    bars = [bar for contact in heeded if not lie.whole[contact.other]
            for bar in [barred(arcs, run, contact, lie.places[contact.other])] if bar is not None]
    edges = np.array([edge for lo, width in bars for edge in (lo, lo + width)], dtype=np.int64)
    met = np.concatenate([stops, stops - int(arcs.surplus[run]), edges]) % arcs.board
    jointed = _lying_on(met, arcs.jointed[run], where)
    for lo, width in bars:
        into = (jointed - lo) % arcs.board
        jointed = jointed[(into == 0) | (into >= width)]
    single = arcs.single[run]
    if single is None:
        return jointed, len(jointed)
    return np.concatenate([jointed, _lying_on(met, (single,), where)]), len(jointed)


def lay(arcs: Arcs, lie: Lie, starts: Ints, run: int, wanted: int, *, draws: tuple[float, float], slack: int,
        heeded: tuple[Contact, ...]) -> int | None:
    """Lay a run's arc anew (in place), where it mends most or less by up to `slack`, pm; what is missing then, None if
    there is no place.

    draws: from 0 to 1, of a place on each free stretch, and of one of the places that are good enough.
    """
    where, which = draws
    lack, short = lack_without(arcs, starts, run, wanted)
    places, jointed = options(arcs, lie, run, lack.stops, where, heeded)
    if len(places) == 0:
        return None
    mends = lack.mended(places % arcs.board, int(arcs.surplus[run]))
    good = np.flatnonzero(mends >= mends.max() - slack)
    chosen = int(good[int(which * len(good))])
    lie.places[run], lie.whole[run] = int(places[chosen]), chosen >= jointed
    starts[run] = lie.places[run] % arcs.board
    return short - int(mends[chosen])


def spared(arcs: Arcs, lie: Lie, starts: Ints, run: int, wanted: int, where: float) -> Ints:
    """Places with a joint that a run may take, its neighbours staying, without anything more than now missing; ends
    of what is free, and a few."""
    lack, _ = lack_without(arcs, starts, run, wanted)
    places, jointed = options(arcs, lie, run, lack.stops, where, arcs.contacts[run])
    places = places[:jointed]
    mends = lack.mended(np.concatenate([starts[run:run + 1], places % arcs.board]), int(arcs.surplus[run]))
    return places[mends[1:] >= mends[0]]


def _lying_on(met: Ints, stretches: tuple[Stretch, ...], where: float) -> Ints:
    """Those of the places met that lie on the stretches, the ends of these and a place drawn on each."""
    parts = [np.empty(0, dtype=np.int64)]
    for lo, hi in stretches:
        parts += [met[(met >= lo) & (met <= hi)], np.array([lo, hi, lo + int(where * (hi - lo))], dtype=np.int64)]
    return np.concatenate(parts)
