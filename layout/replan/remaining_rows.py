"""The rest of a floor planned afresh while it is being laid: held rows stay as they are, wood on hand is used before
new boards.

Row frame of the plan in force, kept for good: laid rows cannot move. Method: the room as now known is cut into the same
strips; runs of the held rows are left out of the search, their joints become stretches where the next row may have
none; offcuts on hand are pieces already owned (`layout.search.core.owned_stock`). The plan in force is kept joint for
joint while it fits and takes no more boards than it said; only else is a better one searched, from it, for fewest new
boards; so the booklet changes as little as it can. Where that would lose a board, the search begins anew from other
first pieces, and then leaves less wood for rows that may close longer (`closure_bias`). A joint moves by as much as an
offcut came out short. The judge sees the whole floor.

Not done: an offcut without a factory end, good for a run of one piece only, is used where the plan in force used it;
none is looked for.
"""
from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice

from capture.language.messages import lazy_gettext
from layout.search.fewest.lower_bound import lower_bound
from layout.replan.calm.first_pieces_in_force import (
    SAME_RUN_MM, as_cut, as_far_as_before, earlier, first_of, kept_firsts, least_moved)
from layout.replan.closure_bias import closing_reserve
from layout.errors import LayoutError
from layout.frame import Frame
from layout.region.gap import covered_mm
from layout.search.core.relaxation import ease, eased_to
from layout.region.partition import Ground, prepare
from layout.search.core.model import SAME_MM, Bar, Seam, Span, Task, first_pieces, joints_of
from layout.search.core.owned_stock import spared, with_owned
from layout.plan import Plan
from layout.replan.progress import Progress, Spare, held_pieces
from layout.room import OwnPiece, Room, Settled, Wishes, settle
from layout.region.rows import End, strips_of
from layout.search.local.board_regained import board_regained
from layout.search.first_pieces import SEED_STEP, Sought, seek, seek_again, start, tidy
from layout.planning.site import Site, site_of
from layout.search.core.board_pairing import boards_taken
from layout.planning.laid import Laid
from layout.planning.search_task import make_task, on_whole_mm, surely, to_whole_mm, window_of

