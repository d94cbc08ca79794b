"""Boards used by the planner, by the fitter's habit and by no reuse at all, against the proven bound.

Usage: python tests/bench/run_layout.py [first] [count] [--moves N]     writes one line an instance and a table at the end.

Rows are the same for all (the planner's): only where joints fall differs. Habit: start each row with the last offcut if it
is long enough and keeps the stagger, else with a new board cut where the rules first allow. No reuse: every cut piece
takes a new board. Lost instances (LayoutError) are listed, not dropped.
"""
from __future__ import annotations

import argparse
import json
import time
from collections import defaultdict
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from layout.errors import LayoutError
from layout.frame import Frame
from layout.model import SAME_MM, Seam, Task, first_pieces, split_run
from layout.plan import Plan
from layout.planner import MOVES, plan_floor
from layout.room import Board, Pipe, Room, Rules, Wishes
from layout.rows import runs_of, strips_of
from layout.search import count_h
from layout.state import State, seam_distance, state_of
from layout.stock import count_boards
from layout.trial import make_task

ROOMS = Path(__file__).parent / "instances" / "rooms.json"


def read_rooms() -> list[tuple[str, Room, Board]]:
    """Every stored instance."""
    rooms = []
    for data in json.loads(ROOMS.read_text())["rooms"]:
        outline = np.array(data["outline"], dtype=np.float64)
        room = Room(names=tuple("ABCDEFGHIJKL"[:len(outline)]), outline_mm=outline,
                    islands=tuple((f"island {i + 1}", np.array(hole, dtype=np.float64)) for i, hole in enumerate(data["holes"])),
                    pipes=tuple(Pipe(name=f"P{i + 1}", centre_mm=tuple(spot), diameter_mm=15.0) for i, spot in enumerate(data["pipes"])))
        length, width = data["board"]
        rooms.append((data["kind"], room, Board(length_mm=length, width_mm=width, thickness_mm=8.0, pack=8)))
    return rooms


def task_of(plan: Plan) -> Task:
    """The search task of a finished plan's rows, as asked (nothing eased)."""
    frame = Frame(u=plan.u, v=plan.v, start_mm=plan.start_mm)
    cover_rf = [frame.shape_to_row(Polygon(part.outline, part.holes)) for part in plan.cover]
    strips = strips_of(plan.rows[-1].far_mm, plan.rows[0].far_mm, plan.board.width_mm)
    runs = runs_of(cover_rf, strips)
    return make_task(runs, strips, plan.board, Wishes(kerf_mm=plan.kerf_mm, rules=plan.rules))


def habit(task: Task) -> list[float]:
    """First pieces by the fitter's habit, row by row."""
    state = state_of(task, [first_pieces(span, task.board_mm)[0][0] if first_pieces(span, task.board_mm) else min(span.length_mm, task.board_mm)
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
    asked = parser.parse_args()
    groups, gaps = defaultdict(list), defaultdict(int)
    for number, (kind, room, board) in list(enumerate(read_rooms()))[asked.first:asked.first + asked.count]:
        began = time.process_time()
        try:
            plan = plan_floor(room, board, Wishes(rules=Rules()), moves=asked.moves)
        except LayoutError as error:
            print(f"{number:4d} {kind:10s} LOST {error.slug}: {error}")
            continue
        seconds = time.process_time() - began
        task = task_of(plan)
        by_habit = habit(task)
        firsts = _firsts(plan, task)
        triples = state_of(task, firsts).two_apart
        line = (plan.boards, plan.bound, count_boards(task, by_habit), no_reuse(task, firsts), len(plan.relaxed), seconds,
                count_h(state_of(task, firsts)), len(triples))
        groups[kind].append(line)
        gaps[plan.boards - plan.bound] += 1
        print(f"{number:4d} {kind:10s} {board.length_mm:g}x{board.width_mm:g} boards {line[0]:4d} bound {line[1]:4d} habit {line[2]:4d} "
              f"no reuse {line[3]:4d} relaxed {line[4]:3d} cpu {seconds:.2f} s")
    print("\ngroup        n  boards  bound  habit  no reuse  relaxed  H/pairs   cpu mean  cpu worst")
    for kind, lines in sorted(groups.items()):
        t = np.array(lines)
        s = t.sum(axis=0)
        print(f"{kind:10s} {len(t):3d} {s[0]:7.0f} {s[1]:6.0f} {s[2]:6.0f} {s[3]:9.0f} {s[4]:8.0f} {s[6] / max(s[7], 1):8.1%} "
              f"{t[:, 5].mean():10.2f} {t[:, 5].max():10.2f}")
    print("boards above bound:", dict(sorted(gaps.items())))


def _firsts(plan: Plan, task: Task) -> list[float]:
    """First piece of every run of a plan."""
    runs = [run for row in plan.rows for run in row.runs]
    return [task.spans[i].length_mm if len(run.pieces) == 1 else run.pieces[0].to_mm - run.pieces[0].from_mm for i, run in enumerate(runs)]


if __name__ == "__main__":
    main()
