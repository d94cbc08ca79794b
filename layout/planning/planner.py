"""From a room, boards and wishes to a plan.

Plan frame in and out, mm. Method: the cover (floor less gaps, doorways included) is cut into rows for every way of
laying that fits the wishes; each way is tried with a small effort (`candidate`); the best is searched longer, and where
it is not proven the fewest so are one or two that lie level with it, and where it leaves strips no saw can hold one or
two that leave fewer; pieces, offcuts, cuts, holes, shopping and words follow from it (`assemble`); the judge
(`layout.judge.check`), which shares nothing with the planner, must find no fault.

Rules give way in this order, least first, and the plan's `relaxed` says which, where and by how much: first
`narrowest`, only if no first-row width keeps it (settled before any joint is placed); then `stagger` down to 200 mm;
then `shortest` down to 200 mm; then `stagger` and at last `shortest` without limit (`layout.search.core.relaxation`). A
joint keeps clear of a pipe's hole even then. That it keeps off notches is a wish: boards come first
(`layout.search.core.joint_preferences`).

Choice of the way: ways that run as rows had best run (`layout.planning.preference`) come first; then a way that keeps
every rule before one that does not; then fewest boards; then fewest strips that no saw can hold; then one whose first
row is long, unbroken and no wedge (`layout.planning.start_wall`); then rows along the longer side; then fewest rows
that come to lie between three walls; then one that does not start in a doorway; then fewest cuts.

What it does not do: rip two narrow pieces from one board side by side, or nest slanted ends into one another.
"""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from capture.language.messages import lazy_gettext
from layout.planning.assemble import assemble
from layout.judge.check import find_faults
from layout.region.inset import floor_shape
from layout.planning.orientations import Way, find_wall, walls_of, ways_to_lay
from layout.errors import LayoutError
from layout.facts.reasons import Reason
from layout.region.gap import asks_for_more, choose_gap, edge_window
from layout.validation import check_board, check_doors, check_pipes, check_wishes
from layout.plan import Choice, Plan
from layout.planning.preference import rules_broken, with_preference
from layout.room import Board, Room, Settled, Wishes, settle
from layout.planning.report.reasons import as_choice, reasons_for
from layout.planning.site import Site, site_of
from layout.planning.candidate import Effort, Trial, tidied, try_longer, try_way

#: Budgets of the search by name: a first answer in some 0.1 s, the usual one in about a second, a patient one in some
#: ten.
EFFORTS = {"preview": 60, "usual": 10_000, "long": 200_000}
MOVES = EFFORTS["usual"]
QUICK_MOVES = 1500
#: A look at a way that may not be chosen tidies it by so many moves; only the plan chosen is tidied with half of all.
QUICK_TIDYING = EFFORTS["preview"] // 2
#: What a way needs at a glance is that much above what a longer look finds, at most (beside one board).
GLANCE_OFF = 0.01
#: So many ways are searched longer where the best is not proven and others lie level with it; these with such a share
#: of the usual moves.
MOST_LONG, LEVEL_SHARE = 2, 2
#: One round of the bound (on each of its grids) for so many moves of the search, up to so many rounds.
MOVES_A_ROUND, MOST_ROUNDS = 300, 160


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ChosenWay:
    """The way a room is best laid, not yet assembled: the room with its site and settled wishes, the way, those it was
    weighed against, and why."""

    room: Room
    board: Board
    wishes: Settled
    site: Site
    trial: Trial
    choices: tuple[Choice, ...]
    reasons: tuple[Reason, ...]


