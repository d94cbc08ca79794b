"""First pieces of all runs during a search, with what is kept up to date for speed."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from layout.search.core.model import SAME_MM, Seam, Span, Task, first_pieces, joints_of, split_run

#: A run's first piece, joints, number of pieces and last piece.
Spot = tuple[float, list[float], int, float]


class Ends(NamedTuple):
    """The two ends of a run as every move looks at them: from which length on an end piece is a whole board, and what
    its span says."""

    first_whole_mm: float
    last_whole_mm: float
    square_left: bool
    square_right: bool
    left_give_mm: float
    right_give_mm: float


@dataclass(slots=True, kw_only=True)
class State:
    """Present first pieces, with each run's joints, last piece and number of pieces. Changes through `set`, or where
    that is too slow step by step: `place` and `put_back` leave `apart_mm` behind until `measure`.

    two_apart: pairs of runs two rows apart, and `apart_mm` the least distance of their joints; pairs_of: by run, which
    pairs it is in; ends: by run.
    """

    task: Task
    firsts: list[float]
    joints: list[list[float]]
    lasts: list[float]
    counts: list[int]
    seams_of: list[list[Seam]]
    two_apart: list[tuple[int, int]]
    apart_mm: list[float]
    pairs_of: list[list[int]]
    intervals: list[tuple[tuple[float, float], ...]]
    ends: list[Ends]

    def set(self, run: int, first: float) -> None:
        """Give a run another first piece."""
        self.place(run, first)
        self.measure(run)

    def place(self, run: int, first: float) -> None:
        """What `set` does, the distances to runs two rows apart left as they were."""
        span = self.task.spans[run]
        self.firsts[run] = first
        self.joints[run] = joints_of(span, first, self.task.board_mm)
        self.counts[run], self.lasts[run] = split_run(span.length_mm, first, self.task.board_mm)

    def spot(self, run: int) -> Spot:
        """How a run lies, for `put_back`."""
        return self.firsts[run], self.joints[run], self.counts[run], self.lasts[run]

    def put_back(self, run: int, spot: Spot) -> None:
        """Let a run lie as it did, the distances to runs two rows apart left as they are."""
        self.firsts[run], self.joints[run], self.counts[run], self.lasts[run] = spot

    def measure(self, run: int) -> None:
        """Take the distances of a run's joints to those of the runs two rows apart."""
        for pair in self.pairs_of[run]:
            i, j = self.two_apart[pair]
            self.apart_mm[pair] = nearest(self.joints[i], self.joints[j])

    def allows(self, run: int, first: float) -> bool:
        """Whether a run may have this first piece, its neighbours apart."""
        return any(lo - SAME_MM <= first <= hi + SAME_MM for lo, hi in self.intervals[run])

    def holds(self, run: int) -> bool:
        """Whether every seam of a run keeps its stagger."""
        return all(seam_distance(seam, self.joints) >= seam.stagger_mm - SAME_MM for seam in self.seams_of[run])


def state_of(task: Task, firsts: list[float]) -> State:
    """The state with these first pieces."""
    seams_of: list[list[Seam]] = [[] for _ in task.spans]
    for seam in task.seams:
        seams_of[seam.upper].append(seam)
        seams_of[seam.lower].append(seam)
    by_row: dict[int, list[int]] = {}
    for run, span in enumerate(task.spans):
        by_row.setdefault(span.row, []).append(run)
    n = len(task.spans)
    two_apart = [(i, j) for i, span in enumerate(task.spans) for j in by_row.get(span.row + 2, [])]
    pairs_of: list[list[int]] = [[] for _ in task.spans]
    for pair, runs in enumerate(two_apart):
        for run in runs:
            pairs_of[run].append(pair)
    state = State(task=task, firsts=list(firsts), joints=[[] for _ in range(n)], lasts=[0.0] * n, counts=[0] * n,
                  seams_of=seams_of, two_apart=two_apart, apart_mm=[float("inf")] * len(two_apart), pairs_of=pairs_of,
                  intervals=[first_pieces(span, task.board_mm) for span in task.spans],
                  ends=[_ends(span, task.board_mm) for span in task.spans])
    for run, first in enumerate(firsts):
        state.set(run, first)
    return state


def _ends(span: Span, board_mm: float) -> Ends:
    return Ends(first_whole_mm=board_mm - span.left_give_mm - SAME_MM,
                last_whole_mm=board_mm - span.right_give_mm - SAME_MM, square_left=span.square_left,
                square_right=span.square_right, left_give_mm=span.left_give_mm, right_give_mm=span.right_give_mm)


def seam_distance(seam: Seam, joints: list[list[float]]) -> float:
    """Least distance of two joints on a seam's stretch, one of each run; inf if one of them has none there."""
    upper = [s for s in joints[seam.upper] if seam.lo_mm <= s <= seam.hi_mm]
    lower = [s for s in joints[seam.lower] if seam.lo_mm <= s <= seam.hi_mm]
    return nearest(upper, lower)


def nearest(first: Sequence[float], second: Sequence[float]) -> float:
    """Least distance between two ascending sequences of places; inf if one is empty."""
    least, i, j = float("inf"), 0, 0
    while i < len(first) and j < len(second):
        step = second[j] - first[i]
        if abs(step) < least:
            least = abs(step)
        if step > 0:
            i += 1
        else:
            j += 1
    return least
