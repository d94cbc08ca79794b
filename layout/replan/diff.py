"""What a plan that followed the floor changes against the one before: rows whose page must be printed again."""
from __future__ import annotations

from layout.plan import Cut, Piece, Plan, Row

#: Lengths and marks that differ by less are sawn alike, mm.
SAWN_ALIKE_MM = 1.0


def changed_rows(old: Plan, new: Plan, *, alike_mm: float = SAWN_ALIKE_MM) -> tuple[int, ...]:
    """Numbers of the new plan's rows whose page says another thing than the old one's, ascending; rows that are gone
    are not listed.

    alike_mm: lengths and marks that differ by less do not count.
    """
    before = {row.number: row for row in old.rows}
    return tuple(row.number for row in new.rows if row.number not in before
                 or not _alike(before[row.number], row, alike_mm))


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
