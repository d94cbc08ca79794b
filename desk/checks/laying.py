"""What can be told to be wrong with boards, wishes, pipes, doors and the printer's rulers before anything is solved."""
from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from capture.language.messages import all_of, gettext
from desk.checks.named_order import no_walls
from desk.convert import PACK, THICKNESS_MM, no_board, no_pipe_place, to_board, to_paper_scale, to_wishes
from desk.jobfile.job import Job
from desk.jobfile.kinds import Pair
from desk.jobfile.laying_entries import BoardEntry, DoorEntry
from desk.names import outline_of, placed_points
from desk.problem import Problem
from desk.readings import mentions_of
from layout.errors import LayoutError
from layout.validation import (
    LONGEST_BOARD_MM, NARROWEST_BOARD_MM, SHORTEST_BOARD_MM, THICKEST_MM, THINNEST_MM, WIDEST_BOARD_MM,
    WIDEST_CASING_MM, check_wishes)
from printpack.errors import PrintError

WIDEST_PIPE_MM = 500.0
#: Below this a gap is worth a word (8 to 10 mm is usual in the trade: trade fact sheet, section 2).
NARROW_GAP_MM = 5.0
#: What two lengths may disagree by because they were typed in fractions of an inch.
ROUNDED_MM = 1.0
_INCH_MM = 25.4


def laying_problems(job: Job) -> Iterator[Problem]:
    """Everything wrong with what is to be laid and what stands in its way."""
    board = job.flooring.board
    if board is None:
        yield no_board("note")
    else:
        yield from _board(board)
    yield from _wishes(job)
    yield from _pipes(job)
    yield from _doors(job)
    try:
        to_paper_scale(job)
    except PrintError as error:
        yield _note(error.slug, error.where, str(error))


def _stop(slug: str, where: str, says: str) -> Problem:
    return Problem(slug=slug, where=where, says=says, stage="plan")


def _note(slug: str, where: str, says: str) -> Problem:
    return Problem(slug=slug, where=where, says=says, severity="note", stage="plan")


def _board(board: BoardEntry) -> Iterator[Problem]:
    """Sizes no board has, all of them, and what is assumed where the job says nothing."""
    sizes = (("length", gettext("length"), board.length_mm, SHORTEST_BOARD_MM, LONGEST_BOARD_MM),
             ("width", gettext("width"), board.width_mm, NARROWEST_BOARD_MM, WIDEST_BOARD_MM),
             ("thickness", gettext("thickness"), board.thickness_mm, THINNEST_MM, THICKEST_MM))
    for key, what, size, least, most in sizes:
        if size is not None and not least <= size <= most:
            yield _stop("board-size", f"{board.where}.{key}", gettext(
                "The board's {what} is {size:g} mm, but boards have {least:g} to {most:g} mm{other_unit}; write it in "
                "millimetres, as printed on the pack.", what=what, size=size, least=least, most=most,
                other_unit=_other_unit(size, least, most)))
    if SHORTEST_BOARD_MM <= board.length_mm < board.width_mm <= WIDEST_BOARD_MM:
        yield _stop("board-size", board.where, gettext(
            "The board is wider ({width:g} mm) than long ({length:g} mm); swap the two.", width=board.width_mm,
            length=board.length_mm))
    yield from _mix(board)
    if board.pack is None and not board.lengths:
        yield _note("pack-assumed", board.where, gettext(
            "The job does not say how many boards are in a pack; {pack} is assumed, so check the label.", pack=PACK))
    if board.thickness_mm is None:
        yield _note("thickness-assumed", board.where, gettext(
            "The job does not say how thick the boards are; {thickness:g} mm is assumed.", thickness=THICKNESS_MM))


def _mix(board: BoardEntry) -> Iterator[Problem]:
    """Packs of several lengths whose other figures say something else; the lengths themselves are looked at with the
    wishes."""
    if not board.lengths:
        return
    longest, count = max(length for length, _ in board.lengths), sum(count for _, count in board.lengths)
    if board.length_mm != longest:
        yield _stop("board-lengths", f"{board.where}.length", gettext(
            "The board's length is {length:g} mm, but the longest of the lengths listed is {longest:g} mm; correct "
            "the list, or leave the length out.", length=board.length_mm, longest=longest))
    if board.pack is not None and board.pack != count:
        yield _stop("board-lengths", f"{board.where}.pack", gettext(
            "A pack is said to hold {pack} boards, but the lengths listed add up to {count}; count one pack and "
            "correct the list.", pack=board.pack, count=count))


