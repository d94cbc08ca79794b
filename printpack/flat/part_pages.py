"""A floor's part in the booklet of a flat: its plan, its day with the pages where all else is told, its rows, and what
is done after them. Short lists share a page."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from capture.language.messages import gettext, listed, worded
from printpack.booklet.check_page import check_points
from printpack.booklet.corner_photos import corner_photo_pages
from printpack.booklet.cover_page import cover_page
from printpack.booklet.day_page import DAY_TITLE, check_blocks, room_day_pages, summary_points
from printpack.booklet.finishing import FINISHING_TITLE, finishing_blocks
from printpack.booklet.lists import offcut_blocks, offcuts_title
from printpack.booklet.row_page import row_page
from printpack.booklet.safety import preparation_points, safety_points
from printpack.booklet.survey_page import SURVEY_TITLE, survey_blocks
from printpack.drawing.metrics import shortened
from printpack.drawing.page_layout import SMALL, Page, column_width, heading, paragraph, point
from printpack.flat.common_pages import Common
from printpack.flat.flat_job import FlatFloor
from printpack.flat.sections import Section, flowing
from printpack.howto.door_page import DOORS_TITLE, door_pages
from printpack.howto.how_to_page import HOW_TITLE, how_to_pages
from printpack.howto.under_page import under_pages
from printpack.paper import Paper
from printpack.words.tolerances import Fit

#: A part's name in the footer is cut short beyond this, mm.
_PART_MM = 60.0


def part_pages(floor: FlatFloor, common: Common, told: Mapping[str, int], paper: Paper,
               templates: dict[str, tuple[str, ...]], bars: str = "") -> tuple[Page, ...]:
    """A floor's pages. told: the page on which each title stands that is told for all rooms; bars: the title of the
    list of bars, if there is one; templates: as `booklet_pages` takes them."""
    job, width, fit = floor.job, column_width(paper), Fit(floor.job)
    after: list[Section] = [(worded(FINISHING_TITLE), finishing_blocks(job, paper, _where(bars, told)))]
    after += [(offcuts_title(), offcut_blocks(job, width))] if job.plan.offcuts or job.plan.owned else []
    after += [(worded(SURVEY_TITLE), survey_blocks(job, width))]
    pages = [*cover_page(job, paper), *_day(floor, common, told, paper), *under_pages(job, paper),
             *(() if floor.folder in common.doors else door_pages(job, paper)),
             *(() if floor.folder in common.steps else how_to_pages(job, paper)),
             *(row_page(job, row, paper, templates, fit) for row in job.plan.rows),
             *flowing(after, paper), *corner_photo_pages(job, paper)]
    return tuple(replace(page, part=shortened(floor.title, SMALL, _PART_MM), bookmark=gettext(
        "{room}: {page}", room=floor.title, page=page.bookmark) if page.bookmark else "") for page in pages)


def _day(floor: FlatFloor, common: Common, told: Mapping[str, int], paper: Paper) -> tuple[Page, ...]:
    """The day of this room, what it has of its own, and where all else is told."""
    job, width = floor.job, column_width(paper)
    own = [one for points in (safety_points(job), preparation_points(job)) for one in points
           if one not in common.points]
    checks = [one for one in check_points(job) if one not in common.points]
    apart = {worded(DOORS_TITLE): common.doors, worded(HOW_TITLE): common.steps}
    pages = [gettext("“{title}” on page {number}", title=title, number=number) for title, number in told.items()
             if floor.folder in apart.get(title, {floor.folder})]
    blocks = [*(point(rule, width, after=1.0) for rule in summary_points(job) if rule not in common.rules),
              paragraph(gettext("Told once for all rooms: {pages}.", pages=listed(pages)), width)]
    if own or checks:
        blocks += [heading(gettext("For this room alone"), width),
                   *(point(text, width, lead=name, tick=True) for name, text in own), *check_blocks(checks, width)]
    return room_day_pages(job, blocks, paper, title=worded(DAY_TITLE))


def _where(bars: str, told: Mapping[str, int]) -> str:
    """Where it is told what each bar of beading is sawn into; "" where nowhere."""
    return gettext("What each bar is sawn into stands on page {number}.", number=told[bars]) if bars in told else ""
