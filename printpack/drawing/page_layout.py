"""Blocks stacked into pages: the booklet's grid.

A block is a height and items in its own frame (mm, origin at its top left, y down). `pages_of` puts blocks under one
another between the margins and starts a new page when the next one does not fit, repeating the page's heading.
Type sizes in mm: 11 pt for reading, 14 pt and more for figures used on the floor, never under 9 pt.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from capture.language.messages import gettext, lazy_gettext
from printpack.errors import PrintError
from printpack.drawing.metrics import ASCENT, shortened, text_width, wrapped
from printpack.paper import Paper
from printpack.drawing.sheet import FINE, HAIR, Item, Line, Picture, Sheet, Text, moved, rectangle

POINT_MM = 25.4 / 72
SMALL = 9 * POINT_MM
BODY = 11 * POINT_MM
FIGURE = 14 * POINT_MM
HEADING = 16 * POINT_MM
TITLE = 26 * POINT_MM
LEADING = 1.28

#: Left and right edges of the text, mm; a little wider than the printable margin, for thumbs and clips.
SIDE_MM = 12.0
TOP_MM = 12.0
BOTTOM_MM = 12.0
FOOT_MM = 7.0
#: Room behind a table, before what follows, mm.
AFTER_TABLE = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Items that stay together. `sticks`: must not be the last on its page (a heading)."""

    height_mm: float
    items: tuple[Item, ...] = ()
    sticks: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page's items before its footer is known, the pictures under them, and its line in the outline. lies: turned,
    wider than tall; short: with a footer of few words; part: of the booklet, named in the footer."""

    items: tuple[Item, ...]
    bookmark: str = ""
    pictures: tuple[Picture, ...] = ()
    lies: bool = False
    short: bool = False
    part: str = ""


def column_width(paper: Paper) -> float:
    """Width of the text column, mm."""
    return paper.width_mm - 2 * SIDE_MM


def room_mm(paper: Paper) -> float:
    """Height for blocks on a page, its title among them, mm."""
    return paper.height_mm - TOP_MM - BOTTOM_MM - FOOT_MM


def text_lines(text: str, x: float, y: float, width: float, *, size: float = BODY, bold: bool = False,
               grey: float = 0.0, leading: float = LEADING) -> tuple[tuple[Text, ...], float]:
    """(lines of wrapped text whose first line's top is at y, height used)."""
    step = leading * size
    lines = tuple(Text((x, y + k * step + ASCENT * size + (step - size) / 2), line, size, bold=bold, grey=grey)
                  for k, line in enumerate(wrapped(text, size, width, bold=bold)))
    return lines, step * len(lines)


def paragraph(text: str, width: float, *, size: float = BODY, bold: bool = False, after: float = 2.0,
              indent: float = 0.0, sticks: bool = False) -> Block:
    """A wrapped paragraph with a little space after it."""
    lines, height = text_lines(text, indent, 0.0, width - indent, size=size, bold=bold)
    return Block(height_mm=height + after, items=lines, sticks=sticks)


def heading(text: str, width: float) -> Block:
    """A section heading with a rule under it."""
    lines, height = text_lines(text, 0.0, 3.0, width, size=HEADING, bold=True)
    rule = Line((0.0, height + 4.0), (width, height + 4.0), FINE)
    return Block(height_mm=height + 6.5, items=(*lines, rule), sticks=True)


def point(text: str, width: float, *, lead: str = "", tick: bool = False, size: float = BODY, after: float = 1.8,
          leading: float = LEADING) -> Block:
    """A list point: a dash or a tick box, an optional bold lead, and the text beside it."""
    inset = 8.0 if tick else 5.0
    items: list[Item] = [tick_box(0.0, 0.6 + (leading * (size - BODY)) / 2,
                                  4.2)] if tick else [Text((0.6, ASCENT * size + 0.17 * size), "–", size)]
    y = 0.0
    if lead:
        bold, used = text_lines(lead, inset, y, width - inset, size=size, bold=True, leading=leading)
        items += bold
        y += used
    lines, used = text_lines(text, inset, y, width - inset, size=size, leading=leading)
    return Block(height_mm=y + used + after, items=(*items, *lines))


def tick_box(x: float, y: float, side: float = 5.0) -> Item:
    """An empty box for a pencil tick."""
    return rectangle(x, y, side, side, pen=FINE, layer="tick")


def space(height: float) -> Block:
    """Empty room."""
    return Block(height_mm=height)


def stacked(blocks: Iterable[Block]) -> Block:
    """Blocks joined into one that stays together."""
    items: list[Item] = []
    y = 0.0
    for block in blocks:
        items += [moved(item, 0.0, y) for item in block.items]
        y += block.height_mm
    return Block(height_mm=y, items=tuple(items))


def abreast(columns: Sequence[Block], width: float, between: float) -> Block:
    """Blocks of the same width beside one another, in one that stays together."""
    step = (width + between) / len(columns)
    return Block(height_mm=max(column.height_mm for column in columns),
                 items=tuple(moved(item, k * step, 0.0) for k, column in enumerate(columns) for item in column.items))


def table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]], widths: tuple[float, ...], *, size: float = BODY,
          right: frozenset[int] = frozenset(), ticks: bool = False) -> list[Block]:
    """A plain ruled table, one block a line; its head sticks to the first line. `right`: columns set flush right.

    With `ticks` every line starts with a tick box (the widths then leave 8 mm for it).
    """
    blocks = [_table_line(head, widths, size=size, bold=True, right=right, tick=False, inset=8.0 if ticks else 0.0)]
    blocks += [_table_line(row, widths, size=size, bold=False, right=right, tick=ticks, inset=8.0 if ticks else 0.0)
               for row in rows]
    return [*blocks[:-1], replace(blocks[-1], height_mm=blocks[-1].height_mm + AFTER_TABLE)]


