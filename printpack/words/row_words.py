"""What a row's page says, sentence by sentence: for the printed page and for the phone alike.

Each sentence stands alone. `large` marks what is read off while measuring or sawing: it holds a length, a label or a
template.
"""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Piece, Relaxed, Ring, Row
from layout.words.rules import relaxed_words
from printpack.words.tolerances import Fit, Reach
from printpack.words.in_place import in_place_words
from printpack.job import PackJob
from printpack.drawing.frames import box_of, doorway_of, in_rows, is_first_in_room, row_width
from printpack.words.cut_phrases import cut_words, keeps_words, listed, offcut_words, take_words

#: Sides this near a row's far edge lie on it, mm.
_ON_SEAM_MM = 0.05


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence."""

    text: str
    large: bool = True
    bold: bool = False


def row_facts(job: PackJob, row: Row) -> tuple[Said, ...]:
    """What holds for the whole row."""
    plan, units = job.plan, job.units
    pieces = row.pieces
    fresh = sum(not piece.takes for piece in pieces)
    first, last = ("left", "right") if plan.lay == "left-to-right" else ("right", "left")
    door = doorway_of(plan, row)
    facts = [
        Said(f"{_count(len(pieces), 'piece')}: {_count(fresh, 'new board')}, {_count(len(pieces) - fresh, 'offcut')}."
             f" Lay from {first} to {last}, facing the start wall.", large=False)]
    facts += [Said(f"This row lies in the opening of door {door}.", large=False)] if door else []
    if len(row.runs) > 1:
        facts.append(Said(f"The row is broken: it has {len(row.runs)} separate stretches.", large=False))
    if row_width(row) < plan.board.width_mm - 0.5:
        facts.append(
            Said(f"Narrow row: {units.length(row_width(row))} of a board's {units.fine(plan.board.width_mm)}."))
    facts.append(Said(f"Spacers: {units.length(plan.gap_mm)} at both ends"
                      f"{', two a board along the start wall' if is_first_in_room(plan, row) else ''}."))
    return (*facts, *(Said(relaxed_words(gave, job.show)) for gave in _relaxed(job, row)))


def _relaxed(job: PackJob, row: Row) -> list[Relaxed]:
    """The rules that had to give way in this row or one of its pieces."""
    pieces = {piece.id for piece in row.pieces}
    return [gave for gave in job.plan.relaxed if gave.row == row.number or gave.where in pieces]


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number or 'no'} {what}s"


def laying_order(job: PackJob, row: Row) -> tuple[Piece, ...]:
    """The row's pieces as they are laid."""
    return row.pieces if job.plan.lay == "left-to-right" else row.pieces[::-1]


def at_wall(row: Row, piece: Piece) -> bool:
    """Whether a piece is the first or last of its run."""
    return any(piece in (run.pieces[0], run.pieces[-1]) for run in row.runs)


def above_row(job: PackJob, row: Row) -> str:
    """What lies on the near side of a row."""
    if row.number == 1:
        door = doorway_of(job.plan, row)
        return f"threshold of door {door}" if door else "START WALL"
    joins = f"joins row {row.number - 1}"
    return f"START WALL; {joins} in the doorway" if is_first_in_room(job.plan, row) else joins


def pencil_words(job: PackJob, piece: Piece) -> tuple[str, ...]:
    """Labels to pencil on the offcuts this piece leaves, and where they go."""
    leaves = {offcut.label: offcut for offcut in job.plan.offcuts}
    return tuple(f"Pencil {label} on the offcut: {offcut_words(leaves[label], job.units)}." for label in piece.leaves
                 if label in leaves)


def piece_words(job: PackJob, row: Row, piece: Piece, templates: tuple[str, ...], fit: Fit) -> tuple[Said, ...]:
    """What to take, each cut, the templates, what to expect, which click stays. `templates`: their names."""
    straight = [cut for cut in piece.cuts if cut.kind in ("cross", "rip")]
    shaped = [cut for cut in piece.cuts if cut.kind in ("notch", "line", "hole")]
    lines = [Said(f"Take {take_words(piece, job.plan, job.units)}" + ("" if piece.cuts else ", lay it whole"),
                  bold=True)]
    if sum(cut.kind == "cross" for cut in piece.cuts) > 1:
        lines.append(Said("Mark both ends before you saw.", large=False, bold=True))
    lines += [Said(cut_words(cut, job.plan, piece, job.units)) for cut in straight + shaped]
    if templates:
        lines.append(Said(f"Use template {listed(list(templates))}", bold=True))
    lines += [Said(text) for text in in_place_words(job, row, piece, fit)]
    return (*lines, *([Said(keeps_words(piece) + ".", large=False)] if piece.cuts else []))


def row_checks(job: PackJob, row: Row, fit: Fit) -> tuple[str, ...]:
    """What to look at when the row is down."""
    plan, units = job.plan, job.units
    texts = _far_wall(job, row, fit) if row is not plan.rows[-1] else []
    if is_first_in_room(plan, row):
        texts.append("The row is straight (string or long straightedge): every later row follows it.")
    ends_at_wall = row is plan.rows[-1] or any(cut.kind == "rip" and cut.kept == "near" for piece in row.pieces
                                               for cut in piece.cuts)
    where = "at both ends and along the far wall" if ends_at_wall else "at both ends"
    gap = units.length(plan.gap_most_mm)
    if plan.gap_least_mm < plan.gap_most_mm:
        gap = f"{units.bare(plan.gap_least_mm)} to {gap}"
    texts.append(f"All joints closed, no edge stands proud; the gap is {gap} {where}.")
    if row.number > 1:
        given = " but for the rule named at the top of this page" if _relaxed(job, row) else ""
        texts.append(f"End joints stand at least {units.length(plan.rules.stagger_mm)} from those of row "
                     f"{row.number - 1}{given}.")
    return tuple(texts)


def _far_wall(job: PackJob, row: Row, fit: Fit) -> list[str]:
    """The distance left, at the middle of the row's first and last piece, where its far edge is a board's own and
    has floor before it."""
    units, found = job.units, []
    for piece in (row.pieces[0], row.pieces[-1])[:len(row.pieces)]:
        ring = in_rows(job.plan, piece.outline_mm)
        left, _, right, far = box_of(ring)
        if not _reaches_seam(ring, (left + right) / 2, row.far_mm):
            continue
        reach, expected = fit.to_far_wall((left + right) / 2, far), fit.drift.expected(row.number, (left + right) / 2)
        if reach and expected:
            found.append((f"{units.length(expected[0])} {units.spread(expected[1])} at the middle of {piece.id}",
                          reach))
    if not found:
        return []
    return [f"Far edge to {_targets(job, [reach for _, reach in found])}: {', '.join(words for words, _ in found)}."
            " Outside that, stop and check."]


def _reaches_seam(ring: Ring, s: float, far_mm: float) -> bool:
    """Whether a piece's outline (row frame) runs along the row's far side at s: where it is sawn shorter no tape is
    laid to its edge."""
    return any(min(a[0], b[0]) < s < max(a[0], b[0]) and abs(a[1] - far_mm) < _ON_SEAM_MM
               and abs(b[1] - far_mm) < _ON_SEAM_MM for a, b in zip(ring, (*ring[1:], ring[0])))


def _targets(job: PackJob, reaches: list[Reach]) -> str:
    """What the tape meets first: the far wall, or an island by its name."""
    names = [next((f"the {island.name}" for island in job.floor.islands if reach.edge[0] in island.corners), "the wall")
             for reach in reaches]
    return " and ".join(dict.fromkeys(names))
