"""Pieces the reader owns already, brought into the search.

A piece of length l that keeps its right end is what an end piece of board - kerf - l has left over: as if an earlier
floor had a run of two pieces, a whole board and that end piece. So each owned piece becomes such a run, held as it is
and joined to nothing; whatever starts a run here and is no longer than l can share its board. A piece that keeps its
left end is the mirror of it. Two boards of every such run were bought long ago. Whole boards are simply taken off the
number to buy.
"""
from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import count
from math import floor

from layout.search.core.model import Span, Task
from layout.room import OwnPiece

#: Boards of an earlier floor behind one owned piece.
EARLIER_BOARDS = 2
#: An owned piece never takes the whole of the board it came from, mm.
LEAST_REST_MM = 0.01
#: Rows of earlier floors lie this far apart, so that nothing is taken for a neighbour.
ROWS_APART = 10


def with_owned(task: Task, stock: tuple[OwnPiece, ...]) -> Task:
    """The task with a run of an earlier floor for every owned piece that is no whole board."""
    spans = list(task.spans)
    for number, piece in enumerate(piece for piece in stock if not piece.is_whole):
        rest = max(task.shared_mm - floor(piece.length_mm), LEAST_REST_MM)
        first = task.board_mm if "right" in piece.keeps else rest
        spans.append(Span(row=-ROWS_APART * (number + 1), left_mm=0.0, right_mm=task.board_mm + rest, shortest_mm=0.0,
                          pinned_mm=first))
    return Task(board_mm=task.board_mm, kerf_mm=task.kerf_mm, spans=tuple(spans), seams=task.seams)


def label_stock(stock: tuple[OwnPiece, ...]) -> tuple[OwnPiece, ...]:
    """The pieces with labels S1, S2, ... in the reader's order, but for those that bear one which nothing else bears:
    pieces at hand on two floors of a flat may."""
    borne = Counter(piece.label for piece in stock)
    free = (name for name in map("S{}".format, count(1)) if name not in borne)
    return tuple(replace(piece, label=piece.label if piece.label and borne[piece.label] == 1 else name)
                 for piece, name in zip(stock, free))


def runs_of_owned(task: Task, owned: tuple[OwnPiece, ...]) -> dict[int, OwnPiece]:
    """The pieces that a run of a task `with_owned` stands for, by that run."""
    parts = [piece for piece in owned if not piece.is_whole]
    return dict(enumerate(parts, start=len(task.spans) - len(parts)))


def spared(stock: tuple[OwnPiece, ...]) -> int:
    """How many of a task's boards need not be bought: those of earlier floors and whole ones at hand."""
    whole = sum(piece.is_whole for piece in stock)
    return EARLIER_BOARDS * (len(stock) - whole) + whole
