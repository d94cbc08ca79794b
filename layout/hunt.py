"""Fewest boards: arcs turned one at a time until every place of the circle is covered often enough (`layout.arcs`).

A number of boards is aimed at, one fewer than the best so far. What is missing is the total length of circle, counted as often
as arcs lack there, that keeps from it. A move takes one run and lays its arc where it mends most: where it should begin or end
is known exactly, at an end of another arc or of what rules and neighbours allow, so all those places are weighed and one of the
best is taken, however little it mends; now and then a worse one, so that the search does not stand still. Whenever little
is missing, all arcs are shifted together (`layout.shift`). Once nothing is missing the aim is lowered, down to a bound nobody can beat.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout.arcs import PER_MM, Arcs, Lie, Stretch, barred, boards_of, cover_of
from layout.shift import shift
from layout.tree import Floats, Ints

#: Share of moves that may take a worse place, and by how much of a board at most.
STRAY, STRAY_SHARE = 0.05, 0.15
#: Places that mend as much as the best to within this are as good, pm.
AS_GOOD = PER_MM // 10
#: Shifting all arcs together is tried when less than this is missing, pm.
SHIFT_BELOW = 60 * PER_MM
#: Moves in vain before the search goes back to the best state met.
PATIENCE = 1500


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Lack:
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


def hunt(arcs: Arcs, lie: Lie, *, least: int, moves: int, seed: int) -> tuple[Lie, int]:
    """(the lie of fewest boards met, its boards). `lie` keeps every rule, and so does what is returned; stops at `least` boards."""
    draws = np.random.default_rng(seed).random((moves, 4))
    best, boards = lie.copy(), boards_of(arcs, lie)
    present, starts = lie.copy(), np.array(lie.places, dtype=np.int64) % arcs.board
    wanted = int(arcs.alone.sum()) - boards + 1
    fewest_missing, since = missing(arcs, starts, wanted), 0
    nearest = present.copy()
    for turn in range(moves):
        if boards <= least:
            break
        left = _turn_one(arcs, present, starts, wanted, draws[turn])
        since += 1
        if left < fewest_missing:
            fewest_missing, since, nearest = left, 0, present.copy()
            found = present.copy() if left == 0 else shift(arcs, present, boards - 1) if left < SHIFT_BELOW else None
            if found is not None and boards_of(arcs, found) < boards:
                best, boards = found, boards_of(arcs, found)
                present, starts = found.copy(), np.array(found.places, dtype=np.int64) % arcs.board
                wanted = int(arcs.alone.sum()) - boards + 1
                fewest_missing, since, nearest = missing(arcs, starts, wanted), 0, present.copy()
        if since > PATIENCE:
            since, present, starts = 0, nearest.copy(), np.array(nearest.places, dtype=np.int64) % arcs.board
    return best, boards


def missing(arcs: Arcs, starts: Ints, wanted: int) -> int:
    """Length of circle lacking arcs, each stretch as often as it lacks one, pm."""
    stops, cover = cover_of(arcs, starts, arcs.surplus)
    return int((np.maximum(wanted - cover, 0) * np.diff(stops)).sum())


def spared(arcs: Arcs, lie: Lie, starts: Ints, run: int, wanted: int, where: float) -> Ints:
    """Places with a joint that a run may take, its neighbours staying, without anything more than now missing; ends of what is free, and a few."""
    lack, _ = _lack_without(arcs, starts, run, wanted)
    places, jointed = options(arcs, lie, run, lack.stops, where)
    places = places[:jointed]
    mends = lack.mended(np.concatenate([starts[run:run + 1], places % arcs.board]), int(arcs.surplus[run]))
    return places[mends[1:] >= mends[0]]


def _turn_one(arcs: Arcs, lie: Lie, starts: Ints, wanted: int, draw: Floats) -> int:
    """Lay one run's arc anew (in place); returns what is missing then."""
    run = int(draw[0] * len(lie.places))
    lack, short = _lack_without(arcs, starts, run, wanted)
    surplus = int(arcs.surplus[run])
    places, jointed = options(arcs, lie, run, lack.stops, draw[3])
    if len(places) == 0:
        return short - int(lack.mended(starts[run:run + 1], surplus)[0])
    mends = lack.mended(places % arcs.board, surplus)
    chosen = _pick(mends, draw, arcs.board)
    lie.places[run], lie.whole[run] = int(places[chosen]), chosen >= jointed
    starts[run] = lie.places[run] % arcs.board
    return short - int(mends[chosen])


def _lack_without(arcs: Arcs, starts: Ints, run: int, wanted: int) -> tuple[_Lack, int]:
    """(where a run's arc would help, what is missing without it)."""
    others = np.concatenate([starts[:run], starts[run + 1:]])
    stops, cover = cover_of(arcs, others, np.concatenate([arcs.surplus[:run], arcs.surplus[run + 1:]]))
    steps = np.diff(stops)
    helps = (cover < wanted + (arcs.surplus[run] < 0)).astype(np.int64)
    lack = _Lack(stops=stops, helps=helps, before=np.concatenate([[0], np.cumsum(helps * steps)]), board=arcs.board)
    return lack, int((np.maximum(wanted - cover, 0) * steps).sum())


def options(arcs: Arcs, lie: Lie, run: int, stops: Ints, where: float) -> tuple[Ints, int]:
    """(places a run may take that are worth weighing, how many of the first of them have a joint)."""
    bars = [bar for contact in arcs.contacts[run] if not lie.whole[contact.other]
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


def _lying_on(met: Ints, stretches: tuple[Stretch, ...], where: float) -> Ints:
    """Those of the places met that lie on the stretches, the ends of these and a place drawn on each."""
    parts = [np.empty(0, dtype=np.int64)]
    for lo, hi in stretches:
        parts += [met[(met >= lo) & (met <= hi)], np.array([lo, hi, lo + int(where * (hi - lo))], dtype=np.int64)]
    return np.concatenate(parts)


def _pick(mends: Ints, draw: Floats, board: int) -> int:
    """One of the places that mend most, now and then one that mends less."""
    least = int(mends.max()) - AS_GOOD
    if draw[1] < STRAY:
        least -= int(draw[1] / STRAY * draw[1] / STRAY * STRAY_SHARE * board)
    good = np.flatnonzero(mends >= least)
    return int(good[int(draw[2] * len(good))])
