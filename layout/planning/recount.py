"""The figures of a plan that came from a file, counted anew from its rows, the room and the wishes.

What a plan says of itself is checked where one right number exists (boards, packs, waste), made anew where it follows
from the room (beading, bars, shopping, doorways, notes), and taken out where only the search that made the plan
could vouch for it (`unvouched`).
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import atan2, ceil, degrees

import shapely
from shapely.geometry import Polygon

from layout.planning.assemble import overlayable, waste_percent
from layout.materials.beading import bars_of, beading_of
from layout.planning.fitting.broken_rows import with_joining_rows
from layout.planning.fitting.chalk_line import chalk_line_of
from layout.planning.fitting.end_gaps import with_gaps
from layout.planning.fitting.tight_places import in_tight_places
from layout.planning.site import site_of
from layout.planning.report.notes import beading_least_mm, length_of, noted
from layout.region.doorways import doorways_of, open_floor
from layout.region.holes import with_wedges
from layout.frame import frame_over
from layout.plan import Choice, Plan
from layout.planfile.reader import damaged, shown
from layout.room import Room, Settled
from layout.materials.shopping import Need, packs_for, shopping_list

#: How far a share of waste may be off, percent: as far as the judge lets it.
WASTE_OFF = 1e-6
#: How far the width of a strip that is left out may be off: so many mm, and such a share of the strip's length, since
#: the widest circle in it is found to a thousandth of that, and not the same one from every corner of its outline.
WIDTH_OFF_MM, CIRCLE_OFF = 0.1, 0.002
#: How far along the rows the origin of the row frame may be off, mm, beyond what the edge window leaves open: a plan of
#: an earlier version may have kept another distance within it.
START_OFF_MM = 1.0


def refuse_figures(plan: Plan) -> None:
    """Raise LayoutError (damaged-plan) for a count or share that the plan's own rows do not give."""
    for key, told, counted, off in _figures(plan):
        if abs(told - counted) > off:
            raise damaged(f"plan.{key}", f"is {shown(told)}, but its rows take {counted:.10g}")
    for k, strip in enumerate(plan.left_out):
        chip = Polygon(strip.outline)
        wide = 2 * float(shapely.maximum_inscribed_circle(chip).length)
        long = max(chip.bounds[2] - chip.bounds[0], chip.bounds[3] - chip.bounds[1])
        if abs(strip.width_mm - wide) > WIDTH_OFF_MM + CIRCLE_OFF * long:
            raise damaged(f"plan.left_out[{k}].width",
                          f"is {shown(strip.width_mm)}, but its outline is {wide:.6g} wide")
    if plan.bound > plan.boards:
        raise damaged("plan.bound", f"is {plan.bound}, more than the {plan.boards} boards its rows take")


def _figures(plan: Plan) -> Iterator[tuple[str, float, float, float]]:
    """(key, what the plan says, what its rows give, how far it may be off)."""
    own = {piece.board for piece in plan.owned if piece.board}
    boards = len({piece.board for piece in plan.pieces} - own)
    yield "boards", plan.boards, boards, 0
    if not plan.board.mix:
        yield "packs", plan.packs, packs_for(boards, plan.board), 0
    else:
        yield "packs", plan.packs, max(ceil(plan.lengths_mm.count(length) / count)
                                       for length, count in plan.board.mix), 0
    cover = [Polygon(part.outline, part.holes) for part in plan.cover]
    yield "waste_percent", plan.waste_percent, waste_percent(cover, plan.wood_mm, plan.owned, plan.board), WASTE_OFF


def refuse_start(plan: Plan, room: Room, wishes: Settled, moved_mm: float = 0.0) -> None:
    """Raise LayoutError (damaged-plan) for rows that are counted from elsewhere than the near left of the floor.

    room: as it was when the first plan was made; moved_mm: how far along the rows a corner of it has moved since, as
    rows that were sought afresh are counted from where the floor was then. Across the rows the judge measures; along
    them nothing else tells.
    """
    start = frame_over(list(site_of(room, wishes).cover), plan.u).start_mm
    off = abs((plan.start_mm[0] - start[0]) * plan.u[0] + (plan.start_mm[1] - start[1]) * plan.u[1])
    if off > START_OFF_MM + wishes.gap_most_mm - wishes.gap_least_mm + moved_mm:
        raise damaged("plan.start", f"is {shown(plan.start_mm)}, but the floor begins at {shown(start)}")


def recounted(plan: Plan, room: Room, wishes: Settled) -> Plan:
    """The plan with beading, bars, shopping list, doorways, notes and the sides of its pipe holes as they follow from
    the room and the wishes it was made for."""
    opened, beading = open_floor(room, plan.gap_mm), beading_of(room)
    bars = bars_of(room, beading, wishes.beading, plan.kerf_mm)
    ground = overlayable(Polygon(opened.outline_mm, [ring for _, ring in room.islands]))
    need = Need(boards=plan.boards, lengths=plan.lengths_mm, packs=plan.packs, owned=plan.owned,
                floor_rf=plan.frame.shape_to_row(ground), bars=bars,
                row_ends=2 * sum(len(row.runs) for row in plan.rows),
                beading_least_mm=beading_least_mm(room, wishes, plan.left_out), profiles=plan.profiles)
    rows = with_gaps(in_tight_places(with_joining_rows(with_wedges(plan.rows), plan.frame), room, plan.frame,
                                     plan.board.length_mm, plan.lay), ground, plan.frame)
    plan = replace(plan, beading=beading, bars=bars, shopping=shopping_list(room, plan.board, wishes, need),
                   doorways=doorways_of(room, opened, plan.board, wishes), rows=rows,
                   chalk=chalk_line_of(plan.rows, room, plan.frame))
    return noted(plan, room, wishes)


def unvouched(plan: Plan) -> Plan:
    """A recounted plan without the reasons and proofs that only the search that made it could vouch for: the bound is
    what its wood proves, and the other ways of laying are left out."""
    bound = min(plan.boards, _wood_bound(plan)) if not plan.board.mix else min(plan.bound, plan.boards)
    first, last = plan.rows[0], plan.rows[-1]
    only = Choice(u_deg=degrees(atan2(plan.u[1], plan.u[0])), first_row_mm=first.far_mm - first.near_mm,
                  last_row_mm=last.far_mm - last.near_mm, boards=plan.boards,
                  cuts=sum(len(piece.cuts) for piece in plan.pieces),
                  narrowest_mm=min(row.far_mm - row.near_mm for row in plan.rows),
                  packs=plan.packs if plan.board.mix else None)
    return replace(plan, bound=bound, bound_by="wood", choices=(only,), reasons=(),
                   proven=plan.least_packs == plan.packs if plan.board.mix else bound == plan.boards)


def _wood_bound(plan: Plan) -> int:
    """Boards needed by wood alone: n pieces of a board need n - 1 saw cuts, so boards * (L + k) >= sum of (piece +
    k)."""
    long, kerf = plan.board.length_mm, plan.kerf_mm
    lengths = [length_of(plan, run) for row in plan.rows for run in row.runs]
    own = sum(piece.length_mm + kerf for piece in plan.owned if piece.board)
    wood = sum(length + kerf * max(1, ceil(length / long - 1e-9)) for length in lengths) - own
    return max(1, ceil(wood / (long + kerf) - 1e-9))
