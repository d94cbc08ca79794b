"""What a walk may do without another board: the runs as arcs (`core.circular_arcs`), kept beside the state it
changes."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout.search.core.circular_arcs import PER_MM, Arcs, Lie, arcs_of, boards_of, lie_of, lie_of_run
from layout.search.fewest.coverage_deficit import spared
from layout.search.core.state import State
from layout.search.core.forest_dp import Ints


@dataclass(slots=True, eq=False, kw_only=True)
class Leeway:
    """The arcs of a state as they lie now. wanted: how often the circle is covered everywhere, and must stay so."""

    arcs: Arcs
    lie: Lie
    starts: Ints
    wanted: int

    def draw(self, run: int, which: float, where: float) -> float | None:
        """A first piece for a run that keeps the boards, drawn by two numbers in 0..1; None if there is none or the
        run is in one piece."""
        if self.lie.whole[run]:
            return None
        places = spared(self.arcs, self.lie, self.starts, run, self.wanted, where)
        return int(places[int(which * len(places))]) / PER_MM if len(places) else None

    def move(self, firsts: dict[int, float]) -> None:
        """Take over new first pieces, by run."""
        for run, first in firsts.items():
            self.lie.places[run], self.lie.whole[run] = lie_of_run(self.arcs, run, first)
            self.starts[run] = self.lie.places[run] % self.arcs.board
        self.wanted = int(self.arcs.alone.sum()) - boards_of(self.arcs, self.lie)


def leeway_of(state: State) -> Leeway:
    """The leeway of a state."""
    arcs = arcs_of(state.task)
    lie = lie_of(arcs, state.firsts)
    return Leeway(arcs=arcs, lie=lie, starts=np.array(lie.places, dtype=np.int64) % arcs.board,
                  wanted=int(arcs.alone.sum()) - boards_of(arcs, lie))
