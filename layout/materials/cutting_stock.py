"""One-dimensional cutting stock, solved exactly: fewest bars for given lengths, a saw cut between any two of them.

A bar W with saw width k holds pieces w if the sum of (w + k) is at most W + k, so kerfs are added to both and
forgotten. Method: first fit by decreasing length gives bars at once, filling bar after bar as full as can be often
fewer; if they meet the sum of lengths, that is the proof. Else the linear program over all cutting patterns is solved
by column generation (Gilmore and Gomory 1961; pricing is a bounded knapsack by dynamic programming) with HiGHS, and its
duals, rounded to whole numbers, prove a lower bound without rounding error. An integer program over the patterns met
usually reaches it; if not, it is solved again over every pattern that a solution of that many bars could contain (those
whose reduced cost fits into the slack), which decides it.

All lengths are whole tenths of a mm inside: pieces are rounded up, the bar down. The same arguments give the same
answer.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError

TENTHS = 10
SCALE = 1_000_000
MOST_ROUNDS = 400
MOST_PATTERNS = 60_000
#: The integer program's budget is counted in nodes, so it ends the same way everywhere.
MOST_NODES = 5_000
#: How much more than by its length a long piece counts when bars are filled in turn.
LONG_FIRST = (1.0, 1.2)

Ints = NDArray[np.int64]
Pattern = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """Bars as lists of piece indices, longest first, and a proven least number of bars."""

    bars: tuple[tuple[int, ...], ...]
    bound: int

    @property
    def proven(self) -> bool:
        """Whether no fewer bars can do."""
        return len(self.bars) == self.bound


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Problem:
    """Distinct sizes (kerf added), longest first, how many of each, and the bar's size (kerf added), tenths of a mm."""

    sizes: Ints
    wanted: Ints
    bar: int


def cut_bars(lengths_mm: Sequence[float], bar_mm: float, kerf_mm: float) -> Cutting:
    """Fewest bars that yield all the lengths. Raises LayoutError (slug bar-short) for a length that no bar holds."""
    for length in lengths_mm:
        if length > bar_mm + 1e-9:
            raise LayoutError("bar-short", lazy_gettext(
                "A length of {length:.0f} mm cannot be cut from a bar of {bar:g} mm; choose longer bars or join "
                "two.", length=length, bar=bar_mm), where="flooring.beading.bar")
    if not lengths_mm:
        return Cutting(bars=(), bound=0)
    sizes = [ceil(TENTHS * (length + kerf_mm) - 1e-6) for length in lengths_mm]
    counts = sorted(Counter(sizes).items(), reverse=True)
    problem = _Problem(sizes=np.array([size for size, _ in counts], dtype=np.int64),
                       wanted=np.array([n for _, n in counts], dtype=np.int64),
                       bar=floor(TENTHS * (bar_mm + kerf_mm) + 1e-6))
    used, bound = _solve(problem)
    return Cutting(bars=_deal(problem, used, sizes), bound=bound)


