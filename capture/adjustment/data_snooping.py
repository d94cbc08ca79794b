"""Which reading is wrong, and what it probably should have been.

Baarda's data snooping: the reading with the largest standardised residual over its critical value is set aside, the
floor is solved again, and so on. A reading that stands alone as the wrong one stays out of the floor that is shown: one
slip of a tape must not bend every wall. Readings that are equally likely to be the wrong one are named together and all
kept, with the uncertainty widened.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from capture.adjustment.batch import minimise_all
from capture.adjustment.least_squares import Fit, assess, reading_squares
from capture.readings.findings import Doubt, Finding
from capture.readings.indexed import Indexed
from capture.adjustment.residuals import critical, is_tested, read_off
from capture.adjustment.survey import Reading

_MOST = 4
_TRIED = 10
#: Floors without one or the other reading that differ by less (99 % of chi-square, one degree of freedom) are equally
#: likely.
INSEPARABLE = 6.63


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Snooped:
    """The doubted readings by number, worst first, and the floor without those that stand alone as wrong.

    line_weights: 0 on the lines of readings left out, 1 elsewhere; fit: the minimum with those weights; likeliest: of
    readings that are equally likely to be wrong, the floor without the likeliest of them, and its line_weights.
    """

    doubts: tuple[tuple[int, Doubt], ...]
    fit: Fit
    line_weights: np.ndarray
    likeliest: tuple[Fit, np.ndarray] | None = None

    def without_likeliest(self) -> Snooped:
        """The same with the likeliest of several left out too: for readings that make no room together."""
        if self.likeliest is None:
            return self
        first = next(n for n, (_, doubt) in enumerate(self.doubts) if not doubt.left_out)
        doubts = [(k, replace(doubt, left_out=True)) if n == first else (k, doubt)
                  for n, (k, doubt) in enumerate(self.doubts)]
        fit, weights = self.likeliest
        return Snooped(doubts=tuple(doubts), fit=fit, line_weights=weights)


def snoop(ix: Indexed, fit: Fit) -> Snooped:
    """Test all readings, by their numbers in `Indexed.line_groups`."""
    groups = ix.line_groups()
    weights, current = np.ones(len(groups)), fit
    found: list[tuple[int, Doubt]] = []
    likeliest = None
    for _ in range(_MOST):
        precision = assess(ix, current.state, line_weights=weights)
        readings = read_off(ix, precision)
        score = _scores(readings, weights, groups)
        if score.max(initial=0.0) <= 1.0:
            break
        tried = _left_out(ix, fit, current, weights, readings, score)
        likely = [one for one in tried if one[0] < tried[0][0] + INSEPARABLE]
        alone = len(likely) == 1
        found += [(k, Doubt(how=_how(ix, without, np.where(groups == k, 0.0, weights), k),
                            residual=readings[k].residual, left_out=alone, cost=cost)) for cost, k, without in likely]
        _, worst, without = likely[0]
        rest = np.where(groups == worst, 0.0, weights)
        if not alone:
            likeliest = without, rest
            break
        current, weights = without, rest
    return Snooped(doubts=tuple(found), fit=current, line_weights=weights, likeliest=likeliest)


def _how(ix: Indexed, without: Fit, weights: np.ndarray, number: int) -> Finding:
    """How the others contradict a reading, by the floor solved without it."""
    return ix.finding(without.state, assess(ix, without.state, line_weights=weights).cov, number)


def _scores(readings: tuple[Reading, ...], weights: np.ndarray, groups: np.ndarray) -> np.ndarray:
    """|w| over its critical value; 0 for lens priors and for readings already set aside."""
    used, lines = np.bincount(groups, weights=weights) > 0, np.bincount(groups)
    tested = _tested(readings)
    return np.array([abs(r.w) / critical(int(lines[k]), tested) if used[k]
                     and is_tested(r) else 0.0 for k, r in enumerate(readings)])


def _tested(readings: tuple[Reading, ...]) -> int:
    return sum(map(is_tested, readings))


def _left_out(ix: Indexed, fit: Fit, current: Fit, weights: np.ndarray, readings: tuple[Reading, ...],
              score: np.ndarray) -> list[tuple[float, int, Fit]]:
    """(cost of the rest and the reading's critical value squared, reading left out, floor without it), lowest first.

    For small slips the lowest cost goes with the largest w (the drop is w squared); a slip of many sd bends the floor
    so far that w alone misleads, so the most suspicious few are each left out and the floor solved again.
    """
    groups = ix.line_groups()
    starts = [current.state] + ([fit.robust_state] if fit.robust_state is not None else [])
    trusted = fit.robust_state if fit.robust_state is not None else current.state
    # What is known of a lens or of the print beforehand is never doubted, however far off it is.
    wildest = int(np.argmax(np.where(score > 0, reading_squares(ix, trusted), 0.0)))
    doubted = [k for k in dict.fromkeys([wildest, *np.argsort(-score, kind="stable")[:_TRIED].tolist()])
               if score[k] > 0.5 * score.max() or k == wildest]
    # All at once, each from every start.
    states = [state for _ in doubted for state in starts]
    left = np.array([np.where(groups == k, 0.0, weights) for k in doubted for _ in starts])
    bent = minimise_all(ix, states, robust=True, iterations=30, line_weights=left)
    fits = minimise_all(ix, [one.state for one in bent], line_weights=left)
    tried = []
    for n, k in enumerate(doubted):
        without = min(fits[n * len(starts):(n + 1) * len(starts)], key=lambda one: one.cost)
        # A mark's two lines explain more by chance than a tape's one: each is judged above its own critical value.
        tried.append((without.cost + critical(int(np.sum(groups == k)), _tested(readings)) ** 2, int(k), without))
    return sorted(tried, key=lambda one: one[0])


def with_suspects(readings: tuple[Reading, ...], doubts: tuple[tuple[int, Doubt], ...]) -> tuple[Reading, ...]:
    """The readings with the suspects marked."""
    found = dict(doubts)
    return tuple(replace(r, suspect=True, finding=found[k]) if k in found else r for k, r in enumerate(readings))
