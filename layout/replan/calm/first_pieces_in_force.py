"""First pieces of the plan in force for the rows that are free, and what keeps as many of them as can be.

Row frame of the plan, mm. They stay as they are while they keep the (lenient) rules; else as few runs move as can be;
and after a search for fewer boards what needs no move is taken back.
"""
from __future__ import annotations

from dataclasses import replace

from layout.plan import Piece, Plan, Run
from layout.replan.progress import Progress, Spare
from layout.room import OwnPiece
from layout.search.core.board_pairing import boards_taken
from layout.search.core.model import Span, Task, split_run
from layout.search.core.owned_stock import with_owned
from layout.search.core.state import state_of
from layout.search.local.taken_back import count_moved, fewest_moved, taken_back

#: A run that differs by less from the plan's is the same run, mm.
SAME_RUN_MM = 0.01
#: A row's joints may move by so much without a word, mm (common practice, no source): joints of neighbouring rows stay
#: apart as far as `layout.replan.remaining_rows.SLACK_MM` lets them.
JOINTS_MOVE_MM = 10.0


def first_of(run: Run, left_mm: float, right_mm: float, plan: Plan) -> float:
    """The first piece of a laid run as the search counts it, from where its boards lie."""
    ends = [_board_left(piece, plan) for piece in run.pieces]
    return right_mm - left_mm if max(ends) - min(ends) < SAME_RUN_MM else min(ends) + plan.board.length_mm - left_mm


def _board_left(piece: Piece, plan: Plan) -> float:
    """Where the left end of a piece's board lies, s."""
    return min(plan.to_row_frame(point)[0] for point in piece.outline_mm) - piece.from_mm


def kept_firsts(plan: Plan, task: Task, free: int, now: Progress, stock: tuple[Spare, ...]) -> list[float] | None:
    """The plan's own first pieces for the free runs, bent to what is left of their offcuts; None if they no longer
    fit this (lenient) task."""
    runs = _free_runs(plan, now)
    if len(runs) != free:
        return None
    firsts = _bent(plan, task, runs, stock)
    state = state_of(task, firsts)
    for run, first in enumerate(firsts):
        if not state.allows(run, first) or not state.holds(run):
            return None
    return firsts


def least_moved(plan: Plan, tasks: tuple[Task, Task], own: tuple[OwnPiece, ...], now: Progress,
                stock: tuple[Spare, ...]) -> list[float] | None:
    """First pieces nearest to those of the plan in force; None if it has other runs. tasks: as asked, and as the plan
    in force may fall short of it, where fewer rows change for that."""
    runs = _free_runs(plan, now)
    if len(runs) != len(tasks[0].spans) or plan.pattern != "fewest":
        return None
    found = []
    for task in tasks:
        task = with_owned(task, own)
        wanted = _bent(plan, task, runs, stock)
        firsts = fewest_moved(task, wanted)
        found += [] if firsts is None else [(count_moved(firsts, wanted), firsts)]
    return min(found, key=lambda moved: moved[0])[1] if found else None


def as_far_as_before(plan: Plan, lenient: Task, found: tuple[Task, list[float]], now: Progress,
                     stock: tuple[Spare, ...]) -> list[float]:
    """What a search found, with the rows of the plan in force where they cost no board."""
    runs = _free_runs(plan, now)
    if len(runs) != sum(span.row >= 0 for span in lenient.spans) or plan.pattern != "fewest":
        return found[1]
    task = replace(lenient, spans=tuple(replace(span, place_mm=noted.place_mm)
                                        for span, noted in zip(lenient.spans, found[0].spans)))
    as_they_were = [first_of(run, span.left_mm, span.right_mm, plan) for run, span in zip(runs, task.spans)]
    return taken_back(task, found[1], (as_they_were, _bent(plan, task, runs, stock)[:len(runs)]),
                      boards=boards_taken(*found))


def as_cut(plan: Plan, task: Task, held: int) -> Task:
    """The task with every run of one piece cut where the plan cuts it, as far as it is long enough there."""
    places = [plan.board.length_mm - run.pieces[0].from_mm if len(run.pieces) == 1 else None for row in plan.rows[held:]
              for run in row.runs]
    spans = tuple(replace(span, place_mm=None if place is None else max(place, span.length_mm))
                  for span, place in zip(task.spans, places))
    return replace(task, spans=(*spans, *task.spans[len(places):]))


def _free_runs(plan: Plan, now: Progress) -> list[Run]:
    """The runs of the plan in force in the rows that are free."""
    return [run for row in plan.rows[now.held:] for run in row.runs]


def _bent(plan: Plan, task: Task, runs: list[Run], stock: tuple[Spare, ...]) -> list[float]:
    """First pieces run by run: as planned, but no start longer than the offcut it is cut from, which the run before
    may have shortened."""
    longest = {(spare.board, spare.keeps[0]): spare.length_mm for spare in stock if spare.board
               and len(spare.keeps) == 1}
    firsts = []
    for span, run in zip(task.spans, runs):
        first = first_of(run, span.left_mm, span.right_mm, plan)
        if split_run(span.length_mm, first, task.board_mm)[0] == 1:
            firsts.append(span.length_mm if span.length_mm <= task.board_mm else first)
            continue
        first = _within_boards(span, first, task.board_mm)
        if run.pieces[0].takes:
            first = min(first, longest.get((run.pieces[0].board, "right"), first))
        last = split_run(span.length_mm, first, task.board_mm)[1]
        if run.pieces[-1].takes:
            over = last - longest.get((run.pieces[-1].board, "left"), last)
            first, last = (first + over, last - over) if over > 0 else (first, last)
        longest.setdefault((run.pieces[-1].board, "right"), task.shared_mm - last)
        longest.setdefault((run.pieces[0].board, "left"), task.shared_mm - first)
        firsts.append(first)
    return [*firsts, *earlier(task, len(runs))]


def _within_boards(span: Span, first: float, board_mm: float) -> float:
    """The first piece, joints moved a little where a wall that stands further off asks more of a run's first or last
    board than it is long."""
    if board_mm < first <= board_mm + JOINTS_MOVE_MM:
        return board_mm
    last = split_run(span.length_mm, first, board_mm)[1]
    return first + last if last <= JOINTS_MOVE_MM and first + last <= board_mm else first


def earlier(task: Task, runs: int) -> list[float]:
    """First pieces of the earlier floors that stand for wood on hand: the runs behind the first `runs`."""
    return [span.pinned_mm for span in task.spans[runs:] if span.pinned_mm is not None]
