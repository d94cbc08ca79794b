"""Runs that end where the plan in force ends them, as far as the edge window of the walls now known allows.

Row frame, mm. A wall that stands a little otherwise would change the first or the last length of a run, and with it
what shares its board; the window takes that up, and nobody saws otherwise.
"""
from __future__ import annotations

from dataclasses import replace

from layout.plan import Plan, Run
from layout.planning.fitting.settled_ends import SettledLay
from layout.region.rows import End, RunShape
from layout.replan.calm.first_pieces_in_force import SAME_RUN_MM, first_of
from layout.search.core.model import Span, split_run


def ended_as_before(plan: Plan, held: int, lay: SettledLay, runs: list[RunShape]) -> SettledLay:
    """The lay with the ends of the plan in force wherever a run has its joints where they were and the ends still keep
    to their windows. runs: the free ones; the lay itself where the plan in force has another number of them."""
    before = [run for row in plan.rows[held:] for run in row.runs]
    if len(before) != len(runs):
        return lay
    spans, firsts = list(lay.task.spans), list(lay.firsts)
    for k, (run, shape) in enumerate(zip(before, runs)):
        left, right = _ends(plan, run)
        if _fits(left, shape.left_end) and _fits(right, shape.right_end):
            moved, first = replace(spans[k], left_mm=left, right_mm=right), first_of(run, left, right, plan)
            if _same_joints(lay.task.board_mm, (spans[k], firsts[k]), (moved, first)):
                spans[k], firsts[k] = moved, first
    return replace(lay, task=replace(lay.task, spans=tuple(spans)), firsts=tuple(firsts))


def _ends(plan: Plan, run: Run) -> tuple[float, float]:
    places = [plan.to_row_frame(point)[0] for piece in run.pieces for point in piece.outline_mm]
    return min(places), max(places)


def _fits(s: float, end: End | None) -> bool:
    """Whether a square end may lie at s."""
    if end is None or not end.square:
        return False
    lo, hi = sorted((end.long_mm, end.surely_mm))
    return lo - SAME_RUN_MM <= s <= hi + SAME_RUN_MM


def _same_joints(board_mm: float, one: tuple[Span, float], other: tuple[Span, float]) -> bool:
    """Whether two runs with their first pieces have as many pieces, and joints in the same places."""
    counts = [split_run(span.length_mm, first, board_mm)[0] for span, first in (one, other)]
    places = [span.left_mm + first for span, first in (one, other)]
    return counts[0] == counts[1] and (counts[0] == 1 or abs(places[0] - places[1]) < SAME_RUN_MM)
