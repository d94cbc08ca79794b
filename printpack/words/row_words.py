"""What a row's page says beside its picture, line by line: for the printed page and for the phone alike.

The picture tells what is sawn and where. Lines below it say what the row starts with and what closes it; a line apart
stands only where something is out of the ordinary. What to do when a check fails is on one page, named here.
"""
from __future__ import annotations

from capture.language.messages import all_of, gettext, listed, marked, ngettext, worded
from layout.plan import Piece, Plan, Relaxed, Ring, Row
from printpack.words.tolerances import Fit, Reach
from printpack.words.cut_phrases import came_from, kept_for
from printpack.words.in_place import in_place
from printpack.job import PackJob
from printpack.drawing.frames import box_of, doorway_of, in_rows, is_first_in_room

#: What the page is called that says what to do then.
CHECK_PAGE = marked("When a check fails")
#: Sides this near a row's far edge lie on it, mm.
_ON_SEAM_MM = 0.05
#: The distance to the far wall is taken when every so many rows are down, and before the last few.
_EVERY, _LAST = 4, 3


def laying_order(job: PackJob, row: Row) -> tuple[Piece, ...]:
    """The row's pieces as they are laid."""
    return row.pieces if job.plan.lay == "left-to-right" else row.pieces[::-1]


def row_lines(job: PackJob, row: Row, fit: Fit) -> tuple[str, ...]:
    """At most two short lines: the whole boards between the row's ends, and how what closes it is measured."""
    order = laying_order(job, row)
    first = _between(row, order) if is_sawn(row) else gettext("Nothing to saw: {wood}.", wood=_wood(order))
    return tuple(text for text in (first, _closing(job, row, fit)) if text)


def _between(row: Row, order: tuple[Piece, ...]) -> str:
    """The row by its ends, where nothing but whole boards lies between them."""
    inner = order[1:-1]
    if not inner or len(row.runs) > 1 or any(piece.cuts or piece.takes for piece in inner):
        return ""
    return gettext("First {first}, {boards}, then {last}.", first=order[0].id, boards=_whole_boards(len(inner)),
                   last=order[-1].id)


def is_sawn(row: Row) -> bool:
    """Whether a saw is needed for the row at all."""
    return any(piece.cuts for piece in row.pieces)


def _wood(pieces: tuple[Piece, ...]) -> str:
    rests = sum(bool(piece.takes) for piece in pieces)
    told = [_whole_boards(len(pieces) - rests)] if rests < len(pieces) else []
    return listed([*told, *([ngettext("{count} offcut", "{count} offcuts", rests)] if rests else [])])


def _closing(job: PackJob, row: Row, fit: Fit) -> str:
    """How the pieces that close the row's stretches are measured before they are sawn; "" if none is."""
    rightwards = job.plan.lay == "left-to-right"
    runs = row.runs if rightwards else row.runs[::-1]
    closing = [(run.pieces[-1] if rightwards else run.pieces[0], len(run.pieces) > 1) for run in runs]
    measured = [(piece.id, joined) for piece, joined in closing if in_place(job, row, piece, fit).length is not None]
    joined, alone = (listed([name for name, other in measured if other is kind] or [""]) for kind in (True, False))
    if joined and alone:
        return gettext("Measure {joined} joint to spacer, {alone} spacer to spacer.", joined=joined, alone=alone)
    if joined:
        return gettext("Measure {pieces} joint to spacer.", pieces=joined)
    return gettext("Measure {pieces} spacer to spacer.", pieces=alone) if alone else ""


def _whole_boards(count: int) -> str:
    return ngettext("{count} whole board", "{count} whole boards", count)


def special_lines(job: PackJob, row: Row, fit: Fit) -> tuple[str, ...]:
    """What is out of the ordinary in this row; () mostly."""
    given = {relaxed.rule: [other for other in relaxed_in(job, row) if other.rule == relaxed.rule]
             for relaxed in relaxed_in(job, row)}
    return (*_where(job, row), *_from_other_rooms(job, row), *_for_other_rooms(job, row),
            *_lie_flat(row), *_shaped(row), *_ending(job, row, fit),
            *(_given_way(job, alike) for alike in given.values()))