def plan_floor(room: Room, board: Board, wishes: Wishes, *, seed: int = 0, moves: int = MOVES) -> Plan:
    """How to lay the floor of `room` with `board` under `wishes`; the same arguments give the same plan.

    moves: budget of the search, one of `EFFORTS` or any number (not seconds). Raises LayoutError, in one sentence, for
    input that no plan can follow, and with slug internal-fault if the judge finds our own plan wrong.
    """
    settled, why_gap = _checked(room, board, wishes)
    plan = assembled(_chosen(room, board, settled, why_gap, moves, seed))
    faults = find_faults(plan, room)
    if faults and settled.gap_least_mm < settled.gap_most_mm:
        # Slivers of floors, mostly: where the edge window leads to cuts that cannot stand, the gap is kept exactly.
        exact = replace(settled, gap_least_mm=settled.gap_mm, gap_most_mm=settled.gap_mm)
        plan = assembled(_chosen(room, board, exact, why_gap, moves, seed))
        faults = find_faults(plan, room)
    if faults:
        raise LayoutError("internal-fault", lazy_gettext(
            "The plan we made has a fault ({slug} at {where}, {amount:.3g}); this is our mistake, not yours - "
            "please report it with the job file.", slug=faults[0].slug, where=faults[0].where,
            amount=faults[0].amount), where=faults[0].where)
    return plan


def choose_way(room: Room, board: Board, wishes: Wishes, *, seed: int = 0, moves: int = MOVES) -> ChosenWay:
    """The way `plan_floor` would lay a room, before its pieces are made. Raises LayoutError as that does, but for what
    the judge finds."""
    settled, why_gap = _checked(room, board, wishes)
    return _chosen(room, board, settled, why_gap, moves, seed)


def assembled(way: ChosenWay) -> Plan:
    """The plan of a way of laying, not yet judged."""
    return assemble(way.room, way.site, way.board, way.wishes, way.trial, way.choices, way.reasons)


def _checked(room: Room, board: Board, wishes: Wishes) -> tuple[Settled, Reason | None]:
    """The wishes with their gap, and why it is that wide. Raises LayoutError for input that no plan can follow."""
    check_board(board)
    check_wishes(wishes, board)
    check_pipes(room)
    floor_shape(room)  # refuses an outline that cannot be
    check_doors(room)
    return _with_gap(room, wishes)


def _chosen(room: Room, board: Board, wishes: Settled, why_gap: Reason | None, moves: int, seed: int) -> ChosenWay:
    """The best way found."""
    site = site_of(room, wishes)
    window = None if wishes.light is None else find_wall(walls_of(room), wishes.light,
                                                         lazy_gettext("wall with the main window")).angle_rad
    trials = _try_ways(site, board, wishes, ways_to_lay(room, wishes), moves, seed, window)
    best, *others = _weighed(trials, wishes, moves, partial(_searched_longer, board, wishes, seed=seed))
    weighed = [tidied(best, wishes, moves=moves, seed=seed), *others]
    choices = _choices(weighed, wishes)
    return ChosenWay(room=room, board=board, wishes=wishes, site=site, trial=weighed[0], choices=choices,
                     reasons=reasons_for(weighed[0], board, choices, wishes, why_gap))


def _with_gap(room: Room, wishes: Wishes) -> tuple[Settled, Reason | None]:
    """The wishes with a gap, and why it is that wide (None where the reader chose it)."""
    if wishes.gap_mm is not None and not (wishes.gap_usual and asks_for_more(room, wishes, wishes.gap_mm)):
        return settle(wishes, wishes.gap_mm, edge_window(wishes.gap_mm, wishes)), None
    chosen = choose_gap(room, wishes)
    return settle(wishes, chosen.gap_mm, edge_window(chosen.gap_mm, wishes)), chosen


def _try_ways(site: Site, board: Board, wishes: Settled, ways: list[Way], moves: int, seed: int,
              window: float | None) -> list[Trial]:
    """Every way at a glance, untidied, then those that may win with a small effort; a preview leaves it at the
    glance."""
    glance = Effort(rounds=0, moves=min(EFFORTS["preview"], moves), tidying=0)
    glances = with_preference([try_way(site, board, wishes, way, effort=glance, seed=seed) for way in ways], board,
                              wishes, window)
    if moves <= EFFORTS["preview"]:
        return glances
    best = min(glances, key=lambda trial: _rank(trial, wishes))
    quick = Effort(rounds=0, moves=min(QUICK_MOVES, moves), tidying=QUICK_TIDYING)
    looked = [try_longer(trial, board, wishes, effort=quick, seed=seed) if _may_win(trial, best, wishes) else trial
              for trial in glances]
    return with_preference(looked, board, wishes, window)


