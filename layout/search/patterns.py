"""Fixed patterns: joints that repeat every second or third row at a fraction of the board.

Row r has its joints at ``p + r * board / k`` (round the board's length), k = 2 for halves and 3 for thirds; thirds may
climb to the right or to the left. Only p is free: it is tried every 5 mm, and the one that breaks the rules least
(joints near pipe holes first), then uses the fewest boards, then has the fewest joints near notches, then the fewest
cuts, is taken. A run that fits on one board is laid in one piece.
"""
from __future__ import annotations

from layout.search.core.joint_preferences import ill_placed
from layout.search.core.model import SAME_MM, Span, Task, split_run
from layout.search.first_pieces import count_cuts
from layout.search.core.board_pairing import count_boards

PARTS = {"thirds": 3, "halves": 2}
STEP_MM = 5.0


def lay_pattern(task: Task, pattern: str) -> list[float]:
    """First piece of every run for the pattern "thirds" or "halves"."""
    parts = PARTS[pattern]
    best: tuple[tuple[int, float, int, int], list[float]] | None = None
    for climb in range(1, parts):
        for k in range(int(task.board_mm / STEP_MM)):
            firsts = [_first(span, k * STEP_MM + climb * span.row * task.board_mm / parts, task.board_mm)
                      for span in task.spans]
            on_bars, near_notches = ill_placed(task, firsts)
            key = (on_bars, round(_shortfall(task, firsts), 6), count_boards(task, firsts), near_notches)
            if best is None or key < best[0] or (key == best[0] and count_cuts(task, firsts)
                                                 < count_cuts(task, best[1])):
                best = key, firsts
    assert best is not None, "a board is longer than one step"
    return best[1]


def _first(span: Span, place: float, board_mm: float) -> float:
    """First piece of a run whose joints lie at `place`, round the board's length."""
    if span.pinned_mm is not None:
        return span.pinned_mm
    if span.length_mm <= board_mm + SAME_MM:
        return span.length_mm
    first = (place - span.left_mm) % board_mm
    return first if first > SAME_MM else board_mm


def _shortfall(task: Task, firsts: list[float]) -> float:
    """How much the end pieces are shorter than the rule, summed, mm."""
    total = 0.0
    for span, first in zip(task.spans, firsts):
        count, last = split_run(span.length_mm, first, task.board_mm)
        if count > 1:
            total += max(0.0, span.shortest_mm - first) + max(0.0, span.shortest_mm - last)
    return total
