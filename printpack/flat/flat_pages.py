"""The first pages of a flat's booklet: where the rooms lie, the order of work, one shopping list, what each bar of
beading is sawn into, and the offcuts that go from room to room."""
from __future__ import annotations

import re

from capture.language.dates import long_date
from capture.language.messages import gettext, ngettext
from layout.flat_plan import FlatBars
from layout.plan import BarPiece, Ring
from layout.words.purchases import sawn_words
from printpack.booklet.finishing import bar_head, bar_rows, bars_words
from printpack.booklet.lists import board_words
from printpack.booklet.safety import tool_points
from printpack.booklet.tools import tool_boxes
from printpack.drawing.metrics import shortened, text_width
from printpack.drawing.page_layout import (
    BODY, HEADING, SMALL, TITLE, Block, Page, column_width, continued, heading, pages_of, paragraph, point,
    table)
from printpack.drawing.sheet import MEDIUM, Item, Poly, Text
from printpack.flat.flat_job import FlatFloor, FlatPack
from printpack.paper import Paper
from printpack.units import Units, how_many

#: The plan of the flat on its first page, mm.
_DRAWING_MM = 95.0
#: A title is not cut shorter than this, mm.
_LEAST_NAME_MM = 14.0
#: Between groups of rooms that no doorway joins, as a share of the drawing.
_APART = 0.1


