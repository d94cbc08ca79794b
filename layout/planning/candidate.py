"""One way of laying, tried: rows cut, first pieces searched, boards counted and bounded."""
from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor
from typing import TypedDict

from shapely.geometry import Polygon

from layout.search.fewest.lower_bound import GRIDS_MM, lower_bound
from layout.planning.laid import Laid
from layout.planning.orientations import Way
from layout.region.run_ends import Window
from layout.region.first_row import FirstRow, Sawing, choose_first_row, first_strip, last_row
from layout.frame import frame_over
from layout.search.core.relaxation import ease, eased_from, eased_to
from layout.region.partition import prepare
from layout.search.fewest.dual_start import guided_start
from layout.search.core.joint_preferences import Bore, bars_of, wary_of
from layout.search.beam_search import Stock
from layout.planning.mixed_lengths import Mixed, fewest_boards, lay_floor
from layout.search.core.model import SAME_MM, Bar, Seam, Span, Task
from layout.search.core.owned_stock import spared, with_owned
from layout.search.patterns import lay_pattern
from layout.room import SLIVER_MM, Board, Settled, Wishes
from layout.region.rows import End, RunShape, Strip, seams_between, strips_of
from layout.search.first_pieces import SEED_STEP, count_cuts, seek, seek_again, start, tidy
from layout.planning.site import Site
from layout.search.core.joint_nudges import without_slivers
from layout.search.core.board_pairing import boards_taken, count_boards


