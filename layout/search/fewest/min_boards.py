"""Fewest boards: arcs turned, alone or with those they push, until every place of the circle is covered often enough
(`core.circular_arcs`).

A number of boards is aimed at, one fewer than the best so far. What is missing is the total length of circle, counted
as often as arcs lack there, that keeps from it. A move takes one run and lays its arc where it mends most: where it
should begin or end is known exactly, at an end of another arc or of what rules and neighbours allow, so all those
places are weighed and one of the best is taken, however little it mends; now and then a worse one. What that does not
find soon is held fast by neighbours, so from then on every other move pushes them out of the way (`ejection_chain`);
how much it may worsen matters cools from move to move, and again and again begins warm, so that the search does not
stand still. Whenever little is missing, all arcs are shifted together (`joint_shift`). Once nothing is missing the aim
is lowered, down to a bound nobody can beat.
"""
from __future__ import annotations

import numpy as np

from layout.search.core.circular_arcs import PER_MM, Arcs, Lie, boards_of
from layout.search.fewest.coverage_deficit import lay, missing
from layout.search.fewest.ejection_chain import ripple
from layout.search.fewest.joint_shift import shift
from layout.search.core.forest_dp import Floats, Ints

#: Share of moves that may take a worse place, and by how much of a board at most.
STRAY, STRAY_SHARE = 0.05, 0.15
#: Places that mend as much as the best to within this are as good, pm.
AS_GOOD = PER_MM // 10
#: Shifting all arcs together is tried when less than this is missing, pm.
SHIFT_BELOW = 60 * PER_MM
#: Moves that push nobody, at first: where they do, floors look better for it.
PLAIN = 1000
#: Share of the others that push neighbours; what they may worsen at most, of a board; moves from one warm start to the
#: next.
RIPPLES, WARM, CYCLE = 0.5, 0.05, 2500


def hunt(arcs: Arcs, lie: Lie, *, least: int, moves: int, seed: int, plain: int = PLAIN) -> tuple[Lie, int]:
    """(the lie of fewest boards met, its boards). `lie` keeps every rule, and so does what is returned; stops at
    `least` boards.

    plain: moves at first that push nobody.
    """
    draws, rng = np.random.default_rng(seed).random((moves, 4)), np.random.default_rng([seed, moves])
    best, boards = lie.copy(), boards_of(arcs, lie)
    present, starts, wanted = _aimed(arcs, best, boards)
    left = lowest = missing(arcs, starts, wanted)
    for turn in range(moves):
        if boards <= least:
            break
        cold = (turn - plain) % CYCLE / CYCLE
        lowest = left if cold == 0.0 else lowest
        if turn >= plain and rng.random() < RIPPLES:
            left = ripple(arcs, present, starts, wanted, left, WARM * arcs.board * (1.0 - cold) ** 3, rng)
        else:
            left = _turn_one(arcs, present, starts, wanted, draws[turn])
        if left < lowest:
            lowest = left
            found = present if left == 0 else shift(arcs, present, boards - 1) if left < SHIFT_BELOW else None
            if found is not None and boards_of(arcs, found) < boards:
                best, boards = found.copy(), boards_of(arcs, found)
                present, starts, wanted = _aimed(arcs, best, boards)
                left = lowest = missing(arcs, starts, wanted)
    return best, boards


def _aimed(arcs: Arcs, lie: Lie, boards: int) -> tuple[Lie, Ints, int]:
    """(a lie to be changed, where its arcs start, how often the circle must be covered for a board fewer)."""
    return lie.copy(), np.array(lie.places, dtype=np.int64) % arcs.board, int(arcs.alone.sum()) - boards + 1


def _turn_one(arcs: Arcs, lie: Lie, starts: Ints, wanted: int, draw: Floats) -> int:
    """Lay one run's arc anew (in place) where it mends most, now and then where it mends less; returns what is
    missing then."""
    run, slack = int(draw[0] * len(lie.places)), AS_GOOD
    if draw[1] < STRAY:
        slack += int(draw[1] / STRAY * draw[1] / STRAY * STRAY_SHARE * arcs.board)
    left = lay(arcs, lie, starts, run, wanted, draws=(draw[3], draw[2]), slack=slack, heeded=arcs.contacts[run])
    return missing(arcs, starts, wanted) if left is None else left
