"""The rest of a floor of boards of several lengths planned afresh while it is being laid: held rows as they are, the
rows to come by the beam that made the plan (`layout.search.beam_search`), with the offcuts on hand and the boards left.

Which board was spoiled or lost nobody says, so of every length one fewer is counted on for each; where the rest cannot
be laid so, boards of a pack more are counted on. A found piece is taken to be of the longest board.

Not done: rows to come are laid anew as a whole, none is kept as it is printed; wood without a factory end is not looked
for a place; a board found whole is used from its left end.
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError
from layout.plan import Plan, Run
from layout.planning.assemble import Laying as PlanLaying, limits_of
from layout.planning.fitting.shaping import shape_pieces
from layout.planning.laid import Laid
from layout.planning.mixed_lengths import Mixed, lay_rest_of_floor, packs_of, placements_of
from layout.planning.pieces import lay_order, name_pieces
from layout.planning.search_task import make_task
from layout.planning.site import Site, site_of
from layout.region.run_ends import at_ends
from layout.replan.progress import Progress, Spare
from layout.replan.remaining_rows import barred, check_held, ground_of
from layout.replan.splice import Cut, spliced
from layout.room import Board, Room, Settled
from layout.search.beam_search import Begun, Leftover, Stock, least_packs
from layout.search.core.model import SAME_MM, Task


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MixedRest:
    """A floor with its rest laid anew: where it lies, how it is laid, its rows, the length of every board bought."""

    site: Site
    laid: Laid
    laying: PlanLaying
    lengths_mm: tuple[float, ...]


def plan_mixed_rest(plan: Plan, room: Room, wishes: Settled, now: Progress, *, moves: int,
                    first_row_mm: float | None = None) -> MixedRest:
    """Rows for what is not held. plan: with pieces remade (`layout.replan.splice.remade`).

    Raises LayoutError (held-moved) if the held rows do not lie in this room as in the plan, (mixed-rest) if no way is
    found to lay the rest.
    """
    frame, site = plan.frame, site_of(room, wishes)
    ground = ground_of(plan, site, frame, wishes, first_row_mm or plan.rows[0].far_mm)
    bores = site.bores_in(frame)
    task = make_task(list(ground.runs), list(ground.strips), plan.board, replace(wishes, stock=()), bores)
    check_held(plan, ground, task.spans, now.held)
    free = sum(run.row < now.held for run in ground.runs)
    stock = tuple(spare for spare in now.spares if spare.keeps)
    begun = Begun(joints=tuple(_joints(plan, run) for row in plan.rows[:now.held] for run in row.runs),
                  leftovers=tuple(_leftover(plan, -k, spare) for k, spare in enumerate(stock, start=1)))
    found = lay_rest_of_floor(_kept_off(task, free, plan, now), plan.board.mix, _left(plan, now), begun,
                              moves=moves)
    if found is None:
        raise LayoutError("mixed-rest", lazy_gettext(
            "No way was found to lay the rest with boards of these lengths: go on by the printed rows, measure every "
            "closing piece in its place and take the shortest board or offcut that it fits in."), where="day")
    laid = Laid(frame=frame, ground=ground, bores=bores, task=task, firsts=(), boards=0, bound=0,
                mixed=Mixed(laying=found[0], packs=0, least_packs=least_packs(task, plan.board.mix), eased=found[1]))
    return _put_together(plan, now, site, laid, wishes, stock, free)


def _put_together(plan: Plan, now: Progress, site: Site, laid: Laid, wishes: Settled, stock: tuple[Spare, ...],
                  free: int) -> MixedRest:
    """The held rows and those laid anew, with what is to be bought."""
    assert laid.mixed is not None
    laying = laid.mixed.laying
    runs = tuple(at_ends(run, span.left_mm, span.right_mm) for run, span in zip(laid.runs, laid.task.spans))[free:]
    opened = {piece.board: piece.board_mm for piece in laying.pieces()}

    def board_of(key: int) -> Board:
        return plan.board.of_length(opened[key])
    placements, parts = shape_pieces(
        list(runs), list(laid.strips), [replace(one, run=one.run - free) for one in placements_of(laid.task, laying)],
        board_of, limits_of(site, laid, plan.board, wishes))
    order = lay_order(placements, laid.task.spans[free:], plan.lay)
    stocks = {key: stock[-key - 1] if key < 0 else None
              for key in dict.fromkeys(placements[i].board for i in order)}
    rows, offcuts, owned, boards = spliced(plan, now, Cut(
        runs=runs, strips=laid.strips, placements=tuple(placements), parts=parts,
        ids=name_pieces(list(runs), placements, parts), order=order, stocks=stocks, stock=stock), board_of)
    fresh = [opened[key] for key, spare in stocks.items() if spare is None]
    lengths = (*(plan.board_of(number).length_mm for number in _bought(plan, now)), *fresh)
    packs = packs_of(plan.board.mix, lengths)
    least = min(laid.mixed.least_packs, packs)
    return MixedRest(site=site, laying=(rows, offcuts, owned, boards), lengths_mm=lengths, laid=replace(
        laid, boards=boards, bound=min(plan.bound, boards),
        mixed=replace(laid.mixed, packs=packs, least_packs=least)))


def _bought(plan: Plan, now: Progress) -> list[int]:
    """Numbers of the boards in the held rows that were bought for this floor."""
    own = {piece.board for piece in plan.owned if piece.board}
    return sorted({piece.board for row in plan.rows[:now.held] for piece in row.pieces} - own)


def _left(plan: Plan, now: Progress) -> Stock:
    """Boards of each length that are surely left. Packs may have been bought since, or boards gone astray: what is
    left and used in all tells."""
    used = [plan.board_of(number).length_mm for number in _bought(plan, now)]
    packs = ceil((now.left + now.used) / plan.board.pack)
    lost = now.spoiled + packs * plan.board.pack - now.left - now.used
    return tuple((length, max(0, packs * count - used.count(length) - lost)) for length, count in plan.board.mix)


def _leftover(plan: Plan, key: int, spare: Spare) -> Leftover:
    board = plan.board_of(spare.board).length_mm if spare.board else plan.board.length_mm
    return Leftover(spare.length_mm, spare.keeps[0], key, board)


def _joints(plan: Plan, run: Run) -> tuple[float, ...]:
    """Where a run's pieces meet, s: the pieces of one board beside a spur of wall make no joint."""
    reach = [(max(plan.to_row_frame(point)[0] for point in piece.outline_mm), piece.board) for piece in run.pieces]
    return tuple(s for (s, board), (_, behind) in zip(reach, reach[1:]) if board != behind)


def _kept_off(task: Task, free: int, plan: Plan, now: Progress) -> Task:
    """The task with bars where joints of the last held row came to lie otherwise than planned."""
    spans, runs = list(task.spans), [run for row in plan.rows[:now.held] for run in row.runs]
    for seam in (seam for seam in task.seams if seam.upper < free <= seam.lower):
        came = tuple(_came_to_lie(plan, runs[seam.upper], now))
        bars = barred(seam, list(came), seam.stagger_mm)
        spans[seam.lower] = replace(spans[seam.lower], bars=(*spans[seam.lower].bars, *bars))
    return replace(task, spans=tuple(spans))


def _came_to_lie(plan: Plan, run: Run, now: Progress) -> Iterator[float]:
    """Joints of a laid run that moved as its pieces came out longer or shorter."""
    pieces = run.pieces if plan.lay == "left-to-right" else run.pieces[::-1]
    sense, moved = (1.0 if plan.lay == "left-to-right" else -1.0), 0.0
    for piece in pieces[:-1]:
        moved += now.off_mm(piece)
        if abs(moved) > SAME_MM:
            places = [plan.to_row_frame(point)[0] for point in piece.outline_mm]
            yield (max(places) if sense > 0 else min(places)) + sense * moved
