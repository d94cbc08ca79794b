"""End joints put on the centre lines of pipes, where that costs no board.

A joint on a pipe's middle gives each board half the hole, and no wedge has to be cut and glued behind the pipe (trade
sheet, section 6). The search meets such a place by chance only, so each is tried by itself: the run is held there, its
neighbours make room, and a short walk sees whether the boards stay as few.
"""
from __future__ import annotations

from dataclasses import replace

from layout.search.core.circular_arcs import arcs_of, firsts_of, lie_of
from layout.search.fewest.min_boards import hunt
from layout.search.core.repair import mend
from layout.search.core.model import Task, welcome_firsts
from layout.search.core.board_pairing import count_boards

MOST_TRIALS = 8
#: One trial's share of the search's moves.
SHARE = 6


def pin_pipes(task: Task, firsts: list[float], *, moves: int, seed: int) -> tuple[Task, list[float]]:
    """(the task with runs held where a joint lies on a pipe's middle, first pieces that use no more boards than the
    given ones)."""
    boards, trials = count_boards(task, firsts), 0
    for run, span in enumerate(task.spans):
        for first in welcome_firsts(span, task.board_mm) if span.bars else ():
            if trials == MOST_TRIALS or task.spans[run].pinned_mm is not None:
                break
            trials += 1
            held = _hold(task, run, first)
            found = _as_few(held, [first if k == run else present for k, present in enumerate(firsts)], boards,
                            moves // SHARE, seed + trials)
            if found is not None:
                task, firsts = found
    return task, firsts


def unpinned(pinned: Task, before: Task) -> Task:
    """The pinned task with its runs held no more than before."""
    return replace(pinned, spans=tuple(replace(span, pinned_mm=old.pinned_mm)
                                       for span, old in zip(pinned.spans, before.spans)))


def _hold(task: Task, run: int, first: float) -> Task:
    return replace(task, spans=tuple(replace(span, pinned_mm=first) if k == run else span
                                     for k, span in enumerate(task.spans)))


def _as_few(task: Task, firsts: list[float], boards: int, moves: int, seed: int) -> tuple[Task, list[float]] | None:
    """(the task with places noted, first pieces that keep its rules with so few boards), or None."""
    mended = mend(task, firsts)
    if mended is None:
        return None
    arcs = arcs_of(task)
    lie, found = hunt(arcs, lie_of(arcs, mended), least=boards, moves=moves, seed=seed)
    return firsts_of(arcs, lie) if found <= boards else None
