"""The pack of a flat as files: one booklet in which all that the rooms share is told once, or a booklet a room; each
room's templates and drawings in a folder of its own.
"""
from __future__ import annotations

from capture.language.dates import long_date
from capture.language.messages import gettext
from printpack.booklet.booklet import booklet_foot
from printpack.booklet.lists import notes_pages
from printpack.drawing.page_layout import Page, bound
from printpack.drawing.pdf import pdf_bytes
from printpack.flat.common_pages import common_of
from printpack.flat.flat_job import FlatPack
from printpack.flat.flat_pages import bar_pages, bars_title, carried_pages, first_pages, shopping_pages
from printpack.flat.part_pages import part_pages
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.outputs.pack import make_pack
from printpack.paper import Paper


def make_flat_pack(flat: FlatPack, paper: Paper, *, each: bool = False) -> dict[str, bytes]:
    """File name (relative, with /) -> bytes. each: a booklet a room; the flat's then holds what is common to all.

    Raises PrintError as `make_pack` does.
    """
    files: dict[str, bytes] = {}
    for floor in flat.floors:
        own = make_pack(floor.job, paper)
        if not each:
            del own["booklet.pdf"]
        files |= {f"{floor.folder}/{file}": data for file, data in own.items()}
    sheets = bound(_first(flat, paper) if each else _whole(flat, paper), paper, title=flat.title,
                   foot=booklet_foot(long_date(flat.date)))
    return {"booklet.pdf": pdf_bytes(sheets, title=flat.title, date=flat.date)} | files


def _first(flat: FlatPack, paper: Paper) -> list[Page]:
    """What the rooms' own booklets do not hold."""
    return [*first_pages(flat, paper), *shopping_pages(flat, paper), *bar_pages(flat, paper),
            *carried_pages(flat, paper)]


def _whole(flat: FlatPack, paper: Paper) -> list[Page]:
    """Every page: what holds for all rooms, a part for each floor, and paper for notes."""
    shopping, bars, common = shopping_pages(flat, paper), bar_pages(flat, paper), common_of(flat, paper)
    pages, told = list(first_pages(flat, paper)), dict[str, int]()
    for title, some in ((gettext("Shopping list"), shopping), (bars_title(), bars), *common.pages):
        if some:
            told[title] = len(pages) + 1
        pages += some
    for floor in flat.floors:
        names = names_by_piece(find_templates(floor.job.plan, show=floor.job.show))
        pages += part_pages(floor, common, told, paper, names, bars_title())
    return [*pages, *notes_pages(paper)]
