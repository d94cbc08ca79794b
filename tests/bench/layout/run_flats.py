"""Flats planned with one stock of boards against their rooms one by one, and against the proven bound.

Usage: python -m tests.bench.layout.run_flats [first] [count] [--moves N] [--draw]    a line a flat and a table

60 drawn flats of 2 to 7 rooms (instances/flats.json, `tests/support/draw_flats.py`, seed 28; --draw writes them anew):
rooms on both sides of a hall, a profile in every doorway, rows along the hall, five kinds of boards. Alone: the sum of
what the same search takes for each room by itself; packs alone: each room's packs with two boards to spare. Bound: no
plan of these rows takes fewer boards. Carried: offcuts that go from one room to a later one. Faults: of both judges.
Not claimed: that the bound can be reached, nor that another choice of rows would not do with fewer.
"""
from __future__ import annotations

import argparse
import json
import time

import numpy as np

from layout.flat.planner import plan_flat
from layout.judge.check import find_faults
from layout.judge.flat import find_flat_faults
from layout.planning.planner import MOVES
from tests.support.draw_flats import draw_flat
from tests.support.flats import STORED, floors_of, stored_flats

SEED, COUNT = 28, 60


def draw() -> None:
    """Write the flats down."""
    rng = np.random.default_rng(SEED)
    flats = [draw_flat(rng, 2 + k % 6) for k in range(COUNT)]
    STORED.write_text(json.dumps({"origin": "tests/support/draw_flats.py, seed 28; invented", "flats": flats},
                                 indent=None, separators=(",", ":")) + "\n")


def measure(number: int, data: dict, moves: int) -> dict[str, float]:
    """What is measured of one flat."""
    floors, openings = floors_of(data)
    began = time.process_time()
    planned = plan_flat(floors, openings=openings, moves=moves)
    took = time.process_time() - began
    flat, rooms = planned.flat, {floor.name: floor.room for floor in floors}
    faults = len(find_flat_faults(flat)) + sum(len(find_faults(floor.plan, rooms[floor.name])) for floor in flat.floors)
    (kind,) = flat.kinds
    line = {"rooms": len(floors), "boards": kind.boards, "alone": kind.alone, "bound": kind.bound,
            "packs": kind.packs_to_buy, "packs alone": kind.packs_alone, "carried": len(flat.travels),
            "bars": sum(len(bars.bars) for bars in flat.bars), "bars alone": sum(bars.alone for bars in flat.bars),
            "proven": kind.proven, "faults": faults, "refused": len(planned.refused), "cpu": took}
    print(f"{number:>3} " + "  ".join(f"{key} {value:.1f}" if key == "cpu" else f"{key} {value:d}"
                                      for key, value in line.items()), flush=True)
    return line


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("first", nargs="?", type=int, default=0)
    parser.add_argument("count", nargs="?", type=int, default=COUNT)
    parser.add_argument("--moves", type=int, default=MOVES)
    parser.add_argument("--draw", action="store_true", help="draw the flats anew and write them down")
    asked = parser.parse_args()
    if asked.draw:
        draw()
        return
    lines = [measure(number, data, asked.moves)
             for number, data in list(enumerate(stored_flats()))[asked.first:asked.first + asked.count]]
    print("\nrooms  flats  boards  alone  bound  proven  packs  alone  carried  bars  alone  faults  CPU s median  "
          "most")
    for rooms in (*range(2, 8), 0):
        some = [line for line in lines if rooms in (0, line["rooms"])]
        if some:
            total = {key: sum(line[key] for line in some) for key in some[0]}
            cpu = sorted(line["cpu"] for line in some)
            print(f"{rooms or 'all':>5}  {len(some):>5}  {total['boards']:>6}  {total['alone']:>5}  "
                  f"{total['bound']:>5}  {total['proven']:>6}  {total['packs']:>5}  {total['packs alone']:>5}  "
                  f"{total['carried']:>7}  {total['bars']:>4}  {total['bars alone']:>5}  "
                  f"{total['faults']:>6}  {cpu[len(cpu) // 2]:>12.1f}  {cpu[-1]:>4.1f}")


if __name__ == "__main__":
    main()
