"""Sections that share pages: short lists one under the other, each whole on a page where it fits on one."""
from __future__ import annotations

from collections.abc import Sequence

from printpack.drawing.page_layout import Block, Page, column_width, heading, page_title, pages_of, room_mm
from printpack.paper import Paper

#: A title, and what stands under it.
Section = tuple[str, Sequence[Block]]


def flowing(sections: Sequence[Section], paper: Paper) -> tuple[Page, ...]:
    """Sections one after the other, each whole on a page where it fits on one."""
    width, room = column_width(paper), room_mm(paper)
    pages: list[Page] = []
    held: list[Section] = []
    for section in sections:
        if held and _tall(_stacked([*held, section], width), held[0][0], width) > room:
            pages += _bound(held, paper)
            held = []
        held.append(section)
    return (*pages, *_bound(held, paper))


def _tall(blocks: Sequence[Block], title: str, width: float) -> float:
    return page_title(title, width).height_mm + sum(block.height_mm for block in blocks)


def _stacked(sections: Sequence[Section], width: float) -> list[Block]:
    """The sections' blocks, all but the first under a heading."""
    (_, first), *more = sections
    return [*first, *(block for title, blocks in more for block in (heading(title, width), *blocks))]


def _bound(sections: Sequence[Section], paper: Paper) -> tuple[Page, ...]:
    return pages_of(_stacked(sections, column_width(paper)), paper, title=sections[0][0],
                    bookmark=", ".join(title for title, _ in sections))
