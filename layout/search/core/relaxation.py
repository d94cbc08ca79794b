"""When the rules cannot all hold: which give way, where, and by how much.

Order, least first: (1) stagger, down to 200 mm; (2) the shortest piece, down to 200 mm; (3) stagger, further; (4) the
shortest piece, further. (200 mm is the hard floor of trade habit.) The narrowest row is settled before, with the first
row. Only the seams and runs that need it give way, by as little as possible: the sum of squared shortfalls is least,
each step of the order weighing a hundred times the one before. First pieces are tried 10 mm apart. Joints keep clear of
pipe holes to the last: only a run that has no other place left gives that up. Before any of these, where that is
enough, strips that no saw can hold come off the ends of as few runs as can be (2 mm apart).
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from layout.search.core.model import SAME_MM, Seam, Span, Task, first_pieces, joints_of, split_run
from layout.search.core.state import seam_distance
from layout.search.core.forest_dp import NEVER, Floats, candidates, last_pieces, plant, solve, spanning_order
from layout.search.core.repair import mend

HARD_FLOOR_MM = 200.0
STEP_MM, FINE_STEP_MM = 10.0, 2.0
LEAST_PIECE_MM = 10.0
STAGGER_STEPS = (1.0, 1e4)
SHORTEST_STEPS = (1e2, 1e6)
#: Price of a run with a strip no saw can hold, and below which prices are drawn that choose among equal ones.
THIN_PRICE, DRAWN = 1_000_000, 1024


def ease(task: Task) -> tuple[Task, list[float]]:
    """(the task with eased rules where needed, first pieces that keep them). Never fails: at worst a rule falls to
    nothing."""
    loose = replace(task, spans=tuple(replace(span, shortest_mm=min(span.shortest_mm, LEAST_PIECE_MM))
                                      for span in task.spans))
    options = [_options(span, task.board_mm) for span in loose.spans]
    prices = [_shortfalls(span, firsts, task.board_mm) for span, firsts in zip(task.spans, options)]
    chosen = _solve(task, options, prices)
    firsts = [float(options[run][k]) for run, k in enumerate(chosen)]
    return eased_to(task, firsts), firsts


def fewest_thin(task: Task, *, seed: int) -> tuple[Task, list[float]] | None:
    """(the task with strips that no saw can hold allowed in as few runs as can be, first pieces that keep all else);
    None where other rules must give way too."""
    rng = np.random.default_rng(seed)
    thin = replace(task, spans=tuple(replace(span, sliver_mm=0.0) for span in task.spans))
    options = [np.union1d(*(candidates(tried, task.board_mm, FINE_STEP_MM) for tried in spans))
               for spans in zip(task.spans, thin.spans)]
    if any(len(firsts) == 0 for firsts in options):
        return None
    prices = [np.where(_allowed(span, firsts, task.board_mm), 0, THIN_PRICE) + rng.integers(0, DRAWN, len(firsts))
              for span, firsts in zip(task.spans, options)]
    value, chosen = solve(plant(thin, options), prices)
    mended = None if value >= NEVER else mend(thin, [float(firsts[k]) for firsts, k in zip(options, chosen)])
    return None if mended is None else (eased_to(task, mended), mended)


def _allowed(span: Span, firsts: Floats, board_mm: float) -> NDArray[np.bool_]:
    """Which of these first pieces keep every rule of a run by itself."""
    found = np.zeros(len(firsts), dtype=bool)
    for lo, hi in first_pieces(span, board_mm):
        found |= (firsts >= lo - SAME_MM) & (firsts <= hi + SAME_MM)
    return found


def _options(span: Span, board_mm: float) -> Floats:
    for tried in (span, replace(span, sliver_mm=0.0), replace(span, sliver_mm=0.0, bars=())):
        found = candidates(tried, board_mm, STEP_MM)
        if len(found):
            return found
    return np.array([min(board_mm, span.length_mm)])


def _shortfalls(span: Span, firsts: Floats, board_mm: float) -> Floats:
    """Price of every candidate for the end pieces it leaves too short."""
    counts, lasts = last_pieces(span, firsts, board_mm)
    prices = sum(_price(span.shortest_mm, pieces, SHORTEST_STEPS) for pieces in (firsts, lasts))
    return np.where(counts > 1, prices, 0.0)


def _price(asked: float, had: Floats, steps: tuple[float, float]) -> Floats:
    """Squared shortfall, dearer for the part below the hard floor."""
    floor = min(HARD_FLOOR_MM, asked)
    return (
        steps[0] * np.maximum(0.0, asked - np.maximum(had, floor)) ** 2 + steps[1] * np.maximum(0.0, floor - had) ** 2
    )


def _solve(task: Task, options: list[Floats], prices: list[Floats]) -> list[int]:
    """Least total price over the spanning forest of seams (dense tables: the candidates are few)."""
    total = [price.copy() for price in prices]
    order = spanning_order(task)
    joints = [_joints(span, firsts, task.board_mm) for span, firsts in zip(task.spans, options)]
    tables = {}
    for child, parent, seam in reversed(order):
        if seam is not None:
            tables[child] = total[child][None, :] + _seam_prices(seam, joints[parent], joints[child], task.board_mm)
            total[parent] += tables[child].min(axis=1)
    chosen = [-1] * len(options)
    for child, parent, seam in order:
        chosen[child] = int(np.argmin(total[child] if seam is None else tables[child][chosen[parent]]))
    return chosen


def _joints(span: Span, firsts: Floats, board_mm: float) -> Floats:
    """(candidates, most joints) where each candidate has its joints; missing ones NaN."""
    counts, _ = last_pieces(span, firsts, board_mm)
    numbers = np.arange(counts.max() - 1)
    return np.where(numbers < counts[:, None] - 1, (span.left_mm + firsts)[:, None] + numbers * board_mm, np.nan)


def _seam_prices(seam: Seam, above: Floats, below: Floats, board_mm: float) -> Floats:
    """(candidates of the one run, of the other) price of the stagger each pair leaves on the seam, from their
    joints."""
    hi = min(seam.hi_mm, seam.lo_mm + 3 * board_mm)
    sides = [np.where((side >= seam.lo_mm) & (side <= hi), side, np.nan) for side in (above, below)]
    columns, others = ([column for column in side.T if not np.isnan(column).all()] for side in sides)
    near = np.full((len(above), len(below)), np.inf)
    for column in columns:
        for other in others:
            near = np.fmin(near, np.abs(column[:, None] - other[None, :]))
    return _price(seam.stagger_mm, near, STAGGER_STEPS)


def eased_to(task: Task, firsts: list[float]) -> Task:
    """The task with every rule lowered to what these first pieces keep of it; the same task if they keep them all."""
    joints = [joints_of(span, first, task.board_mm) for span, first in zip(task.spans, firsts)]
    spans = []
    for span, first, places in zip(task.spans, firsts, joints):
        count, last = split_run(span.length_mm, first, task.board_mm)
        least = min(first, last) if count > 1 else span.shortest_mm
        kept = tuple(bar for bar in span.bars if not any(bar.stops(s) for s in places))
        eased = replace(span, shortest_mm=min(span.shortest_mm, least), bars=kept)
        allowed = not span.sliver_mm or any(lo - SAME_MM <= first <= hi + SAME_MM
                                            for lo, hi in first_pieces(eased, task.board_mm))
        spans.append(eased if allowed else replace(eased, sliver_mm=0.0))
    seams = tuple(replace(seam, stagger_mm=min(seam.stagger_mm, seam_distance(seam, joints))) for seam in task.seams)
    return task if seams == task.seams and tuple(spans) == task.spans else replace(task, spans=tuple(spans),
                                                                                   seams=seams)


def eased_from(asked: Task, task: Task) -> bool:
    """Whether a task asks less than another one of the same runs."""
    return asked.seams != task.seams or any((a.shortest_mm, a.bars, a.sliver_mm) != (b.shortest_mm, b.bars, b.sliver_mm)
                                            for a, b in zip(asked.spans, task.spans))
