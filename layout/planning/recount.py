"""The figures of a plan that came from a file, counted anew from its rows, the room and the wishes.

What a plan says of itself is checked where one right number exists (boards, packs, waste), made anew where it follows
from the room (beading, bars, shopping, doorways, cautions), and taken out where only the search that made the plan
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
from layout.planning.cautions import CAUTIONS, Findings, beading_least_mm, warnings_for
from layout.region.inset import floor_shape, lost_alcoves
from layout.region.doorways import doorways_of, open_floor
from layout.region.frame import Frame, frame_over
from layout.plan import Choice, Plan, Profile, Relaxed, Run
from layout.planfile.reader import damaged, shown
from layout.room import Room, Settled
from layout.materials.shopping import Need, packs_for, shopping_list

#: How far a share of waste may be off, percent: as far as the judge lets it.
WASTE_OFF = 1e-6
#: How far the width of a strip that is left out may be off, mm.
WIDTH_OFF_MM = 0.1
#: How far along the rows the origin of the row frame may be off, mm, beyond what the edge window leaves open: a plan of
#: an earlier version may have kept another distance within it.
START_OFF_MM = 1.0
WOOD_SAYS = "Fewer boards hold less wood than the rows are long, saw cuts included."


def refuse_figures(plan: Plan) -> None:
    """Raise LayoutError (damaged-plan) for a count or share that the plan's own rows do not give."""
    for key, told, counted, off in _figures(plan):
        if abs(told - counted) > off:
            raise damaged(f"plan.{key}", f"is {shown(told)}, but its rows take {counted:.10g}")
    for k, strip in enumerate(plan.left_out):
        wide = 2 * float(shapely.maximum_inscribed_circle(Polygon(strip.outline)).length)
        if abs(strip.width_mm - wide) > WIDTH_OFF_MM:
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
    """The plan with beading, bars, shopping list, doorways and cautions as they follow from the room and the wishes
    it was made for."""
    opened, beading = open_floor(room, plan.gap_mm), beading_of(room)
    bars = bars_of(room, beading, wishes.beading, plan.kerf_mm)
    frame = Frame(u=plan.u, v=plan.v, start_mm=plan.start_mm)
    ground = overlayable(Polygon(opened.outline_mm, [ring for _, ring in room.islands]))
    need = Need(boards=plan.boards, lengths=plan.lengths_mm, packs=plan.packs, owned=plan.owned,
                floor_rf=frame.shape_to_row(ground), row_ends=2 * sum(len(row.runs) for row in plan.rows), bars=bars,
                beading_least_mm=beading_least_mm(room, wishes, plan.left_out), profiles=plan.profiles)
    return replace(plan, beading=beading, bars=bars, shopping=shopping_list(room, plan.board, wishes, need),
                   cautions=CAUTIONS, doorways=doorways_of(room, opened, plan.board, wishes),
                   chalk=chalk_line_of(plan.rows, room, frame),
                   rows=with_gaps(in_tight_places(with_joining_rows(plan.rows, frame), room, frame,
                                                  plan.board.length_mm, plan.lay), ground, frame))


def unvouched(plan: Plan, room: Room, wishes: Settled) -> Plan:
    """A recounted plan without the words and proofs that only the search that made it could vouch for: the bound is
    what its wood proves, the other ways of laying and the reasons are left out, and every remaining sentence is worded
    anew."""
    bound = min(plan.boards, _wood_bound(plan)) if not plan.board.mix else min(plan.bound, plan.boards)
    first, last = plan.rows[0], plan.rows[-1]
    only = Choice(u_deg=degrees(atan2(plan.u[1], plan.u[0])), first_row_mm=first.far_mm - first.near_mm,
                  last_row_mm=last.far_mm - last.near_mm, boards=plan.boards,
                  cuts=sum(len(piece.cuts) for piece in plan.pieces),
                  narrowest_mm=min(row.far_mm - row.near_mm for row in plan.rows),
                  says="The rows of this plan (chosen)", packs=plan.packs if plan.board.mix else None)
    plan = replace(plan, bound=bound, bound_says=WOOD_SAYS, choices=(only,), says=(),
                   relaxed=tuple(map(_worded, plan.relaxed)), proven=plan.least_packs == plan.packs
                   if plan.board.mix else bound == plan.boards, profiles=tuple(map(_profile, plan.profiles)))
    return warned(plan, room, wishes)


def _wood_bound(plan: Plan) -> int:
    """Boards needed by wood alone: n pieces of a board need n - 1 saw cuts, so boards * (L + k) >= sum of (piece +
    k)."""
    long, kerf = plan.board.length_mm, plan.kerf_mm
    lengths = [_length_mm(plan, run) for row in plan.rows for run in row.runs]
    own = sum(piece.length_mm + kerf for piece in plan.owned if piece.board)
    wood = sum(length + kerf * max(1, ceil(length / long - 1e-9)) for length in lengths) - own
    return max(1, ceil(wood / (long + kerf) - 1e-9))


def _length_mm(plan: Plan, run: Run) -> float:
    along = [plan.to_row_frame(point)[0] for piece in run.pieces for point in piece.outline_mm]
    return max(along) - min(along)


def _worded(rule: Relaxed) -> Relaxed:
    return replace(rule, says=f"The rule “{rule.rule}” gave way at {rule.where}: {rule.had_mm:.0f} mm instead of "
                              f"{rule.asked_mm:g} mm.")


def _profile(profile: Profile) -> Profile:
    (x0, y0), (x1, y1) = profile.ends
    return replace(profile, says=f"An expansion profile goes from ({x0:.0f}, {y0:.0f} mm) to ({x1:.0f}, {y1:.0f} mm): "
                                 "the boards stop "
                                 f"{profile.clear_mm:g} mm short of its middle on both sides.")


def warned(plan: Plan, room: Room, wishes: Settled) -> Plan:
    """The plan with its warnings worded anew."""
    cover = [Polygon(part.outline, part.holes) for part in plan.cover]
    reach = shapely.union_all(Frame(u=plan.u, v=plan.v,
                                    start_mm=plan.start_mm).shape_to_row(shapely.union_all(cover))).bounds
    found = Findings(cover=cover, lost=lost_alcoves(floor_shape(room), cover, plan.gap_mm), holes=plan.holes,
                     doorways=plan.doorways, blocked=open_floor(room, plan.gap_mm).blocked, profiles=plan.profiles,
                     left_out=plan.left_out,
                     extents_mm=(max(_length_mm(plan, run) for row in plan.rows for run in row.runs),
                                 reach[3] - reach[1]), relaxed=plan.relaxed, rows=plan.rows)
    return replace(plan, warnings=warnings_for(room, plan.board, wishes, found))
