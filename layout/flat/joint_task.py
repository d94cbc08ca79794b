"""The floors of a flat as one task of the search: boards know no rooms, so what shares a board is sought over all runs
at once.

Rows of different floors lie `ROWS_APART` from one another, so that no rule of looks takes them for neighbours; seams
stay within their floor. Pieces at hand come last, as in the task of one floor (`layout.search.core.owned_stock`).
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from layout.planning.candidate import ROOM_RUNS
from layout.planning.planner import MOST_ROUNDS, MOVES_A_ROUND, ChosenWay
from layout.planning.search_task import surely, to_whole_mm
from layout.region.rows import RunShape
from layout.room import OwnPiece
from layout.search.core.board_pairing import Shares, boards_taken, count_boards
from layout.search.core.circular_arcs import arcs_of, firsts_of, lie_of
from layout.search.core.joint_nudges import neat_shares
from layout.search.core.model import Seam, Span, Task
from layout.search.core.owned_stock import ROWS_APART, spared, with_owned
from layout.search.core.state import State, state_of
from layout.search.fewest.lower_bound import GRIDS_MM, prove
from layout.search.fewest.min_boards import hunt
from layout.search.first_pieces import BOARD_COST, H_MM, neat_cost
from layout.search.local.late_acceptance import Cost
from layout.search.local.local_search import walk

#: What carrying an offcut to another floor weighs: as much as twenty cuts (`layout.search.first_pieces.CUT_COST`).
CARRY_COST = 200
#: One floor is laid anew with such a share of the moves; of these, one walk in so many for fewer offcuts carried, and
#: for a neat floor.
ONE_FLOOR_SHARE, CARRY_SHARE, NEAT_SHARE = 3, 2, 6


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class JointTask:
    """Floors as one task. firsts: their first pieces, then those of pieces at hand; runs: their shapes; ranges: which
    runs are whose; stock: pieces at hand; boards, bound: to be bought, and fewer than which no plan can do."""

    task: Task
    firsts: tuple[float, ...]
    runs: tuple[RunShape, ...]
    ranges: tuple[tuple[int, int], ...]
    stock: tuple[OwnPiece, ...]
    boards: int
    bound: int = 0


def joint_task(ways: Sequence[ChosenWay]) -> JointTask:
    """The floors as they would be laid alone, in the order of laying; only what shares a board is free. Board, saw and
    search unit must be the same in all."""
    spans: list[Span] = []
    seams: list[Seam] = []
    ranges, row = [], 0
    for way in ways:
        at, runs = len(spans), len(way.trial.runs)
        spans += [replace(span, row=span.row + row) for span in way.trial.task.spans[:runs]]
        seams += [replace(seam, upper=seam.upper + at, lower=seam.lower + at) for seam in way.trial.task.seams]
        ranges.append((at, at + runs))
        row = max(span.row for span in spans) + ROWS_APART
    stock = tuple(piece for way in ways for piece in way.wishes.stock)
    first = ways[0].trial.task
    task = with_owned(Task(board_mm=first.board_mm, kerf_mm=first.kerf_mm, spans=tuple(spans), seams=tuple(seams)),
                      stock)
    firsts = [mm for way in ways for mm in way.trial.firsts[:len(way.trial.runs)]]
    firsts += [span.pinned_mm or 0.0 for span in task.spans[len(spans):]]
    return JointTask(task=task, firsts=tuple(firsts), runs=tuple(run for way in ways for run in way.trial.runs),
                     ranges=tuple(ranges), stock=stock, boards=_to_buy(task, firsts, stock))


def fewest_together(joint: JointTask, kerf_mm: float, *, moves: int, seed: int) -> JointTask:
    """The same with first pieces that take fewer boards, if any are found, and with its bound. kerf_mm: the saw as it
    is, which a bound may count on. Same arguments, same answer.

    Every board fewer costs some offcuts carried from floor to floor, the more the more rows are laid otherwise than
    their floor would have them alone. So one floor is laid anew at a time, the others as they are; all of them only
    where that does not reach the bound.
    """
    # A move and a round take longer the more runs there are.
    moves = moves * ROOM_RUNS // max(ROOM_RUNS, len(joint.runs))
    rounds = min(moves // MOVES_A_ROUND, MOST_ROUNDS)
    sure = surely(joint.task, joint.runs, kerf_mm)
    proof = prove(sure, enough=joint.boards + spared(joint.stock), rounds=rounds, grids_mm=GRIDS_MM[:1])
    found, least = joint, max(0, proof.boards - spared(joint.stock))
    for lo, hi in joint.ranges:
        if found.boards > least:
            found = _fewer(found, range(lo, hi), least, moves // ONE_FLOOR_SHARE, seed)
    if found.boards > least:
        found = _fewer(found, range(len(joint.runs)), least, moves, seed)
    if found.boards > least:
        proof = prove(sure, enough=found.boards + spared(joint.stock), rounds=rounds, known=proof, near=proof.weights,
                      grids_mm=GRIDS_MM[1:])
    return replace(found, bound=min(found.boards, max(0, proof.boards - spared(joint.stock))))


def _fewer(joint: JointTask, free: range, least: int, moves: int, seed: int) -> JointTask:
    """The same with some runs laid anew for fewer boards; itself where there are none."""
    held = _with_held(joint, free)
    arcs = arcs_of(held)
    lie, _ = hunt(arcs, lie_of(arcs, list(joint.firsts)), least=least + spared(joint.stock), moves=moves, seed=seed,
                  plain=0)
    task, firsts = firsts_of(arcs, lie)
    if _to_buy(task, firsts, joint.stock) >= joint.boards:
        return joint
    for cost, share, draws in ((_carried_cost, CARRY_SHARE, seed + 1), (_neat_cost, NEAT_SHARE, seed + 2)):
        firsts, _ = walk(state_of(task, firsts), cost(joint, task), moves=moves // share, seed=draws, alike_mm=H_MM)
    task, firsts = to_whole_mm(task, firsts, _floors(joint))
    boards = _to_buy(task, firsts, joint.stock)
    found = replace(joint, task=_let_go(task, joint.task), firsts=tuple(firsts), boards=boards)
    return found if boards < joint.boards else joint


def _with_held(joint: JointTask, free: range) -> Task:
    """The task with all runs but some held as they lie."""
    return replace(joint.task, spans=tuple(span if run in free or run >= len(joint.runs) else
                                           replace(span, pinned_mm=first) for run, (span, first)
                                           in enumerate(zip(joint.task.spans, joint.firsts))))


def _let_go(task: Task, before: Task) -> Task:
    return replace(task, spans=tuple(replace(span, pinned_mm=old.pinned_mm)
                                     for span, old in zip(task.spans, before.spans)))


def _carried_cost(joint: JointTask, task: Task) -> Cost:
    """Boards, then for every board that floors take more by themselves than together one: an offcut has to be carried
    for it at least."""
    floors = [(lo, hi, replace(task, spans=task.spans[lo:hi], seams=())) for lo, hi in joint.ranges]

    def cost_of(state: State, most: float) -> int:
        parts = list(zip(state.counts, state.lasts))
        cost = BOARD_COST * count_boards(task, state.firsts, parts)
        if cost <= most:
            cost += CARRY_COST * sum(count_boards(one, state.firsts[lo:hi], parts[lo:hi]) for lo, hi, one in floors)
        return cost
    return cost_of


def _neat_cost(joint: JointTask, task: Task) -> Cost:
    """The same with what makes one room's floor neat (`layout.search.first_pieces`)."""
    carried = _carried_cost(joint, task)

    def cost_of(state: State, most: float) -> int:
        cost = carried(state, most)
        return cost + neat_cost(state, most) - BOARD_COST * (cost // BOARD_COST) if cost <= most else cost
    return cost_of


def shares_of(joint: JointTask) -> list[Shares]:
    """Which pieces share a board: as few boards as can be, then as few offcuts carried from floor to floor."""
    return neat_shares(joint.task, list(joint.firsts), _floors(joint))


def _floors(joint: JointTask) -> list[int]:
    """The floor of each run."""
    return [k for k, (lo, hi) in enumerate(joint.ranges) for _ in range(lo, hi)]


def _to_buy(task: Task, firsts: Sequence[float], stock: tuple[OwnPiece, ...]) -> int:
    return max(0, boards_taken(task, list(firsts)) - spared(stock))
