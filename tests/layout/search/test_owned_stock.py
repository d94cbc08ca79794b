"""Pieces at hand, used before new boards: against brute force on tiny floors, and through the judge."""
from __future__ import annotations

import random
from dataclasses import replace
from itertools import permutations

import pytest

from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.search.core.model import Seam, Span, Task, first_pieces, split_run
from layout.search.core.owned_stock import spared, with_owned
from layout.planning.planner import plan_floor
from layout.room import OwnPiece, Wishes
from layout.search.first_pieces import seek, start, tidy
from layout.search.core.board_pairing import boards_taken, share_boards

BOARD, KERF = 1200.0, 3.0


def own(length: float, *keeps: str) -> OwnPiece:
    return OwnPiece(length_mm=length, keeps=keeps)


def task_of(lengths, stock) -> Task:
    spans = tuple(Span(row=i, left_mm=0.0, right_mm=float(length), shortest_mm=300.0)
                  for i, length in enumerate(lengths))
    seams = tuple(Seam(upper=i, lower=i + 1, lo_mm=0.0, hi_mm=min(lengths[i:i + 2]), stagger_mm=300.0)
                  for i in range(len(spans) - 1))
    return with_owned(Task(board_mm=BOARD, kerf_mm=KERF, spans=spans, seams=seams), stock)


def to_buy(task: Task, firsts: list[float], stock) -> int:
    return boards_taken(task, firsts) - spared(stock)


def fewest_by_trying(task: Task, firsts: list[float], stock) -> int:
    """New boards for given first pieces, trying every way to give ends and starts a partner or a piece at hand."""
    n = sum(span.row >= 0 for span in task.spans)
    pieces = [split_run(task.spans[i].length_mm, firsts[i], BOARD) for i in range(n)]
    whole = sum(count - 2 for count, _ in pieces)
    rights, lefts = [p.length_mm for p in stock if p.keeps == ("right",)], [p.length_mm for p in stock
                                                                            if p.keeps == ("left",)]
    ends, starts, least = [last for _, last in pieces], [firsts[i] for i in range(n)], 10 ** 6
    for takers in permutations([*range(n), *[-1] * len(rights)], len(rights)):
        if all(i < 0 or starts[i] <= rights[k] + 1e-9 for k, i in enumerate(takers)):
            for givers in permutations([*range(n), *[-1] * len(lefts)], len(lefts)):
                if all(i < 0 or ends[i] <= lefts[k] + 1e-9 for k, i in enumerate(givers)):
                    left_starts = [s for i, s in enumerate(starts) if i not in takers]
                    left_ends = [e for i, e in enumerate(ends) if i not in givers]
                    long, short = (
                        (left_starts, left_ends) if len(left_starts) >= len(left_ends) else (left_ends, left_starts)
                    )
                    paired = max(sum(a + b + KERF <= BOARD + 1e-9 for a, b in zip(order, short))
                                 for order in set(permutations(long, len(short))))
                    least = min(least, whole + len(left_starts) + len(left_ends) - paired)
    return least


@pytest.mark.parametrize("seed", range(6))
def test_boards_to_buy_are_as_few_as_trying_every_sharing(seed):
    draw = random.Random(seed)
    for _ in range(6):
        lengths = [draw.uniform(1500, 3500) for _ in range(4)]
        stock = tuple(own(draw.uniform(250, 1150), draw.choice(("left", "right"))) for _ in range(draw.randint(1, 3)))
        task = task_of(lengths, stock)
        firsts = [draw.uniform(250, 1200) for _ in lengths] + [span.pinned_mm for span in task.spans[4:]]
        assert to_buy(task, firsts, stock) == fewest_by_trying(task, firsts, stock)


def test_the_search_finds_a_floor_as_cheap_as_any_on_a_grid():
    """Three runs, two pieces at hand: every first piece on a 60 mm grid."""
    lengths, stock = (2600.0, 2650.0, 2700.0), (own(640.0, "left"), own(700.0, "right"))
    task = task_of(lengths, stock)
    grids = [[lo + 60.0 * k for lo, hi in first_pieces(span, BOARD) for k in range(int((hi - lo) / 60.0) + 1)]
             for span in task.spans[:3]]
    held = [span.pinned_mm for span in task.spans[3:]]
    from layout.search.core.state import state_of
    best = 10 ** 6
    for a in grids[0]:
        for b in grids[1]:
            for c in grids[2]:
                if all(state_of(task, [a, b, c, *held]).holds(run) for run in range(3)):
                    best = min(best, to_buy(task, [a, b, c, *held], stock))
    task, found = tidy(*seek(task, start(task, seed=0), moves=2000, seed=0), moves=2000, seed=0, tidying=1000)
    assert found[3:] == held and to_buy(task, found, stock) <= best


