"""One way of laying, tried: rows cut, first pieces searched, boards counted and bounded."""
from __future__ import annotations

from dataclasses import dataclass
from math import degrees

from shapely.geometry import Polygon

from layout.bound import lower_bound
from layout.direction import Way
from layout.firstrow import FirstRow, choose_first_row, last_row
from layout.frame import Frame, frame_over
from layout.giveway import ease, eased_to
from layout.model import Seam, Span, Task
from layout.patterns import lay_pattern
from layout.plan import Choice
from layout.room import Board, Wishes
from layout.rows import RunShape, Strip, runs_of, seams_between, strips_of
from layout.search import count_cuts, search, start
from layout.stock import count_boards


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How hard to search: rounds of the bound and moves of the local search."""

    rounds: int
    moves: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Trial:
    """A way of laying with its rows, its search task (rules eased where they had to be) and the first pieces found."""

    way: Way
    frame: Frame
    first_row: FirstRow
    strips: tuple[Strip, ...]
    runs: tuple[RunShape, ...]
    task: Task
    eased: bool
    firsts: tuple[float, ...]
    boards: int
    cuts: int
    bound: int
    along_mm: float
    depth_mm: float

    @property
    def narrow_mm(self) -> float:
        """The least width of any row along a wall."""
        return min(run.narrow_mm for run in self.runs)


def try_way(cover: list[Polygon], board: Board, wishes: Wishes, way: Way, *, effort: Effort, seed: int) -> Trial:
    """Cut the rows of one way of laying and search their first pieces."""
    frame = frame_over(cover, way.u)
    cover_rf = [frame.shape_to_row(part) for part in cover]
    depth = max(part.bounds[3] for part in cover_rf)
    first_row = _first_row(cover_rf, depth, board, wishes)
    strips = strips_of(depth, first_row.width_mm, board.width_mm)
    runs = runs_of(cover_rf, strips)
    asked = make_task(runs, strips, board, wishes)
    task, firsts = _first_pieces(asked, wishes.pattern, effort, seed)
    boards = count_boards(task, firsts)
    return Trial(way=way, frame=frame, first_row=first_row, strips=tuple(strips), runs=tuple(runs), task=task, eased=task is not asked,
                 firsts=tuple(firsts), boards=boards, cuts=count_cuts(task, firsts),
                 bound=lower_bound(task, enough=boards, rounds=effort.rounds),
                 along_mm=max(run.right_mm - run.left_mm for run in runs), depth_mm=depth)


def make_task(runs: list[RunShape], strips: list[Strip], board: Board, wishes: Wishes) -> Task:
    """The search task of a floor cut into runs."""
    rules = wishes.rules
    spans = tuple(Span(row=run.row, left_mm=run.left_mm, right_mm=run.right_mm, shortest_mm=rules.shortest_mm,
                       square_left=run.square_left, square_right=run.square_right) for run in runs)
    seams = tuple(Seam(upper=i, lower=j, lo_mm=lo, hi_mm=hi, stagger_mm=rules.stagger_mm) for i, j, lo, hi in seams_between(runs, strips))
    return Task(board_mm=board.length_mm, kerf_mm=wishes.kerf_mm, spans=spans, seams=seams)


def as_choice(trial: Trial, says: str) -> Choice:
    """The trial as a line of the table of choices."""
    return Choice(u_deg=round(degrees(trial.way.angle_rad) % 360.0, 6), first_row_mm=trial.first_row.width_mm, last_row_mm=trial.first_row.last_mm,
                  boards=trial.boards, cuts=trial.cuts, narrowest_mm=trial.narrow_mm, says=says)


def _first_row(cover_rf: list[Polygon], depth: float, board: Board, wishes: Wishes) -> FirstRow:
    if wishes.first_row_mm is None:
        return choose_first_row(cover_rf, depth, board.width_mm, wishes.rules.narrowest_mm)
    return FirstRow(width_mm=min(wishes.first_row_mm, depth), last_mm=last_row(depth, wishes.first_row_mm, board.width_mm),
                    narrow_mm=wishes.first_row_mm, says="The first row is as wide as you asked.")


def _first_pieces(asked: Task, pattern: str, effort: Effort, seed: int) -> tuple[Task, list[float]]:
    """(task, first pieces); the task is the asked one, eased only if nothing was found that keeps every rule."""
    if pattern != "fewest":
        firsts = lay_pattern(asked, pattern)
        return eased_to(asked, firsts), firsts
    task, firsts = asked, start(asked, seed=seed)
    if firsts is None:
        task, firsts = ease(asked)
    return task, search(task, firsts, moves=effort.moves, seed=seed)
