"""Tools as boxes to tick."""
from __future__ import annotations

from printpack.drawing.page_layout import BODY, Block, text_lines, tick_box
from printpack.drawing.sheet import Item


def tool_boxes(tools: list[str], width: float) -> Block:
    """Tick boxes in two columns."""
    wide, items, tall = width / 2, list[Item](), [0.0, 0.0]
    for k, tool in enumerate(tools):
        column = k % 2
        lines, used = text_lines(tool, column * wide + 8.0, tall[column], wide - 11.0)
        items += [tick_box(column * wide, tall[column] + 0.6, BODY), *lines]
        tall[column] += used + 1.8
    return Block(height_mm=max(tall), items=tuple(items))
