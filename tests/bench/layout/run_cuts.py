"""What a fitter would have to saw in the plans of the stored rooms: crosscuts, square or tapered, and how much comes
off.

Usage: python tests/bench/layout/run_cuts.py [first] [count] [--turned] [--step N]

One line a room and the sums at the end.

--any-way: without the preference for rows along the longer side. --turned: every wall turned about its middle by up to
1 degree (drawn, the same on every run). Needless: a crosscut that takes off less than 0.5 mm. Sliver: one that takes
off 0.5 to 15 mm at its widest, which no saw can hold; edge slivers are the same of rips. Numbers: what is set with a
tape (one for a square cut or a parallel rip, two for a tapered one, three for a notch, two for a hole). Lost rooms are
listed.
"""
from __future__ import annotations

import argparse
import time
from collections import Counter
from dataclasses import replace
from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from layout.planning import planner
from layout.errors import LayoutError
from layout.judge.sawing import strips_off
from layout.plan import Cut, Plan
from layout.planning.planner import MOVES, plan_floor
from layout.room import Room, Rules, Wishes
from tests.bench.layout.run_layout import read_rooms

MOST_TURN_DEG = 1.0
#: A straight cut whose two distances differ by less is set with one number, mm.
SQUARE_MM = 0.05
NEEDLESS_MM, SLIVER_MM = 0.5, 15.0


def turned(room: Room, seed: int) -> Room:
    """The room with every wall turned about its middle; corners are where neighbouring walls meet."""
    rng = np.random.default_rng(seed)
    corners = room.outline_mm
    ahead = np.roll(corners, -1, axis=0)
    angles = rng.uniform(-MOST_TURN_DEG, MOST_TURN_DEG, len(corners)) * pi / 180
    steps = np.array([(np.array([[cos(a), -sin(a)], [sin(a), cos(a)]]) @ step)
                      for a, step in zip(angles, ahead - corners)])
    middles = (corners + ahead) / 2
    return replace(room,
                   outline_mm=np.array([_meeting(middles[i - 1], steps[i - 1], middles[i], steps[i], corners[i])
                                        for i in range(len(corners))]))


def _meeting(p: NDArray[np.float64], a: NDArray[np.float64], q: NDArray[np.float64], b: NDArray[np.float64],
             else_at: NDArray[np.float64],) -> NDArray[np.float64]:
    """Where two lines meet; `else_at` where they run nearly alike."""
    cross = a[0] * b[1] - a[1] * b[0]
    if abs(cross) < 0.05 * np.hypot(*a) * np.hypot(*b):
        return else_at
    along = ((q[0] - p[0]) * b[1] - (q[1] - p[1]) * b[0]) / cross
    return np.asarray(p + along * a)


def count_cuts(plan: Plan) -> Counter[str]:
    """Everything counted in one plan."""
    found: Counter[str] = Counter(boards=plan.boards, bound=plan.bound, proven=int(plan.boards == plan.bound),
                                  rows=len(plan.rows), pieces=len(plan.pieces), relaxed=len(plan.relaxed))
    for piece in plan.pieces:
        found["whole"] += not piece.cuts
        straight = [cut for cut in piece.cuts if cut.kind in ("cross", "rip")]
        for cut, off in zip(straight, strips_off(plan, piece)):
            found.update(_straight(cut, off))
        for cut in piece.cuts:
            if cut.kind not in ("cross", "rip"):
                found.update({cut.kind: 1, "numbers": 2 if cut.kind == "hole" else 3})
    return found


def _straight(cut: Cut, off: float) -> dict[str, int]:
    square = abs(cut.at[0] - cut.at[1]) < SQUARE_MM
    found = {cut.kind: 1, f"{cut.kind}_{'square' if square else 'tapered'}": 1, "numbers": 1 if square else 2}
    if off < NEEDLESS_MM:
        found[f"{cut.kind}_needless"] = 1
    elif off < SLIVER_MM - 1e-6:
        found[f"{cut.kind}_sliver"] = 1
    return found


def main() -> None:
    """Run the rooms and print the sums."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("first", nargs="?", type=int, default=0)
    parser.add_argument("count", nargs="?", type=int, default=1000)
    parser.add_argument("--turned", action="store_true")
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--moves", type=int, default=MOVES)
    parser.add_argument("--any-way", action="store_true", help="the fewest boards, whichever way rows run")
    asked = parser.parse_args()
    if asked.any_way:
        planner.with_preference = lambda trials, *_: trials
    total: Counter[str] = Counter()
    for number, (kind, room, board) in list(enumerate(read_rooms()))[asked.first:asked.first + asked.count:asked.step]:
        began = time.process_time()
        try:
            plan = plan_floor(turned(room, number) if asked.turned else room, board, Wishes(rules=Rules()),
                              moves=asked.moves)
        except LayoutError as error:
            print(f"{number:4d} {kind:10s} LOST {error.slug}: {error}", flush=True)
            continue
        here = count_cuts(plan)
        seconds = time.process_time() - began
        total.update(here)
        total["rooms"] += 1
        total["cpu_ms"] += round(1000 * seconds)
        print(f"{number:4d} {kind:10s} boards {plan.boards} bound {plan.bound} cross {here['cross']} tapered "
              f"{here['cross_tapered']} needless "
              f"{here['cross_needless']} sliver {here['cross_sliver']} rip slivers {here['rip_sliver']} cpu "
              f"{seconds:.2f}", flush=True)
    print("\n" + "\n".join(f"{name:16s} {value}" for name, value in sorted(total.items())))
    print(f"numbers a row    {total['numbers'] / max(total['rows'], 1):.2f}")


if __name__ == "__main__":
    main()
