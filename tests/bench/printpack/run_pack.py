"""The pack's speed, size and print: how long, how large, the same bytes, nothing over anything else, nothing off the
sheet.

``python -m tests.bench.printpack.run_pack speed`` makes packs of 20 to 300 rows twice. ``... print [share]`` draws jobs
of 3 to 60 rows and 1 to 20 pieces a row, with long and accented titles, on all papers and in both units, and looks at
every page (or every share-th) as a raster: texts drawn one by one with the embedded typeface by Pillow, which shares
nothing with the writer, must not touch another text's ink or a drawn line; and PDFium's raster must be white within 9.5
mm of the edge. Plans are laid by hand, invented, and poor. ``... rows [rooms] [first seed]`` looks so at the rows'
pages of rooms that are planned, drawn as `run_pictures` draws them, papers and units by turns; baseline: the boxes of
the texts alone (`tests.support.looks`), which see no line.
"""
from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from importlib.resources import as_file, files
from itertools import cycle, product

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from layout.plan import Row
from layout.room import Board
from printpack.booklet.booklet import booklet_sheets
from printpack.booklet.row_page import row_page
from printpack.job import PackJob
from printpack.drawing.metrics import FACES, printable
from printpack.outputs.pack import make_pack
from printpack.drawing.page_layout import bound
from printpack.paper import A4, PAPERS, Paper
from printpack.drawing.pdf import pdf_bytes
from printpack.errors import PrintError
from printpack.drawing.sheet import Circle, Line, Poly, Sheet, Text
from printpack.fullsize.template_sheets import template_sheets
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.words.tolerances import Fit
from tests.bench.printpack.run_pictures import draw_case
from tests.support.looks import ink, overprints, strays
from tests.support.plans import breast_job, job_of

PX_PER_MM = 8.0
MARGIN_MM = 9.5
TITLES = ("Nook (invented)", "Ångström’s Küche, hintere Kammer und Flur – łazienka na piętrze, côté jardin (erfunden) "
          * 2)
SHAPES = ((3, 1), (3, 20), (8, 3), (20, 4), (20, 12), (60, 1), (60, 4), (60, 20))


def job_with(rows: int, pieces: int, **more) -> PackJob:
    """A rectangle that takes so many rows of about so many pieces."""
    board = Board(length_mm=900.0, width_mm=120.0, thickness_mm=8.0, pack=10)
    long, deep = max(pieces * board.length_mm - 300.0, 600.0), rows * board.width_mm
    return job_of(((0, 0), (long, 0), (long + 4, deep + 15), (0, deep + 10)), board=board, first_mm=120.0,
                  stagger=170.0, **more)


def speed() -> None:
    """Seconds of CPU and bytes by rows; the second run must give the same bytes."""
    make_pack(job_with(3, 2), A4)
    for rows, pieces in ((20, 4), (60, 4), (60, 20), (150, 4), (300, 4)):
        job = job_with(rows, pieces)
        began = time.process_time()
        try:
            pack = make_pack(job, A4)
        except PrintError as refused:
            print(f"{rows} rows of {pieces}: refused, {refused}", flush=True)
            continue
        took = time.process_time() - began
        same = make_pack(job_with(rows, pieces), A4) == pack
        sizes = ", ".join(f"{name} {len(pack[name]) / 1e3:.0f} kB" for name in ("booklet.pdf", "booklet.html",
                                                                                "templates.pdf", "plan.dxf"))
        print(f"{rows} rows of {pieces}: {took:.2f} s of CPU, {1000 * took / rows:.0f} ms a row; {sizes}; same bytes "
              f"{same}", flush=True)


@lru_cache(maxsize=64)
def _font(bold: bool, size_px: float) -> ImageFont.FreeTypeFont:
    with as_file(files("printpack") / "fonts" / FACES[bold]) as path:
        return ImageFont.truetype(path, size_px, layout_engine=ImageFont.Layout.BASIC)


def touches(sheet: Sheet) -> list[tuple[str, str]]:
    """(text, what its ink touches) on one sheet; a filled shape drawn later hides what is below it."""
    size = (round(sheet.width_mm * PX_PER_MM), round(sheet.height_mm * PX_PER_MM))
    owner, lines = np.zeros(size[::-1], dtype=np.int32), Image.new("L", size)
    names: list[str] = []
    for item in sheet.items:
        if isinstance(item, Text):
            names.append(item.text)
            spots = _spots(item, owner.shape)
            owner[spots] = np.where(owner[spots] == 0, len(names), owner[spots])
    pen = ImageDraw.Draw(lines)
    for item in sheet.items:
        _draw(pen, item)
    lined = np.asarray(lines) > 127
    found: list[tuple[str, str]] = []
    for number, item in enumerate((item for item in sheet.items if isinstance(item, Text)), start=1):
        spots = _spots(item, owner.shape)
        over = owner[spots][(owner[spots] != number) & (owner[spots] != 0)]
        if len(over) > 2:
            found.append((item.text, names[int(over[0]) - 1]))
        elif np.count_nonzero(lined[spots]) > 2:
            found.append((item.text, "a line"))
    return found


