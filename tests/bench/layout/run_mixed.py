"""Boards of several lengths: packs of the beam against boards taken as they come.

Usage: python -m tests.bench.layout.run_mixed [floors] [beam]    rectangles of 2.5 to 6 m, 12 to 28 rows, packs of eight
boards of 600 to 2000 mm.

As they come: a row starts with the last offcut if that is long enough, then the packs are opened one after another,
each shuffled; the fitter takes the first board on the heap whose end keeps 300 mm from the joints of the row before, or
the first at all. Pieces too short and joints too near are counted, not mended. The bound is wood alone. Not claimed:
that the bound can be reached.
"""
from __future__ import annotations

import random
import sys
import time

from layout.search.beam_search import lay_packs, least_packs
from layout.search.core.model import Seam, Span, Task

PACK = ((600.0, 1), (1000.0, 2), (1400.0, 2), (2000.0, 3))
LEAST_MM, SEED = 300.0, 7


def floor(length: float, rows: int) -> Task:
    spans = tuple(Span(row=k, left_mm=0.0, right_mm=length, shortest_mm=LEAST_MM) for k in range(rows))
    seams = tuple(Seam(upper=k, lower=k + 1, lo_mm=0.0, hi_mm=length, stagger_mm=LEAST_MM) for k in range(rows - 1))
    return Task(board_mm=PACK[-1][0], kerf_mm=3.0, spans=spans, seams=seams)


def as_they_come(task: Task, rng: random.Random) -> tuple[int, int]:
    """(packs opened, joints nearer than the rule and pieces shorter than it) of one floor laid without a plan."""
    packs, heap, offcut, before, broken = 0, [], 0.0, [], 0
    for span in task.spans:
        at, here = 0.0, []
        while True:
            rest = span.length_mm - at
            if not heap:
                packs += 1
                heap = [size for size, count in PACK for _ in range(count)]
                rng.shuffle(heap)
            if not at and LEAST_MM <= offcut <= rest - LEAST_MM:
                at, offcut = offcut, 0.0
                here.append(at)
                continue
            good = [size for size in heap if size >= rest
                    or (size <= rest - LEAST_MM and all(abs(at + size - joint) >= LEAST_MM for joint in before))]
            size = good[0] if good else heap[0]
            heap.remove(size)
            broken += min(size, rest) < LEAST_MM
            if size >= rest:
                offcut = size - rest - task.kerf_mm
                break
            at += size
            here.append(at)
        broken += sum(any(abs(a - b) < LEAST_MM for b in before) for a in here)
        before = here
    return packs, broken


def main(count: int, beam: int) -> None:
    rng = random.Random(SEED)
    ours = theirs = least = none = broken = 0
    took = []
    for _ in range(count):
        task = floor(rng.uniform(2500, 6000), rng.randint(12, 28))
        began = time.process_time()
        found = lay_packs(task, PACK, beam=beam)
        took.append(time.process_time() - began)
        packs, bad = as_they_come(task, rng)
        if found is None:
            none += 1
            continue
        ours, theirs, least, broken = ours + found[0], theirs + packs, least + least_packs(task, PACK), broken + bad
    print(f"{count} floors, {none} without a plan: packs {ours}, bound {least}; as they come {theirs}, with {broken} "
          "joints too near or pieces too "
          f"short; CPU s median {sorted(took)[count // 2]:.2f}, most {max(took):.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60, int(sys.argv[2]) if len(sys.argv) > 2 else 25)
