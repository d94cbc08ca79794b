"""Random rooms through the planner and the judge: how many plans have a fault (none may), and which rooms get no plan.

Usage: python -m tests.bench.layout.run_judge [first seed] [count] [moves] [--turned]. Every seed draws a room
(`draw_rooms`), boards, rules, pattern, laying hand, a door in most and pieces at hand in some; --turned: every wall
turned by up to 1 degree. `plan_floor` has every plan judged; one with a fault is made again with the gap kept exactly
(counted here), and if that has one too it ends as internal-fault.
"""
from __future__ import annotations

import random
import sys
import time
from collections import Counter
from dataclasses import replace
from math import pi

from tests.support.draw_rooms import KINDS, draw_room
from tests.bench.layout.run_cuts import turned
from tests.bench.layout.run_layout import to_room

from layout.errors import LayoutError
from layout.planning.planner import plan_floor
from layout.room import Board, Casing, Door, OwnPiece, Room, Rules, Wishes


def draw_job(seed: int) -> tuple[str, Room, Board, Wishes]:
    """A room with what stands in it, boards and wishes."""
    rng = random.Random(seed)
    kind, room, board = to_room(draw_room(rng, KINDS[seed % len(KINDS)]))
    if rng.random() < 0.6:
        casing = Casing(width_mm=57.0, thickness_mm=15.0) if rng.random() < 0.5 else None
        room = replace(room, doors=(Door(name="D1", wall=room.names[:2], from_mm=150.0, width_mm=700.0,
                                         reveal_mm=rng.choice((0.0, 60.0, 110.0)), casing=casing),))
    rules = rng.choice((Rules(), Rules(), Rules(stagger_mm=200.0, shortest_mm=250.0),
                        Rules(stagger_mm=400.0, shortest_mm=300.0)))
    stock = tuple(OwnPiece(length_mm=round(rng.uniform(250.0, board.length_mm - 10.0)),
                           keeps=(rng.choice(("left", "right")),)) for _ in range(rng.choice((0, 0, 0, 1, 3))))
    wishes = Wishes(rules=rules, stock=stock, lay=rng.choice(("left-to-right", "right-to-left")),
                    kerf_mm=rng.choice((3.0, 2.0, 0.0)), pattern=rng.choice(("fewest",) * 8 + ("thirds", "halves")),
                    direction_rad=rng.choice((None, None, rng.uniform(0, 2 * pi))),
                    gap_mm=rng.choice((10.0, 8.0, None)))
    return kind, room, board, wishes


def main() -> None:
    """Count faults and rooms without a plan."""
    words = [word for word in sys.argv[1:] if word != "--turned"]
    first, count, moves = (int(word) for word in (words + ["0", "100", "60"][len(words):]))
    lost: Counter[str] = Counter()
    exact = 0
    began = time.process_time()
    for seed in range(first, first + count):
        kind, room, board, wishes = draw_job(seed)
        room = turned(room, seed) if "--turned" in sys.argv else room
        try:
            plan = plan_floor(room, board, wishes, moves=moves)
            if plan.gap_least_mm == plan.gap_most_mm:
                exact += 1
                print(f"seed {seed} {kind}: gap kept exactly", flush=True)
        except LayoutError as error:
            lost[error.slug] += 1
            print(f"seed {seed} {kind}: {error.slug}: {error}", flush=True)
        except Exception as error:
            lost[type(error).__name__] += 1
            print(f"seed {seed} {kind}: {type(error).__name__}: {error}", flush=True)
        if (seed - first + 1) % 200 == 0:
            print(f"{seed - first + 1} rooms, {lost['internal-fault']} with a fault, {time.process_time() - began:.0f} "
                  "s of CPU", flush=True)
    print(f"{count} rooms: {lost['internal-fault']} with a fault, {sum(lost.values())} without a plan {dict(lost)}, "
          f"{exact} with the gap kept exactly")


if __name__ == "__main__":
    main()
