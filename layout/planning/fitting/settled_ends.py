"""Where the ends of all runs lie in the end, within their edge windows, once it is known which pieces share a board.

The search reckons with the least wood. What a board has to spare is given back here: a piece is laid whole or as the
offcut it is where the window allows that, else ends are brought to the gap aimed for as long as at least `SLIVER_MM`
comes off. Lengths are whole multiples of the step. Joints do not move.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor

from layout.search.core.model import SAME_MM, Span, Task, split_run
from layout.region.rows import End, RunShape
from layout.search.core.joint_nudges import neat_shares
from layout.search.core.board_pairing import Shares

#: Lengths are multiples of the step, or of half of it and so on where the window holds none.
HALVINGS = 4


@dataclass(slots=True, kw_only=True)
class Slot:
    """An end piece or a run of one piece: least, planned and greatest length, the one it would best have, whether it
    can be a board's own end, how much it is slanted, what a run of one piece needs beside it for slanted cuts, and the
    length settled on."""

    run: int
    part: str
    least_mm: float
    planned_mm: float
    most_mm: float
    want_mm: float
    square: bool
    taper_mm: float
    over_mm: float = 0.0
    length_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledLay:
    """The task with its runs' ends settled, first pieces that leave the joints where they were, and which pieces
    share a board."""

    task: Task
    firsts: tuple[float, ...]
    shares: tuple[Shares, ...]


def settle_ends(task: Task, firsts: list[float], runs: list[RunShape], *, kerf_mm: float, step_mm: float,
                lay: str, shares: list[Shares] | None = None) -> SettledLay:
    """The ends of every run settled. runs: those of this floor, before the task's earlier floors. shares: which pieces
    share a board, where that is known."""
    shares = neat_shares(task, firsts) if shares is None else shares
    slots: dict[tuple[int, str], Slot] = {}
    for run in range(len(task.spans)):
        for slot in _slots(task, firsts, run, runs[run] if run < len(runs) else None):
            slots[run, slot.part] = slot
    shared: set[tuple[int, str]] = set()
    for share in shares:
        keys = [(share.end, "end")] * (share.end >= 0) + [(run, "all")
                                                          for run in share.slices] + [(share.start,
                                                                                       "start")] * (share.start >= 0)
        _settle_board([slots[key] for key in keys], task, kerf_mm, step_mm, lay)
        shared.update(keys)
    spans, settled = [], []
    for run, first in enumerate(firsts):
        moved, begun = _moved(task, run, first, slots, runs[run] if run < len(runs) else None)
        spans.append(moved)
        settled.append(begun)
    return SettledLay(task=replace(task, spans=tuple(spans), kerf_mm=kerf_mm), firsts=tuple(settled),
                      shares=tuple(shares))


def _slots(task: Task, firsts: list[float], run: int, shape: RunShape | None) -> list[Slot]:
    span, first = task.spans[run], firsts[run]
    count, last = split_run(span.length_mm, first, task.board_mm)
    before, after = _room(None if shape is None else shape.left_end), _room(None if shape is None else shape.right_end)
    if count == 1:
        over = span.left_over_mm + span.right_over_mm
        slot = _slot(run, "all", span.length_mm - over, (before, after))
        slot.over_mm = over
        return [slot]
    return [_slot(run, "start", first - span.left_over_mm, (before,)),
            _slot(run, "end", last - span.right_over_mm, (after,))]


def _room(end: End | None) -> tuple[float, float, float, bool, float]:
    """(how much shorter, how much longer a piece may be at an end than planned, how much longer it would best be,
    whether the end is square, else how much it is slanted)."""
    if end is None:
        return 0.0, 0.0, 0.0, True, 0.0
    shorter = abs(end.surely_mm - end.short_mm) if end.square else 0.0
    return (
        shorter,
        abs(end.long_mm - end.short_mm),
        abs(end.long_mm - end.short_mm) - abs(end.long_mm - end.aim_mm),
        end.square,
        end.taper_mm,
    )


def _slot(run: int, part: str, length: float, rooms: tuple[tuple[float, float, float, bool, float], ...]) -> Slot:
    return Slot(run=run, part=part, least_mm=length - sum(room[0] for room in rooms), planned_mm=length,
                most_mm=length + sum(room[1] for room in rooms), want_mm=length + sum(room[2] for room in rooms),
                square=all(room[3] for room in rooms), taper_mm=max(room[4] for room in rooms), length_mm=length)


def _settle_board(slots: list[Slot], task: Task, kerf_mm: float, step_mm: float, lay: str) -> None:
    """The pieces of one board: as they would best be, if enough comes off; else so that nothing does; else as near
    to it as can be."""
    # What an earlier floor left was measured with the task's own saw (`layout.search.core.owned_stock`).
    saw = task.kerf_mm if any(task.spans[slot.run].row < 0 for slot in slots) else kerf_mm
    saws = saw * (len(slots) - 1) + sum(slot.over_mm for slot in slots)
    spare = task.board_mm - saws - sum(slot.planned_mm for slot in slots)
    widest = min((max(a.taper_mm, b.taper_mm) for a, b in zip(slots, slots[1:])), default=slots[0].taper_mm)
    sliver = max(0.0, max(task.spans[slot.run].sliver_mm for slot in slots) - widest)
    give = sum(slot.most_mm - slot.planned_mm for slot in slots)
    wanted = sum(slot.want_mm - slot.planned_mm for slot in slots)
    if spare - wanted >= sliver + 2 * step_mm:
        for slot in slots:
            slot.length_mm = whole_length(slot.least_mm, slot.most_mm, slot.want_mm, step_mm)
    elif spare <= give + SAME_MM and all(slot.square for slot in slots):
        _use_up(slots, task.board_mm - saws, step_mm, lay, task)
    else:
        room = max(0.0, spare - sliver)
        for slot in slots:
            want = min(slot.want_mm, slot.planned_mm + room)
            slot.length_mm = _at_most(slot, slot.planned_mm + room, want, step_mm)
            room = max(0.0, room - max(0.0, slot.length_mm - slot.planned_mm))


def _use_up(slots: list[Slot], wood_mm: float, step_mm: float, lay: str, task: Task) -> None:
    """Lengths that use the wood up: the piece laid last takes what the others leave, and is not sawn."""
    forward = lay == "left-to-right"
    order = sorted(slots, key=lambda slot: (task.spans[slot.run].row, (slot.part == "end") == forward))
    for k, slot in enumerate(order[:-1]):
        later = order[k + 1:]
        lo = max(slot.least_mm, wood_mm - sum(other.most_mm for other in later))
        hi = min(slot.most_mm, wood_mm - sum(other.planned_mm for other in later))
        share = (wood_mm - sum(other.want_mm for other in later) + slot.want_mm) / 2
        slot.length_mm = whole_length(lo, max(lo, hi), share, step_mm)
        wood_mm -= slot.length_mm
    order[-1].length_mm = wood_mm


def _at_most(slot: Slot, most_mm: float, want_mm: float, step_mm: float) -> float:
    return whole_length(slot.least_mm, max(slot.least_mm, min(slot.most_mm, most_mm)), want_mm, step_mm)


def whole_length(lo_mm: float, hi_mm: float, want_mm: float, step_mm: float) -> float:
    """The multiple of the step from lo to hi that is nearest to `want_mm`; of half the step and so on where there is
    none."""
    want = min(max(want_mm, lo_mm), hi_mm)
    for halving in range(HALVINGS + 1):
        step = step_mm / 2 ** halving
        first, last = ceil((lo_mm - SAME_MM) / step), floor((hi_mm + SAME_MM) / step)
        if first <= last:
            return min(max(round(want / step), first), last) * step
    return want


def _moved(task: Task, run: int, first: float, slots: dict[tuple[int, str], Slot],
           shape: RunShape | None) -> tuple[Span, float]:
    """(the run between its settled ends, its first piece)."""
    span = task.spans[run]
    if (run, "all") in slots:
        left, right = _between(span, slots[run, "all"].length_mm, shape)
        return replace(span, left_mm=left, right_mm=right), right - left
    start, end = slots[run, "start"], slots[run, "end"]
    left = span.left_mm + span.left_over_mm - (start.length_mm - start.planned_mm)
    right = span.right_mm - span.right_over_mm + (end.length_mm - end.planned_mm)
    return replace(span, left_mm=left, right_mm=right), start.length_mm


def _between(span: Span, length_mm: float, shape: RunShape | None) -> tuple[float, float]:
    """Where a run of one piece of this length lies: both gaps as near as can be to what is aimed for."""
    if shape is None or shape.left_end is None or shape.right_end is None:
        return span.left_mm, span.left_mm + length_mm
    left, right = shape.left_end, shape.right_end
    lo, hi = left.long_mm, left.surely_mm if left.square else left.short_mm
    least, most = right.surely_mm if right.square else right.short_mm, right.long_mm
    lo, hi = max(lo, least - length_mm), min(hi, most - length_mm)
    at = min(max(float(round((left.aim_mm + right.aim_mm - length_mm) / 2)), lo), max(lo, hi))
    return at, at + length_mm
