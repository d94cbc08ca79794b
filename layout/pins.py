"""End joints put on the centre lines of pipes, where that costs no board.

A joint on a pipe's middle gives each board half the hole, and no wedge has to be cut and glued behind the pipe (trade sheet,
section 6). The search meets such a place by chance only, so each is tried by itself: the run is held there, its neighbours
make room, and a short walk sees whether the boards stay as few.
"""
from __future__ import annotations

from dataclasses import replace

from layout.fewest import BOARD_COST, crowd_cost, walk
from layout.mending import mend
from layout.model import Task, welcome_firsts
from layout.state import state_of
from layout.stock import count_boards

MOST_TRIALS = 8
#: One trial's share of the search's moves.
SHARE = 6


def pin_pipes(task: Task, firsts: list[float], *, moves: int, seed: int) -> tuple[Task, list[float]]:
    """(the task with runs held where a joint lies on a pipe's middle, first pieces that use no more boards than the given ones)."""
    boards, trials = count_boards(task, firsts), 0
    for run, span in enumerate(task.spans):
        for first in welcome_firsts(span, task.board_mm) if span.bars else ():
            if trials == MOST_TRIALS or task.spans[run].pinned_mm is not None:
                break
            trials += 1
            held = _hold(task, run, first)
            found = _as_few(held, [first if k == run else present for k, present in enumerate(firsts)], boards, moves // SHARE, seed + trials)
            if found is not None:
                task, firsts = held, found
    return task, firsts


def _hold(task: Task, run: int, first: float) -> Task:
    return replace(task, spans=tuple(replace(span, pinned_mm=first) if k == run else span for k, span in enumerate(task.spans)))


def _as_few(task: Task, firsts: list[float], boards: int, moves: int, seed: int) -> list[float] | None:
    """First pieces that keep the rules of a task with so few boards, or None."""
    mended = mend(task, firsts)
    if mended is None:
        return None
    if count_boards(task, mended) <= boards:
        return mended
    found, _ = walk(state_of(task, mended), crowd_cost, moves=moves, enough=BOARD_COST * (boards + 1), seed=seed)
    return found if count_boards(task, found) <= boards else None
