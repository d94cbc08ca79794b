"""The search's view of a floor cut into runs: what each run must at least hold, its seams, lengths on whole mm."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor
from statistics import median

from layout.region.run_ends import Window
from layout.search.core.joint_preferences import Bore, bars_of, notch_corners, wary_of
from layout.search.core.model import SAME_MM, Seam, Span, Task
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
    facing = _facing(runs)
    spans = tuple(_span(run, shortest, bores, facing) for run in runs)
    # A seam may come out longer than it is planned, by what the ends of its rows are moved out.
    out = window_of(board, wishes).out_mm if isinstance(wishes, Settled) else 0.0
    seams = tuple(Seam(upper=i, lower=j, lo_mm=lo - out, hi_mm=hi + out, stagger_mm=stagger)
                  for i, j, lo, hi in seams_between(runs, strips))
    return with_owned(Task(board_mm=board.length_mm, kerf_mm=kerf, spans=spans, seams=seams), wishes.stock)


def to_whole_mm(task: Task, firsts: list[float], rooms: Sequence[int] = ()) -> tuple[Task, list[float]]:
    """The same on whole mm (`on_whole_mm`), joints moved a little where a board would leave a strip that no saw can
    hold. rooms: the room of each run, where they lie in several."""
    if not is_whole_mm(task.board_mm):
        return task, firsts
    task, firsts = on_whole_mm(task, firsts)
    return task, without_slivers(task, firsts, rooms)


def on_whole_mm(task: Task, firsts: list[float]) -> tuple[Task, list[float]]:
    """The same with every joint on a whole mm of the row frame, where boards are whole mm long. Whatever holds between
    lengths that differ by whole mm holds when all are rounded down, so no rule and no board is lost."""
    if not is_whole_mm(task.board_mm):
        return task, firsts
    spans = tuple(span if span.place_mm is None else replace(span, place_mm=_down(span.place_mm))
                  for span in task.spans)
    return replace(task, spans=spans), [first if span.row < 0 else _down(first)
                                        for span, first in zip(task.spans, firsts)]


def is_whole_mm(length_mm: float) -> bool:
    """Whether a length is a whole number of mm."""
    return abs(length_mm - round(length_mm)) < SAME_MM


def _down(length_mm: float) -> float:
    return float(floor(length_mm + SAME_MM))


def _facing(runs: list[RunShape]) -> tuple[float | None, float | None]:
    """How far what shares a board with a run's left end, and with its right end, mostly falls back: the other ends.
    None where they are mostly square."""
    left, right = ([end for run in runs if (end := getattr(run, side)) is not None]
                   for side in ("left_end", "right_end"))
    return _usual_taper(right), _usual_taper(left)


def _usual_taper(ends: list[End]) -> float | None:
    tapers = [end.taper_mm for end in ends if not end.square]
    return None if 2 * len(tapers) <= len(ends) else median(tapers)


def _over(end: End, facing_mm: float | None) -> float:
    """What to add to a run at an end so that `SLIVER_MM` comes off where most does: what is left between two pieces of
    a board is wider by the larger of their slants. Of two slanted ends each takes half of that; a square one takes none
    of it."""
    if end.square:
        return 0.0
    need = SLIVER_MM - end.taper_mm if facing_mm is None else (SLIVER_MM - max(end.taper_mm, facing_mm)) / 2
    return float(max(0, ceil(need)))


def _span(run: RunShape, shortest_mm: float, bores: tuple[Bore, ...],
          facing: tuple[float | None, float | None]) -> Span:
    """A run as the search sees it: with the least wood its edge window allows, where its ends have been looked at."""
    notches = notch_corners(run.shape)
    bars, wary = bars_of(run, notches, bores), wary_of(notches)
    if run.left_end is None or run.right_end is None:
        return Span(row=run.row, left_mm=run.left_mm, right_mm=run.right_mm, shortest_mm=shortest_mm,
                    square_left=run.square_left, square_right=run.square_right, bars=bars, wary=wary)
    left, right = run.left_end, run.right_end
    over = [_over(end, other) for end, other in zip((left, right), facing)]
    return Span(row=run.row, left_mm=left.short_mm - over[0], right_mm=right.short_mm + over[1],
                shortest_mm=shortest_mm, square_left=left.square, square_right=right.square, bars=bars,
                wary=wary, sliver_mm=SLIVER_MM, left_over_mm=over[0], right_over_mm=over[1],
                left_taper_mm=left.taper_mm, right_taper_mm=right.taper_mm, undivided=run.in_doorway,
                left_give_mm=left.short_mm - left.long_mm, right_give_mm=right.long_mm - right.short_mm)


def surely(task: Task, runs: Sequence[RunShape], kerf_mm: float) -> Task:
    """The task with every run as short as the edge window allows: what a bound may count on.

    What has to come off slanted ends is counted as far as any two of them that share a board need it together; their
    slants may add up.
    """
    whole, laid = is_whole_mm(task.board_mm), list(zip(task.spans, runs))
    most = [max((getattr(span, f"{side}_taper_mm") for span, _ in laid), default=0.0) for side in ("left", "right")]
    over = max(0.0, (SLIVER_MM - sum(most)) / (2 if min(most) > 0.0 else 1))
    spans = [span if run.left_end is None or run.right_end is None else
             _surely(span, run.left_end, run.right_end, over if span.sliver_mm else 0.0, whole) for span, run in laid]
    return replace(task, kerf_mm=kerf_mm, spans=(*spans, *task.spans[len(spans):]))


def _surely(span: Span, left: End, right: End, over_mm: float, whole: bool) -> Span:
    """A run at its shortest. Of boards a whole number of mm long it is a whole number itself between square ends: all
    its pieces are. Its end pieces keep the rule of length where they reach further than here."""
    overs = [0.0 if end.square else over_mm for end in (left, right)]
    length = right.surely_mm - left.surely_mm
    length = float(ceil(length - SAME_MM)) if whole and left.square and right.square else length
    gives = left.surely_mm - left.long_mm, right.long_mm - right.surely_mm
    return replace(span, left_mm=left.surely_mm - overs[0], right_mm=left.surely_mm + length + overs[1],
                   left_over_mm=overs[0], right_over_mm=overs[1], left_give_mm=gives[0], right_give_mm=gives[1],
                   shortest_mm=max(min(span.shortest_mm, LEAST_SAWN_MM), span.shortest_mm - max(gives)),
                   least_end_mm=span.shortest_mm)
