"""How to lay, on two pages: a drawing a step with a few words under it, two beside each other."""
from __future__ import annotations

from collections.abc import Sequence

from capture.language.messages import gettext, marked, worded
from printpack.howto.cells import beside, cell, cell_width
from printpack.drawing.page_layout import BODY, FIGURE, Block, Page, column_width, page_title, pages_of, room_mm
from printpack.howto.steps import Needs, Step, needs_of, steps_for
from printpack.job import PackJob
from printpack.paper import Paper

HOW_TITLE = marked("How to lay")
_PAIRS = 3


def how_to_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Two pages, the words as large as fits. Steps for pipes and broken rows only where the plan has them."""
    return steps_pages(how_to_steps(job), paper)


def steps_pages(steps: Sequence[Step], paper: Paper) -> tuple[Page, ...]:
    """The same of these steps."""
    width, title = column_width(paper), worded(HOW_TITLE)
    wide = cell_width(width)
    tall = (room_mm(paper) - page_title(title, width).height_mm) / _PAIRS
    cells: list[Block] = []
    for size in (FIGURE, (FIGURE + BODY) / 2, BODY):
        cells = [cell(step.name, step.scene, (step.words,), wide, size=size) for step in steps]
        if all(each.height_mm <= tall for each in cells):
            break
    pairs = [beside(cells[k:k + 2], width, tall - 1e-6) for k in range(0, len(cells), 2)]
    pages: list[Page] = []
    for start in range(0, len(pairs), _PAIRS):
        pages += pages_of(pairs[start:start + _PAIRS], paper, bookmark="" if start else title,
                          title=gettext("{title} (continued)", title=title) if start else title)
    return tuple(pages)


def how_to_steps(job: PackJob) -> tuple[Step, ...]:
    """The steps this job needs."""
    return steps_for(job.plan, needs_of_job(job), job.units)


def needs_of_job(job: PackJob) -> Needs:
    """What a job asks for beyond the basics."""
    return needs_of(job.plan, casings=any(door.casing for door in job.room.doors))
