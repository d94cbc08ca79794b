"""One way of laying, tried: rows cut, first pieces searched, boards counted and bounded."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil
from typing import TypedDict

from shapely.geometry import Polygon

from layout.search.fewest.lower_bound import GRIDS_MM, Proof, lower_bound, prove
from layout.planning.fitting.trimming import PARALLEL_MM
from layout.planning.laid import Laid
from layout.planning.orientations import Way
from layout.region.gap import covered_mm
from layout.region.first_row import FirstRow, Sawing, choose_first_row, first_strip, last_row
from layout.frame import frame_over
from layout.search.core.relaxation import ease, eased_from, eased_to, fewest_thin
from layout.region.partition import prepare
from layout.search.fewest.dual_start import guided_start
from layout.search.beam_search import Stock
from layout.planning.mixed_lengths import Mixed, fewest_boards, lay_floor
from layout.search.core.model import Task
from layout.search.core.owned_stock import spared
from layout.search.patterns import lay_pattern
from layout.room import SLIVER_MM, Board, Settled, Wishes
from layout.region.rows import RunShape, strips_of
from layout.search.first_pieces import SEED_STEP, count_cuts, seek, seek_again, start, tidy
from layout.planning.search_task import make_task, surely, to_whole_mm, window_of
from layout.planning.site import Site
from layout.planning.start_wall import StartWall, start_wall
from layout.search.core.board_pairing import boards_taken, count_boards


#: Up to so many runs an effort is taken as it is.
ROOM_RUNS = 60
#: A search that has not come to the bound after so many moves begins anew with other draws: in our trials that wins
#: where going on does not.
MOST_MOVES = 10_000
#: What no search of these rows can better is mostly the fewest there can be: showing that takes such a share of the
#: rounds on the finer grid.
SURE_SHARE = 4
#: It does so that often at least.
LEAST_DRAWS = 3


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to search: rounds of the bound, moves of the search for fewest boards, and of the walk for cuts and
    looks."""

    rounds: int
    moves: int
    tidying: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Begun:
    """Where every search of a way begins: the task as asked; the same, or eased where nothing keeps every rule, and
    first pieces that keep it (none with boards of several lengths or a pattern, which are not searched). runs, kerf_mm:
    what a bound may count on."""

    asked: Task
    task: Task
    firsts: tuple[float, ...]
    runs: tuple[RunShape, ...]
    kerf_mm: float
    pattern: str


class _Found(TypedDict):
    """What a search gives a `Trial`."""

    task: Task
    eased: bool
    firsts: tuple[float, ...]
    boards: int
    cuts: int
    bound: int
    mixed: Mixed | None
    least: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Trial(Laid):
    """A way of laying with what it was weighed by.

    eased: rules had to give way. along_mm, depth_mm: the longest run, and the cover across the rows. begun: for a
    longer search (`try_longer`). start: how well rows begin (`layout.planning.start_wall`). aside: a way only shown
    beside the others (`layout.planning.preference`).
    """

    way: Way
    first_row: FirstRow
    eased: bool
    cuts: int
    along_mm: float
    depth_mm: float
    starts_in_doorway: bool
    start: StartWall
    begun: Begun | None = None
    least: int = 0
    aside: bool = False

    @property
    def settled(self) -> bool:
        """Whether no longer search of these rows can find fewer boards."""
        return self.proven or (self.mixed is None and self.boards <= self.least)

    @property
    def price(self) -> tuple[float, float]:
        """What fewer of is better: boards; with several lengths packs, then wood opened."""
        return (self.boards, 0.0) if self.mixed is None else (self.mixed.packs, self.mixed.laying.opened_mm)

    @property
    def thin_strips(self) -> int:
        """Runs with a strip at an end that no saw can hold, and metres of wall with one along it."""
        ends = sum(run.left_end is not None and not span.sliver_mm for run, span in zip(self.runs, self.task.spans))
        return ends + ceil(self.first_row.thin_mm / 1000.0)

    @property
    def trapped(self) -> int:
        """Runs shorter than a board, behind the row before them and with none after: walls on three sides."""
        behind, before = ({getattr(seam, side) for seam in self.task.seams} for side in ("lower", "upper"))
        return sum(run in behind - before and shape.right_mm - shape.left_mm < self.task.board_mm
                   for run, shape in enumerate(self.runs))

    @property
    def narrow_mm(self) -> float:
        """The least width of any row along a wall."""
        return min(run.narrow_mm for run in self.runs)


