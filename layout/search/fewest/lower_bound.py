"""The fewest boards any plan of given rows can use.

For any weights w(y) >= 0, the best plan needs at least  min over first pieces of  sum_y w(y) D(y) / sum_y w(y)  boards,
D being the curve of `demand_curve`. That minimum splits into one price a run and is found exactly, seams included, by
`core.forest_dp`; seams that close a ring are left out, which only lowers it. The best weights are found by cutting
planes: a small linear program (scipy's HiGHS) over the curves met so far proposes weights, the forest answers with the
curve that is best against them, and so on (Dantzig-Wolfe; the proposals are pulled towards the best weights so far, the
more the longer none proved more, to keep them steady). Weights are turned into whole numbers before they prove
anything, so no rounding enters the bound.

A candidate first piece here stands for all lengths up to the next one: it is priced by the best length in its cell and
its stagger loosened by a cell, so the bound holds for every real length, not only for the grid.

A second bound counts wood: n pieces of a board need n - 1 saw cuts, so boards * (L + k) >= sum of (piece + k).

Both hold for plans whose boards are cut across only: two narrow pieces side by side out of one board, or slanted ends
nested into each other, are not counted.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from layout.search.fewest.demand_curve import Steps, add_run, prices, steps_of, widths_of
from layout.search.core.model import Task
from layout.search.core.forest_dp import NEVER, Floats, Forest, Ints, candidates, plant, solve

#: Candidates and the y that carry weight, each this far apart, mm: coarse first, finer if that cannot prove enough.
GRIDS_MM = ((2.0, 16.0), (0.5, 8.0))
#: The finer grid has so many times the rounds: one grid played to its end proves more than several begun.
MORE_ROUNDS = 6
SCALE = 1_000_000
#: How far a proposal is pulled towards the best weights so far: at first, by how much less after one that proved more
#: and more after one that did not, and the least and most.
PULL, LESS_PULL, MORE_PULL, LEAST_PULL, MOST_PULL = 0.6, 0.1, 0.03, 0.3, 0.9
#: The rounds are played on, up to so many times as many, where what is proved is no further than this from another
#: board.
LONGER, CLOSE = 2, 0.1
#: Curves younger than this many rounds are kept though they bind nothing.
FRESH = 25


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Game:
    """A task made ready for bounding: loosened forest, and what each candidate adds to D at the y that carry weight."""

    forest: Forest
    steps: tuple[Steps, ...]
    carriers: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Proof:
    """A proven bound, and the weights of the game that prove it, or as much as could be (None: wood alone does)."""

    boards: int = 0
    weights: Floats | None = None


def length_bound(task: Task) -> int:
    """Boards needed by wood alone (kerfs included)."""
    least = sum(span.length_mm + task.kerf_mm * max(1, ceil(span.length_mm / task.board_mm - 1e-9))
                for span in task.spans)
    return max(1, ceil(least / (task.board_mm + task.kerf_mm) - 1e-9))


def lower_bound(task: Task, *, enough: int, rounds: int, known: int = 0,
                grids_mm: tuple[tuple[float, float], ...] = GRIDS_MM) -> int:
    """A proven lower bound on the boards of a task; stops early once it reaches `enough` (a plan's boards).

    rounds: of cutting planes on the coarse grid. known: a bound proven before.
    """
    return prove(task, enough=enough, rounds=rounds, known=Proof(boards=known), grids_mm=grids_mm).boards


def prove(task: Task, *, enough: int, rounds: int, known: Proof = Proof(), near: Floats | None = None,
          grids_mm: tuple[tuple[float, float], ...] = GRIDS_MM) -> Proof:
    """What `lower_bound` gives, with the weights that prove it. known: of this very task; near: weights that prove
    much of a task like it, to begin with."""
    bound, weights = max(known.boards, length_bound(task)), known.weights if near is None else near
    for step, spacing in grids_mm if rounds else ():
        firsts = [candidates(span, task.board_mm, step) for span in task.spans]
        if bound >= enough or any(len(f) == 0 for f in firsts):
            break
        game = ready(task, firsts, step, spacing)
        more = 1 if step == GRIDS_MM[0][0] else MORE_ROUNDS
        bound, weights = play(game, bound, enough, more * rounds, _resampled(weights, game.carriers))
    return Proof(boards=min(enough, bound), weights=weights)


def ready(task: Task, firsts: list[Floats], step_mm: float, spacing_mm: float, *, exact: bool = False) -> Game:
    """The game over these candidates. exact: each stands for itself only; what is proved then holds for the grid,
    not for every length."""
    carriers = np.arange(spacing_mm / 2, task.shared_mm, spacing_mm)
    widths = [np.zeros(len(f)) if exact else widths_of(f, step_mm) for f in firsts]
    return Game(forest=plant(task, firsts, slack_mm=step_mm if any(w.any() for w in widths) else 0.0),
                carriers=len(carriers), steps=tuple(steps_of(task, run, firsts[run], carriers, widths[run])
                                                    for run in range(len(firsts))))


def _resampled(weights: Floats | None, n: int) -> Floats:
    """Weights of another grid brought to n carriers, or even ones; their sum is 1."""
    if weights is None:
        return np.full(n, 1.0 / n)
    found = np.interp((np.arange(n) + 0.5) / n, (np.arange(len(weights)) + 0.5) / len(weights), weights)
    return found / found.sum()


def play(game: Game, bound: int, enough: int, rounds: int, centre: Floats,
         met: dict[tuple[int, ...], None] | None = None) -> tuple[int, Floats]:
    """(the bound, the weights that prove most): cutting planes until the bound reaches `enough`, cannot rise, or the
    rounds are over (and it is not close to it).

    met: takes up the candidates that were best against each proposal, once each.
    """
    centre_value, proposal, pull = 0.0, centre, PULL
    curves: list[Ints] = []
    for turn in range(LONGER * rounds):
        if turn >= rounds and enough - 1 - centre_value > CLOSE:
            break
        tried = pull * centre + (1 - pull) * proposal
        value, curve, chosen = _answer(game, tried)
        if curve is None:
            break
        if met is not None:
            met[tuple(chosen)] = None
        curves.append(curve)
        pull = max(LEAST_PULL, pull - LESS_PULL) if value > centre_value else min(MOST_PULL, pull + MORE_PULL)
        if value > centre_value:
            centre, centre_value = tried, value
            bound = max(bound, ceil(value - 1e-9))
        if bound >= enough:
            break
        proposal, ceiling, curves = _propose(curves)
        if ceil(ceiling - 1e-7) <= bound:
            break
    return bound, centre


def _answer(game: Game, weights: Floats) -> tuple[float, Ints | None, list[int]]:
    """(bound proved by the weights, the curve of the first pieces that attain it, None if there are none, and their
    candidates)."""
    whole = np.round(np.maximum(weights, 0.0) * SCALE).astype(np.int64)
    value, chosen = solve(game.forest, [prices(steps, whole) for steps in game.steps])
    if value >= NEVER:
        return 0.0, None, []
    curve = np.zeros(game.carriers, dtype=np.int64)
    for steps, k in zip(game.steps, chosen):
        add_run(curve, steps, k, whole)
    return value / int(whole.sum()), curve, chosen


def _propose(curves: list[Ints]) -> tuple[Floats, float, list[Ints]]:
    """(weights that make the best of the curves as dear as possible, that value - a ceiling of every bound -, the
    curves worth keeping).

    A ceiling of 0 where the solver gives up: what is proved so far stands.
    """
    from scipy.optimize import linprog  # loaded where something is to be proved: wood alone proves many plans
    table = np.array(curves, dtype=np.float64)
    rows, n = table.shape
    answer = linprog(np.append(np.zeros(n), -1.0), A_ub=np.hstack([-table, np.ones((rows, 1))]), b_ub=np.zeros(rows),
                     A_eq=np.append(np.ones(n), 0.0)[None, :], b_eq=[1.0], bounds=[(0, None)] * n + [(None, None)],
                     method="highs-ds")
    if answer.x is None:
        return np.full(n, 1.0 / n), 0.0, curves
    binding = np.flatnonzero((answer.ineqlin.marginals < -1e-9) | (np.arange(rows) >= rows - FRESH))
    return answer.x[:-1], float(answer.x[-1]), [curves[k] for k in binding]