def _spots(item: Text, shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """(rows, columns) of the pixels a text inks on the sheet."""
    (x0, y0), mask = _mask(item)
    rows, columns = np.nonzero(mask)
    kept = (rows + y0 >= 0) & (columns + x0 >= 0) & (rows + y0 < shape[0]) & (columns + x0 < shape[1])
    return rows[kept] + y0, columns[kept] + x0


def _mask(item: Text) -> tuple[tuple[int, int], np.ndarray]:
    """Place of the top left pixel, and the ink of a text."""
    words = printable(item.text, bold=item.bold)
    font = _font(item.bold, item.size_mm * PX_PER_MM)
    wide, tall = int(font.getlength(words)) + 8, int(item.size_mm * PX_PER_MM * 1.6) + 8
    base = int(item.size_mm * PX_PER_MM * 1.1)
    image = Image.new("L", (wide, tall))
    ImageDraw.Draw(image).text((2, base), words, fill=255, font=font, anchor="ls")
    lead = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * font.getlength(words)
    x, y = item.at[0] * PX_PER_MM, item.at[1] * PX_PER_MM
    if not item.turn_deg:
        return (round(x - lead) - 2, round(y) - base), np.asarray(image) > 127
    reach = max(wide, tall) + 4
    canvas = Image.new("L", (2 * reach, 2 * reach))
    canvas.paste(image, (reach - round(lead) - 2, reach - base))
    return (round(x) - reach, round(y) - reach), np.asarray(canvas.rotate(item.turn_deg)) > 127


def _draw(pen: ImageDraw.ImageDraw, item) -> None:
    """Lines as ink, fills as what hides the ink below; hatching is meant to lie under labels on white."""
    if isinstance(item, Text):
        return
    width = max(1, round(item.pen.width_mm * PX_PER_MM)) if item.pen.width_mm > 0 else 0
    if isinstance(item, Line):
        pen.line([(v * PX_PER_MM, w * PX_PER_MM) for v, w in (item.start, item.end)], fill=255, width=width)
        return
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius_mm
        box = [(x - r) * PX_PER_MM, (y - r) * PX_PER_MM, (x + r) * PX_PER_MM, (y + r) * PX_PER_MM]
        pen.ellipse(box, fill=0 if item.fill else 255 if item.fill == 0 else None, outline=255 if width else None,
                    width=max(width, 1))
        return
    ring = [(v * PX_PER_MM, w * PX_PER_MM) for v, w in item.points]
    if item.fill is not None:
        pen.polygon(ring, fill=0 if item.fill > 0 else 255)
    if width:
        pen.line(ring + ring[:1] if isinstance(item, Poly) and item.closed else ring, fill=255, width=width)


def off_the_sheet(sheets: tuple[Sheet, ...], job: PackJob) -> int:
    """Pages with ink outside the printable box, by PDFium's raster."""
    pdf, bad = pdf_bytes(sheets, title="t", date=job.date), 0
    for number in range(len(sheets)):
        dark, across, down = ink(pdf, number, dpi=60)
        edge = np.ones_like(dark, dtype=bool)
        edge[int(MARGIN_MM * down):-int(MARGIN_MM * down), int(MARGIN_MM * across):-int(MARGIN_MM * across)] = False
        bad += bool(dark[edge].max() > 0.05)
    return bad


def row_pages(job: PackJob, paper: Paper, rows: tuple[Row, ...]) -> Iterator[Sheet]:
    """The rows' sheets. Raises PrintError for one that goes on no page."""
    fit, names = Fit(job), names_by_piece(find_templates(job.plan, show=job.show))
    for row in rows:
        yield bound([row_page(job, row, paper, names, fit)], paper, title=job.title, foot=str)[0]


def rows(rooms: int = 20, first: int = 0) -> None:
    """The rows' pages of drawn rooms, each on the next paper and in the next unit."""
    ways = cycle(product(PAPERS, ("metric", "imperial")))
    pages = bad = off = by_box = 0
    for seed in range(first, first + rooms):
        job = draw_case(seed).job
        for row, (paper, show) in zip(job.plan.rows, ways):
            try:
                sheets = tuple(row_pages(replace(job, show=show), paper, (row,)))
            except PrintError as refused:
                print(f"seed {seed}, {paper.name}, {show}: {refused}", flush=True)
                continue
            found = touches(sheets[0])
            pages, bad, off = pages + 1, bad + bool(found), off + off_the_sheet(sheets, job)
            by_box += bool(overprints(sheets[0]) or strays(sheets[0]))
            if found:
                print(f"seed {seed}, row {row.number}, {paper.name}, {show}: {found[:3]}", flush=True)
    print(f"{pages} rows' pages: {bad} on which something touches (baseline, texts' boxes: {by_box}), {off} with "
          "ink off the printable box")


def prints(share: int = 1) -> None:
    """Every page of the drawn jobs."""
    pages = off = 0
    bad: dict[tuple[str, str], int] = {}
    for number, ((rows, pieces), title, show) in enumerate(product(SHAPES, TITLES, ("metric", "imperial"))):
        paper = PAPERS[number % len(PAPERS)]
        for job in (job_with(rows, pieces, title=title, show=show),
                    *([breast_job(title=title, show=show)] if pieces == 3 else [])):
            templates = find_templates(job.plan, show=show)
            sheets = (*booklet_sheets(job, paper, names_by_piece(templates)),
                      *template_sheets(job, templates[:12], paper))[::share]
            pages, off = pages + len(sheets), off + off_the_sheet(sheets, job)
            for sheet in sheets:
                for text, other in touches(sheet):
                    bad[(text, other)] = bad.get((text, other), 0) + 1
                    if bad[(text, other)] == 1:
                        print(f"{rows} rows of {pieces}, {paper.name}, {show}, “{sheet.bookmark}”: “{text}” touches "
                              f"{other}", flush=True)
    print(f"{pages} pages looked at: {off} with ink off the printable box, {sum(bad.values())} texts touch something")


if __name__ == "__main__":
    {"speed": speed, "print": prints, "rows": rows}[sys.argv[1]](*map(int, sys.argv[2:]))
