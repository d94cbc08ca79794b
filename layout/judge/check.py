"""The judge: everything that is wrong with a plan, worked out afresh from the plan's own numbers and the room.

It imports nothing of the planner: only the plan's types, numpy and shapely. Frames as in `layout.plan`. Tolerances:
wood 1e-6 mm; areas on the floor 1 mm2 a pair of pieces and 100 mm2 for the whole cover; rules 1e-6 mm, and 0.05 mm
between what a plan says a rule gave and what it gave. A rule the plan lists in `relaxed`, with that place and amount,
is no fault; one it does not list is, and so is a listed one that did not give way.

Slugs: floor, gap-narrow, gap-wide, uncovered, overlap, outside-cover, row-strip, piece-id (`floor`);
joint-cut-end, seam-cut-edge, stagger, shortest, narrowest, relaxed-wrong (`rules`); pipe-joint, notch-joint,
alike (`joints`); doorway, profile, left-out (`openings`); extent, off-board, keeps,
cuts, hole, board-overlap, board-number, offcut, owned, packs, bound, waste (`wood`); sliver, needless-cut, cut-order,
notch-deep (`sawing`); beading, shopping
(`purchases`).
"""
from __future__ import annotations

from layout.judge.purchases import check_buy
from layout.judge.floor import check_floor
from layout.judge.joints import check_joints
from layout.judge.openings import check_open
from layout.judge.rules import check_rules
from layout.judge.sawing import check_saw
from layout.judge.wood import check_wood
from layout.judge.fault import Fault
from layout.judge.piece_geometry import read
from layout.plan import Plan
from layout.room import Room


def find_faults(plan: Plan, room: Room) -> tuple[Fault, ...]:
    """All faults of a plan for a room, or (). Never stops at the first."""
    reading = read(plan)
    return (*check_floor(plan, room, reading.laid), *check_open(plan, room), *check_rules(plan, reading),
            *check_joints(plan, reading), *check_wood(plan, room, reading.laid), *check_saw(plan),
            *check_buy(plan, room))