def test_two_pieces_at_hand_are_not_paired_with_one_another():
    """Their rests, 500 and 550 of a board of 1200, would fit one board that nobody has to buy."""
    stock = (own(1197.0 - 500.0, "right"), own(1197.0 - 550.0, "left"))
    task = task_of((2400.0 + 600.0,) * 4, stock)
    firsts = [600.0] * 4 + [span.pinned_mm for span in task.spans[4:]]
    earlier = {4, 5}
    assert not any({share.end, share.start} == earlier for share in share_boards(task, firsts))


@pytest.mark.parametrize("lay", ["left-to-right", "right-to-left"])
def test_pieces_at_hand_save_boards_and_are_judged(lay, chimney, board):
    stock = (own(640.0, "left"), own(1285.0, "left", "right"), own(900.0, "right"), own(1285.0, "left", "right"))
    room = replace(chimney, doors=(), pipes=())
    new = plan_floor(room, board, Wishes(along=("A", "B"), lay=lay), moves=800)
    plan = plan_floor(room, board, Wishes(along=("A", "B"), lay=lay, stock=stock), moves=800)
    assert new.boards - 4 <= plan.boards <= new.boards - 3 and find_faults(plan, room) == ()
    assert [piece.label for piece in plan.owned] == ["S1", "S2", "S3", "S4"]
    used = {piece.takes for piece in plan.pieces}
    assert {piece.label for piece in plan.owned if piece.board} == used & {"S1", "S2", "S3", "S4"}
    assert sorted({piece.board for piece in plan.pieces}) == list(range(1,
                                                                        plan.boards + sum(bool(piece.board)
                                                                                          for piece in plan.owned) + 1))
    bought = next(item.purchase for item in plan.shopping if item.purchase.slug == "boards")
    assert bought.owned == tuple(piece.label for piece in plan.owned if piece.board)


def test_a_floor_laid_wholly_from_pieces_at_hand_buys_nothing(room_of, board):
    room = room_of([(0, 0), (2600, 0), (2600, 400), (0, 400)])
    plan = plan_floor(room, board, Wishes(along=("A", "B"), stock=(own(1285.0, "left", "right"),) * 12), moves=60)
    assert (plan.boards, plan.packs, plan.bound) == (0, 0, 0) and find_faults(plan, room) == ()


def test_the_judge_wants_owned_pieces_to_be_there_and_long_enough(chimney, board):
    room = replace(chimney, doors=(), pipes=())
    plan = plan_floor(room, board, Wishes(along=("A", "B"), stock=(own(900.0, "right"),)), moves=300)
    piece = plan.owned[0]
    assert piece.board and find_faults(plan, room) == ()

    def slugs(wrong) -> set[str]:
        return {fault.slug for fault in find_faults(wrong, room)}

    assert "owned" in slugs(replace(plan, owned=(replace(piece, length_mm=310.0),)))
    assert "owned" in slugs(replace(plan, owned=()))
    assert "owned" in slugs(replace(plan, owned=(replace(piece, board=3),)))
    assert "owned" in slugs(replace(plan, owned=(piece, replace(piece, length_mm=500.0))))


@pytest.mark.parametrize(("piece", "word"),
                         [(own(1300.0, "left"), "1300 mm"), (own(640.0), "factory end"),
                          (own(640.0, "left", "right"), "both ends"), (own(640.0, "near"), "factory end"),
                          (own(float("nan"), "left"), "nan mm")])
def test_pieces_that_cannot_be_of_this_board_are_refused(piece, word, box_3x4, board):
    with pytest.raises(LayoutError, match=word) as refusal:
        plan_floor(box_3x4, board, Wishes(stock=(piece,)))
    assert refusal.value.slug == "bad-stock"
