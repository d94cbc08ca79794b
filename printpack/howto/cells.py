"""Cells of a page: a name with its words beside it; or a name, a drawing and a few words, two beside each other."""
from __future__ import annotations

from collections.abc import Iterable

from printpack.drawing.metrics import widest_word
from printpack.drawing.page_layout import BODY, FIGURE, Block, text_lines, tick_box
from printpack.drawing.sheet import FINE, Item, Line, moved
from printpack.howto.draw import drawn
from printpack.howto.scene import WIDTH, Scene

GUTTER = 8.0
_LEADING = 1.2
_TICK_MM = 8.0
#: Between a name and its text, mm.
_NAME_GAP = 2.0
_TOP, _UNDER_NAME, _UNDER_PICTURE, _AFTER = 1.6, 1.2, 0.8, 2.4


def cell_width(width: float) -> float:
    """Of one of two cells beside each other, mm."""
    return (width - GUTTER) / 2


def cell(name: str, scene: Scene | None, words: tuple[str, ...], wide: float, *, size: float = BODY) -> Block:
    """A rule, the name, the drawing as wide as the cell, paragraphs of that size."""
    lines, used = text_lines(name, 0.0, _TOP, wide, size=FIGURE, bold=True)
    items: list[Item] = [Line((0.0, 0.0), (wide, 0.0), FINE), *lines]
    y = _TOP + used + _UNDER_NAME
    if scene is not None:
        picture, _, tall = drawn(scene, wide / WIDTH)
        items += [moved(item, 0.0, y) for item in picture]
        y += tall + _UNDER_PICTURE
    for text in words:
        said, used = text_lines(text, 0.0, y, wide, size=size, leading=_LEADING)
        items += said
        y += used + _AFTER / 2
    return Block(height_mm=y + _AFTER / 2, items=tuple(items))


def beside(cells: list[Block], width: float, least_mm: float = 0.0) -> Block:
    """One or two cells beside each other, `least_mm` tall at least."""
    wide = cell_width(width)
    items = [moved(item, k * (wide + GUTTER), 0.0) for k, each in enumerate(cells) for item in each.items]
    return Block(height_mm=max(least_mm, *(each.height_mm for each in cells)), items=tuple(items))


def names_width(names: Iterable[str], usual_mm: float) -> float:
    """Width of a column of bold names, mm: the usual one, or more where a word is longer."""
    return max([usual_mm, *(widest_word(name, BODY, bold=True) + _NAME_GAP for name in names)])


def named(name: str, text: str, width: float, names_mm: float, *, tick: bool = False) -> Block:
    """A bold name and its text beside it, a tick box before both if asked; without a name the text takes the whole
    width."""
    inset = _TICK_MM if tick else 0.0
    left = inset + (names_mm if name else 0.0)
    names, tall = text_lines(name, inset, 0.0, names_mm - _NAME_GAP, bold=True, leading=_LEADING) if name else ((), 0.0)
    lines, used = text_lines(text, left, 0.0, width - left, leading=_LEADING)
    items: list[Item] = [tick_box(0.0, 0.4, BODY)] if tick else []
    return Block(height_mm=max(tall, used) + 1.6, items=(*items, *names, *lines))
