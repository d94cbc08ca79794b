"""Boards used by the planner, by the fitter's habit and by no reuse at all, against the proven bound.

Usage: python -m tests.bench.layout.run_layout [first] [count] [--moves N] [--keep]     writes one line an instance and
a table at the end.

Rows are the same for all (the planner's): only where joints fall differs. Habit: start each row with the last offcut if
it is long enough and keeps the stagger, else with a new board cut where the rules first allow. No reuse: every cut
piece takes a new board. Thirds: joints a third of a board on from row to row, offcuts shared as well as can be.
Preview: the planner's first answer, in some 0.1 s. Lost instances (LayoutError) are listed, not dropped. Best known:
the fewest boards any run has met, rows in any direction (instances/best.json; --keep writes down what this run
betters). H-like: rows k, k + 1, k + 2 with a joint of the first within 100 mm of one of the last, counted as pairs of
runs two rows apart and as threes of rows. Waits: rows from the one that leaves an offcut to the one that takes it.
"""
from __future__ import annotations

import argparse
import json
import time
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from layout.errors import LayoutError
from layout.search.core.model import SAME_MM, Seam, Task, first_pieces, split_run
from layout.search.patterns import lay_pattern
from layout.plan import Plan
from layout.planning.planner import EFFORTS, MOVES, plan_floor
from layout.room import Board, Pipe, Room, Rules, Wishes
from layout.region.rows import runs_of, strips_of
from layout.search.first_pieces import H_MM, count_cuts, count_h
from layout.search.core.state import State, seam_distance, state_of
from layout.search.core.board_pairing import count_boards
from layout.planning.search_task import make_task

ROOMS = Path(__file__).parents[1] / "instances" / "rooms.json"
BEST = ROOMS.with_name("best.json")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What is measured of one room."""

    length: float
    boards: int
    bound: int
    best: int
    preview: int
    habit: int
    thirds: int
    no_reuse: int
    relaxed: int
    h: int
    pairs: int
    h_rows: int
    triples: int
    cuts: int
    waits: tuple[int, ...]
    preview_s: float
    seconds: float


def read_rooms() -> list[tuple[str, Room, Board]]:
    """Every stored instance."""
    return [to_room(data) for data in json.loads(ROOMS.read_text())["rooms"]]


def to_room(data: dict) -> tuple[str, Room, Board]:
    """One drawn room (`draw_rooms`) with its kind and boards."""
    outline = np.array(data["outline"], dtype=np.float64)
    room = Room(names=tuple("ABCDEFGHIJKL"[:len(outline)]), outline_mm=outline,
                islands=tuple((f"island {i + 1}", np.array(hole, dtype=np.float64))
                              for i, hole in enumerate(data["holes"])),
                pipes=tuple(Pipe(name=f"P{i + 1}", centre_mm=tuple(spot), diameter_mm=15.0)
                            for i, spot in enumerate(data["pipes"])))
    length, width = data["board"]
    return data["kind"], room, Board(length_mm=length, width_mm=width, thickness_mm=8.0, pack=8)


def task_of(plan: Plan) -> Task:
    """The search task of a finished plan's rows, as asked (nothing eased)."""
    frame = plan.frame
    cover_rf = [frame.shape_to_row(Polygon(part.outline, part.holes)) for part in plan.cover]
    strips = strips_of(plan.rows[-1].far_mm, plan.rows[0].far_mm, plan.board.width_mm)
    runs = runs_of(cover_rf, strips)
    return make_task(runs, strips, plan.board, Wishes(kerf_mm=plan.kerf_mm, rules=plan.rules))


def habit(task: Task) -> list[float]:
    """First pieces by the fitter's habit, row by row."""
    state = state_of(task, [first_pieces(span, task.board_mm)[0][0]
                            if first_pieces(span, task.board_mm) else min(span.length_mm, task.board_mm)
                            for span in task.spans])
    offcut = 0.0
    for run, span in enumerate(task.spans):
        intervals = first_pieces(span, task.board_mm)
        options = [offcut, *(lo + 10.0 * k for lo, hi in intervals for k in range(int((hi - lo) / 10.0) + 1))]
        for first in options:
            if any(lo - SAME_MM <= first <= hi + SAME_MM for lo, hi in intervals):
                state.set(run, first)
                if all(_keeps(state, seam) for seam in state.seams_of[run] if seam.lower == run):
                    break
        offcut = task.shared_mm - split_run(span.length_mm, state.firsts[run], task.board_mm)[1]
    return state.firsts


def no_reuse(task: Task, firsts: list[float]) -> int:
    """Boards if nothing is used twice."""
    return sum(split_run(span.length_mm, first, task.board_mm)[0] for span, first in zip(task.spans, firsts))


def _keeps(state: State, seam: Seam) -> bool:
    """Whether a seam keeps its stagger."""
    return seam_distance(seam, state.joints) >= seam.stagger_mm - SAME_MM