def _other_unit(size: float, least: float, most: float) -> str:
    """What the number would be in mm if it was meant in inches, centimetres or metres; "" if none makes sense."""
    units = (("cm", 10.0), (gettext("inches"), _INCH_MM), ("m", 1000.0))
    readings = [gettext("{size:g} {unit} would be {mm:g}", size=size, unit=name, mm=size * unit)
                for name, unit in units if least <= size * unit <= most]
    return f" ({all_of(readings)})" if readings else ""


def _wishes(job: Job) -> Iterator[Problem]:
    """Rules, gap and saw that no floor of this board can have, and walls the rows cannot go by."""
    wish, board = job.flooring, job.flooring.board
    if board is not None and not any(problem.severity == "stop" for problem in _board(board)):
        try:
            check_wishes(to_wishes(job), to_board(job))
        except LayoutError as error:
            yield _stop(error.slug, error.where, str(error))
    if wish.gap_mm is not None and wish.gap_mm < NARROW_GAP_MM:
        yield _note("narrow-gap", "flooring.gap", gettext(
            "The gap at the walls is only {gap:g} mm; a floating floor needs room to swell, 8 to 10 mm as a rule.",
            gap=wish.gap_mm))
    wished = [(wall, f"flooring.{what}") for what, wall in (("direction", wish.along), ("start", wish.start)) if wall]
    yield from no_walls(job, wished, stage="plan")


def _pipes(job: Job) -> Iterator[Problem]:
    """Pipes nobody placed, two of one name, absurd ones."""
    placed = placed_points(job) | (set() if job.floor else {name for name, _ in mentions_of(job)})
    for name, times in Counter(pipe.name for pipe in job.pipes).items():
        if times > 1:
            yield _stop("double-name", "pipes", gettext(
                "{times} pipes are called {name}; give each a name of its own.", times=times, name=name))
    for pipe in job.pipes:
        if pipe.name not in placed:
            yield replace(_stop("no-pipe-place", pipe.where, no_pipe_place(pipe.name)), name=pipe.name)
        if pipe.diameter_mm > WIDEST_PIPE_MM:
            yield _stop("absurd-pipe", f"{pipe.where}.diameter", gettext(
                "Pipe {name} is {diameter:g} mm across; write its diameter in millimetres, 15 for a usual radiator "
                "pipe.", name=pipe.name, diameter=pipe.diameter_mm))


def _doors(job: Job) -> Iterator[Problem]:
    """Doors in walls that are none, two of one name, two in one place; casings traced larger than any."""
    for name, times in Counter(door.name for door in job.doors).items():
        if times > 1:
            yield _stop("double-name", "doors", gettext(
                "{times} doors are called {name}; give each a name of its own.", times=times, name=name))
    yield from no_walls(job, [(door.wall, door.where) for door in job.doors], stage="plan")
    for door in job.doors:
        reach = [max(map(abs, sizes)) for _, ring in door.legs for sizes in zip(*ring)]
        if max(reach, default=0.0) > WIDEST_CASING_MM:
            yield _stop("absurd-casing", f"{door.where}.casing.legs", gettext(
                "The casing of door {name} is said to be {width:g} by {thickness:g} mm; type its width along the wall "
                "and its thickness in millimetres.", name=door.name, width=max(reach[::2]), thickness=max(reach[1::2])))
    for one, other in combinations(job.doors, 2):
        shared = _shared_mm(job, one, other)
        if shared > ROUNDED_MM:
            yield _stop("doors-overlap", other.where, gettext(
                "Doors {name} and {other} overlap by {shared:.0f} mm on wall {a}-{b}; measure where each "
                "begins, from the same corner.", name=one.name, other=other.name, shared=shared, a=one.wall[0],
                b=one.wall[1]))


def _shared_mm(job: Job, one: DoorEntry, other: DoorEntry) -> float:
    """How much of their wall two doors share. Doors measured from opposite ends are compared if the wall's length is
    typed or given."""
    if frozenset(one.wall) != frozenset(other.wall):
        return 0.0
    begin = other.from_mm
    if one.wall != other.wall:
        length = _wall_length_mm(job, one.wall)
        if length is None:
            return 0.0
        begin = length - other.from_mm - other.width_mm
    return min(one.from_mm + one.width_mm, begin + other.width_mm) - max(one.from_mm, begin)


def _wall_length_mm(job: Job, wall: Pair) -> float | None:
    """Length of a wall as the given floor has it, or as it was taped; None if it is only known once the floor is
    solved."""
    if job.floor is not None:
        at = dict(zip(outline_of(job), job.floor.outline_mm))
        return math.dist(at[wall[0]], at[wall[1]]) if wall[0] in at and wall[1] in at else None
    return next((tape.length_mm for tape in job.tapes if frozenset(tape.between) == frozenset(wall)), None)
