"""The booklet: its pages in the order they are needed."""
from __future__ import annotations

from collections.abc import Callable

from capture.language.messages import gettext
from printpack.booklet.cover_page import cover_page
from printpack.booklet.day_page import summary_pages
from printpack.howto.door_page import door_pages
from printpack.booklet.finishing import finishing_pages
from printpack.howto.how_to_page import how_to_pages
from printpack.booklet.lists import offcut_pages, shopping_pages
from printpack.booklet.row_page import row_page
from printpack.booklet.safety import preparation_pages
from printpack.booklet.survey_page import survey_pages
from printpack.howto.under_page import under_pages
from printpack.drawing.page_layout import Page, bound
from printpack.drawing.sheet import Sheet
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.words.tolerances import Fit


def booklet_sheets(job: PackJob, paper: Paper, templates: dict[str, tuple[str, ...]]) -> tuple[Sheet, ...]:
    """Every page with its footer. `templates`: names of the templates each piece needs, by piece id."""
    return bound(booklet_pages(job, paper, templates), paper, title=job.title, foot=booklet_foot(job.day))


def booklet_foot(day: str) -> Callable[[str], str]:
    """The footer's line of a booklet of that day, for `bound`."""
    return lambda title: gettext("{title} · {day} · the board maker's leaflet overrides this booklet", title=title,
                                 day=day)


def booklet_pages(job: PackJob, paper: Paper, templates: dict[str, tuple[str, ...]]) -> tuple[Page, ...]:
    """Every page: what is read before, the rows, what is read after, and what is looked up."""
    fit = Fit(job)
    pages: list[Page] = [*cover_page(job, paper), *shopping_pages(job, paper), *preparation_pages(job, paper),
                         *under_pages(job, paper), *door_pages(job, paper),
                         *how_to_pages(job, paper), *summary_pages(job, paper)]
    for row in job.plan.rows:
        pages.append(row_page(job, row, paper, templates, fit))
    return (*pages, *finishing_pages(job, paper), *survey_pages(job, paper), *offcut_pages(job, paper))