def first_pages(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """The flat with its rooms numbered as they are laid, the order of work and the doorways."""
    width = column_width(paper)
    blocks = [paragraph(gettext("Laying booklet for the flat, {day}. Each room has its own part, in the order they are "
                                "laid.", day=long_date(flat.date)), width), _drawing(flat, width),
              paragraph(gettext("Corners, pipes and doors begin with the number of their room: 2A is corner A of room "
                                "2. J1, J2, ... are jambs of openings that boards run through."), width),
              heading(gettext("Order of work"), width), *([paragraph(flat.order, width)] if flat.order else []),
              *(point(_work(flat, floor), width, lead=floor.numbered, tick=True) for floor in flat.floors)]
    if flat.doorways:
        blocks += [heading(gettext("Doorways"), width), *(point(text, width) for text in flat.doorways)]
    return pages_of(blocks, paper, bookmark=gettext("The flat"), title=_title(flat, width))


def _title(flat: FlatPack, width: float) -> str:
    """The flat's title, on two lines at most."""
    return shortened(flat.title, TITLE, 1.8 * width, bold=True)


def _work(flat: FlatPack, floor: FlatFloor) -> str:
    """What a floor takes, what it begins with and what it leaves."""
    plan = floor.job.plan
    came, goes = (sum(title == floor.title for title in titles) for titles in (
        (one.to_floor for one in flat.travels), (one.from_floor for one in flat.travels)))
    said = [gettext("{rows}, {boards}.", rows=ngettext("{count} row", "{count} rows", len(plan.rows)),
                    boards=ngettext("{count} new board", "{count} new boards", plan.boards))]
    if came:
        said.append(ngettext("Begin with {count} offcut of other rooms at hand.",
                             "Begin with {count} offcuts of other rooms at hand.", came))
    if goes:
        said.append(ngettext("Keep {count} offcut for other rooms.", "Keep {count} offcuts for other rooms.", goes))
    return " ".join(said)


def shopping_pages(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """What is bought once for all rooms, and the tools."""
    width, title = column_width(paper), gettext("Shopping list")
    rows = [(line.what, how_many(line.quantity, line.unit), line.why) for line in flat.shopping]
    head = (gettext("what"), gettext("how many"), gettext("why this many"))
    tools = list(dict.fromkeys(tool for floor in flat.floors for tool in tool_points(floor.job)))
    boards = dict.fromkeys((*flat.boards, *(board_words(floor.job) for floor in flat.floors)))
    blocks = [*(paragraph(text, width) for text in boards),
              *table(head, rows, (56.0, 26.0, width - 90.0), ticks=True),
              heading(gettext("Tools"), width), tool_boxes(tools, width)]
    return pages_of(blocks, paper, bookmark=title, title=title)


def bar_pages(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """What each bar of beading is sawn into, over all rooms."""
    width, units, title = column_width(paper), Units(flat.show), bars_title()
    floors = {floor.folder: floor for floor in flat.floors}
    blocks: list[Block] = []
    for bars in flat.bars:
        sawn = [[(_place(floors[name], piece), piece.length_mm) for name, piece in bar] for bar in bars.bars]
        lines = table(bar_head(), bar_rows(sawn, bars, units),
                      tuple((width - 8.0) * share for share in (0.1, 0.74, 0.16)), ticks=True)
        blocks += [paragraph(f"{bars_words(bars, units)} {_saved(bars)}".rstrip(), width), *lines]
    return pages_of(blocks, paper, bookmark=title, title=title) if blocks else ()


def bars_title() -> str:
    """What the list of bars is called."""
    return gettext("Bars of beading for all rooms")


def _saved(bars: FlatBars) -> str:
    """That fewer bars do than room by room; "" where they do not."""
    fewer = bars.alone - len(bars.bars)
    return ngettext("Sawn room by room it would be {count} bar more.",
                    "Sawn room by room it would be {count} bars more.", fewer) if fewer else ""


def _place(floor: FlatFloor, piece: BarPiece) -> str:
    """The room and wall that a length is for; a wall between two jambs by its floor."""
    numbers = [int(told[0]) for corner in piece.where.split("-") if (told := re.match(r"[0-9]+", corner))]
    room = floor.rooms.get(numbers[0], floor.title) if numbers else floor.title
    return gettext("{room}, wall {wall}", room=room, wall=sawn_words(piece))


def carried_pages(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """The offcuts that go from room to room, on pages of their own."""
    width, title, blocks = column_width(paper), carried_title(), carried_blocks(flat, paper)
    return pages_of(blocks, paper, bookmark=title, title=title,
                    again=lambda k: continued(title, width, blocks[1])) if blocks else ()


def carried_title() -> str:
    """What their list is called."""
    return gettext("Offcuts carried from room to room")


def carried_blocks(flat: FlatPack, paper: Paper) -> list[Block]:
    """The same by what is pencilled on them; nothing where none are carried."""
    if not flat.travels:
        return []
    width, units = column_width(paper), Units(flat.show)
    rows = [(one.label, units.length(one.length_mm), gettext("{room}, piece {piece}", room=one.from_floor,
                                                             piece=one.cut_by),
             gettext("{room}, row {row}", room=one.to_floor, row=one.used_by.partition(".")[0]))
            for one in flat.travels]
    head = (gettext("pencil"), gettext("length"), gettext("sawn from"), gettext("keep for"))
    lines = table(head, rows, tuple((width - 8.0) * share for share in (0.24, 0.18, 0.30, 0.28)), ticks=True)
    says = paragraph(gettext("Pencilled on the face as soon as it is sawn; ticked when it is laid."), width)
    return [says, *lines]


def _drawing(flat: FlatPack, width: float) -> Block:
    """The rooms side by side with their numbers and titles; groups that no doorway joins beside one another."""
    placed: list[tuple[int, str, Ring]] = []
    at = 0.0
    for group in flat.groups:
        xs = [x for _, _, ring in group for x, _ in ring]
        low = min(y for _, _, ring in group for _, y in ring)
        placed += [(number, title, tuple((at + x - min(xs), y - low) for x, y in ring))
                   for number, title, ring in group]
        at += (max(xs) - min(xs)) * (1.0 + _APART)
    across, up = (max(point[axis] for _, _, ring in placed for point in ring) for axis in (0, 1))
    scale = min((width - 2.0) / across, _DRAWING_MM / up)
    items: list[Item] = []
    for number, title, ring in placed:
        drawn = tuple((1.0 + scale * x, scale * (up - y)) for x, y in ring)
        items += [Poly(points=drawn, pen=MEDIUM), *_name(number, title, drawn)]
    return Block(height_mm=scale * up + 5.0, items=tuple(items))


def _name(number: int, title: str, drawn: Ring) -> list[Item]:
    """A room's number, large, and its title under it, cut short where the room is narrower."""
    x, y = (sum(point[axis] for point in drawn) / len(drawn) for axis in (0, 1))
    wide = max(px for px, _ in drawn) - min(px for px, _ in drawn) - 3.0
    size = BODY if text_width(title, BODY) <= wide else SMALL
    return [Text((x, y), str(number), HEADING, "middle", True),
            Text((x, y + 1.4 * size), shortened(title, size, max(wide, _LEAST_NAME_MM)), size, "middle")]
