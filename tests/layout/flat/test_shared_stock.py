"""One stock for several rooms: against cutting-stock instances of known optimum, and against CP-SAT on tiny flats."""
from __future__ import annotations

import pytest
from shapely.geometry import box

from layout.flat.joint_task import JointTask, fewest_together, shares_of
from layout.region.rows import RunShape
from layout.search.core.board_pairing import count_boards
from layout.search.core.model import Seam, Span, Task
from layout.search.first_pieces import seek, start
from tests.support import second_opinion
from tests.support.patience import PATIENCE_S

#: Section 10.9 of the project's trade sheet, each re-solved there by full pattern enumeration: the classic of Gilmore
#: and Gomory (1961/63, optimum 453), a modelling-language textbook's (47), a public example (18).
KNOWN = [(100, {45: 97, 36: 610, 31: 395, 14: 211}, 453), (110, {20: 48, 45: 35, 50: 24, 55: 10, 75: 8}, 47),
         (6450, {1876: 10, 1746: 33, 756: 40, 677: 10}, 18)]


def joint_of(spans: list[Span], firsts: list[float], seams: list[Seam], ranges, board: float, kerf: float) -> JointTask:
    task = Task(board_mm=board, kerf_mm=kerf, spans=tuple(spans), seams=tuple(seams))
    runs = tuple(RunShape(row=span.row, shape=box(0, 0, 1, 1), left_mm=span.left_mm, right_mm=span.right_mm,
                          narrow_mm=1.0, square_left=True, square_right=True) for span in spans)
    return JointTask(task=task, firsts=tuple(firsts), runs=runs, ranges=tuple(ranges), stock=(),
                     boards=count_boards(task, firsts))


@pytest.mark.parametrize(("bar", "wanted", "optimum"), KNOWN)
def test_runs_of_one_piece_in_three_rooms_are_cutting_stock(bar, wanted, optimum):
    """Rows a piece long that may not be divided: every room's are dealt from one order, boards are the bars."""
    lengths = [float(length) for length, count in wanted.items() for _ in range(count)]
    lengths = [length for k in range(3) for length in lengths[k::3]]
    third = -(-len(lengths) // 3)
    spans = [Span(row=10 * k, left_mm=0.0, right_mm=length, shortest_mm=float(bar), undivided=True)
             for k, length in enumerate(lengths)]
    ranges = [(lo, min(len(spans), lo + third)) for lo in range(0, len(spans), third)]
    joint = joint_of(spans, lengths, [], ranges, float(bar), 0.0)
    found = fewest_together(joint, 0.0, moves=300, seed=0)
    # Nobody uses fewer than the optimum, and no bound proves more.
    assert found.bound <= optimum <= found.boards <= joint.boards
    assert len(shares_of(found)) == found.boards


def floor_of(lengths: list[float], row: int, at: int) -> tuple[list[Span], list[Seam]]:
    spans = [Span(row=row + k, left_mm=0.0, right_mm=length, shortest_mm=300.0) for k, length in enumerate(lengths)]
    return spans, [Seam(upper=at + k, lower=at + k + 1, lo_mm=0.0, hi_mm=min(lengths[k:k + 2]), stagger_mm=300.0)
                   for k in range(len(lengths) - 1)]


@pytest.mark.parametrize(("board", "rooms"), [(1285.0, [[2980.0] * 3, [1930.0] * 3]), (1380.0, [[2000.0] * 3,
                                                                                              [3300.0, 3310.0]]),
                                              (1200.0, [[2500.0, 2500.0], [1700.0, 1700.0], [3100.0]]),
                                              (2050.0, [[3980.0] * 2, [2950.0] * 3])])
def test_cp_sat_finds_no_fewer_boards_for_a_tiny_flat(board, rooms):
    spans, seams, firsts, ranges = [], [], [], []
    for number, lengths in enumerate(rooms):
        more, ties = floor_of(lengths, 20 * number, len(spans))
        own, _ = floor_of(lengths, 0, 0)
        alone = Task(board_mm=board, kerf_mm=3.0, spans=tuple(own), seams=tuple(floor_of(lengths, 0, 0)[1]))
        _, found = seek(alone, start(alone, seed=0), moves=300, seed=0)
        ranges.append((len(spans), len(spans) + len(lengths)))
        spans, seams, firsts = spans + more, seams + ties, firsts + found
    joint = joint_of(spans, firsts, seams, ranges, board, 3.0)
    ours = fewest_together(joint, 3.0, moves=2000, seed=0)
    least, proven = second_opinion.fewest_boards(joint.task, seconds=PATIENCE_S)
    assert least is not None and least == proven
    assert ours.bound <= ours.boards <= least and ours.bound <= proven
