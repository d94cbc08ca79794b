"""How sure the survey is, how the plan was chosen, and which corner is which. Doors are said on their own page."""
from __future__ import annotations

from dataclasses import replace

from capture.language.messages import gettext, marked, worded
from layout.facts.notes import LaidFlat, OfADoor
from layout.plan import Plan
from printpack.booklet.corner_photos import PHOTO_TITLE, corner_photo_pages, photo_grid
from printpack.drawing.page_layout import (
    BOTTOM_MM, FOOT_MM, SIDE_MM, Block, Page, column_width, heading, page_title, pages_of, paragraph, point, room_mm,
    table)
from printpack.job import PackJob
from printpack.paper import Paper

SURVEY_TITLE = marked("How sure the survey is")
#: Photos lower than this together get a page of their own; room for their heading, mm.
_LEAST_PHOTOS_MM, _PHOTO_TITLE_MM = 75.0, 14.0
#: Columns of the walls: name, length, plus-minus; twice side by side.
WALL_SHARES = (0.13, 0.22, 0.15)


def survey_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Notes, every wall with its plus-minus, pipes, how the plan was chosen; then the corners' photos, on the
    same page if there is room."""
    width, title = column_width(paper), worded(SURVEY_TITLE)
    blocks = survey_blocks(job, width)
    room = room_mm(paper) - sum(block.height_mm for block in (page_title(title, width), *blocks)) - _PHOTO_TITLE_MM
    if not job.photos or room < _LEAST_PHOTOS_MM:
        return (*pages_of(blocks, paper, bookmark=title, title=title), *corner_photo_pages(job, paper))
    (page,) = pages_of([*blocks, heading(worded(PHOTO_TITLE), width)], paper, bookmark=title, title=title)
    top = paper.height_mm - BOTTOM_MM - FOOT_MM - room
    items, pictures = photo_grid(job.photos, (SIDE_MM, top, width, room))
    return (replace(page, items=(*page.items, *items), pictures=pictures),)


def survey_blocks(job: PackJob, width: float) -> list[Block]:
    """What the page says, but for the photos."""
    area, pm = job.floor.area()
    exact = not job.floor.cov_mm2.any()
    blocks = [paragraph(gettext("The floor was typed in and is taken as exact.") if exact else gettext(
        "Each ± below holds 95 times in 100, if the readings were made with care."), width)]
    blocks += [point(note, width) for note in job.survey_notes]
    blocks += [heading(gettext("Walls"), width)]
    blocks += _walls(job, width, exact)
    blocks += [paragraph(gettext("Floor area {area}.", area=job.units.area(area, pm)), width)]
    blocks += _pipes(job, width)
    blocks += _decisions(job, width)
    return blocks


def _walls(job: PackJob, width: float, exact: bool) -> list[Block]:
    """Every wall with its plus-minus, unless the floor is exact; down the page on the left, then on the right."""
    cells = [(gettext("{a} to {b}", a=wall.a, b=wall.b), job.units.length(wall.length_mm),
              "" if exact else job.units.spread(wall.pm95_mm)) for wall in job.floor.walls()]
    half = (len(cells) + 1) // 2
    right = [*cells[half:], *[("", "", "")] * (2 * half - len(cells))]
    return table((gettext("wall"), gettext("length"), "±") * 2, [a + b for a, b in zip(cells[:half], right)],
                 tuple(width * share for share in WALL_SHARES * 2))


def _pipes(job: PackJob, width: float) -> list[Block]:
    """What was typed of the pipes."""
    if not job.room.pipes:
        return []
    pipes = ", ".join(f"{pipe.name} {job.units.fine(pipe.diameter_mm)}" for pipe in job.room.pipes)
    return [paragraph(gettext("Pipes, measured across: {pipes}.", pipes=pipes), width)]


def _decisions(job: PackJob, width: float) -> list[Block]:
    """Why the rows lie as they do, and what had to give way."""
    plan, said = job.plan, job.said
    blocks = [heading(gettext("How the plan was chosen"), width)]
    blocks += [point(text, width) for text in said.reasons]
    blocks += [point(_bound(plan, said.bound.rstrip(".")), width)]
    blocks += [point(text, width, lead=gettext("A rule that had to give way")) for text in said.gave_way]
    # Doors and pieces laid flat are told on their own pages.
    notes = (text for note, text in zip(plan.notes, said.notes) if not isinstance(note, OfADoor | LaidFlat))
    blocks += [point(text, width, lead=gettext("Note")) for text in dict.fromkeys((*said.profiles, *notes))]
    return blocks


def _bound(plan: Plan, reason: str) -> str:
    """How few boards any plan needs, and how many this one takes."""
    told = {"reason": reason, "least": plan.bound, "boards": plan.boards}
    if plan.board.mix:
        return gettext("{reason}: {least} boards in {packs} packs at least. This plan uses {boards}.",
                       packs=plan.least_packs, **told)
    return gettext("{reason}: {least} boards at least. This plan uses {boards}.", **told)
