"""Best first pieces for a forest of runs, given a price for each: exact dynamic programming over candidate lengths.

Every run has a sorted array of candidate first pieces. A seam forbids pairs of candidates whose joints on it come too
near. Over a spanning forest of the seams (the longest stretches first; seams that would close a ring are left out,
which only loosens the problem) messages of least prices run from the leaves to the roots. For one candidate the
candidates a neighbour may not take form one arc of the circle of length `board`, so a message needs only running minima
and range minima. All prices are integers: sums are exact and the same on any machine.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout.search.core.model import SAME_MM, Seam, Span, Task, first_pieces

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
NEVER = np.int64(2) ** 60


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Link:
    """A seam of the forest from child to parent: for each parent candidate, which child candidates are allowed.

    Allowed are ``[0, head)`` and ``[tail, n)`` where head <= tail, or ``[tail, head)`` where they cross (`wraps`).
    """

    child: int
    parent: int
    head: Ints
    tail: Ints
    wraps: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Forest:
    """Candidates of every run and the links, children before parents."""

    firsts: tuple[Floats, ...]
    links: tuple[Link, ...]
    roots: tuple[int, ...]


def candidates(span: Span, board_mm: float, step_mm: float) -> Floats:
    """Sorted first-piece lengths of a span: every multiple of `step_mm` and the ends of each allowed interval."""
    parts = []
    for lo, hi in first_pieces(span, board_mm):
        inner = np.arange(np.ceil(lo / step_mm), np.floor(hi / step_mm) + 1) * step_mm
        parts.append(np.concatenate([[lo], inner[(inner > lo) & (inner < hi)], [hi]]))
    return np.unique(np.concatenate(parts)) if parts else np.empty(0)


def plant(task: Task, firsts: list[Floats], slack_mm: float = 0.0) -> Forest:
    """The forest of a task. slack_mm loosens every stagger (used when a candidate stands for a whole cell)."""
    order = spanning_order(task)
    links = [link_over(task, seam, child, parent, firsts, slack_mm) for child, parent, seam in reversed(order)
             if seam is not None]
    return Forest(firsts=tuple(firsts), links=tuple(links),
                  roots=tuple(child for child, _, seam in order if seam is None))


def spanning_order(task: Task) -> list[tuple[int, int, Seam | None]]:
    """(run, its parent, the seam between), parents before children; a root has parent -1 and no seam."""
    branches = _spanning(task)
    order: list[tuple[int, int, Seam | None]] = []
    reached = [False] * len(task.spans)
    for root in range(len(task.spans)):
        if reached[root]:
            continue
        reached[root], at = True, len(order)
        order.append((root, -1, None))
        while at < len(order):
            here = order[at][0]
            at += 1
            for other, seam in branches[here]:
                if not reached[other]:
                    reached[other] = True
                    order.append((other, here, seam))
    return order


def solve(forest: Forest, prices: list[Ints]) -> tuple[int, list[int]]:
    """(least total price, candidate index of every run) over the forest; the price is NEVER or more if none is
    allowed."""
    total = [price.copy() for price in prices]
    for link in forest.links:
        total[link.parent] = np.minimum(total[link.parent] + _least_allowed(total[link.child], link), NEVER)
    chosen = [-1] * len(prices)
    value = 0
    for root in forest.roots:
        chosen[root] = int(np.argmin(total[root]))
        value += int(total[root][chosen[root]])
    for link in reversed(forest.links):
        chosen[link.child] = _best_allowed(total[link.child], link, chosen[link.parent])
    return value, chosen


def _spanning(task: Task) -> list[list[tuple[int, Seam]]]:
    """For each run its forest neighbours with the seam between, longest seams first."""
    branches: list[list[tuple[int, Seam]]] = [[] for _ in task.spans]
    group = list(range(len(task.spans)))
    for seam in sorted(task.seams, key=lambda seam: (seam.lo_mm - seam.hi_mm, seam.upper, seam.lower)):
        a, b = _find(group, seam.upper), _find(group, seam.lower)
        if a != b:
            group[b] = a
            branches[seam.upper].append((seam.lower, seam))
            branches[seam.lower].append((seam.upper, seam))
    return branches


def _find(group: list[int], i: int) -> int:
    while group[i] != i:
        group[i] = group[group[i]]
        i = group[i]
    return i


def link_over(task: Task, seam: Seam, child: int, parent: int, firsts: list[Floats], slack_mm: float) -> Link:
    """Allowed ranges of the child's candidates for every candidate of the parent.

    With two or more joints of the parent on the stretch, the barred places are the whole of (joint - stagger, joint +
    stagger), repeated every board; with one they are that interval clipped to the stretch; with none there are no
    barred places.
    """
    board, reach = task.board_mm, seam.stagger_mm - slack_mm - SAME_MM
    first_joint, last_joint, count = _joints_on(task.spans[parent], firsts[parent], board, seam, slack_mm)
    lo = np.where(count > 1, first_joint - reach, np.maximum(first_joint - reach, seam.lo_mm + slack_mm))
    hi = np.where(count > 1, first_joint + reach, np.minimum(last_joint + reach, seam.hi_mm - slack_mm))
    base = lo - task.spans[child].left_mm
    start = base - board * np.floor(base / board)
    width = hi - lo
    head = np.searchsorted(firsts[child], start, side="right")
    tail = np.searchsorted(firsts[child], start + width, side="left")
    wraps = start + width > board
    wrapped_tail = np.searchsorted(firsts[child], start + width - board, side="left")
    tail = np.where(wraps, wrapped_tail, tail)
    free = (count == 0) | (width <= 0)
    head, wraps = np.where(free, len(firsts[child]), head), wraps & ~free
    return Link(child=child, parent=parent, head=head, tail=np.where(free, len(firsts[child]), tail), wraps=wraps)


def _joints_on(span: Span, firsts: Floats, board: float, seam: Seam, slack_mm: float) -> tuple[Floats, Floats, Ints]:
    """First and last joint on the seam's stretch and their number, for every candidate. Slack keeps clear of the
    stretch's ends."""
    lo, hi = seam.lo_mm + slack_mm, min(seam.hi_mm, span.right_mm - SAME_MM) - slack_mm
    joint = span.left_mm + firsts
    first = joint + board * np.ceil((lo - joint) / board - 1e-12).clip(min=0)
    count = np.where(first <= hi, np.floor((hi - first) / board + 1e-12) + 1, 0).astype(np.int64)
    return first, first + board * np.maximum(count - 1, 0), count


