"""Mixed lengths: what every laying must keep, counted here again; tiny floors against every laying there is."""
from __future__ import annotations

import random
from collections import Counter, defaultdict
from itertools import product

import pytest

from layout.search.beam_search import lay_mixed, lay_packs, least_packs
from layout.search.core.model import Seam, Span, Task

EPS = 1e-5


def floor(lengths, *, stagger=300.0, shortest=300.0, kerf=3.0, board=2000.0):
    spans = tuple(Span(row=k, left_mm=0.0, right_mm=length, shortest_mm=shortest) for k, length in enumerate(lengths))
    seams = tuple(Seam(upper=k + 1, lower=k, lo_mm=0.0, hi_mm=min(lengths[k:k + 2]), stagger_mm=stagger)
                  for k in range(len(lengths) - 1))
    return Task(board_mm=board, kerf_mm=kerf, spans=spans, seams=seams)


def faults(task, stock, laying):
    """Whatever is wrong, from the pieces alone."""
    found, rows, boards = [], defaultdict(list), defaultdict(list)
    for piece in laying.pieces():
        rows[piece.run].append(piece)
        boards[piece.board].append(piece)
    joints = {}
    for run, span in enumerate(task.spans):
        sizes = [piece.length_mm for piece in rows[run]]
        if abs(sum(sizes) - span.length_mm) > EPS:
            found.append(f"run {run} not covered")
        if len(sizes) > 1 and min(sizes[0], sizes[-1]) < span.shortest_mm - EPS:
            found.append(f"run {run} short end")
        if any(abs(piece.length_mm - piece.board_mm) > EPS for piece in rows[run][1:-1]):
            found.append(f"run {run} cut in the middle")
        if len(sizes) > 1 and (abs(rows[run][0].from_mm + sizes[0] - rows[run][0].board_mm) > EPS
                               or rows[run][-1].from_mm > EPS):
            found.append(f"run {run}: a sawn end meets a joint")
        joints[run] = [sum(sizes[:k]) for k in range(1, len(sizes))]
    for seam in task.seams:
        if any(abs(a - b) < seam.stagger_mm - EPS for a in joints[seam.upper] for b in joints[seam.lower]):
            found.append(f"rows {seam.lower}, {seam.upper} not staggered")
    for number, pieces in boards.items():
        size = pieces[0].board_mm
        ordered = sorted((piece.from_mm, piece.from_mm + piece.length_mm) for piece in pieces)
        if ordered[0][0] < -EPS or ordered[-1][1] > size + EPS or any(b - a < task.kerf_mm - EPS for (_, a),
                                                                      (b, _) in zip(ordered, ordered[1:])):
            found.append(f"board {number}: pieces overlap or leave no room for the saw")
        if sum(piece.length_mm for piece in pieces) + task.kerf_mm * (len(pieces) - 1) > size + EPS:
            found.append(f"board {number} too short")
        if any(piece.board_mm != size for piece in pieces):
            found.append(f"board {number} has two lengths")
    taken = Counter(pieces[0].board_mm for pieces in boards.values())
    found += [f"too many of {size}" for size, count in taken.items() if count > dict(stock)[size]]
    return found


def test_random_floors_keep_every_rule():
    """Properties, no golden values: 25 floors, packs of 400 to 2000 mm."""
    rng = random.Random(5)
    pack = ((800.0, 2), (1200.0, 2), (1600.0, 1), (2000.0, 3))
    for _ in range(25):
        lengths = [rng.uniform(2500, 5000)] * rng.randint(4, 9)
        task = floor(lengths)
        found = lay_packs(task, pack, beam=12)
        assert found is not None
        packs, laying = found
        assert packs >= least_packs(task, pack)
        assert faults(task, [(size, count * packs) for size, count in pack], laying) == []


def least_wood(task, stock):
    """Least wood opened over every laying of whole boards with a sawn end piece, offcuts reused: plain recursion,
    its own code."""
    best = [float("inf")]

    def row(run, at, left, offcuts, joints, before, opened):
        if opened >= best[0] - EPS:
            return
        if run == len(task.spans):
            best[0] = opened
            return
        span = task.spans[run]
        rest = span.length_mm - at
        if at == 0.0 or all(abs(at - joint) >= 300.0 - EPS for joint in before):
            here = joints + ((at,) if at else ())
            for size, count in left.items():
                if count and size >= rest - EPS and at and rest >= 300.0 - EPS:
                    less = {**left, size: count - 1}
                    row(run + 1, 0.0, less, offcuts + (size - rest - task.kerf_mm,), (), here, opened + size)
                if count and 300.0 - EPS <= size <= rest - 300.0 + EPS:
                    row(run, at + size, {**left, size: count - 1}, offcuts, here, before, opened + size)
            if not at:
                for k, size in enumerate(offcuts):
                    if 300.0 - EPS <= size <= rest - 300.0 + EPS:
                        row(run, size, left, offcuts[:k] + offcuts[k + 1:], here, before, opened)

    row(0, 0.0, dict(stock), (), (), (), 0.0)
    return best[0]


STOCKS = (((900.0, 3), (1400.0, 3), (2000.0, 3)), ((800.0, 4), (1200.0, 3), (1700.0, 3)))


@pytest.mark.parametrize("length, stock", list(product((2300.0, 2700.0, 3150.0), STOCKS)))
def test_tiny_floors_open_no_more_wood_than_every_laying_tried(length, stock):
    """Three rows: a wide beam opens no more wood than plain enumeration finds (which saws no first board)."""
    task = floor([length] * 3)
    laying = lay_mixed(task, stock, beam=400)
    assert laying is not None and faults(task, stock, laying) == []
    assert laying.opened_mm <= least_wood(task, stock) + EPS