def _may_win(trial: Trial, best: Trial, wishes: Settled) -> bool:
    """Whether a longer look could put a way before the best at a glance."""
    aside, broken, (price, _), *_ = _rank(trial, wishes)
    _, least_broken, (least, _), *_ = _rank(best, wishes)
    return not aside and broken <= least_broken and price <= least * (1.0 + GLANCE_OFF) + 1.0


def _weighed(trials: list[Trial], wishes: Settled, moves: int, longer: Callable[[Trial, int], Trial]) -> list[Trial]:
    """The trials, best first, the likeliest of them searched longer: the best with all the moves, and where that is not
    proven those that lie level with it with half the usual ones at most. In a preview, only the best."""
    first, *others = sorted(trials, key=lambda trial: _rank(trial, wishes))
    searched = [_better(first, longer(first, moves), wishes)]
    most = MOST_LONG if moves > EFFORTS["preview"] else 1
    while others and len(searched) < most and not searched[0].settled:
        if _rank(others[0], wishes)[:3] > _rank(searched[0], wishes)[:3]:
            break
        level = others.pop(0)
        searched.append(_better(level, longer(level, min(moves, MOVES) // LEVEL_SHARE), wishes))
        searched.sort(key=lambda trial: _rank(trial, wishes)[:-1])
    sawable = [trial for trial in others if most > 1 and _saws_better(trial, searched[0], wishes)][:MOST_LONG]
    searched += [_better(trial, longer(trial, min(moves, MOVES) // LEVEL_SHARE), wishes) for trial in sawable]
    searched.sort(key=lambda trial: _rank(trial, wishes)[:-1])
    return searched + [trial for trial in others if trial not in sawable]


def _saws_better(trial: Trial, best: Trial, wishes: Settled) -> bool:
    """Whether a way that leaves fewer strips no saw can hold may yet be found to need no more boards than the best."""
    alike = _rank(trial, wishes)[:2] <= _rank(best, wishes)[:2] and trial.mixed is None
    return alike and trial.thin_strips < best.thin_strips and trial.bound <= best.boards < trial.boards


def _better(quick: Trial, longer: Trial, wishes: Settled) -> Trial:
    """The longer search's plan, unless it is worse in more than cuts, which it has weighed against a better look."""
    if _rank(longer, wishes)[:-1] <= _rank(quick, wishes)[:-1]:
        return longer
    return replace(quick, bound=min(quick.boards, longer.bound))


def _searched_longer(board: Board, wishes: Settled, trial: Trial, moves: int, *, seed: int) -> Trial:
    """The trial's way with the whole effort, untidied; a preview is searched no further."""
    if moves <= EFFORTS["preview"]:
        return trial
    effort = Effort(rounds=min(moves // MOVES_A_ROUND, MOST_ROUNDS), moves=moves, tidying=0)
    return try_longer(trial, board, wishes, effort=effort, seed=seed)


def _rank(trial: Trial, wishes: Settled) -> tuple[bool, int, tuple[float, float], int, int, float, int, bool, int]:
    """The order of choice: a way rows had best run, rules broken, boards (packs), strips no saw can hold, a good start,
    rows along the longer side, rows trapped between three walls, a start at a whole wall, cuts."""
    return (
        trial.aside,
        rules_broken(trial, wishes),
        trial.price,
        trial.thin_strips,
        trial.start.faults,
        -round(trial.along_mm, 0),
        trial.trapped,
        trial.starts_in_doorway,
        trial.cuts,
    )


def _choices(weighed: list[Trial], wishes: Settled) -> tuple[Choice, ...]:
    """The ways weighed, the chosen one first, the others in their order."""
    chosen, *others = weighed
    return tuple(map(as_choice, (chosen, *sorted(others, key=lambda trial: _rank(trial, wishes)))))
