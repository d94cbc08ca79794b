"""One arc laid anew, and with it those it pushes: a move the search for fewest boards makes beside turning one arc at a
time.

Where joints have little room, as with 300 mm of stagger in boards of 800 or 1200, rows hold one another fast: each
could mend what is missing, were it not for its neighbour. So a run is laid heeding its neighbours on one side only;
those on the other side that are in its way are laid anew in turn, each as it mends most, until nobody is in anybody's
way (an ejection chain, Glover 1996).
"""
from __future__ import annotations

from math import inf, log

import numpy as np

from layout.search.core.circular_arcs import Arcs, Lie, barred
from layout.search.fewest.coverage_deficit import lay
from layout.search.core.forest_dp import Ints

#: A pushed run's places that mend as much as the best to within this share of a board are as good.
AS_GOOD = 1e-4
#: The first run's may mend less by up to so much of a board.
FIRST_STRAY = 0.5


def ripple(arcs: Arcs, lie: Lie, starts: Ints, wanted: int, left: int, warmth: float, rng: np.random.Generator) -> int:
    """Lay a run and those it pushes anew (in place); returns what is missing then, pm.

    left: what is missing now. Nothing is changed if more would be missing than that and a draw of mean `warmth`
    (exponential, so warmth is the temperature of Metropolis' rule), or if a pushed run has nowhere to go.
    """
    run, ahead, stray, luck = rng.random(4)
    before = lie.copy(), starts.copy()
    now = _pushed(arcs, lie, starts, wanted, int(run * len(lie.places)), 1 if ahead < 0.5 else -1,
                  stray * stray * FIRST_STRAY, rng)
    if now is not None and now <= left - warmth * (log(luck) if luck else -inf):
        return now
    lie.places[:], lie.whole[:] = before[0].places, before[0].whole
    starts[:] = before[1]
    return left


def _pushed(arcs: Arcs, lie: Lie, starts: Ints, wanted: int, first: int, ahead: int, stray: float,
            rng: np.random.Generator) -> int | None:
    """Lay `first` anew, then every run ahead of it that is in the way; what is missing then, None if one has nowhere
    to go."""
    waiting, slack, now = {first}, stray, None
    while waiting:
        run = min(waiting) if ahead > 0 else max(waiting)
        waiting.remove(run)
        now = _laid(arcs, lie, starts, wanted, run, ahead, slack, rng)
        if now is None:
            return None
        slack = AS_GOOD
        others = {contact.other for contact in arcs.contacts[run] if (contact.other - run) * ahead > 0}
        waiting |= {other for other in others if _in_the_way(arcs, lie, other, run)}
    return now


def _laid(arcs: Arcs, lie: Lie, starts: Ints, wanted: int, run: int, ahead: int, slack: float,
          rng: np.random.Generator) -> int | None:
    """Lay a run where it mends most, or less by up to `slack` of a board, heeding only neighbours that are not ahead;
    what is missing then, None if there is no place."""
    where, which = rng.random(2)
    heeded = tuple(contact for contact in arcs.contacts[run] if (contact.other - run) * ahead < 0)
    return lay(arcs, lie, starts, run, wanted, draws=(where, which), slack=int(slack * arcs.board), heeded=heeded)


def _in_the_way(arcs: Arcs, lie: Lie, run: int, other: int) -> bool:
    """Whether a run lies where a neighbour bars it."""
    if lie.whole[run] or lie.whole[other]:
        return False
    for contact in arcs.contacts[run]:
        bar = barred(arcs, run, contact, lie.places[other]) if contact.other == other else None
        if bar is not None and 0 < (lie.places[run] - bar[0]) % arcs.board < bar[1]:
            return True
    return False
