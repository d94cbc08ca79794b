"""Rows that begin apart, on both sides of a breast or round a hearth, and the row that joins their stretches: all are
strung to one line until then (common practice, no source). Row frame, mm."""
from __future__ import annotations

from dataclasses import replace

from shapely.geometry import Polygon

from layout.plan import Row
from layout.frame import Frame

#: Stretches touch where they share so much of a seam, and lie this near to it, mm.
LEAST_SEAM_MM, AT_SEAM_MM = 2.0, 0.1

#: A stretch: its row's place in the list and its own in the row.
Stretch = tuple[int, int]


def with_joining_rows(rows: tuple[Row, ...], frame: Frame) -> tuple[Row, ...]:
    """The rows, those told of a joining row whose stretches no row laid before holds in line."""
    if all(len(row.runs) == 1 for row in rows):
        return tuple(replace(row, joined_by=0) for row in rows)
    reach = {(k, i): _reach(rows, k, i, frame) for k, row in enumerate(rows) for i in range(len(row.runs))}
    part = {stretch: stretch for stretch in reach}
    waiting: dict[int, int] = {}
    for k, row in enumerate(rows):
        for i in range(len(row.runs)):
            for j in range(len(rows[k - 1].runs)) if k else ():
                if _touch(reach[k, i], reach[k - 1, j]):
                    part[_root(part, (k, i))] = _root(part, (k - 1, j))
        for earlier in [other for other in waiting if not waiting[other]]:
            if len(_parts(part, rows, earlier)) == 1:
                waiting[earlier] = row.number
        if len(_parts(part, rows, k)) > 1:
            waiting[k] = 0
    return tuple(replace(row, joined_by=waiting.get(k, 0)) for k, row in enumerate(rows))


def _parts(part: dict[Stretch, Stretch], rows: tuple[Row, ...], k: int) -> set[Stretch]:
    """The parts of the floor laid so far that a row's stretches belong to."""
    return {_root(part, (k, i)) for i in range(len(rows[k].runs))}


def _root(part: dict[Stretch, Stretch], stretch: Stretch) -> Stretch:
    while part[stretch] != stretch:
        stretch = part[stretch]
    return stretch


def _reach(rows: tuple[Row, ...], k: int, i: int, frame: Frame) -> list[tuple[float, float, float, float]]:
    return [frame.shape_to_row(Polygon(piece.outline_mm)).bounds for piece in rows[k].runs[i].pieces]


def _touch(first: list[tuple[float, float, float, float]], second: list[tuple[float, float, float, float]]) -> bool:
    return any(min(a[2], b[2]) - max(a[0], b[0]) > LEAST_SEAM_MM and abs(a[1] - b[3]) < AT_SEAM_MM
               for a in first for b in second)
