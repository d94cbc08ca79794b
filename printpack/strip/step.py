"""What is sawn, step by step, as facts: the wood on the bench, what comes off, and each distance from the side it is
measured from.

A piece that is sawn takes one step for its length, one for its width, one for its cut-outs and one for its pipes, in
the order a saw takes them; each starts from what the step before left. Board frame, mm: x along from the board's left
end, y across from its wall edge (near), as `layout.plan` has it.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

from layout.plan import Point, Ring
from layout.room import Elsewhere

#: Two places nearer than this are one, mm.
ONE_MM = 0.6
#: An end less out of square than this over the board's width takes a tape's hook, mm.
SQUARE_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """A distance from an end or edge of the wood to a mark: from `start` to `end` in the drawing, `mm` on the tape.

    lane: where its arrow is drawn: "above" or "below" the board, at its "left" or "right" end, or "by" the mark itself;
    of neighbours in one drawing at each "joint", or "under" each piece.
    reach_mm: between which lengths it may come out when it is taped in place, None if it is not.
    """

    start: Point
    end: Point
    mm: float
    lane: str
    reach_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pencil:
    """What is pencilled on a rest: the piece it will be ("" a spare), the end of it that stays, and where it lies.
    goes_to: the piece of another room that it will be."""

    to: str
    stays: str
    left: float
    right: float
    goes_to: Elsewhere | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A hole: centre, diameter, mm, and the side its two wedge cuts run to ("" none)."""

    centre: Point
    diameter: float
    to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One saw step of a piece, or of several pieces alike (`pieces`: their ids).

    kind: "length", "fit" (nothing comes off), "width", "widths" (of neighbours; `joints`: the places along where one
    ends and the next begins), "shape" or "holes". first: whether it starts from the board or offcut as taken; takes: ""
    for a new board. wood: the outline it starts from. lines: where the saw goes. off: what comes off. pm_mm: how far
    its figures may differ from the place, 0 if they stand. template: names of the templates that show it.
    """

    pieces: tuple[str, ...]
    kind: str
    first: bool
    takes: str
    wood: Ring
    lines: tuple[Ring, ...] = ()
    off: tuple[Ring, ...] = ()
    tapes: tuple[Tape, ...] = ()
    pencils: tuple[Pencil, ...] = ()
    bores: tuple[Bore, ...] = ()
    pm_mm: float = 0.0
    template: tuple[str, ...] = ()
    joints: tuple[float, ...] = ()


def alike(steps: list[Step]) -> list[Step]:
    """Steps that follow one another and differ in their piece's name only, joined."""
    joined: list[Step] = []
    for step in steps:
        last = joined[-1] if joined else None
        if last and replace(last, pieces=()) == replace(step, pieces=()) and not step.pencils and not step.takes:
            joined[-1] = replace(last, pieces=(*last.pieces, *step.pieces))
        else:
            joined.append(step)
    return joined


def is_plain(step: Step) -> bool:
    """Whether a step is one square crosscut whose measured stretch stays, or none: its one figure then stands in the
    wood."""
    if step.kind == "fit":
        return True
    if step.kind != "length" or len(step.tapes) != 1 or len(step.lines) != 1:
        return False
    tape = step.tapes[0]
    middle = (tape.start[0] + tape.end[0]) / 2
    return not any(min(x for x, _ in ring) < middle < max(x for x, _ in ring) for ring in step.off)
