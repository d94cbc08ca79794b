"""The booklet: its pages in the order they are needed."""
from __future__ import annotations

from printpack.booklet.corner_photos import corner_photo_pages
from printpack.booklet.check_page import check_pages
from printpack.booklet.cover_page import cover_page, survey_pages
from printpack.booklet.finishing import door_pages, finishing_pages
from printpack.words.tolerances import Fit
from printpack.drawing.page_layout import Page, bound
from printpack.job import PackJob
from printpack.booklet.lists import notes_page, offcut_pages, shopping_pages, summary_pages
from printpack.paper import Paper
from printpack.booklet.row_page import row_page
from printpack.booklet.safety import preparation_pages, safety_pages
from printpack.drawing.sheet import Sheet
from printpack.booklet.under_page import under_pages


def booklet_sheets(job: PackJob, paper: Paper, templates: dict[str, tuple[str, ...]]) -> tuple[Sheet, ...]:
    """Every page with its footer. `templates`: names of the templates each piece needs, by piece id."""
    fit = Fit(job)
    pages: list[Page] = [*cover_page(job, paper), *summary_pages(job, paper), *survey_pages(job, paper),
                         *corner_photo_pages(job, paper), *safety_pages(job, paper), *preparation_pages(job, paper),
                         *under_pages(job, paper), *shopping_pages(job, paper), *door_pages(job, paper)]
    for row in job.plan.rows:
        pages.append(row_page(job, row, paper, templates, fit))
    pages += check_pages(job, paper)
    pages += [*offcut_pages(job, paper), *finishing_pages(job, paper), *notes_page(job, paper)]
    return bound(pages, paper, foot=f"{job.title} · {job.day} · the board maker's leaflet overrides this booklet",
                 short=job.title)
