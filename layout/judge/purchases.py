"""The judge on what is bought: beading along every edge once, bars that hold what is sawn from them, and numbers
that match the plan."""
from __future__ import annotations

from math import ceil, radians, tan

import numpy as np

from capture.language.messages import lazy_gettext
from layout.judge.fault import Fault
from layout.plan import BeadingPiece, Plan
from layout.room import Room

SLACK_MM = 0.05
LEAST_MM = 5.0


def check_buy(plan: Plan, room: Room) -> list[Fault]:
    """Faults of the beading, of its bars and of the shopping list's counts."""
    return [*_around(plan, room), *_bars(plan), *_counts(plan, room)]


def _around(plan: Plan, room: Room) -> list[Fault]:
    """Stretches add up to every wall less its doors, and to every island's edge."""
    asked = {}
    for i, name in enumerate(room.names):
        k = (i + 1) % len(room.names)
        long = float(np.linalg.norm(np.subtract(room.outline_mm[k], room.outline_mm[i])))
        closed = np.zeros(0)
        for door in (door for door in room.doors if set(door.wall) == {name, room.names[k]}):
            lo = door.from_mm if door.wall[0] == name else long - door.from_mm - door.width_mm
            side = door.casing.width_mm if door.casing is not None else 0.0
            closed = np.append(closed, [max(0.0, lo - side), min(long, lo + door.width_mm + side)])
        asked[f"{name}-{room.names[k]}"] = long - _union(closed.reshape(-1, 2))
    for name, ring in (island for island in room.islands if island[0] not in room.framed):
        asked |= {f"{name} edge {i + 1}": float(np.linalg.norm(np.subtract(ring[(i + 1) % len(ring)], ring[i])))
                  for i in range(len(ring))}
    had: dict[str, float] = dict.fromkeys(asked, 0.0)
    for piece in plan.beading:
        had[piece.where] = had.get(piece.where, 0.0) + piece.length_mm
    return [Fault(slug="beading", where=where, amount=length - asked.get(where, 0.0),
                  says=lazy_gettext("the beading is not as long as its wall less its doors"))
             for where, length in had.items()
            if abs(length - asked.get(where, 0.0)) > 3 * LEAST_MM + SLACK_MM]


def _union(stretches: np.ndarray) -> float:
    """Length covered by stretches that may overlap."""
    total, reached = 0.0, -1.0
    for lo, hi in sorted(stretches.tolist()):
        total += max(0.0, hi - max(lo, reached))
        reached = max(reached, hi)
    return total


def _bars(plan: Plan) -> list[Fault]:
    """What is sawn from a bar fits it with its saw cuts; every stretch is sawn once and long enough; the bound
    holds."""
    bars, faults = plan.bars, []
    if bars is None:
        return []
    for k, bar in enumerate(bars.bars):
        over = sum(piece.length_mm for piece in bar) + bars.kerf_mm * (len(bar) - 1) - bars.bar_mm
        if over > SLACK_MM or not bar:
            faults.append(Fault(slug="beading", where=f"bar {k + 1}", amount=over,
                                says=lazy_gettext("more is sawn from a bar than it holds")))
    sawn: dict[tuple[str, int], list[float]] = {}
    for piece in (piece for bar in bars.bars for piece in bar):
        sawn.setdefault((piece.where, piece.stretch[0]), []).append(piece.length_mm)
    stretches = {(stretch.where, stretch.stretch[0]): stretch for stretch in plan.beading}
    for key in sorted(sawn.keys() | stretches.keys()):
        faults += _stretch(key[0], stretches.get(key), sawn.get(key, []), bars.width_mm)
    wood = sum(piece.length_mm + bars.kerf_mm for bar in bars.bars for piece in bar)
    if not ceil(wood / (bars.bar_mm + bars.kerf_mm) - 1e-6) <= bars.bound <= len(bars.bars):
        faults.append(Fault(slug="beading", where="bars", amount=float(bars.bound),
                            says=lazy_gettext("the bound does not fit the bars")))
    return faults


def _stretch(where: str, stretch: BeadingPiece | None, lengths: list[float], width_mm: float) -> list[Fault]:
    """A stretch needs its own length, a width more for each joint, and no more than its two mitres on top."""
    if stretch is None or not lengths:
        return [Fault(slug="beading", where=where, amount=sum(lengths),
                      says=lazy_gettext("a stretch is not sawn from any bar, or a piece belongs to none"))]
    spare = sum(lengths) - width_mm * (len(lengths) - 1) - stretch.length_mm
    mitres = sum(width_mm * tan(radians(angle)) for angle in (stretch.start_deg, stretch.end_deg))
    if not -SLACK_MM <= spare <= mitres + SLACK_MM:
        return [Fault(slug="beading", where=where, amount=spare,
                      says=lazy_gettext("what is sawn for a stretch is too short or too long"))]
    return []


def _packs(plan: Plan) -> list[Fault]:
    listed_as = "mixed-boards" if plan.board.mix else "boards"
    packs = sum(item.quantity for item in plan.shopping if item.purchase.slug == listed_as)
    spare = plan.packs * plan.board.pack - plan.boards
    if packs == plan.packs or (packs == plan.packs + 1 and spare < 2):
        return []
    return [Fault(slug="shopping", where=listed_as, amount=packs,
                  says=lazy_gettext("the list does not say {packs:g} packs", packs=float(plan.packs)))]


def _counts(plan: Plan, room: Room) -> list[Fault]:
    """Bars, collars, profiles and thresholds on the list are those of the plan; packs too, or one more where they leave
    fewer than two boards to spare."""
    asked = {"threshold": float(len(room.doors)), "collars": float(len(room.pipes))}
    asked |= {"beading-bars": float(len(plan.bars.bars))} if plan.bars is not None else {}
    faults = _packs(plan)
    for slug, count in asked.items():
        listed = sum(item.quantity for item in plan.shopping if item.purchase.slug == slug)
        if listed != count:
            faults.append(Fault(slug="shopping", where=slug, amount=listed,
                                says=lazy_gettext("the list does not say {count:g}", count=float(count))))
    metres = sum(float(np.linalg.norm(np.subtract(*profile.ends))) for profile in plan.profiles) / 1000
    bought = sum(item.quantity for item in plan.shopping if item.purchase.slug == "expansion-profiles")
    if not metres - 1e-6 <= bought <= metres + 0.11:
        faults.append(Fault(slug="shopping", where="expansion-profiles", amount=bought,
                            says=lazy_gettext("the list does not hold the profiles of the plan")))
    return faults
