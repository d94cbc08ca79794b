"""Halls: fewest boards block by block, then as a whole.

A move of `min_boards` looks at every run, so a floor of hundreds is first searched in blocks of neighbouring runs, each
on its own with what lies round it held as it is. A block wastes less than a board more than it has to; what the blocks
have left over is put together when the whole is searched.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from layout.search.core.circular_arcs import Arcs, Lie, Stretch, barred
from layout.search.fewest.min_boards import hunt

#: Runs of a block; a floor of no more than twice as many is searched as a whole at once.
BLOCK_RUNS = 60


def hunt_in_blocks(arcs: Arcs, lie: Lie, *, moves: int, seed: int) -> Lie:
    """The arcs of a hall after so many moves in every block, those of a room as they are; every rule is kept."""
    lie = lie.copy()
    if len(lie.places) <= 2 * BLOCK_RUNS:
        return lie
    for number, runs in enumerate(blocks_of(arcs)):
        part = part_of(arcs, lie, runs)
        found, _ = hunt(part, Lie(places=[lie.places[run] for run in runs], whole=[lie.whole[run] for run in runs]),
                        least=int(part.alone.sum() - part.surplus.sum() // part.shared), moves=moves,
                        seed=seed + number)
        for k, run in enumerate(runs):
            lie.places[run], lie.whole[run] = found.places[k], found.whole[k]
    return lie


def blocks_of(arcs: Arcs) -> list[list[int]]:
    """Runs of neighbouring rows, in blocks: fields beside one another share a block, for one may use what the other
    leaves."""
    runs = range(len(arcs.contacts))
    return [list(runs[at:at + BLOCK_RUNS]) for at in range(0, len(runs), BLOCK_RUNS)]


def part_of(arcs: Arcs, lie: Lie, runs: list[int]) -> Arcs:
    """Some runs by themselves; where neighbours outside bar a place, the rules do."""
    within = {run: k for k, run in enumerate(runs)}
    return replace(arcs, task=replace(arcs.task, spans=tuple(arcs.task.spans[run] for run in runs), seams=()),
                   alone=arcs.alone[np.array(runs)], surplus=arcs.surplus[np.array(runs)],
                   left=tuple(arcs.left[run] for run in runs), length=tuple(arcs.length[run] for run in runs),
                   single=tuple(arcs.single[run] for run in runs),
                   jointed=tuple(_free(arcs, lie, run, within) for run in runs),
                   contacts=tuple(tuple(replace(contact, other=within[contact.other]) for contact in arcs.contacts[run]
                                        if contact.other in within) for run in runs))


def _free(arcs: Arcs, lie: Lie, run: int, within: dict[int, int]) -> tuple[Stretch, ...]:
    """Where a run's place may be while the neighbours outside stay."""
    stretches = list(arcs.jointed[run])
    for contact in arcs.contacts[run]:
        if contact.other not in within and not lie.whole[contact.other]:
            bar = barred(arcs, run, contact, lie.places[contact.other])
            if bar is not None:
                for start in (bar[0] - arcs.board, bar[0]):
                    stretches = _without(stretches, start, start + bar[1])
    return tuple(stretches)


def _without(stretches: list[Stretch], lo: int, hi: int) -> list[Stretch]:
    """Closed stretches less an open one."""
    left = [(a, min(b, lo)) for a, b in stretches if a <= lo]
    return left + [(max(a, hi), b) for a, b in stretches if b >= hi]