def main() -> None:
    """Run the stored instances and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("first", nargs="?", type=int, default=0)
    parser.add_argument("count", nargs="?", type=int, default=1000)
    parser.add_argument("--moves", type=int, default=MOVES)
    parser.add_argument("--only", type=int, nargs="*", help="just these rooms, by number")
    parser.add_argument("--keep", action="store_true",
                        help="write down the boards of rooms planned with fewer than any run before")
    asked = parser.parse_args()
    groups, lines, best = defaultdict(list), [], read_best()
    for number, (kind, room, board) in list(enumerate(read_rooms()))[asked.first:asked.first + asked.count]:
        if asked.only is not None and number not in asked.only:
            continue
        try:
            line = measure(room, board, asked.moves, best.get(number))
        except LayoutError as error:
            print(f"{number:4d} {kind:10s} LOST {error.slug}: {error}")
            continue
        groups[kind].append(line)
        lines.append(line)
        best[number] = line.best
        print(f"{number:4d} {kind:10s} {board.length_mm:g}x{board.width_mm:g} boards {line.boards:4d} best "
              f"{line.best:4d} bound {line.bound:4d} "
              f"preview {line.preview:4d} habit {line.habit:4d} thirds {line.thirds:4d} no reuse {line.no_reuse:4d} "
              f"relaxed {line.relaxed:3d} "
              f"H {line.h}/{line.pairs} cuts {line.cuts} cpu {line.preview_s:.2f} {line.seconds:.2f} s", flush=True)
    _tables(groups, lines)
    if asked.keep:
        BEST.write_text(json.dumps({"says": "fewest boards met in any run of run_layout.py, by room", "boards": best},
                                   separators=(",", ":")) + "\n")


def read_best() -> dict[int, int]:
    """Fewest boards known, by room; rooms never planned are left out."""
    return {int(room): boards
            for room, boards in json.loads(BEST.read_text())["boards"].items()} if BEST.exists() else {}


def measure(room: Room, board: Board, moves: int, best: int | None) -> Line:
    """One room planned quickly and with so many moves, and its baselines."""
    began = time.process_time()
    preview = plan_floor(room, board, Wishes(rules=Rules()), moves=EFFORTS["preview"])
    between = time.process_time()
    plan = plan_floor(room, board, Wishes(rules=Rules()), moves=moves)
    done = time.process_time()
    task = task_of(plan)
    firsts = _firsts(plan, task)
    state = state_of(task, firsts)
    return Line(length=board.length_mm, boards=plan.boards, bound=plan.bound,
                best=min(plan.boards, best or plan.boards), preview=preview.boards,
                habit=count_boards(task, habit(task)), thirds=count_boards(task, lay_pattern(task, "thirds")),
                no_reuse=no_reuse(task, firsts), relaxed=len(plan.relaxed), h=count_h(state),
                pairs=len(state.two_apart), h_rows=len(_first_rows(state, H_MM)),
                triples=len(_first_rows(state, np.inf)), cuts=count_cuts(task, firsts), waits=_waits(plan),
                preview_s=between - began, seconds=done - between)


def _waits(plan: Plan) -> tuple[int, ...]:
    """For every offcut that is used, how many rows it waits."""
    row = {piece.id: row.number for row in plan.rows for piece in row.pieces}
    return tuple(row[offcut.used_by] - row[offcut.cut_by] for offcut in plan.offcuts if offcut.used_by)


def _first_rows(state: State, mm: float) -> set[int]:
    """First of every three rows with joints two rows apart nearer than so many mm; inf: of every three."""
    return {state.task.spans[i].row for (i, _), apart in zip(state.two_apart, state.apart_mm) if apart < mm
            or mm == np.inf}


def _tables(groups: dict[str, list[Line]], lines: list[Line]) -> None:
    print("\ngroup        n  boards  bound  preview  habit  thirds  no reuse  relaxed  H/pairs   cpu mean  cpu worst")
    for kind, here in (*sorted(groups.items()), ("all", lines)):
        total = {name: sum(getattr(line, name) for line in here) for name in Line.__dataclass_fields__
                 if name != "waits"}
        seconds = [line.seconds for line in here]
        print(f"{kind:10s} {len(here):3d} {total['boards']:7d} {total['bound']:6d} {total['preview']:8d} "
              f"{total['habit']:6d} "
              f"{total['thirds']:7d} {total['no_reuse']:9d} {total['relaxed']:8d} "
              f"{total['h'] / max(total['pairs'], 1):8.1%} "
              f"{np.mean(seconds):10.2f} {max(seconds):10.2f}")
    print("boards above bound:", dict(sorted(Counter(line.boards - line.bound for line in lines).items())))
    print("preview above the plan:", dict(sorted(Counter(line.preview - line.boards for line in lines).items())),
          f"preview median {np.median([line.preview_s for line in lines]):.2f} s")
    for length in sorted({line.length for line in lines}):
        here = [line for line in lines if line.length == length]
        print(f"boards of {length:g}: H {sum(line.h for line in here)} of {sum(line.pairs for line in here)} pairs of "
              "runs two rows apart, "
              f"{sum(line.h_rows for line in here)} of {sum(line.triples for line in here)} threes of rows; cuts "
              f"{sum(line.cuts for line in here)}")
    waits = [wait for line in lines for wait in line.waits]
    print(f"{len(waits)} offcuts used again, after {np.mean(waits):.1f} rows in the mean, "
          f"{np.mean(np.array(waits) > 5):.0%} after more than five")
    print(f"mean excess over best known {np.mean([line.boards / line.best - 1 for line in lines]):.3%}, over the bound "
          f"{np.mean([line.boards / line.bound - 1 for line in lines]):.3%}; over 1 s: "
          f"{sum(line.seconds > 1 for line in lines)} rooms, median "
          f"{np.median([line.seconds for line in lines]):.2f} s")


def _firsts(plan: Plan, task: Task) -> list[float]:
    """First piece of every run of a plan."""
    runs = [run for row in plan.rows for run in row.runs]
    return [task.spans[i].length_mm if len(run.pieces) == 1 else run.pieces[0].to_mm - run.pieces[0].from_mm
            for i, run in enumerate(runs)]


if __name__ == "__main__":
    main()