#: Nobody saws an end piece shorter than this, whatever the rule allows, mm.
LEAST_SAWN_MM = 20.0
#: A first row that is a smaller share of the floor's length is a poor line for the others to follow (common practice,
#: no source for the share).
SHORT_START = 0.5
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
    longer search (`try_longer`). aside: a way only shown beside the others (`layout.planning.preference`).
    """

    way: Way
    first_row: FirstRow
    eased: bool
    cuts: int
    along_mm: float
    depth_mm: float
    starts_in_doorway: bool
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
    def starts_short(self) -> bool:
        """Whether the first row, unless it lies in a doorway, is less than half as long as the floor along the rows, as
        in a bay: a poor line for all the others to follow."""
        first = sum(run.right_mm - run.left_mm for run in self.runs if run.row == 0)
        whole = max(run.right_mm for run in self.runs) - min(run.left_mm for run in self.runs)
        return not self.starts_in_doorway and first < SHORT_START * whole

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
                    holes_mm=tuple(bore.t_mm for bore in bores))
    first_row = _first_row(cover_rf, depth, walls, board, wishes, sawing)
    ground = prepare(cover_rf, strips_of(depth, first_row.width_mm, board.width_mm), gap_mm=wishes.gap_mm,
                     longest_mm=wishes.longest_mm + site.doorway_mm, window=window)
    asked = make_task(list(ground.runs), list(ground.strips), board, wishes, bores)
    begun = Begun(asked=asked, task=asked, firsts=(), runs=ground.runs, kerf_mm=wishes.kerf_mm, pattern=wishes.pattern)
    if wishes.pattern == "fewest" and not board.mix:
        begun = _begin(begun, seed)
    return Trial(way=way, frame=frame, first_row=first_row, ground=ground, bores=bores, depth_mm=depth, begun=begun,
                 along_mm=max(run.right_mm - run.left_mm for run in ground.runs),
                 starts_in_doorway=walls is not None and walls[0] > 1.0, **_search(begun, board, wishes, effort, seed))


def try_longer(trial: Trial, board: Board, wishes: Settled, *, effort: Effort, seed: int) -> Trial:
    """A way that `try_way` has tried, searched anew with another effort."""
    return trial if trial.begun is None else replace(trial, **_search(trial.begun, board, wishes, effort, seed))


def tidied(trial: Trial, wishes: Settled, *, moves: int, seed: int) -> Trial:
    """A way that `try_way` has tried without tidying, with the boards it found (or fewer), tidied with half as many
    moves."""
    if trial.mixed is not None or wishes.pattern != "fewest":
        return trial
    task, firsts = to_whole_mm(*tidy(trial.task, list(trial.firsts), moves=moves, seed=seed, tidying=moves // 2))
    return replace(trial, task=task, firsts=tuple(firsts), boards=_to_buy(task, firsts, wishes),
                   cuts=count_cuts(task, firsts))


def _to_buy(task: Task, firsts: list[float], wishes: Settled) -> int:
    return max(0, boards_taken(task, firsts) - spared(wishes.stock))


def window_of(board: Board, wishes: Settled) -> Window:
    """How far the edges of a cover at the gap aimed for may move."""
    return Window(out_mm=wishes.aim_mm - wishes.gap_least_mm, in_mm=wishes.gap_most_mm - wishes.aim_mm,
                  reserve_mm=0.0 if is_whole_mm(board.length_mm) else 1.0)


def _begin(begun: Begun, seed: int) -> Begun:
    """Where searches begin: every rule kept; else strips no saw can hold allowed, which are mended afterwards where
    they can be; else eased."""
    found = start(begun.asked, seed=seed)
    if found is None:
        thin = replace(begun.asked, spans=tuple(replace(span, sliver_mm=0.0) for span in begun.asked.spans))
        if (found := start(thin, seed=seed)) is not None:
            return replace(begun, asked=thin, task=thin, firsts=tuple(found))
    task, firsts = (begun.asked, found) if found is not None else ease(begun.asked)
    return replace(begun, task=task, firsts=tuple(firsts))


def _search(begun: Begun, board: Board, wishes: Settled, effort: Effort, seed: int) -> _Found:
    return _searched_mixed(begun.asked, board.mix, effort) if board.mix else _searched(begun, wishes, effort, seed)


def _searched(begun: Begun, wishes: Settled, effort: Effort, seed: int) -> _Found:
    """The first pieces of boards of one length, and what they come to."""
    task, firsts, bound, least = (_first_pieces if wishes.pattern == "fewest" else _in_pattern)(begun, effort, seed)
    return {"task": task, "eased": eased_from(begun.asked, task), "firsts": tuple(firsts),
            "boards": _to_buy(task, firsts, wishes), "cuts": count_cuts(task, firsts),
            "bound": max(0, bound - spared(wishes.stock)), "mixed": None, "least": max(0, least - spared(wishes.stock))}


def _searched_mixed(asked: Task, pack: Stock, effort: Effort) -> _Found:
    """Boards of several lengths laid, and what they come to."""
    mixed = lay_floor(asked, pack, moves=effort.moves)
    return {"task": asked, "eased": mixed.eased, "firsts": (), "boards": mixed.laying.boards, "cuts": mixed.laying.cuts,
            "bound": fewest_boards(asked, pack, mixed.packs), "mixed": mixed, "least": 0}


def make_task(runs: list[RunShape], strips: list[Strip], board: Board, wishes: Wishes,
              bores: tuple[Bore, ...] = ()) -> Task:
    """The search task of a floor cut into runs, with the pieces already owned."""
    rules, kerf = wishes.rules, wishes.kerf_mm
    shortest, stagger = max(rules.shortest_mm, LEAST_SAWN_MM), rules.stagger_mm
    if is_whole_mm(board.length_mm):
        shortest, stagger, kerf = (float(ceil(mm - SAME_MM)) for mm in (shortest, stagger, kerf))
    facing_square = _mostly_square(runs)
    spans = tuple(_span(run, shortest, bars_of(run, bores), facing_square) for run in runs)
    seams = tuple(Seam(upper=i, lower=j, lo_mm=lo, hi_mm=hi, stagger_mm=stagger)
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
    bound = lower_bound(unsearched, enough=count_boards(unsearched, firsts), rounds=effort.rounds,
                        grids_mm=GRIDS_MM[:1])
    task, firsts = seek(unsearched, firsts, moves=min(effort.moves, MOST_MOVES), seed=seed, least=bound)
    if effort.rounds and count_boards(task, firsts) > bound:
        others = _other_starts(begun, count_boards(task, firsts), effort, seed)
        task, firsts = seek_again(begun.task, (task, firsts), others, moves=min(effort.moves, MOST_MOVES), least=bound)
    if effort.tidying:
        task, firsts = tidy(task, firsts, moves=effort.moves, seed=seed, tidying=effort.tidying)
    task, firsts = to_whole_mm(task, firsts)
    boards, sure = count_boards(task, firsts), _sure(begun, task)
    least = lower_bound(task, enough=boards, rounds=effort.rounds, known=bound, grids_mm=GRIDS_MM[1:])
    proved = lower_bound(sure, enough=boards, rounds=effort.rounds, grids_mm=GRIDS_MM[:1])
    if least == boards:
        proved = lower_bound(sure, enough=boards, rounds=effort.rounds // SURE_SHARE, known=proved,
                             grids_mm=GRIDS_MM[1:])
    return task, firsts, proved, least


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
