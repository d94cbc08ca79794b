"""Pieces the reader owns already, brought into the search.

A piece of length l that keeps its right end is what an end piece of board - kerf - l has left over: as if an earlier
floor had a run of two pieces, a whole board and that end piece. So each owned piece becomes such a run, held as it is
and joined to nothing; whatever starts a run here and is no longer than l can share its board. A piece that keeps its
left end is the mirror of it. Two boards of every such run were bought long ago. Whole boards are simply taken off the
number to buy.
"""
from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import count
from math import floor

from layout.search.core.model import Span, Task
from layout.plan import Owned
from layout.room import Board, Elsewhere, OwnPiece

#: Boards of an earlier floor behind one owned piece.
EARLIER_BOARDS = 2
#: An owned piece never takes the whole of the board it came from, mm.
LEAST_REST_MM = 0.01
#: Rows of earlier floors lie this far apart, so that nothing is taken for a neighbour.
ROWS_APART = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Labelled:
    """An owned piece with its label, and the run of the task that stands for it (-1: none does).

    from_mm: where its left end lay in its board; None: at the factory end it keeps. came_from: the piece of another
    floor whose sawing left it.
    """

    label: str
    length_mm: float
    keeps: tuple[str, ...]
    run: int
    from_mm: float | None = None
    came_from: Elsewhere | None = None

    def stretch(self, board: Board) -> tuple[float, float]:
        """Where its wood lies in the board's frame."""
        if self.from_mm is not None:
            return self.from_mm, self.from_mm + self.length_mm
        return (0.0, self.length_mm) if "left" in self.keeps else (board.length_mm - self.length_mm, board.length_mm)


def with_owned(task: Task, stock: tuple[OwnPiece, ...]) -> Task:
    """The task with a run of an earlier floor for every owned piece that is no whole board."""
    spans = list(task.spans)
    for number, piece in enumerate(piece for piece in stock if not is_whole(piece)):
        rest = max(task.shared_mm - floor(piece.length_mm), LEAST_REST_MM)
        first = task.board_mm if "right" in piece.keeps else rest
        spans.append(Span(row=-ROWS_APART * (number + 1), left_mm=0.0, right_mm=task.board_mm + rest, shortest_mm=0.0,
                          pinned_mm=first))
    return Task(board_mm=task.board_mm, kerf_mm=task.kerf_mm, spans=tuple(spans), seams=task.seams)


def label_stock(stock: tuple[OwnPiece, ...], runs: int) -> tuple[Labelled, ...]:
    """Labels S1, S2, ... in the reader's order, but for pieces that bear one which nothing else bears: pieces at hand
    on two floors of a flat may. `runs`: how many runs of this floor the task has before the earlier ones."""
    labelled, at = [], runs
    borne = Counter(piece.label for piece in stock)
    free = (name for name in map("S{}".format, count(1)) if name not in borne)
    for piece, name in zip(stock, free):
        whole = is_whole(piece)
        label = piece.label if piece.label and borne[piece.label] == 1 else name
        labelled.append(Labelled(label=label, length_mm=piece.length_mm, keeps=piece.keeps, run=-1 if whole else at,
                                 came_from=piece.came_from))
        at += not whole
    return tuple(labelled)


def spared(stock: tuple[OwnPiece, ...]) -> int:
    """How many of a task's boards need not be bought: those of earlier floors and whole ones at hand."""
    whole = sum(map(is_whole, stock))
    return EARLIER_BOARDS * (len(stock) - whole) + whole


def is_whole(piece: OwnPiece) -> bool:
    """Whether it is a whole board."""
    return len(piece.keeps) == 2


def as_owned(piece: Labelled, board_number: int) -> Owned:
    """The piece as the plan lists it."""
    return Owned(label=piece.label, length_mm=piece.length_mm, keeps=piece.keeps, board=board_number,
                 came_from=piece.came_from)
