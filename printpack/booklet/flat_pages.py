"""The pages of a flat before its rooms' own: where the rooms lie, the order of work, one shopping list, and the offcuts
that go from room to room."""
from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from capture.language.dates import long_date
from capture.language.messages import gettext, ngettext
from layout.flat_plan import Travel
from layout.plan import Ring
from layout.words.purchases import Line as Purchase
from printpack.booklet.safety import tool_points
from printpack.booklet.tools import tool_boxes
from printpack.drawing.page_layout import (
    BODY, HEADING, Block, Page, column_width, continued, heading, pages_of, paragraph, point, table)
from printpack.drawing.sheet import MEDIUM, Item, Poly, Text
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import Units, how_many

#: The plan of the flat on its first page, mm.
_DRAWING_MM = 95.0
#: Between groups of rooms that no doorway joins, as a share of the drawing.
_APART = 0.1


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlatPack:
    """A flat ready to print: its floors in the order of laying, each a job of its own; the outlines of the rooms that
    hang together, by name, each group in a frame of its own, mm; what is said of order, doorways and boards; one
    shopping list; and the offcuts that go from floor to floor."""

    title: str
    show: str
    date: datetime.date
    floors: tuple[tuple[str, PackJob], ...]
    groups: tuple[tuple[tuple[str, Ring], ...], ...]
    order: str
    doorways: tuple[str, ...]
    boards: tuple[str, ...]
    shopping: tuple[Purchase, ...]
    travels: tuple[Travel, ...]


def flat_pages(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """What is read before the first room."""
    return (*_first(flat, paper), *_shopping(flat, paper), *_carried(flat, paper))


def of_floor(pages: Sequence[Page], name: str) -> tuple[Page, ...]:
    """A floor's own pages as a part of the flat's booklet: named in footer and outline."""
    return tuple(replace(page, part=name, bookmark=gettext("{room}: {page}", room=name, page=page.bookmark)
                         if page.bookmark else "") for page in pages)


def _first(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    width = column_width(paper)
    blocks = [paragraph(gettext("Laying booklet for the flat, {day}. Each room has its own part, in the order they are "
                                "laid.", day=long_date(flat.date)), width), _drawing(flat, width),
              paragraph(gettext("Corners, pipes and doors begin with the number of their room: 2A is corner A of room "
                                "2. J1, J2, ... are jambs of openings that boards run through."), width),
              heading(gettext("Order of work"), width), *([paragraph(flat.order, width)] if flat.order else []),
              *(point(f"{number}. {_work(flat, name, job)}", width, tick=True)
                for number, (name, job) in enumerate(flat.floors, start=1))]
    if flat.doorways:
        blocks += [heading(gettext("Doorways"), width), *(point(text, width) for text in flat.doorways)]
    return pages_of(blocks, paper, bookmark=gettext("The flat"), title=flat.title)


def _work(flat: FlatPack, name: str, job: PackJob) -> str:
    """What a floor takes, what it begins with and what it leaves."""
    came, goes = (sum(floor == name for floor in floors) for floors in (
        (one.to_floor for one in flat.travels), (one.from_floor for one in flat.travels)))
    said = [gettext("{room}: {rows}, {boards}.", room=name,
                    rows=ngettext("{count} row", "{count} rows", len(job.plan.rows)),
                    boards=ngettext("{count} new board", "{count} new boards", job.plan.boards))]
    if came:
        said.append(ngettext("Begin with {count} offcut of other rooms at hand.",
                             "Begin with {count} offcuts of other rooms at hand.", came))
    if goes:
        said.append(ngettext("Keep {count} offcut for other rooms.", "Keep {count} offcuts for other rooms.", goes))
    return " ".join(said)


def _shopping(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """What is bought once for all rooms, and the tools."""
    width, title = column_width(paper), gettext("Shopping list")
    rows = [(line.what, how_many(line.quantity, line.unit), line.why) for line in flat.shopping]
    head = (gettext("what"), gettext("how many"), gettext("why this many"))
    tools = list(dict.fromkeys(tool for _, job in flat.floors for tool in tool_points(job)))
    blocks = [*(paragraph(text, width) for text in flat.boards),
              *table(head, rows, (56.0, 26.0, width - 90.0), ticks=True),
              heading(gettext("Tools"), width), tool_boxes(tools, width)]
    return pages_of(blocks, paper, bookmark=title, title=title)


def _carried(flat: FlatPack, paper: Paper) -> tuple[Page, ...]:
    """The offcuts that go from room to room, by what is pencilled on them."""
    if not flat.travels:
        return ()
    width, units, title = column_width(paper), Units(flat.show), gettext("Offcuts carried from room to room")
    rows = [(one.label, units.length(one.length_mm), gettext("{room}, piece {piece}", room=one.from_floor,
                                                             piece=one.cut_by),
             gettext("{room}, row {row}", room=one.to_floor, row=one.used_by.partition(".")[0]))
            for one in flat.travels]
    head = (gettext("pencil"), gettext("length"), gettext("sawn from"), gettext("keep for"))
    lines = table(head, rows, tuple((width - 8.0) * share for share in (0.24, 0.18, 0.30, 0.28)), ticks=True)
    says = paragraph(gettext("Pencilled on the face as soon as it is sawn; ticked when it is laid."), width)
    return pages_of([says, *lines], paper, bookmark=title, title=title,
                    again=lambda k: continued(title, width, lines[0]))


def _drawing(flat: FlatPack, width: float) -> Block:
    """The rooms side by side with their names; groups that no doorway joins beside one another."""
    placed: list[tuple[str, Ring]] = []
    at = 0.0
    for group in flat.groups:
        xs = [x for _, ring in group for x, _ in ring]
        low = min(y for _, ring in group for _, y in ring)
        placed += [(name, tuple((at + x - min(xs), y - low) for x, y in ring)) for name, ring in group]
        at += (max(xs) - min(xs)) * (1.0 + _APART)
    across, up = (max(point[axis] for _, ring in placed for point in ring) for axis in (0, 1))
    scale = min((width - 2.0) / across, _DRAWING_MM / up)
    items: list[Item] = []
    for name, ring in placed:
        drawn = tuple((1.0 + scale * x, scale * (up - y)) for x, y in ring)
        items.append(Poly(points=drawn, pen=MEDIUM))
        middle = (sum(x for x, _ in drawn) / len(drawn), sum(y for _, y in drawn) / len(drawn))
        items.append(Text(middle, name, HEADING if scale * across > 100.0 else BODY, "middle"))
    return Block(height_mm=scale * up + 5.0, items=tuple(items))