def _solve(problem: _Problem) -> tuple[list[Pattern], int]:
    """(one pattern a bar, proven least number)."""
    best = _first_fit(problem)
    bound = -(-int(problem.sizes @ problem.wanted) // problem.bar)
    for power in LONG_FIRST:
        if len(best) > bound:
            best = min(best, _fill_in_turn(problem, power), key=len)
    if len(best) == bound:
        return best, bound
    patterns, duals, value = _generate(problem, sorted(set(best), reverse=True))
    bound = max(bound, -(-int(duals @ problem.wanted) // value))
    best = min(best, _choose(problem, patterns)[0] or best, key=len)
    every = _within_slack(problem, duals, value, bound) if len(best) > bound else None
    if every is not None:
        found, is_least = _choose(problem, sorted(set(every) | set(patterns), reverse=True))
        best = min(best, found or best, key=len)
        # No pattern outside `every` can be part of a solution with `bound` bars.
        bound += len(best) > bound and is_least
    return best, bound


def _first_fit(problem: _Problem) -> list[Pattern]:
    """Longest first, each into the first bar with room."""
    bars: list[list[int]] = []
    room: list[int] = []
    for k, (size, count) in enumerate(zip(problem.sizes.tolist(), problem.wanted.tolist())):
        for _ in range(count):
            at = next((i for i, left in enumerate(room) if left >= size), len(bars))
            if at == len(bars):
                bars.append([0] * len(problem.sizes))
                room.append(problem.bar)
            bars[at][k] += 1
            room[at] -= size
    return [tuple(bar) for bar in bars]


def _fill_in_turn(problem: _Problem, power: float) -> list[Pattern]:
    """Bar after bar as full as what is left allows; a power above 1 puts long pieces first."""
    worth = np.round((problem.sizes / problem.bar) ** power * SCALE).astype(np.int64)
    left, bars = problem.wanted.copy(), []
    while left.any():
        _, pattern = _best_pattern(_Problem(sizes=problem.sizes, wanted=left, bar=problem.bar), worth)
        bars.append(pattern)
        left = left - np.array(pattern)
    return bars


def _generate(problem: _Problem, patterns: list[Pattern]) -> tuple[list[Pattern], Ints, int]:
    """(patterns, whole-number duals, greatest worth of any pattern under them) when no pattern improves the linear
    program."""
    from scipy.optimize import linprog  # takes longer to load than most plans to cut, which need no solver
    best: tuple[float, Ints, int] | None = None
    for _ in range(MOST_ROUNDS):
        table = np.array(patterns, dtype=np.float64).T
        answer = linprog(np.ones(len(patterns)), A_ub=-table, b_ub=-problem.wanted.astype(np.float64), method="highs")
        duals = np.maximum(np.round(-answer.ineqlin.marginals * SCALE), 0.0).astype(np.int64)
        value, pattern = _best_pattern(problem, duals)
        proved = int(duals @ problem.wanted) / max(value, 1)
        if best is None or proved > best[0]:
            best = proved, duals, max(value, 1)
        if value <= SCALE + len(problem.sizes) or pattern in patterns:
            break
        patterns.append(pattern)
    assert best is not None
    return patterns, best[1], best[2]


def _best_pattern(problem: _Problem, worth: Ints) -> tuple[int, Pattern]:
    """The pattern worth most: a knapsack with so many of each size, one copy at a time."""
    copies = [(k, int(size)) for k, size in enumerate(problem.sizes)
              for _ in range(min(int(problem.wanted[k]), problem.bar // int(size)))]
    table = np.zeros(problem.bar + 1, dtype=np.int64)
    taken = np.zeros((len(copies), problem.bar + 1), dtype=np.bool_)
    for row, (k, size) in enumerate(copies):
        with_it = table[:-size] + worth[k]
        taken[row, size:] = with_it > table[size:]
        table[size:] = np.maximum(table[size:], with_it)
    pattern, left = [0] * len(problem.sizes), problem.bar
    for row in range(len(copies) - 1, -1, -1):
        if taken[row, left]:
            pattern[copies[row][0]] += 1
            left -= copies[row][1]
    return int(table[-1]), tuple(pattern)


def _choose(problem: _Problem, patterns: list[Pattern]) -> tuple[list[Pattern], bool]:
    """(fewest bars out of these patterns, whether that is certain); a bar may yield more than is wanted. Empty if
    the nodes run out."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    table = np.array(patterns, dtype=np.float64).T
    answer = milp(np.ones(len(patterns)), integrality=np.ones(len(patterns), dtype=np.int64), bounds=Bounds(0, np.inf),
                  constraints=LinearConstraint(table, lb=problem.wanted.astype(np.float64)),
                  options={"node_limit": MOST_NODES})
    if answer.x is None:
        return [], False
    times = np.round(answer.x).astype(int)
    return [pattern for pattern, count in zip(patterns, times) for _ in range(count)], answer.status == 0


def _within_slack(problem: _Problem, duals: Ints, value: int, bars: int) -> list[Pattern] | None:
    """Every full pattern worth at least `value` less what a solution of so many bars can spare; None if they are too
    many.

    In a solution of z bars the patterns' worths sum to at least the worth of what is wanted, and none exceeds `value`,
    so none falls short of it by more than z * value - that worth.
    """
    least = value - (bars * value - int(duals @ problem.wanted))
    tables = _worth_tables(problem, duals)
    found: list[Pattern] = []
    stack: list[tuple[int, int, int, Pattern]] = [(0, problem.bar, 0, ())]
    while stack:
        k, room, worth, taken = stack.pop()
        if k == len(problem.sizes):
            found.append(taken)
            if len(found) > MOST_PATTERNS:
                return None
            continue
        size = int(problem.sizes[k])
        for count in range(min(int(problem.wanted[k]), room // size) + 1):
            left, gained = room - count * size, worth + count * int(duals[k])
            if gained + int(tables[k + 1][left]) >= least:
                stack.append((k + 1, left, gained, (*taken, count)))
    return found


def _worth_tables(problem: _Problem, duals: Ints) -> list[Ints]:
    """tables[k][room]: the most that sizes from k on are worth in so much room."""
    tables = [np.zeros(problem.bar + 1, dtype=np.int64)]
    for k in range(len(problem.sizes) - 1, -1, -1):
        size, table = int(problem.sizes[k]), tables[-1].copy()
        for _ in range(min(int(problem.wanted[k]), problem.bar // size)):
            table[size:] = np.maximum(table[size:], table[:-size] + duals[k])
        tables.append(table)
    return tables[::-1]


def _deal(problem: _Problem, used: list[Pattern], sizes: list[int]) -> tuple[tuple[int, ...], ...]:
    """Piece indices of each bar; what a pattern yields beyond the wanted is left uncut."""
    waiting = {size: [i for i, other in enumerate(sizes) if other == size] for size in problem.sizes.tolist()}
    bars = []
    for pattern in sorted(used, reverse=True):
        bar = [waiting[size].pop(0) for size, count in zip(problem.sizes.tolist(), pattern)
               for _ in range(min(count, len(waiting[size])))]
        bars.append(tuple(bar))
    return tuple(bar for bar in bars if bar)