def try_way(site: Site, board: Board, wishes: Settled, way: Way, *, effort: Effort, seed: int) -> Trial:
    """Cut the rows of one way of laying and search their first pieces."""
    frame = frame_over(list(site.cover), way.u)
    cover_rf = [frame.shape_to_row(part) for part in site.cover]
    depth = max(part.bounds[3] for part in cover_rf)
    walls = site.walls_in(frame)
    window, bores = window_of(board, wishes), site.bores_in(frame)
    sawing = Sawing(sliver_mm=SLIVER_MM, out_mm=window.out_mm, in_mm=window.in_mm,
                    holes_mm=tuple(bore.t_mm for bore in bores), parallel_mm=PARALLEL_MM,
                    pieces_mm=(wishes.rules.shortest_mm, board.length_mm))
    first_row = _first_row(cover_rf, depth, walls, board, wishes, sawing)
    ground = prepare(cover_rf, strips_of(depth, first_row.width_mm, board.width_mm), gap_mm=wishes.gap_mm,
                     longest_mm=wishes.longest_mm + site.doorway_mm, window=window, walled=site.within_walls(frame),
                     covered_mm=covered_mm(wishes.gap_mm, wishes))
    # Boards of several lengths take pieces at hand as leftovers, not as runs of an earlier floor.
    asked = make_task(list(ground.runs), list(ground.strips), board, replace(wishes, stock=()) if board.mix else wishes,
                      bores)
    begun = Begun(asked=asked, task=asked, firsts=(), runs=ground.runs, kerf_mm=wishes.kerf_mm, pattern=wishes.pattern)
    if wishes.pattern == "fewest" and not board.mix:
        begun = _begin(begun, seed)
    return Trial(way=way, frame=frame, first_row=first_row, ground=ground, bores=bores, depth_mm=depth, begun=begun,
                 along_mm=max(run.right_mm - run.left_mm for run in ground.runs),
                 starts_in_doorway=walls is not None and walls[0] > 1.0,
                 start=start_wall(ground.runs, ground.strips, walls[0] if walls else 0.0),
                 **_search(begun, board, wishes, effort, seed))


def try_longer(trial: Trial, board: Board, wishes: Settled, *, effort: Effort, seed: int) -> Trial:
    """A way that `try_way` has tried, searched anew with another effort."""
    return trial if trial.begun is None else replace(trial, **_search(trial.begun, board, wishes, effort, seed))


