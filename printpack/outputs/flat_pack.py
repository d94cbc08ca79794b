"""The pack of a flat as files: one booklet with a part a room, or a booklet a room; each room's templates and drawings
in a folder of its own.
"""
from __future__ import annotations

from printpack.booklet.booklet import booklet_foot, booklet_pages
from printpack.booklet.flat_pages import FlatPack, flat_pages, of_floor
from printpack.drawing.page_layout import Page, bound
from printpack.drawing.pdf import pdf_bytes
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.job import PackJob
from printpack.outputs.pack import make_pack
from printpack.paper import Paper
from capture.language.dates import long_date


def make_flat_pack(flat: FlatPack, paper: Paper, *, each: bool = False) -> dict[str, bytes]:
    """File name (relative, with /) -> bytes. each: a booklet a room; the flat's then holds what is common to all.

    Raises PrintError as `make_pack` does.
    """
    pages = list(flat_pages(flat, paper))
    files: dict[str, bytes] = {}
    for number, (name, job) in enumerate(flat.floors):
        own = make_pack(job, paper)
        if not each:
            del own["booklet.pdf"]
            pages += of_floor(_part(job, paper, is_first=number == 0), name)
        files |= {f"{name}/{file}": data for file, data in own.items()}
    sheets = bound(pages, paper, title=flat.title, foot=booklet_foot(long_date(flat.date)))
    return {"booklet.pdf": pdf_bytes(sheets, title=flat.title, date=flat.date)} | files


def _part(job: PackJob, paper: Paper, *, is_first: bool) -> tuple[Page, ...]:
    """A room's pages; how to lay is told once, in the room that is laid first."""
    names = names_by_piece(find_templates(job.plan, show=job.show))
    return booklet_pages(job, paper, names, how_to=is_first)
