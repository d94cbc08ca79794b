"""First pieces to search from, read off the bound's own play.

The weights that prove most say where boards are short; the plan that is best against them has its runs in step with one
another over the whole floor, which turning one run at a time may never find: in a rectangle whose rows all alternate
between two places, one pair of rows out of step costs a board and cannot be mended from within.
"""
from __future__ import annotations

import numpy as np

from layout.search.fewest.lower_bound import GRIDS_MM, play, ready
from layout.search.core.repair import mend
from layout.search.core.model import Task
from layout.search.core.board_pairing import count_boards
from layout.search.core.forest_dp import candidates

#: Rounds of the play that are looked at, and a number of boards that ends none of them early.
ROUNDS, UNREACHED = 40, 10**9


def guided_start(task: Task) -> list[float] | None:
    """First pieces that keep every rule, of fewest boards among the best answers to the bound's weights; None if
    none keeps them."""
    step, spacing = GRIDS_MM[0]
    firsts = [candidates(span, task.board_mm, step) for span in task.spans]
    if any(len(lengths) == 0 for lengths in firsts):
        return None
    game = ready(task, firsts, step, spacing, exact=True)
    met: dict[tuple[int, ...], None] = {}
    play(game, 0, UNREACHED, ROUNDS, np.full(game.carriers, 1.0 / game.carriers), met)
    mended = (mend(task, [float(lengths[k]) for lengths, k in zip(firsts, chosen)]) for chosen in met)
    return min((found for found in mended if found is not None), key=lambda found: count_boards(task, found),
               default=None)