def tidied(trial: Trial, wishes: Settled, *, moves: int, seed: int) -> Trial:
    """A way that was searched without tidying, with the boards it found (or fewer), tidied with half as many moves."""
    if trial.mixed is not None or wishes.pattern != "fewest":
        return trial
    effort = _shared_out(Effort(rounds=0, moves=moves, tidying=moves // 2), len(trial.task.spans))
    task, firsts = to_whole_mm(*tidy(trial.task, list(trial.firsts), moves=effort.moves, seed=seed,
                                     tidying=effort.tidying))
    return replace(trial, task=task, firsts=tuple(firsts), boards=_to_buy(task, firsts, wishes),
                   cuts=count_cuts(task, firsts))


def _to_buy(task: Task, firsts: list[float], wishes: Settled) -> int:
    return max(0, boards_taken(task, firsts) - spared(wishes.stock))


def _begin(begun: Begun, seed: int) -> Begun:
    """Where searches begin: every rule kept; else strips no saw can hold allowed where nothing else will do; else
    eased."""
    found = start(begun.asked, seed=seed)
    if found is None and (thin := fewest_thin(begun.asked, seed=seed)) is not None:
        return replace(begun, asked=thin[0], task=thin[0], firsts=tuple(thin[1]))
    task, firsts = (begun.asked, found) if found is not None else ease(begun.asked)
    return replace(begun, task=task, firsts=tuple(firsts))


def _search(begun: Begun, board: Board, wishes: Settled, effort: Effort, seed: int) -> _Found:
    if board.mix:
        return _searched_mixed(begun.asked, board.mix, wishes, effort)
    return _searched(begun, wishes, effort, seed)


def _searched(begun: Begun, wishes: Settled, effort: Effort, seed: int) -> _Found:
    """The first pieces of boards of one length, and what they come to."""
    search = _first_pieces if wishes.pattern == "fewest" else _in_pattern
    task, firsts, bound, least = search(begun, effort, seed)
    return {"task": task, "eased": eased_from(begun.asked, task), "firsts": tuple(firsts),
            "boards": _to_buy(task, firsts, wishes), "cuts": count_cuts(task, firsts),
            "bound": max(0, bound - spared(wishes.stock)), "mixed": None, "least": max(0, least - spared(wishes.stock))}


def _searched_mixed(asked: Task, pack: Stock, wishes: Settled, effort: Effort) -> _Found:
    """Boards of several lengths laid, and what they come to."""
    mixed = lay_floor(asked, pack, moves=effort.moves, stock=wishes.stock)
    boards, bound = mixed.laying.boards, fewest_boards(asked, pack, mixed.packs, wishes.stock)
    return {"task": asked, "eased": mixed.eased, "firsts": (), "boards": boards, "cuts": mixed.laying.cuts,
            "bound": min(bound, boards), "mixed": mixed, "least": 0}




def _first_row(cover_rf: list[Polygon], depth: float, walls: tuple[float, float] | None, board: Board, wishes: Wishes,
               sawing: Sawing) -> FirstRow:
    if wishes.first_row_mm is None:
        return choose_first_row(cover_rf, depth, board.width_mm, wishes.rules.narrowest_mm, walls, sawing)
    first = first_strip(walls[0] if walls else 0.0, wishes.first_row_mm, board.width_mm)
    return FirstRow(width_mm=min(first, depth), last_mm=last_row(depth, first, board.width_mm),
                    narrow_mm=wishes.first_row_mm, rule="asked")


def _in_pattern(begun: Begun, effort: Effort, seed: int) -> tuple[Task, list[float], int, int]:
    """(task, eased where the pattern asks for it, first pieces, proven bound, 0: nothing is searched)."""
    pattern = begun.pattern
    task, firsts = to_whole_mm(begun.asked, lay_pattern(begun.asked, pattern))
    task = eased_to(task, firsts)
    return task, firsts, lower_bound(_sure(begun, task), enough=count_boards(task, firsts), rounds=effort.rounds), 0


def _sure(begun: Begun, task: Task) -> Task:
    return surely(task, begun.runs, begun.kerf_mm)


def _first_pieces(begun: Begun, effort: Effort, seed: int) -> tuple[Task, list[float], int, int]:
    """(task, first pieces, proven bound, fewest boards the search can find); the task is the one begun with, the places
    of its one-piece runs noted.

    What the search can find is bounded coarsely, so that it knows when to stop. What is proved counts the least wood
    the edge window allows.
    """
    unsearched, firsts = begun.task, list(begun.firsts)
    effort = _shared_out(effort, len(unsearched.spans))
    first = prove(unsearched, enough=count_boards(unsearched, firsts), rounds=effort.rounds, grids_mm=GRIDS_MM[:1])
    task, firsts = seek(unsearched, firsts, moves=min(effort.moves, MOST_MOVES), seed=seed, least=first.boards)
    # What proves a bound where ends lie as planned all but proves it where they may be shorter.
    proved = prove(_sure(begun, task), enough=count_boards(task, firsts), rounds=effort.rounds, near=first.weights,
                   grids_mm=GRIDS_MM[:1])
    boards = count_boards(task, firsts)
    least = Proof(boards=max(first.boards, proved.boards), weights=first.weights)
    if effort.rounds and boards > least.boards:
        # To show that a board fewer cannot be is mostly cheaper than to look for one.
        least = prove(unsearched, enough=boards, rounds=effort.rounds, known=least, grids_mm=GRIDS_MM[1:])
        task, firsts = seek_again(unsearched, (task, firsts), _other_starts(begun, boards, effort, seed),
                                  moves=min(effort.moves, MOST_MOVES), least=least.boards)
    if effort.tidying:
        task, firsts = tidy(task, firsts, moves=effort.moves, seed=seed, tidying=effort.tidying)
    task, firsts = to_whole_mm(task, firsts)
    boards = count_boards(task, firsts)
    if least.boards == boards:
        proved = prove(_sure(begun, task), enough=boards, rounds=effort.rounds // SURE_SHARE, known=proved,
                       near=least.weights, grids_mm=GRIDS_MM[1:])
    return task, firsts, proved.boards, least.boards


def _other_starts(begun: Begun, boards: int, effort: Effort, seed: int) -> Iterator[tuple[list[float], int]]:
    """(first pieces, seed of the draws): the lay the bound's own play likes best, if it takes less than `boards`,
    then ever other draws."""
    guided = guided_start(begun.task)
    if guided is not None and count_boards(begun.task, guided) < boards:
        yield guided, seed
    for again in range(1, 1 + max(LEAST_DRAWS, effort.moves // MOST_MOVES)):
        draws = seed + SEED_STEP * again
        yield start(begun.task, seed=draws) or list(begun.firsts), draws


def _shared_out(effort: Effort, runs: int) -> Effort:
    """The effort for a floor of so many runs: a move and a round take longer the more there are, so halls get fewer."""
    if runs <= ROOM_RUNS:
        return effort
    return Effort(*(share * ROOM_RUNS // runs for share in (effort.rounds, effort.moves, effort.tidying)))
