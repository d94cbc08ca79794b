"""The cut list as a table for other programs: one line a cut, in the order a row's page draws them, and one line for a
piece that needs none.

Comma separated, every cell in quotes, UTF-8 with a byte order mark in the file, a header line, dots as decimal marks,
mm to three decimals. Shapes are "x y" pairs joined with semicolons. `stock_from_mm` and `stock_to_mm` say where the
stock lay in its board: a crosscut's distances count from one of its ends (`kept`). A notch lies along the side `kept`
from `at_first_mm` to `at_second_mm` (from the board's left end or near edge), `deep_mm` into the board.
`from_mm`..`far_mm` are the piece's place in its board, `left_mm`/`top_mm` its place in the row frame.
"""
from __future__ import annotations

from collections.abc import Iterator

from layout.plan import Cut, Piece, Plan, Row
from printpack.drawing.frames import box_of, in_rows, stock_of
from printpack.outputs.spreadsheet import safe_cell, table_text
from printpack.strip.rest_first import as_sawn

COLUMNS = ("row", "run", "piece", "board", "takes", "stock_from_mm", "stock_to_mm", "left_mm", "top_mm", "from_mm",
           "to_mm", "near_mm", "far_mm", "keeps", "cut", "kept", "at_first_mm", "at_second_mm", "deep_mm", "shape_mm",
           "centre_x_mm", "centre_y_mm", "diameter_mm", "pipe", "templates", "leaves")


def cuts_csv(plan: Plan, templates: dict[str, tuple[str, ...]]) -> str:
    """The whole plan's cuts, in laying order of rows. `templates`: names by piece id."""
    return table_text(_lines(plan, templates))


def _lines(plan: Plan, templates: dict[str, tuple[str, ...]]) -> Iterator[tuple[object, ...]]:
    yield COLUMNS
    for row in plan.rows:
        for number, run in enumerate(row.runs, start=1):
            for piece in run.pieces:
                for cut in as_sawn(plan, piece).cuts or (None,):
                    yield (*_piece(plan, row, number, piece), *_cut(cut), " ".join(templates.get(piece.id, ())),
                           safe_cell(" ".join(piece.leaves)))


def _piece(plan: Plan, row: Row, run: int, piece: Piece) -> tuple[object, ...]:
    left, top, _, _ = box_of(in_rows(plan, piece.outline_mm))
    stock = stock_of(plan, piece)
    places = (stock[0], stock[2], left, top, piece.from_mm, piece.to_mm, piece.near_mm, piece.far_mm)
    return (row.number, run, piece.id, piece.board, safe_cell(piece.takes), *map(_mm, places), " ".join(piece.keeps))


def _cut(cut: Cut | None) -> tuple[object, ...]:
    if cut is None:
        return ("none", *("",) * 9)
    placed = cut.kind in ("cross", "rip", "notch")
    hole = cut.kind == "hole"
    shape = "; ".join(f"{_mm(x)} {_mm(y)}" for x, y in cut.shape)
    return (cut.kind, cut.kept, _mm(cut.at[0]) if placed else "", _mm(cut.at[1]) if placed else "",
            _mm(cut.deep) if cut.kind == "notch" else "", shape, _mm(cut.centre[0]) if hole else "",
            _mm(cut.centre[1]) if hole else "", _mm(cut.diameter) if hole else "", safe_cell(cut.pipe))


def _mm(value: float) -> str:
    return f"{round(value, 3) + 0.0:.3f}"