def _least_allowed(price: Ints, link: Link) -> Ints:
    """Least child price allowed for every parent candidate."""
    n = len(price)
    if n == 0:
        return np.full(len(link.head), NEVER)
    upto = np.concatenate([[NEVER], np.minimum.accumulate(price)])
    onward = np.concatenate([np.minimum.accumulate(price[::-1])[::-1], [NEVER]])
    least = np.minimum(upto[link.head], onward[link.tail])
    if link.wraps.any():
        least[link.wraps] = _range_least(price, link.tail[link.wraps], link.head[link.wraps])
    return least


def _range_least(price: Ints, lo: Ints, hi: Ints) -> Ints:
    """Least of price[lo:hi] for many ranges (a table of minima over powers of two)."""
    tables = [price]
    longest = int((hi - lo).max(initial=0))
    while 2 ** len(tables) <= longest:
        last, half = tables[-1], 2 ** (len(tables) - 1)
        tables.append(np.minimum(last[:-half], last[half:]) if len(last) > half else last)
    least = np.full(len(lo), NEVER)
    length = hi - lo
    for k, table in enumerate(tables):
        here = (length >= 2 ** k) & (length < 2 ** (k + 1))
        if here.any():
            least[here] = np.minimum(table[lo[here]], table[hi[here] - 2 ** k])
    return least


def _best_allowed(price: Ints, link: Link, parent_choice: int) -> int:
    head, tail = int(link.head[parent_choice]), int(link.tail[parent_choice])
    masked = np.full(len(price), NEVER)
    ranges = [(tail, head)] if link.wraps[parent_choice] else [(0, head), (tail, len(price))]
    for lo, hi in ranges:
        masked[lo:hi] = price[lo:hi]
    return int(np.argmin(masked))


def last_pieces(span: Span, firsts: Floats, board_mm: float) -> tuple[Ints, Floats]:
    """(pieces, length of the last) for every candidate first piece of a span: `core.model.split_run` for arrays."""
    rest = span.length_mm - firsts
    counts = 1 + np.maximum(1, np.ceil((rest - SAME_MM) / board_mm)).astype(np.int64)
    single = rest <= SAME_MM
    return np.where(single, 1, counts), np.where(single, span.length_mm, rest - (counts - 2) * board_mm)
