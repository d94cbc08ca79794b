"""The fewest boards any plan of given rows can use.

For any weights w(y) >= 0, the best plan needs at least  min over first pieces of  sum_y w(y) D(y) / sum_y w(y)  boards, D
being the curve of `layout.crowding`. That minimum splits into one price a run and is found exactly, seams included, by
`layout.tree`; seams that close a ring are left out, which only lowers it. The best weights are found by cutting planes:
a small linear program (scipy's HiGHS) over the curves met so far proposes weights, the forest answers with the curve that
is best against them, and so on (Dantzig-Wolfe; the proposals are pulled towards the best weights so far to keep them
steady). Weights are turned into whole numbers before they prove anything, so no rounding enters the bound.

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
from scipy.optimize import linprog

from layout.crowding import Steps, add_run, prices, steps_of, thresholds_of
from layout.model import Task
from layout.tree import NEVER, Floats, Forest, Ints, candidates, plant, solve

STEP_MM = 2.0
#: Weight is carried by thresholds this far apart: coarse first, fine if the coarse ones cannot prove enough, mm.
SPACINGS_MM = (16.0, 6.0)
SCALE = 1_000_000
PULL = 0.6
SAYS = ("No plan of these rows under these rules that cuts boards across only can use fewer: either the wood and its saw cuts do not fit, or too "
        "many of the pieces cannot share a board with one another.")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Game:
    """A task made ready for bounding: loosened forest, steps, and the thresholds (by index) that may carry weight."""

    forest: Forest
    steps: tuple[Steps, ...]
    carriers: Ints
    thresholds: int


def length_bound(task: Task) -> int:
    """Boards needed by wood alone (kerfs included)."""
    least = sum(span.length_mm + task.kerf_mm * max(1, ceil(span.length_mm / task.board_mm - 1e-9)) for span in task.spans)
    return max(1, ceil(least / (task.board_mm + task.kerf_mm) - 1e-9))


def lower_bound(task: Task, *, enough: int, rounds: int) -> int:
    """A proven lower bound on the boards of a task; stops early once it reaches `enough` (a plan's boards)."""
    bound = length_bound(task)
    firsts = [candidates(span, task.board_mm, STEP_MM) for span in task.spans]
    if bound >= enough or rounds == 0 or any(len(f) == 0 for f in firsts):
        return min(bound, enough)
    for spacing in SPACINGS_MM:
        if bound < enough:
            bound = max(bound, _play(_ready(task, firsts, spacing), bound, enough, rounds))
    return min(enough, bound)


def _ready(task: Task, firsts: list[Floats], spacing_mm: float) -> _Game:
    thresholds = thresholds_of(firsts)
    evenly = np.unique(np.searchsorted(thresholds, np.arange(thresholds[0], thresholds[-1] + spacing_mm, spacing_mm)))
    return _Game(forest=plant(task, firsts, slack_mm=STEP_MM), thresholds=len(thresholds), carriers=evenly[evenly < len(thresholds)],
                 steps=tuple(steps_of(task, run, firsts[run], thresholds, slack_mm=STEP_MM) for run in range(len(firsts))))


def _play(game: _Game, bound: int, enough: int, rounds: int) -> int:
    """Cutting planes until the bound reaches `enough`, cannot rise any more, or the rounds are over."""
    n = len(game.carriers)
    centre, centre_value = np.full(n, 1.0 / n), 0.0
    curves: list[Ints] = []
    proposal = centre
    for _ in range(rounds):
        value, curve = _answer(game, PULL * centre + (1 - PULL) * proposal)
        if curve is None:
            return bound
        curves.append(curve)
        if value > centre_value:
            centre, centre_value = PULL * centre + (1 - PULL) * proposal, value
            bound = max(bound, ceil(value - 1e-9))
        proposal, ceiling = _propose(curves)
        if bound >= enough or ceil(ceiling - 1e-7) <= bound:
            break
    return bound


def _answer(game: _Game, weights: Floats) -> tuple[float, Ints | None]:
    """(bound proved by the weights, the curve at the carriers of the first pieces that attain it; None if there are none)."""
    whole = np.zeros(game.thresholds, dtype=np.int64)
    whole[game.carriers] = np.round(np.maximum(weights, 0.0) * SCALE).astype(np.int64)
    value, chosen = solve(game.forest, [prices(steps, whole) for steps in game.steps])
    if value >= NEVER:
        return 0.0, None
    curve = np.zeros(game.thresholds, dtype=np.int64)
    for steps, k in zip(game.steps, chosen):
        add_run(curve, steps, k, 1)
    return value / int(whole.sum()), curve[game.carriers]


def _propose(curves: list[Ints]) -> tuple[Floats, float]:
    """Weights that make the best of the curves met so far as dear as possible, and that value (a ceiling of every bound).

    A ceiling of 0 where the solver gives up: what is proved so far stands.
    """
    table = np.array(curves, dtype=np.float64)
    rows, n = table.shape
    answer = linprog(np.append(np.zeros(n), -1.0), A_ub=np.hstack([-table, np.ones((rows, 1))]), b_ub=np.zeros(rows),
                     A_eq=np.append(np.ones(n), 0.0)[None, :], b_eq=[1.0], bounds=[(0, None)] * n + [(None, None)], method="highs-ds")
    return (np.full(n, 1.0 / n), 0.0) if answer.x is None else (answer.x[:-1], float(answer.x[-1]))
