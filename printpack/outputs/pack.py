"""The whole pack as files: names and bytes, nothing written.

`plan.json` is not made here: the desk writes the plan's own answer beside these files.
"""
from __future__ import annotations

from capture.language.messages import gettext, lazy_gettext
from printpack.booklet.booklet import booklet_sheets
from printpack.outputs.cuts_csv import cuts_csv
from printpack.outputs.dxf import plan_dxf, templates_dxf
from printpack.errors import PrintError
from printpack.outputs.filenames import safe_names
from printpack.drawing.page_layout import TITLE, text_lines
from printpack.job import PackJob
from printpack.drawing.metrics import shortened
from printpack.paper import MARGIN_MM, Paper
from printpack.drawing.pdf import pdf_bytes
from printpack.booklet.phone import phone_page
from printpack.booklet.plan_view import plan_drawing
from printpack.drawing.sheet import Sheet
from printpack.drawing.svg import svg_text
from printpack.fullsize.template_sheets import template_sheets, template_svg_sheet
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.fullsize.casing_templates import traced_sheets

__all__ = ["PackJob", "make_pack"]


def make_pack(job: PackJob, paper: Paper) -> dict[str, bytes]:
    """File name (relative, with /) -> bytes. The same job and paper give the same bytes.

    Raises PrintError: empty-plan, page-too-small, overlap-too-large.
    """
    if not job.plan.rows or not all(row.pieces for row in job.plan.rows):
        raise PrintError("empty-plan", lazy_gettext(
            "The plan has a row without a board, so there is nothing to print: plan the floor again."), where="plan")
    templates = find_templates(job.plan, show=job.show)
    names = names_by_piece(templates)
    files = {"booklet.pdf": pdf_bytes(booklet_sheets(job, paper, names), title=job.title, date=job.date),
             "booklet.html": phone_page(job, names).encode(),
             "templates.pdf": pdf_bytes(template_sheets(job, templates, paper),
                                        title=gettext("{title}: templates", title=job.title), date=job.date),
             "plan.svg": svg_text(plan_sheet(job, paper), title=job.title).encode(),
             "plan.dxf": plan_dxf(job), "cuts.csv": cuts_csv(job.plan, names).encode("utf-8-sig"),}
    traced = traced_sheets(job, paper)
    if traced:
        files["traced.pdf"] = pdf_bytes(traced, title=gettext("{title}: traced shapes", title=job.title), date=job.date)
    if templates:
        files["templates.dxf"] = templates_dxf(job, templates)
    for template, name in zip(templates, safe_names(template.file_name for template in templates)):
        sheet = template_svg_sheet(job, template)
        files[f"templates/{name}.svg"] = svg_text(sheet, title=f"{job.title}: {template.name}").encode()
    return files


def plan_sheet(job: PackJob, paper: Paper) -> Sheet:
    """The plan alone on a sheet."""
    name = shortened(job.title, TITLE, paper.live_width_mm, bold=True)
    title, used = text_lines(name, MARGIN_MM, MARGIN_MM, paper.live_width_mm, size=TITLE, bold=True)
    top = MARGIN_MM + used + 2.0
    drawing = plan_drawing(job, MARGIN_MM, top, paper.live_width_mm, paper.height_mm - MARGIN_MM - top)
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, items=(*title, *drawing))