def _where(job: PackJob, row: Row) -> list[str]:
    plan = job.plan
    lines = []
    door = doorway_of(plan, row)
    if door:
        lines.append(gettext("In the opening of door {door}.", door=door))
    if is_first_in_room(plan, row):
        lines.append(gettext("First row: lay your edge straight along a string."))
    if row.joined_by == row.number + 1:
        lines.append(gettext("Row {row} joins the stretches: try a whole board across first.", row=row.joined_by))
    if row is plan.rows[-1] and not door:
        lines.append(gettext("Last row: measure each board at both ends; pull bar."))
    return lines


def _from_other_rooms(job: PackJob, row: Row) -> list[str]:
    """Pieces made of an offcut that another room left."""
    came = ((piece, came_from(piece.takes, job.plan)) for piece in row.pieces if piece.takes)
    return [gettext("For {piece} take the offcut {label} from {floor}.", piece=piece.id, label=piece.takes,
                    floor=source.floor) for piece, source in came if source is not None]


def _for_other_rooms(job: PackJob, row: Row) -> list[str]:
    """Offcuts of the row that another room takes."""
    pieces = {piece.id for piece in row.pieces}
    return [gettext("Rest of {piece}: pencil {label} on it, {what}.", piece=offcut.cut_by, label=offcut.for_piece,
                    what=kept_for(offcut.goes_to)) for offcut in job.plan.offcuts
            if offcut.goes_to is not None and offcut.cut_by in pieces]


def _lie_flat(row: Row) -> list[str]:
    """Pieces that cannot be tilted in."""
    flat = [piece.id for piece in row.pieces if piece.flat]
    return [gettext("Lay {pieces} flat: lip planed off, glue, pull bar.", pieces=listed(flat))] if flat else []


def _shaped(row: Row) -> list[str]:
    """Cut-outs and pipes."""
    lines = []
    kinds = {cut.kind for piece in row.pieces for cut in piece.cuts}
    if kinds & {"notch", "line"}:
        lines.append(gettext("Tape each cut-out in place first."))
    holes = [cut for piece in row.pieces for cut in piece.cuts if cut.kind == "hole"]
    if any(not cut.kept for cut in holes):
        lines.append(gettext("Pipe at a joint: clamp both boards, drill them at once."))
    if any(cut.kept for cut in holes):
        lines.append(gettext("Pipe: drill, saw to the hole, glue the wedge back."))
    return lines


def _ending(job: PackJob, row: Row, fit: Fit) -> list[str]:
    """Closing pieces whose wood may end before their place does; what to do then is named once on a page."""
    ends = {piece.id: in_place(job, row, piece, fit).short_mm for run in row.runs
            for piece in (run.pieces[0], run.pieces[-1])}
    short = [name for name, wood in ends.items() if wood]
    if not short:
        return []
    if row_checks(job, row, fit):
        return [gettext("No wood to spare in {pieces}.", pieces=listed(short))]
    return [gettext("No wood to spare in {pieces}. Longer? “{page}”.", pieces=listed(short), page=worded(CHECK_PAGE))]


def relaxed_in(job: PackJob, row: Row) -> list[Relaxed]:
    """The rules that had to give way in this row or one of its pieces."""
    pieces = {piece.id for piece in row.pieces}
    return [gave for gave in job.plan.relaxed if gave.row == row.number or gave.where in pieces]


def _given_way(job: PackJob, alike: list[Relaxed]) -> str:
    """A rule that gave way in one or several places of the row, shortly: what was had and what was asked."""
    worst = min(alike, key=lambda relaxed: relaxed.had_mm)
    had, asked = job.units.length(worst.had_mm), job.units.length(worst.asked_mm)
    where = listed([relaxed.where.removeprefix("piece ") for relaxed in alike])
    if worst.rule == "sliver":
        return gettext("Thin strips come off {pieces}: plane or sand them off rather than saw.", pieces=where)
    exact, under = _GIVEN_WAY.get(worst.rule, _GIVEN_WAY[""])
    return worded(under if had == asked else exact, had=had, asked=asked, pieces=where)


