"""The search's view of a floor cut into runs: what each run must at least hold, its seams, lengths on whole mm."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor

from layout.region.run_ends import Window
from layout.search.core.joint_preferences import Bore, bars_of, wary_of
from layout.search.core.model import SAME_MM, Bar, Seam, Span, Task
from layout.search.core.owned_stock import with_owned
from layout.room import SLIVER_MM, Board, Settled, Wishes
from layout.region.rows import End, RunShape, Strip, seams_between
from layout.search.core.joint_nudges import without_slivers

#: Nobody saws an end piece shorter than this, whatever the rule allows, mm.
LEAST_SAWN_MM = 20.0


def window_of(board: Board, wishes: Settled) -> Window:
    """How far the edges of a cover at the gap aimed for may move."""
    return Window(out_mm=wishes.aim_mm - wishes.gap_least_mm, in_mm=wishes.gap_most_mm - wishes.aim_mm,
                  reserve_mm=0.0 if is_whole_mm(board.length_mm) else 1.0)


def make_task(runs: list[RunShape], strips: list[Strip], board: Board, wishes: Wishes,
              bores: tuple[Bore, ...] = ()) -> Task:
    """The search task of a floor cut into runs, with the pieces already owned."""
    rules, kerf = wishes.rules, wishes.kerf_mm
    shortest, stagger = max(rules.shortest_mm, LEAST_SAWN_MM), rules.stagger_mm
    if is_whole_mm(board.length_mm):
        shortest, stagger, kerf = (float(ceil(mm - SAME_MM)) for mm in (shortest, stagger, kerf))
    facing_square = _mostly_square(runs)
    spans = tuple(_span(run, shortest, bars_of(run, bores), facing_square) for run in runs)
    # A seam may come out longer than it is planned, by what the ends of its rows are moved out.
    out = window_of(board, wishes).out_mm if isinstance(wishes, Settled) else 0.0
    seams = tuple(Seam(upper=i, lower=j, lo_mm=lo - out, hi_mm=hi + out, stagger_mm=stagger)
                  for i, j, lo, hi in seams_between(runs, strips))
    return with_owned(Task(board_mm=board.length_mm, kerf_mm=kerf, spans=spans, seams=seams), wishes.stock)


def to_whole_mm(task: Task, firsts: list[float]) -> tuple[Task, list[float]]:
    """The same with every joint on a whole mm of the row frame, where boards are whole mm long. Whatever holds between
    lengths that differ by whole mm holds when all are rounded down, so no rule and no board is lost."""
    if not is_whole_mm(task.board_mm):
        return task, firsts
    spans = tuple(span if span.place_mm is None else replace(span, place_mm=_down(span.place_mm))
                  for span in task.spans)
    task = replace(task, spans=spans)
    return task, without_slivers(task, [first if span.row < 0 else _down(first)
                                        for span, first in zip(task.spans, firsts)])


def is_whole_mm(length_mm: float) -> bool:
    """Whether a length is a whole number of mm."""
    return abs(length_mm - round(length_mm)) < SAME_MM


def _down(length_mm: float) -> float:
    return float(floor(length_mm + SAME_MM))


def _mostly_square(runs: list[RunShape]) -> tuple[bool, bool]:
    """Whether what shares a board with a run's left end, and with its right end, is mostly square: the other ends."""
    left, right = ([end.square for run in runs if (end := getattr(run, side)) is not None]
                   for side in ("left_end", "right_end"))
    return 2 * sum(right) > len(right), 2 * sum(left) > len(left)


def _span(run: RunShape, shortest_mm: float, bars: tuple[Bar, ...], facing_square: tuple[bool, bool]) -> Span:
    """A run as the search sees it: with the least wood its edge window allows, where its ends have been looked at.

    A slanted end leaves a slanted offcut. If what is cut from that is slanted too, `SLIVER_MM` where most comes off is
    enough.
    """
    if run.left_end is None or run.right_end is None:
        return Span(row=run.row, left_mm=run.left_mm, right_mm=run.right_mm, shortest_mm=shortest_mm,
                    square_left=run.square_left, square_right=run.square_right, bars=bars, wary=wary_of(run))
    left, right = run.left_end, run.right_end
    over = [0.0 if end.square else float(max(0, ceil(SLIVER_MM - (0.0 if square else end.taper_mm))))
            for end, square in zip((left, right), facing_square)]
    return Span(row=run.row, left_mm=left.short_mm - over[0], right_mm=right.short_mm + over[1],
                shortest_mm=shortest_mm, square_left=left.square, square_right=right.square, bars=bars,
                wary=wary_of(run), sliver_mm=SLIVER_MM, left_over_mm=over[0], right_over_mm=over[1],
                undivided=run.in_doorway,
                left_give_mm=left.short_mm - left.long_mm, right_give_mm=right.long_mm - right.short_mm)


def surely(task: Task, runs: Sequence[RunShape], kerf_mm: float) -> Task:
    """The task with every run as short as the edge window allows: what a bound may count on."""
    whole = is_whole_mm(task.board_mm)
    spans = [
        span if run.left_end is None or run.right_end is None else _surely(span, run.left_end, run.right_end, whole)
        for span, run in zip(task.spans, runs)
    ]
    return replace(task, kerf_mm=kerf_mm, spans=(*spans, *task.spans[len(spans):]))


def _surely(span: Span, left: End, right: End, whole: bool) -> Span:
    """A run at its shortest. Between square ends, of boards a whole number of mm long, it is a whole number itself:
    all its pieces are."""
    length = right.surely_mm - left.surely_mm
    length = float(ceil(length - SAME_MM)) if whole and left.square and right.square else length
    give = max(left.surely_mm - left.long_mm, right.long_mm - right.surely_mm)
    return replace(span, left_mm=left.surely_mm, right_mm=left.surely_mm + length, sliver_mm=0.0, left_over_mm=0.0,
                   right_over_mm=0.0, shortest_mm=max(min(span.shortest_mm, LEAST_SAWN_MM), span.shortest_mm - give))
