"""Offcuts put away for fewer rows: the order of the rows that lets them wait least, at the same boards, cuts and looks.

An offcut that waits has to be labelled, stored and found again. Where rows are of one length their order is free but
for the looks (`swap_moves`), so first pieces change places as long as nothing that is priced higher gets worse.
"""
from __future__ import annotations

from math import inf

import numpy as np

from layout.search.local.late_acceptance import Cost, accept_late
from layout.search.local.swap_moves import exchanged
from layout.search.core.model import Task
from layout.search.core.state import State
from layout.search.core.board_pairing import Shares, share_boards
from layout.search.core.forest_dp import NEVER


def shorten_waits(state: State, cost_of: Cost, *, moves: int, seed: int) -> list[float]:
    """First pieces that cost no more and whose offcuts wait for fewer rows, if any are met in `moves` moves."""
    most, draws = cost_of(state, inf), np.random.default_rng(seed).random((moves, 4)).tolist()

    def waited(state: State, _: float) -> int:
        return rows_waited(state.task, state.firsts) if cost_of(state, most) <= most else int(NEVER)

    return accept_late(state, waited, draws, lambda draw: exchanged(state, draw))[0]


def rows_waited(task: Task, firsts: list[float]) -> int:
    """How many rows the offcuts of all boards wait, from the first row a board is used in to the last; wood at hand
    before is not counted."""
    return sum(_wait(task, share) for share in share_boards(task, firsts))


def _wait(task: Task, share: Shares) -> int:
    rows = [task.spans[run].row for run in (share.end, *share.slices, share.start) if run >= 0]
    return max(rows) - min(rows) if min(rows) >= 0 else 0