#: By the rule that gave way: what is said where the figures tell what was had from what was asked, and where they are
#: the same figure.
_GIVEN_WAY = {
    "stagger": (marked("Joints {had}, not {asked}, apart here."), marked("Joints just under {asked} apart here.")),
    "shortest": (marked("{pieces}: short, {had}, not {asked}."), marked("{pieces}: short, just under {asked}.")),
    "narrowest": (marked("Narrow row: {had}, not {asked}."), marked("Narrow row: just under {asked}.")),
    "alike": (marked("Joints {had}, not {asked}, from those two rows before."),
              marked("Joints just under {asked} from those two rows before.")),
    "pipe-joint": (marked("A pipe's hole is {had}, not {asked}, from a joint: drill with care."),
                   marked("A pipe's hole is just under {asked} from a joint: drill with care.")),
    "notch-joint": (marked("A notch is {had}, not {asked}, from a joint: saw with care."),
                    marked("A notch is just under {asked} from a joint: saw with care.")),
    "": (marked("{pieces}: {had}, not {asked}."), marked("{pieces}: just under {asked}.")),
}


def row_checks(job: PackJob, row: Row, fit: Fit) -> tuple[str, ...]:
    """What to tape when the row is down: the distance left to the far wall, every fourth row and before the last
    three."""
    if not is_checked(job.plan, row):
        return ()
    return tuple(_far_wall(job, row, fit))


def is_checked(plan: Plan, row: Row) -> bool:
    """Whether the distance to the far wall is taken when this row is down."""
    left = len(plan.rows) - row.number
    return left > 0 and (row.number % _EVERY == 0 or left == _LAST)


def _far_wall(job: PackJob, row: Row, fit: Fit) -> list[str]:
    """The distance left, at the middle of the row's first and last piece, where its edge is a board's own and has
    floor before it."""
    units, found = job.units, []
    for piece in (row.pieces[0], row.pieces[-1])[:len(row.pieces)]:
        ring = in_rows(job.plan, piece.outline_mm)
        left, _, right, far = box_of(ring)
        if not _reaches_seam(ring, (left + right) / 2, row.far_mm):
            continue
        reach, expected = fit.to_far_wall((left + right) / 2, far), fit.drift.expected(row.number, (left + right) / 2)
        if reach and expected:
            found.append((expected, reach))
    if not found:
        return []
    marks = [units.bare(expected[0]) for expected, _ in found]
    said = marks[0] if len(marks) == 1 else gettext("{left} left, {right} right", left=marks[0], right=marks[1])
    off = units.spread(max(expected[1] for expected, _ in found))
    return [gettext("Your edge to {target}: {length}, {spread}. Off? “{page}”.",
                    target=_targets(job, [reach for _, reach in found]), length=said, spread=off,
                    page=worded(CHECK_PAGE))]


def _reaches_seam(ring: Ring, s: float, far_mm: float) -> bool:
    """Whether a piece's outline (row frame) runs along the row's far side at s: where it is sawn shorter no tape is
    laid to its edge."""
    return any(min(a[0], b[0]) < s < max(a[0], b[0]) and abs(a[1] - far_mm) < _ON_SEAM_MM
               and abs(b[1] - far_mm) < _ON_SEAM_MM for a, b in zip(ring, (*ring[1:], ring[0])))


def _targets(job: PackJob, reaches: list[Reach]) -> str:
    """What the tape meets first: the far wall, or an island by its name."""
    names = [next((gettext("the {island}", island=island.name) for island in job.floor.islands
                   if reach.edge[0] in island.corners), gettext("the wall")) for reach in reaches]
    return str(all_of(list(dict.fromkeys(names))))
