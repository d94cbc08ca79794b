"""Small and medium stored rooms planned by the planner and by CP-SAT (OR-Tools) on a 10 mm grid, from the same runs and
seams.

Usage: python -m tests.bench.layout.run_second [seconds a room] [most runs] [count]    CP-SAT gets so long on one core;
the planner's usual effort. Rooms whose rows hold runs that fit on one board are left out: packing them is beyond the
model at this size (tests/layout has tiny ones).
"""
from __future__ import annotations

import sys
import time

from tests.bench.layout.run_layout import read_rooms, task_of
from tests.support.second_opinion import fewest_boards

from layout.planning.planner import plan_floor
from layout.room import Rules, Wishes


def main() -> None:
    """Print a line a room and the sums."""
    seconds, most, count = (
        (float(sys.argv[1]) if len(sys.argv) > 1 else 30.0),
        *(int(a) for a in (sys.argv[2:4] + ["20", "20"][len(sys.argv[2:4]) :])),
    )
    ours_all = theirs_all = beaten = done = 0
    for number, (kind, room, board) in enumerate(read_rooms()):
        if done == count:
            break
        plan = plan_floor(room, board, Wishes(rules=Rules()))
        task = task_of(plan)
        if plan.relaxed or len(task.spans) > most or any(span.length_mm <= task.board_mm for span in task.spans):
            continue
        began = time.process_time()
        found, bound = fewest_boards(task, seconds=seconds)
        done += 1
        print(f"{number:4d} {kind:10s} {len(task.spans):3d} runs: planner {plan.boards} (bound {plan.bound}), CP-SAT "
              f"{found} (bound {bound}) "
              f"in {time.process_time() - began:.0f} s", flush=True)
        ours_all, theirs_all, beaten = (
            ours_all + plan.boards,
            theirs_all + (found or 0),
            beaten + (found is not None and found < plan.boards),
        )
    print(f"{done} rooms: planner {ours_all} boards, CP-SAT {theirs_all}; rooms where CP-SAT needs fewer: {beaten}")


if __name__ == "__main__":
    main()