#: Budget of the search for the rest; some tenths of a second for a large room.
MOVES = 1200
#: A plan that cannot start from the one in force is searched so much longer.
AFRESH = 2
#: Where the rest would take more boards than the plan in force had for it: so many searches more, from other first
#: pieces, of so many moves; so many in all while it would take two more, which is rare and worth waiting for.
DRAWS, MOST_DRAWS, DRAW_MOVES = 2, 8, 1500
#: A laid end may be outside the window by what the judge lets pass, mm.
END_SLACK_MM = 0.5
#: The plan in force is kept though a rule of length falls short by so little, mm: what saw and tape leave.
SLACK_MM = 25.0
#: Shares of the wood to leave for rows that close longer than planned, tried one after the other where leaving all of
#: it costs a board.
LESS_RESERVE = (0.5, 0.0)
#: So many of the greatest shares, all of it among them, are tried with few rows moved before anything is searched.
CALM_SHARES = 2
#: Stagger tried against the last held row where the rule cannot hold, mm.
EASED_STAGGERS_MM = (250.0, 200.0, 150.0, 100.0, 50.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Rest:
    """What is still to be laid, and how: the whole floor, the first run that is free, and the search's view
    of the free runs.

    firsts: first pieces of the free runs. stock: wood on hand in the order of the task's earlier floors. reserve_mm:
    wood left in every board that two pieces share, for rows that close longer than planned.
    """

    laid: Laid
    free: int
    task: Task
    firsts: tuple[float, ...]
    stock: tuple[Spare, ...]
    reserve_mm: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Weighed:
    """The whole floor's task, the free runs' with wood on hand and their first pieces; boards: new ones to buy; spared:
    those of `task` that are not; reserve_mm: wood left in boards that are shared; calm: few rows moved."""

    whole: Task
    task: Task
    firsts: tuple[float, ...]
    spared: int
    boards: int
    reserve_mm: float
    calm: bool


def plan_rest(plan: Plan, room: Room, wishes: Settled, now: Progress, *, first_row_mm: float | None = None,
              moves: int = MOVES, seed: int = 0, lost: int = 0) -> tuple[Site, Rest]:
    """First pieces for every run that is not held. room: as now known; wishes: as laid (`as_laid`); lost: boards the
    held rows took beyond their plan, which a better plan for the rest may win back.

    Raises LayoutError (slug held-moved) if the held rows do not lie in this room as in the plan.
    """
    frame, site = plan.frame, site_of(room, wishes)
    ground = ground_of(plan, site, frame, wishes, first_row_mm or plan.rows[0].far_mm)
    bores = site.bores_in(frame)
    free = sum(run.row < now.held for run in ground.runs)
    spans = make_task(list(ground.runs), list(ground.strips), plan.board, replace(wishes, stock=()), bores).spans
    down = check_held(plan, ground, spans, now.held)
    stock = tuple(spare for spare in now.spares if spare.keeps)
    foreseen = _foreseen(plan, now) - lost

    @cache
    def tasks_leaving(spare_mm: float) -> tuple[Task, Task, Task]:
        whole = make_task(list(ground.runs), list(ground.strips), plan.board,
                          replace(wishes, stock=(), kerf_mm=plan.kerf_mm + spare_mm), bores)
        asked, lenient = (_free_task(whole, free, down, now, plan, slack_mm) for slack_mm in (0.0, _slack(plan)))
        return whole, asked, lenient

    def leaving(spare_mm: float, moves: int) -> _Weighed:
        whole, asked, lenient = tasks_leaving(spare_mm)
        own = _shortened(plan, stock, spare_mm)
        task, firsts, calm = _choose(plan, (asked, lenient), own, now, stock, moves, seed, foreseen,
                                     printed=now.held > 0 or first_row_mm is None)
        # What is printed keeps its joints: what it saws off was settled with the ends as they are sawn.
        task, firsts = (on_whole_mm if calm else to_whole_mm)(task, firsts)
        return _Weighed(whole=whole, task=task, firsts=tuple(firsts), spared=spared(own),
                        boards=max(0, boards_taken(task, firsts) - spared(own)), reserve_mm=spare_mm, calm=calm)
    found = _best_leaving(leaving, closing_reserve(plan, now), foreseen + _from_middles(plan, now), moves)
    sure = surely(found.task, ground.runs[free:], plan.kerf_mm)
    bound = max(0, lower_bound(sure, enough=found.boards + found.spared, rounds=0)
                - found.spared) if found.task.spans else 0
    laid = Laid(frame=frame, ground=ground, bores=bores, task=found.whole, boards=found.boards,
                firsts=(*down, *found.firsts[:len(ground.runs) - free]), bound=min(bound, found.boards))
    return site, Rest(laid=laid, free=free, task=found.task, firsts=found.firsts, stock=stock,
                      reserve_mm=found.reserve_mm)


def _best_leaving(leaving: Callable[[float, int], _Weighed], reserve_mm: float, enough: int, moves: int) -> _Weighed:
    """The most wood left in shared boards with which few rows move; else the most that costs no more than `enough` new
    boards, or the fewest boards: a board lost for sure is worse than one that may be lost where a row closes longer
    than planned, for a row may be slid a little."""
    shares = (1.0, *LESS_RESERVE) if reserve_mm else (1.0,)
    for share in shares[:CALM_SHARES]:
        calm = leaving(share * reserve_mm, 0)
        if calm.calm:
            return calm
    best = leaving(reserve_mm, moves)
    for share in shares[1:]:
        if best.boards <= enough:
            break
        best = min(best, leaving(share * reserve_mm, moves), key=lambda found: found.boards)
    return best


def _shortened(plan: Plan, stock: tuple[Spare, ...], spare_mm: float) -> tuple[OwnPiece, ...]:
    """Wood on hand as the search may use it: what closes rows keeps some in reserve."""
    closes = ("left",) if plan.lay == "left-to-right" else ("right",)
    return tuple(replace(spare.own, length_mm=spare.length_mm - (spare_mm if spare.keeps == closes else 0.0))
                 for spare in stock)


def as_laid(plan: Plan, wishes: Wishes) -> Settled:
    """The wishes with everything a floor begun can no longer change taken from its plan."""
    return settle(replace(wishes, kerf_mm=plan.kerf_mm, rules=plan.rules, lay=plan.lay, pattern=plan.pattern,
                          longest_mm=plan.longest_mm, stock=()), plan.gap_mm, (plan.gap_least_mm, plan.gap_most_mm))


def ground_of(plan: Plan, site: Site, frame: Frame, wishes: Settled, first_row_mm: float) -> Ground:
    """The room as now known cut into the strips of the plan in force."""
    cover = [frame.shape_to_row(part) for part in site.cover]
    depth = max(part.bounds[3] for part in cover)
    # A floor in one piece stays so: its plan has settled that, and a wall some mm further off changes nothing.
    longest = plan.longest_mm + site.doorway_mm if plan.profiles else 1e6
    return prepare(cover, strips_of(depth, first_row_mm, plan.board.width_mm), gap_mm=plan.gap_mm, longest_mm=longest,
                   window=window_of(plan.board, wishes), walled=site.within_walls(frame),
                   covered_mm=covered_mm(wishes.gap_mm, wishes))


def check_held(plan: Plan, ground: Ground, spans: tuple[Span, ...], held: int) -> tuple[float, ...]:
    """First pieces of the held runs; refuses a room in which they do not lie as they did, but for what the edge
    window allows."""
    firsts: list[float] = []
    allowed = SAME_RUN_MM + plan.gap_most_mm - plan.gap_least_mm
    for row in plan.rows[:held]:
        shapes = [run for run in ground.runs if run.row == row.number - 1]
        strip = ground.strips[row.number - 1] if row.number <= len(ground.strips) else None
        if strip is None or len(shapes) != len(row.runs) or abs(strip.far_mm - row.far_mm) > allowed:
            raise _moved(row.number)
        for shape, run in zip(shapes, row.runs):
            s = [plan.to_row_frame(point)[0] for piece in run.pieces for point in piece.outline_mm]
            if not (_stands(min(s), shape.left_mm, shape.left_end, allowed)
                    and _stands(max(s), shape.right_mm, shape.right_end, allowed)):
                raise _moved(row.number)
            span = spans[len(firsts)]
            firsts.append(first_of(run, span.left_mm, span.right_mm, plan))
    return tuple(firsts)


def _stands(s: float, planned_mm: float, end: End | None, allowed_mm: float) -> bool:
    """Whether what ends at s may end there: within the window where the end is square, else about where it would be
    planned."""
    if end is None or not end.square:
        return abs(s - planned_mm) <= allowed_mm
    lo, hi = sorted((end.long_mm, end.surely_mm))
    return lo - END_SLACK_MM <= s <= hi + END_SLACK_MM


def _moved(row: int) -> LayoutError:
    return LayoutError("held-moved", lazy_gettext(
        "The room as it is now known does not hold row {row} as it lies; finish by the printed rows, and measure "
        "each piece in place.", row=row), where=f"row {row}")


def _slack(plan: Plan) -> float:
    """How far the plan in force may fall short of its rules and still be kept: a little, or as far as it says
    itself."""
    return max(SLACK_MM, *(rule.asked_mm - rule.had_mm for rule in plan.relaxed
                           if rule.rule in ("stagger", "shortest")), 0.0)


def _free_task(whole: Task, free: int, down: tuple[float, ...], now: Progress, plan: Plan, slack_mm: float) -> Task:
    """The task of the free runs: joints of the last held row bar what stands too near them. slack_mm: all rules of
    length less this."""
    spans = [replace(span, shortest_mm=max(0.0, span.shortest_mm - slack_mm),
                     sliver_mm=0.0, bars=tuple(bar for bar in span.bars if bar.spot_mm is not None))
             if slack_mm else span for span in whole.spans[free:]]
    seams = tuple(replace(seam, upper=seam.upper - free, lower=seam.lower - free,
                          stagger_mm=max(0.0, seam.stagger_mm - slack_mm)) for seam in whole.seams
                  if seam.upper >= free)
    facing = [(seam, [s for first in _lying(whole, seam.upper, down[seam.upper], now, plan)
                      for s in joints_of(whole.spans[seam.upper], first, whole.board_mm)]) for seam in whole.seams
              if seam.upper < free <= seam.lower]
    for stagger in (plan.rules.stagger_mm, *EASED_STAGGERS_MM):
        kept_off = list(spans)
        for seam, places in facing:
            run = seam.lower - free
            reach = max(0.0, min(stagger, plan.rules.stagger_mm) - slack_mm)
            kept_off[run] = replace(kept_off[run], bars=(*kept_off[run].bars, *barred(seam, places, reach)))
        if all(first_pieces(span, whole.board_mm) for span in kept_off):
            return Task(board_mm=whole.board_mm, kerf_mm=whole.kerf_mm, spans=tuple(kept_off), seams=seams)
    return Task(board_mm=whole.board_mm, kerf_mm=whole.kerf_mm, spans=tuple(spans), seams=seams)


def _lying(whole: Task, run: int, first: float, now: Progress, plan: Plan) -> list[float]:
    """First pieces a held run may have: the plan's, and the one that was cut, if it came out otherwise."""
    row = plan.rows[whole.spans[run].row]
    before = sum(span.row == whole.spans[run].row for span in whole.spans[:run])
    piece = row.runs[before].pieces[0]
    off = now.off_mm(piece)
    return [first] if abs(off) < SAME_MM or len(row.runs[before].pieces) == 1 else [first, first + off]


def barred(seam: Seam, places: list[float], stagger: float) -> list[Bar]:
    """Where the row behind may have no joint: nearer than the stagger to a joint that lies on the stretch they
    share."""
    return [Bar(lo_mm=max(seam.lo_mm, s - stagger), hi_mm=min(seam.hi_mm, s + stagger)) for s in places
            if seam.lo_mm <= s <= seam.hi_mm]


def _choose(plan: Plan, tasks: tuple[Task, Task], own: tuple[OwnPiece, ...], now: Progress, stock: tuple[Spare, ...],
            moves: int, seed: int, foreseen: int, *, printed: bool) -> tuple[Task, list[float], bool]:
    """(task with the wood on hand, first pieces, whether the plan in force was kept as far as it fits or with few rows
    moved): without moves only that is tried, else a better one if that saves a board. tasks: as asked, and as the plan
    in force may fall short of it; foreseen: new boards the rest may take; printed: pages of these rows may stay as they
    are, since it is no other first row that moves them."""
    asked, lenient = tasks
    task, enough = with_owned(asked, own), foreseen + spared(own)
    if not asked.spans:
        return task, earlier(task, 0), True
    kept = kept_firsts(plan, with_owned(lenient, own), len(asked.spans), now, stock)
    near = kept if kept is not None or not printed else least_moved(plan, (asked, lenient), own, now, stock)
    if near is not None:
        cut = min(as_cut(plan, task, now.held), task, key=lambda noted: boards_taken(noted, near))
        there = boards_taken(cut, near) - _from_middles(plan, now) <= enough
        if there or (kept is not None and _all_there(plan, now)):
            return eased_to(cut, near), near, True
        again = board_regained(cut, near, boards=enough + _from_middles(plan, now)) if now.held else None
        if again is not None:
            return eased_to(cut, again), again, True
        if not moves:
            return eased_to(cut, near), near, False
    effort = moves if kept is not None else AFRESH * moves
    noted, best = _sought(plan, asked, own, near, enough, effort, seed, calm=near is not None and now.held > 0)
    if near is not None and boards_taken(cut, near) <= boards_taken(noted, best):
        return eased_to(cut, near), near, False
    if now.held:
        best = as_far_as_before(plan, with_owned(lenient, own), (noted, best), now, stock)
        noted = eased_to(noted, best)
    return noted, best, False


def _sought(plan: Plan, asked: Task, own: tuple[OwnPiece, ...], near: list[float] | None, enough: int, effort: int,
            seed: int, *, calm: bool) -> Sought:
    """A plan of fewer boards, from first pieces near to those of the plan in force if there are any; a calm one is not
    tidied, since that moves rows for looks."""
    task, firsts = with_owned(asked, own), near
    if firsts is None:
        begun = start(asked, seed=seed)
        if begun is None:
            eased, begun = ease(asked)
            task = with_owned(eased, own)
        firsts = [*begun, *earlier(task, len(asked.spans))]
    if plan.pattern != "fewest" or not effort:
        return task, firsts
    found = _searched(task, firsts, asked, enough, effort, seed)
    return found if calm else tidy(*found, moves=effort, seed=seed, tidying=effort // 2)


def _searched(task: Task, firsts: list[float], asked: Task, enough: int, moves: int, seed: int) -> Sought:
    """Fewer boards from these first pieces; from others too, until there are enough of them or as few as can be. Looks
    come after wood here, so neighbours are pushed from the first move on.

    asked: the task without wood on hand.
    """
    found = seek(task, firsts, moves=moves, seed=seed, plain=0)
    boards = boards_taken(*found)
    least = max(enough, lower_bound(task, enough=boards, rounds=0)) if boards > enough else boards
    others = _other_starts(task, asked, seed)
    for draws, lost in ((DRAWS, 0), (MOST_DRAWS - DRAWS, 1)):
        found = seek_again(task, found, islice(others, draws), moves=DRAW_MOVES, least=least + lost)
    return found


def _other_starts(task: Task, asked: Task, seed: int) -> Iterator[tuple[list[float], int]]:
    """(first pieces, seed of the draws) to begin anew from."""
    for draws in range(seed + SEED_STEP, seed + SEED_STEP * (MOST_DRAWS + 1), SEED_STEP):
        begun = start(asked, seed=draws)
        if begun is None:
            return
        yield [*begun, *earlier(task, len(asked.spans))], draws


def _from_middles(plan: Plan, now: Progress) -> int:
    """Free runs of one piece that the plan cuts from wood on hand without a factory end, which the search knows
    nothing of."""
    middles = {spare.board for spare in now.spares if not spare.keeps}
    return sum(len(run.pieces) == 1 and run.pieces[0].board in middles for row in plan.rows[now.held:]
               for run in row.runs)


def _all_there(plan: Plan, now: Progress) -> bool:
    """Whether all wood that the free rows of the plan in force take from what lies there already is on hand, as long
    as they need it."""
    lengths = {spare.label: spare.length_mm for spare in now.spares}
    left = {offcut.label for offcut in plan.offcuts
            if offcut.cut_by in {piece.id for piece in held_pieces(plan, now.held)}}
    left |= {piece.label for piece in plan.owned}
    free = [piece for row in plan.rows[now.held:] for piece in row.pieces]
    return all(lengths.get(piece.takes, 0.0) >= piece.to_mm - piece.from_mm - SAME_MM for piece in free
               if piece.takes in left)


def _foreseen(plan: Plan, now: Progress) -> int:
    """New boards the plan in force has for the rows that are not held."""
    owned = {piece.board for piece in plan.owned if piece.board}
    begun = {piece.board for piece in held_pieces(plan, now.held)}
    return len({piece.board for row in plan.rows[now.held:] for piece in row.pieces} - begun - owned)
