"""The beading of a six-room flat, cut from bars: how many, proven or not, how long it takes.

Usage: python -m tests.bench.layout.run_beading [rounds]        each round draws the flat's rooms anew (invented, seeds
1, 2, ...) Every room has a door with its casing, two have a chimney breast; bars of 2400 and 5400 mm, beading 18 mm
wide, a saw cut of 2.4 mm. Beside it: bars used by sawing wall by wall in order (the habit), and the sum of lengths over
the bar.
"""
from __future__ import annotations

import random
import sys
import time
from math import ceil

import numpy as np

from layout.materials.beading import bars_of, beading_of
from layout.materials.cutting_stock import cut_bars
from layout.room import Beading, Casing, Door, Room

KERF_MM = 2.4


def draw_flat(seed: int) -> list[Room]:
    """Six rooms of 1.6 to 5.5 m, a little out of square."""
    draw = random.Random(seed)
    rooms = []
    for number in range(6):
        w, h = draw.uniform(1600, 5500), draw.uniform(1600, 4200)
        corners = [(0, 0), (w, 0), (w, h), (0, h)]
        if number < 2:
            a, b, d = w * draw.uniform(0.25, 0.4), w * draw.uniform(0.6, 0.75), draw.uniform(250, 450)
            corners = [(0, 0), (w, 0), (w, h), (b, h), (b, h - d), (a, h - d), (a, h), (0, h)]
        outline = np.array([(x + draw.uniform(-15, 15), y + draw.uniform(-15, 15)) for x, y in corners])
        door = Door(name="D1", wall=("A", "B"), from_mm=draw.uniform(100, w - 1000), width_mm=762.0,
                    casing=Casing(width_mm=57.0, thickness_mm=15.0))
        rooms.append(Room(names=tuple("ABCDEFGH"[:len(outline)]), outline_mm=outline, doors=(door,)))
    return rooms


def habit(lengths: list[float], bar_mm: float) -> int:
    """Bars used wall by wall: the present bar if the piece fits, else a new one."""
    bars, left = 0, 0.0
    for length in lengths:
        if length > left:
            bars, left = bars + 1, bar_mm
        left -= length + KERF_MM
    return bars


def main() -> None:
    """Print a line a round and bar length."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    worst = 0.0
    for bar_mm in (2400.0, 5400.0):
        for seed in range(1, rounds + 1):
            lengths = [piece.length_mm for room in draw_flat(seed) for bar in bars_of(room, beading_of(room),
                                                                                      Beading(bar_mm=bar_mm),
                                                                                      KERF_MM).bars for piece in bar]
            began = time.process_time()
            cutting = cut_bars(lengths, bar_mm, KERF_MM)
            seconds = time.process_time() - began
            worst = max(worst, seconds)
            by_length = ceil(sum(length + KERF_MM for length in lengths) / (bar_mm + KERF_MM))
            print(f"bar {bar_mm:g} flat {seed:3d} pieces {len(lengths):3d} bars {len(cutting.bars):3d} bound "
                  f"{cutting.bound:3d} by length "
                  f"{by_length} habit {habit(lengths, bar_mm):3d} cpu {seconds:.3f} s"
                  + ("" if cutting.proven else "  NOT PROVEN"))
    print(f"worst cpu {worst:.3f} s")


if __name__ == "__main__":
    main()