def _table_line(cells: tuple[str, ...], widths: tuple[float, ...], *, size: float, bold: bool, right: frozenset[int],
                tick: bool, inset: float) -> Block:
    items: list[Item] = []
    x, tallest, pad = inset, 0.0, 2.0
    for column, (cell, width) in enumerate(zip(cells, widths)):
        lines, used = text_lines(cell, x, 0.9, width - pad, size=size, bold=bold)
        if column in right:
            lines = tuple(Text((x + width - pad, line.at[1]), line.text, size, "end", bold) for line in lines)
        items += lines
        x, tallest = x + width, max(tallest, used)
    height = tallest + 1.8
    items.append(Line((0.0, height), (x, height), FINE if bold else HAIR))
    if tick:
        items.append(tick_box(0.4, (height - 4.6) / 2, 4.6))
    return Block(height_mm=height, items=tuple(items), sticks=bold)


def pages_of(blocks: Iterable[Block], paper: Paper, *, bookmark: str = "", title: str = "",
             again: Callable[[int], Block] | None = None) -> tuple[Page, ...]:
    """Blocks stacked down the pages. `title` heads the first page; `again(k)` heads continuation page k (from 2).

    Raises PrintError (page-too-small) for a block taller than a page.
    """
    width = column_width(paper)
    opening = page_title(title, width) if title else space(0.0)
    follow = again or (lambda k: page_title(_continued(title), width) if title else space(0.0))
    room = room_mm(paper)
    groups = _groups(list(blocks))
    pages: list[list[Block]] = [[opening]]
    used = opening.height_mm
    for group in groups:
        tall = sum(block.height_mm for block in group)
        if used + tall > room and len(pages[-1]) > 1:
            pages.append([follow(len(pages) + 1)])
            used = pages[-1][0].height_mm
        if used + tall > room + 1e-6:
            raise PrintError("page-too-small", lazy_gettext(
                "One entry is {tall:.0f} mm tall and {paper} leaves {left:.0f} mm: choose a larger paper.", tall=tall,
                paper=paper.name, left=room - used), where="paper")
        pages[-1] += group
        used += tall
    return tuple(Page(items=tuple(moved(item, SIDE_MM, TOP_MM) for item in stacked(page).items),
                      bookmark=bookmark if number == 0 else "") for number, page in enumerate(pages))


def _groups(blocks: list[Block]) -> list[list[Block]]:
    """Blocks with the headings that stick to them."""
    groups: list[list[Block]] = []
    waiting: list[Block] = []
    for block in blocks:
        waiting.append(block)
        if not block.sticks:
            groups.append(waiting)
            waiting = []
    return groups + ([waiting] if waiting else [])


def page_title(text: str, width: float) -> Block:
    """The large title of a page."""
    lines, height = text_lines(text, 0.0, 0.0, width, size=TITLE, bold=True)
    return Block(height_mm=height + 3.0, items=lines)


def continued(title: str, width: float, head: Block) -> Block:
    """The top of a table's next page: its title and its head line again."""
    return stacked((page_title(_continued(title), width), head))


def _continued(title: str) -> str:
    return gettext("{title} (continued)", title=title)


def bound(pages: Iterable[Page], paper: Paper, *, foot: str, short: str = "") -> tuple[Sheet, ...]:
    """Pages as sheets, each with a footer: the booklet's name and "page 3 of 40", or the `short` one and
    "3/40"."""
    every = tuple(pages)
    return tuple(_footed(page, paper.turned if page.lies else paper,
                         _foot(page, short if page.short and short else foot),
                         f"{number}/{len(every)}" if page.short else
                         gettext("page {number} of {count}", number=number, count=len(every)))
                 for number, page in enumerate(every, start=1))


def _foot(page: Page, foot: str) -> str:
    return f"{page.part} · {foot}" if page.part else foot


def _footed(page: Page, paper: Paper, foot: str, folio: str) -> Sheet:
    y = paper.height_mm - BOTTOM_MM
    room = column_width(paper) - text_width(folio, SMALL) - 8.0
    items = (*page.items, Line((SIDE_MM, y - 4.6), (paper.width_mm - SIDE_MM, y - 4.6), HAIR),
             Text((SIDE_MM, y), shortened(foot, SMALL, room), SMALL),
             Text((paper.width_mm - SIDE_MM, y), folio, SMALL, "end"))
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, items=items, bookmark=page.bookmark,
                 pictures=page.pictures)
