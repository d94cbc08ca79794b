"""Fewest boards by another road: the whole problem as a constraint model for OR-Tools' CP-SAT, first pieces on a grid.

Written from the rules alone; of the planner it uses nothing but the list of runs and seams. Every run chooses one first
piece; its pieces follow; joints on a common stretch of seam keep the stagger; a board may hold one end piece (it keeps
the left factory end), one start piece (the right end) and any runs of one piece, a saw width between neighbours.
"""
from __future__ import annotations

from ortools.sat.python import cp_model

from layout.search.core.model import Span, Task

#: Lengths in the model are whole thousandths of a millimetre, rounded up.
PER_MM = 1000


def pieces_of(span: Span, first_mm: float, board_mm: float) -> list[float]:
    """The pieces of a run that starts with one of `first_mm`."""
    pieces, rest = [first_mm], span.length_mm - first_mm
    while rest > 1e-6:
        pieces.append(min(board_mm, rest))
        rest -= pieces[-1]
    return pieces


def joints_of(span: Span, pieces: list[float]) -> list[float]:
    """Where they meet."""
    joints, at = [], span.left_mm
    for piece in pieces[:-1]:
        at += piece
        joints.append(at)
    return joints


def legal_firsts(span: Span, board_mm: float, grid_mm: float) -> list[float]:
    """First pieces on the grid that leave no end piece too short and no joint on a bar; the run in one piece where
    it fits."""
    found = [span.length_mm] if span.length_mm <= board_mm else []
    for k in range(1, int(board_mm / grid_mm + 1e-9) + 1):
        first = k * grid_mm
        pieces = pieces_of(span, first, board_mm) if first < span.length_mm - 1e-6 else []
        barred = any(bar.lo_mm < s < bar.hi_mm for bar in span.bars for s in joints_of(span, pieces))
        if pieces and not barred and min(pieces[0], pieces[-1]) >= span.shortest_mm - 1e-9:
            found.append(first)
    return found


def fewest_boards(task: Task, *, grid_mm: float = 10.0, seconds: float = 30.0, boards_to_cut: int = 0,
                  workers: int = 1) -> tuple[int | None, int]:
    """(boards of the best plan found on the grid, boards proven necessary on it). None where the grid has no plan or
    none was found in time.

    boards_to_cut: how many boards may be cut up, if runs of one piece have to be packed; 0 where there are none.
    """
    model = cp_model.CpModel()
    firsts = [legal_firsts(span, task.board_mm, grid_mm) for span in task.spans]
    laid = [[pieces_of(span, first, task.board_mm) for first in options] for span, options in zip(task.spans, firsts)]
    take = [[model.new_bool_var(f"run {run} option {k}") for k in range(len(options))]
            for run, options in enumerate(firsts)]
    for options in take:
        model.add_exactly_one(options)
    _keep_stagger(model, task, laid, take)
    cut = _pack(model, task, laid, take, boards_to_cut) if boards_to_cut else _pair(model, task, laid, take)
    whole = sum(max(0, len(pieces) - 2) * take[run][k] for run, options in enumerate(laid)
                for k, pieces in enumerate(options))
    model.minimize(whole + cut)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers, solver.parameters.random_seed = (
        seconds,
        workers,
        1,
    )
    status = solver.solve(model)
    found = int(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
    return found, round(solver.best_objective_bound)


def _keep_stagger(model: cp_model.CpModel, task: Task, laid: list, take: list) -> None:
    """No option with an option of the neighbour whose joints on the seam come too near."""
    for seam in task.seams:
        upper, lower = ([[s for s in joints_of(task.spans[run], pieces) if seam.lo_mm <= s <= seam.hi_mm]
                         for pieces in laid[run]] for run in (seam.upper, seam.lower))
        for k, here in enumerate(upper):
            near = [take[seam.lower][m] for m, there in enumerate(lower)
                    if any(abs(a - b) < seam.stagger_mm - 1e-6 for a in here for b in there)]
            if near:
                model.add(sum(near) == 0).only_enforce_if(take[seam.upper][k])


def _up(mm: float) -> int:
    return -int(-mm * PER_MM // 1)


def _pair(model: cp_model.CpModel, task: Task, laid: list, take: list) -> cp_model.LinearExpr:
    """Boards cut where every run has an end and a start: two a run, less one for each pair that shares a board."""
    start = [sum(_up(pieces[0]) * take[run][k] for k, pieces in enumerate(options)) for run, options in enumerate(laid)]
    end = [sum(_up(pieces[-1]) * take[run][k] for k, pieces in enumerate(options)) for run, options in enumerate(laid)]
    runs = range(len(laid))
    share = [[model.new_bool_var(f"end {i} with start {j}") for j in runs] for i in runs]
    for i in runs:
        model.add_at_most_one(share[i])
        model.add_at_most_one(share[j][i] for j in runs)
        for j in runs:
            model.add(end[i] + start[j] + _up(task.kerf_mm) <= _up(task.board_mm)).only_enforce_if(share[i][j])
    return 2 * len(laid) - sum(bit for line in share for bit in line)


def _pack(model: cp_model.CpModel, task: Task, laid: list, take: list, boards: int) -> cp_model.LinearExpr:
    """Boards cut where runs of one piece are among them: every end, start and one-piece run lies in one of `boards`
    boards."""
    used = [model.new_bool_var(f"board {b}") for b in range(boards)]
    loads: list[list[cp_model.IntVar]] = [[] for _ in range(boards)]
    starts: list[list[cp_model.IntVar]] = [[] for _ in range(boards)]
    ends: list[list[cp_model.IntVar]] = [[] for _ in range(boards)]
    most = _up(task.board_mm + task.kerf_mm)
    for run, options in enumerate(laid):
        one = sum(take[run][k] for k, pieces in enumerate(options) if len(pieces) == 1)
        for side, at in (("start", 0), ("end", -1), ("one", 0)):
            needed = one if side == "one" else 1 - one
            size = sum(_up(pieces[at] + task.kerf_mm) * take[run][k] for k, pieces in enumerate(options)
                       if (len(pieces) == 1) == (side == "one"))
            lies = [model.new_bool_var(f"{side} of run {run} in board {b}") for b in range(boards)]
            model.add(sum(lies) == needed)
            for b, bit in enumerate(lies):
                load = model.new_int_var(0, most, f"{side} of run {run} takes of board {b}")
                model.add(load >= size).only_enforce_if(bit)
                loads[b].append(load)
                model.add_implication(bit, used[b])
                if side != "one":
                    (starts if side == "start" else ends)[b].append(bit)
    for b in range(boards):
        model.add(sum(loads[b]) <= most)
        model.add_at_most_one(starts[b])
        model.add_at_most_one(ends[b])
        if b:
            model.add_implication(used[b], used[b - 1])
    return sum(used)
