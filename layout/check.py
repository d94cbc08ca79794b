"""The judge: everything that is wrong with a plan, worked out afresh from the plan's own numbers and the room.

It imports nothing of the planner: only the plan's types, numpy and shapely. Frames as in `layout.plan`. Tolerances: wood
1e-6 mm; areas on the floor 1 mm2 a pair of pieces and 100 mm2 for the whole cover; rules 1e-6 mm, and 0.05 mm between what
a plan says a rule gave and what it gave. A rule the plan lists in `relaxed`, with that place and amount, is no fault; one
it does not list is, and so is a listed one that did not give way.

Slugs: floor, gap-narrow, gap-wide, uncovered, overlap, outside-cover, row-strip, piece-id (`layout.checkfloor`);
joint-cut-end, seam-cut-edge, stagger, shortest, narrowest, relaxed-wrong (`layout.checkrules`); pipe-joint, notch-joint
(`layout.checkjoints`); doorway, profile, left-out (`layout.checkopen`); extent, off-board, keeps,
cuts, hole, board-overlap, board-number, offcut, owned, packs, bound, waste (`layout.checkwood`); sliver, needless-cut, cut-order,
notch-deep (`layout.checksaw`); beading, shopping
(`layout.checkbuy`).
"""
from __future__ import annotations

from layout.checkbuy import check_buy
from layout.checkfloor import check_floor
from layout.checkjoints import check_joints
from layout.checkopen import check_open
from layout.checkrules import check_rules
from layout.checksaw import check_saw
from layout.checkwood import check_wood
from layout.fault import Fault
from layout.laid import read
from layout.plan import Plan
from layout.room import Room


def find_faults(plan: Plan, room: Room) -> tuple[Fault, ...]:
    """All faults of a plan for a room, or (). Never stops at the first."""
    reading = read(plan)
    return (*check_floor(plan, room, reading.laid), *check_open(plan, room), *check_rules(plan, reading), *check_joints(plan, reading),
            *check_wood(plan, room, reading.laid), *check_saw(plan), *check_buy(plan, room))
