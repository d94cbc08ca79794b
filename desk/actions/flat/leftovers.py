"""What a floor that is being laid, or lies, leaves for the others: its offcuts as they really turned out."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from desk.actions.day import Day, day_of
from desk.actions.kept_plan import is_begun
from desk.jobfile.job import Job
from desk.problem import JobProblems
from layout.errors import LayoutError
from layout.flat.planner import Floor
from layout.plan import Offcut
from layout.replan.progress import held_pieces
from layout.room import Board, Elsewhere, OwnPiece


@dataclass(frozen=True, slots=True, kw_only=True)
class Leftover:
    """An offcut that no piece of its floor takes: what it is called on another floor, its length now, mm, the factory
    ends it keeps, and the piece it was sawn from."""

    label: str
    length_mm: float
    keeps: tuple[str, ...]
    piece: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Leaves:
    """What a begun floor leaves: its board and saw, and the offcuts by their labels."""

    board: Board
    kerf_mm: float
    offcuts: Mapping[str, Leftover]


def leaves_of(name: str, job: Job) -> Leaves | None:
    """What a floor leaves; None for one that is not begun, or whose day cannot be told."""
    if not is_begun(job):
        return None
    try:
        day = day_of(job)
    except (JobProblems, LayoutError):
        return None
    left = [_leftover(name, offcut, day) for offcut in day.plan.offcuts if not offcut.used_by]
    return Leaves(board=day.plan.board, kerf_mm=day.plan.kerf_mm,
                  offcuts={one.label: one for one in left if one is not None})


def with_leftovers(floors: list[Floor], left: Mapping[str, Leaves]) -> list[Floor]:
    """Floors to be planned with what begun floors leave at hand: it lies at the first that takes such boards, and all
    that share its boards may use it."""
    found = list(floors)
    for name, leaves in left.items():
        at = next((k for k, floor in enumerate(found) if floor.board == leaves.board and not floor.board.mix
                   and floor.wishes.pattern == "fewest"), None)
        if at is not None:
            pieces = tuple(OwnPiece(length_mm=one.length_mm, keeps=one.keeps, label=one.label,
                                    came_from=Elsewhere(floor=name, piece=one.piece))
                           for one in leaves.offcuts.values() if one.keeps)
            wishes = replace(found[at].wishes, stock=(*found[at].wishes.stock, *pieces))
            found[at] = replace(found[at], wishes=wishes)
    return found


def _leftover(name: str, offcut: Offcut, day: Day) -> Leftover | None:
    """An offcut as it came out, where the piece it is sawn from lies; as planned, where that is still to be sawn."""
    length = offcut.to_mm - offcut.from_mm
    if offcut.cut_by in {piece.id for piece in held_pieces(day.plan, day.now.held)}:
        spare = next((one for one in day.now.spares if one.label == offcut.label), None)
        if spare is None:
            return None
        length = spare.length_mm
    elif offcut.label in day.now.gone:
        return None
    return Leftover(label=offcut.for_piece or f"{name} {offcut.label}", length_mm=length, piece=offcut.cut_by,
                    keeps=tuple(end for end in ("left", "right") if end in offcut.keeps))
