"""How to lay, on two pages: a drawing a step with a few words beside it, two beside each other."""
from __future__ import annotations

from printpack.drawing.page_layout import BODY, FIGURE, Block, Page, column_width, pages_of, text_lines
from printpack.drawing.sheet import FINE, Item, Line, moved
from printpack.howto.draw import drawn
from printpack.howto.scene import WIDTH
from printpack.howto.steps import Step, needs_of, steps_for
from printpack.job import PackJob
from printpack.paper import Paper

_TITLE = "How to lay"
_GUTTER = 8.0
_ON_ONE_PAGE = 6
_LEADING = 1.2


def how_to_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Two pages. Steps for pipes, casings and broken rows only where the plan has them."""
    width, steps = column_width(paper), how_to_steps(job)
    pages: list[Page] = []
    for start in range(0, len(steps), _ON_ONE_PAGE):
        here = steps[start:start + _ON_ONE_PAGE]
        pages += pages_of([_pair(here[k:k + 2], width) for k in range(0, len(here), 2)], paper,
                          bookmark="" if start else _TITLE, title=f"{_TITLE} (continued)" if start else _TITLE)
    return tuple(pages)


def how_to_steps(job: PackJob) -> tuple[Step, ...]:
    """The steps this job needs."""
    return steps_for(job.plan, needs_of(job.plan, casings=any(door.casing for door in job.room.doors)), job.units)


def _pair(steps: tuple[Step, ...], width: float) -> Block:
    """Two steps beside each other."""
    wide = (width - _GUTTER) / 2
    cells = [_cell(step, wide) for step in steps]
    items = [moved(item, k * (wide + _GUTTER), 0.0) for k, cell in enumerate(cells) for item in cell.items]
    return Block(height_mm=max(cell.height_mm for cell in cells), items=tuple(items))


def _cell(step: Step, wide: float) -> Block:
    """Its name, its drawing, its words."""
    name, y = text_lines(step.name, 0.0, 1.6, wide, size=FIGURE, bold=True)
    picture, _, tall = drawn(step.scene, wide / WIDTH)
    top = 1.6 + y + 1.2
    words, used = text_lines(step.words, 0.0, top + tall + 0.8, wide, size=BODY, leading=_LEADING)
    items: list[Item] = [Line((0.0, 0.0), (wide, 0.0), FINE), *name, *(moved(item, 0.0, top) for item in picture), *words]
    return Block(height_mm=top + tall + 0.8 + used + 2.4, items=tuple(items))
