"""How the booklet draws a board: factory sides, saw lines, waste. One look everywhere, and the key that explains it.

Board frame: mm, (0, 0) the board's left end at its near edge; x right, y down on paper (near edge at the top).
"""
from __future__ import annotations

from layout.plan import Cut, Offcut, Piece, Plan, Ring
from printpack.drawing.page_layout import BODY, FIGURE, SMALL, Block
from printpack.drawing.hatch import hatch
from printpack.drawing.metrics import CAP, text_width
from printpack.drawing.frames import View, in_board, label_spot, stock_of
from printpack.drawing.sheet import Box, FINE, HAIR, NONE, Circle, Item, Line, Pen, Point, Poly, Text, rectangle
from printpack.units import Units
from printpack.words.cut_phrases import is_one

_FACTORY = Pen(0.9)
_FIGURE_ROOM = 8.0
_SAW = Pen(0.45, 0.0, (1.6, 1.0))


def board_picture(plan: Plan, piece: Piece, left: float, top: float, width: float,
                  units: Units) -> tuple[tuple[Item, ...], float]:
    """(the board with the piece in it, its height): piece white, rest hatched, cut distances above. Width in paper
    mm."""
    scale = width / plan.board.length_mm
    stock = stock_of(plan, piece)
    crosses = [cut for cut in piece.cuts if cut.kind == "cross"]
    figures = _FIGURE_ROOM if crosses else 1.0
    view = View(scale=scale, x_mm=left, y_mm=top + figures - scale * stock[1])
    rings = in_board(plan, piece)
    stock_ring = ((stock[0], stock[1]), (stock[2], stock[1]), (stock[2], stock[3]), (stock[0], stock[3]))
    items: list[Item] = list(hatch(tuple(view.ring(r) for r in (stock_ring, *rings)), spacing_mm=1.6))
    items.append(Poly(view.ring(stock_ring), HAIR))
    items += [Poly(view.ring(ring), FINE, 1.0 if k == 0 else 0.85) for k, ring in enumerate(rings)]
    items += _sides(view, piece)
    items += [Circle(view.at(cut.centre), scale * cut.diameter / 2, FINE, 0.85) for cut in piece.cuts
              if cut.kind == "hole"]
    items += _middle_label(view.ring(rings[0]), piece.id)
    for offcut in plan.offcuts:
        if offcut.label in piece.leaves:
            items += _offcut_label(view, offcut)
    tall = scale * (stock[3] - stock[1])
    for cut, y in zip(crosses, (top + figures - 1.8, top + figures + tall + _FIGURE_ROOM - 1.8)):
        items += _cross_figure(view, cut, stock, y, units, (left, left + width))
    return tuple(items), figures + tall + (_FIGURE_ROOM if len(crosses) > 1 else 0.0)


def _sides(view: View, piece: Piece) -> list[Item]:
    """Factory ends as heavy bars, saw lines dashed."""
    items: list[Item] = []
    a, b = view.at((piece.from_mm, piece.near_mm)), view.at((piece.to_mm, piece.far_mm))
    if "left" in piece.keeps:
        items.append(Line((a[0], a[1]), (a[0], b[1]), _FACTORY, "factory"))
    if "right" in piece.keeps:
        items.append(Line((b[0], a[1]), (b[0], b[1]), _FACTORY, "factory"))
    return items


def _middle_label(ring: Ring, name: str) -> list[Item]:
    for size in (BODY, SMALL):
        spot = label_spot(ring, text_width(name, size, bold=True) + 1.0, CAP * size + 0.8)
        if spot:
            return [Text((spot[0], spot[1] + CAP * size / 2), name, size, "middle", True)]
    return []


def _offcut_label(view: View, offcut: Offcut) -> list[Item]:
    (x0, y0), (x1, y1) = view.at((offcut.from_mm, offcut.near_mm)), view.at((offcut.to_mm, offcut.far_mm))
    wide = text_width(offcut.label, SMALL, bold=True) + 1.6
    if wide > x1 - x0 or SMALL * CAP + 0.8 > y1 - y0:
        return []
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    return [rectangle(cx - wide / 2, cy - SMALL * 0.62, wide, SMALL * 1.24, pen=NONE, fill=1.0),
            Text((cx, cy + CAP * SMALL / 2), offcut.label, SMALL, "middle", True)]


def _cross_figure(view: View, cut: Cut, stock: Box, y: float, units: Units, within: tuple[float, float]) -> list[Item]:
    """The distance from the end it is measured from to a crosscut, as a dimension line at height y."""
    mean = (cut.at[0] + cut.at[1]) / 2
    end, saw = (stock[0], stock[0] + mean) if cut.kept == "left" else (stock[2], stock[2] - mean)
    return dimension((view.at((end, 0.0))[0], y), (view.at((saw, 0.0))[0], y), _range_words(cut.at, units),
                     within=within)


def _range_words(at: tuple[float, float], units: Units) -> str:
    if is_one(at, units):
        return units.bare((at[0] + at[1]) / 2)
    return f"{units.bare(at[0])} / {units.bare(at[1])}"


def dimension(start: Point, end: Point, words: str, *, within: tuple[float, float], size: float = FIGURE) -> list[Item]:
    """A level dimension line with arrow heads and its figure above the middle, pushed inside `within` (left, right)."""
    (x0, y), (x1, _) = (start, end) if start[0] <= end[0] else (end, start)
    heads = [Poly(((x0, y), (x0 + 1.8, y - 0.6), (x0 + 1.8, y + 0.6)), NONE, 0.0),
             Poly(((x1, y), (x1 - 1.8, y - 0.6), (x1 - 1.8, y + 0.6)), NONE, 0.0)]
    half = text_width(words, size, bold=True) / 2
    middle = min(max((x0 + x1) / 2, within[0] + half), within[1] - half)
    return [Line((x0, y), (x1, y), FINE), *heads, Text((middle, y - 1.0), words, size, "middle", True)]


def legend(width: float) -> Block:
    """The key at the foot of a row's page."""
    y = 2.6
    items: list[Item] = [rectangle(0.0, 0.4, 8.0, 4.4, pen=FINE), Line((0.0, 0.4), (0.0, 4.8), _FACTORY),
                         Text((10.0, y + 1.2), "heavy end: factory end, it clicks", SMALL),
                         *hatch((((65.0, 0.4), (73.0, 0.4), (73.0, 4.8), (65.0, 4.8)),), spacing_mm=1.6),
                         rectangle(65.0, 0.4, 8.0, 4.4, pen=HAIR), Text((75.0, y + 1.2), "hatched: sawn off", SMALL),
                         Text((106.0, y + 1.2), "NEAR edge = towards the start wall (top)", SMALL)]
    return Block(height_mm=6.0, items=tuple(items))
