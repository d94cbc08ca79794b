"""First pieces put right where a seam is broken: one run at a time moves to the nearest length that keeps all its
seams."""
from __future__ import annotations

from layout.search.core.model import Task, first_pieces
from layout.search.core.state import State, state_of


def mend(task: Task, firsts: list[float]) -> list[float] | None:
    """The same first pieces with the runs moved whose seams are broken; None if that fails run by run."""
    state = state_of(task, firsts)
    for _ in range(4):
        broken = [run for run in range(len(firsts)) if not state.holds(run)]
        if not broken:
            return state.firsts
        for run in broken:
            _settle(state, run)
    return None


def _settle(state: State, run: int) -> None:
    """Move a run to the nearest length (5 mm apart) where all its seams hold, if there is one."""
    present = state.firsts[run]
    if state.holds(run):
        return
    options = [lo + k * 5.0 for lo, hi in first_pieces(state.task.spans[run], state.task.board_mm)
               for k in range(int((hi - lo) / 5.0) + 1)]
    for first in sorted(options, key=lambda first: abs(first - present)):
        state.set(run, first)
        if state.holds(run):
            return
    state.set(run, present)
