"""What a plan that followed the floor changes against the one before: rows whose page must be printed again, and
whether that can wait.

Boards along a wall are measured in their place, so how far that wall stands changes no piece that is sawn before: a
page is printed anew when such a row comes up, with all that is known by then, and not after every reading.
"""
from __future__ import annotations

from layout.plan import Cut, Piece, Plan, Row

#: Lengths and marks, and places along a board, that differ by less are sawn alike, mm.
SAWN_ALIKE_MM = 1.0
#: A row along a wall comes up when so many rows, at most, are still to be laid up to it.
ROWS_AHEAD = 3


def changed_rows(old: Plan, new: Plan, *, alike_mm: float = SAWN_ALIKE_MM) -> tuple[int, ...]:
    """Numbers of the new plan's rows whose page says another thing than the old one's, ascending; rows that are gone
    are not listed.

    alike_mm: lengths and marks that differ by less do not count.
    """
    before = {row.number: row for row in old.rows}
    return tuple(row.number for row in new.rows if row.number not in before
                 or not _alike(before[row.number], row, alike_mm))


def is_due(old: Plan, new: Plan, changed: tuple[int, ...], down: int, *, advised: bool,
           alike_mm: float = SAWN_ALIKE_MM) -> bool:
    """Whether the changed rows' pages are to be printed now. down: rows that are down; advised: something is asked of
    the fitter that will change the floor again, so more or fewer rows wait for that; alike_mm: as in `changed_rows`."""
    if len(new.rows) != len(old.rows) or (_too_narrow(new) - _too_narrow(old)):
        return not advised
    return any(number <= down + ROWS_AHEAD or not _only_sawn_along(old.rows[number - 1], new.rows[number - 1],
                                                                  alike_mm)
               for number in changed)


def saves_boards(old: Plan, new: Plan) -> bool:
    """Whether the new plan takes fewer boards."""
    return new.boards < old.boards


def sawn_along_a_wall(plan: Plan, row: int) -> bool:
    """Whether a row of the plan has pieces that are shaped along a wall."""
    return row <= len(plan.rows) and any(cut.kind in ("rip", "notch", "line") for piece in plan.rows[row - 1].pieces
                                         for cut in piece.cuts)


def _alike(old: Row, new: Row, alike_mm: float) -> bool:
    pieces, others = old.pieces, new.pieces
    return len(pieces) == len(others) and abs((old.far_mm - old.near_mm) - (new.far_mm - new.near_mm)) < alike_mm and \
        all(_same_piece(a, b, alike_mm) for a, b in zip(pieces, others))


def _same_piece(old: Piece, new: Piece, alike_mm: float) -> bool:
    named = (old.id, old.takes, old.leaves, old.keeps) == (new.id, new.takes, new.leaves, new.keeps)
    sizes = zip((old.from_mm, old.to_mm, old.near_mm, old.far_mm), (new.from_mm, new.to_mm, new.near_mm, new.far_mm))
    sized = all(abs(a - b) < alike_mm for a, b in sizes)
    return named and sized and len(old.cuts) == len(new.cuts) and all(_same_cut(a, b, alike_mm)
                                                                      for a, b in zip(old.cuts, new.cuts))


def _same_cut(old: Cut, new: Cut, alike_mm: float) -> bool:
    named = (old.kind, old.kept, old.pipe, len(old.shape)) == (new.kind, new.kept, new.pipe, len(new.shape))
    places = zip((*old.at, *old.centre, old.diameter), (*new.at, *new.centre, new.diameter))
    corners = ((a, b) for p, q in zip(old.shape, new.shape) for a, b in zip(p, q))
    return named and all(abs(a - b) < alike_mm for a, b in (*places, *corners))


def _only_sawn_along(old: Row, new: Row, alike_mm: float) -> bool:
    """Whether two rows are of the same pieces, cut to the same lengths of the same boards: they differ along a wall."""
    named = [[(piece.id, piece.takes, piece.leaves) for piece in row.pieces] for row in (old, new)]
    ends = zip(((piece.from_mm, piece.to_mm) for piece in old.pieces),
               ((piece.from_mm, piece.to_mm) for piece in new.pieces))
    return named[0] == named[1] and all(abs(a - b) < alike_mm for one, other in ends for a, b in zip(one, other))


def _too_narrow(plan: Plan) -> set[str]:
    return {rule.where for rule in plan.relaxed if rule.rule == "narrowest"}
