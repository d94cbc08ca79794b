"""Does anything touch on a row's page? By raster, over rows and pieces, papers and units.

``python -m tests.bench.printpack.run_touch [drawn rooms] [first seed]`` lays rectangles with a slanted wall in 3 to 60
rows of 1 to 20 pieces, and drawn rooms as `run_pictures` draws them, and prints their rows' pages on the five papers in
both units (of a rectangle the first, a middle and the last row; a drawn room's rows take papers and units by turns).
Told is every page on which texts touch, a line runs into a text or ink leaves the printable box
(`tests.support.raster_clash`), and how many rows are refused for a paper, each with one sentence. Baseline: the boxes
of the texts alone (`tests.support.looks.overprints`, `strays`), which see no line.
"""
from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import cycle, product

from layout.plan import Row
from layout.room import Board
from printpack.booklet.row_page import row_page
from printpack.drawing.page_layout import bound
from printpack.drawing.sheet import Sheet
from printpack.errors import PrintError
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.job import PackJob
from printpack.paper import PAPERS, Paper
from printpack.words.tolerances import Fit
from tests.bench.printpack.run_pictures import draw_case
from tests.support.looks import overprints, strays
from tests.support.plans import job_of
from tests.support.raster_clash import clashes

ROWS, PIECES = (3, 8, 20, 60), (1, 4, 9, 20)
_WAYS = tuple(product(PAPERS, ("metric", "imperial")))


def grid_job(rows: int, pieces: int) -> PackJob:
    """A room of so many rows of about so many pieces, its right wall slanted."""
    board = Board(length_mm=min(1285.0, 12_000.0 / pieces), width_mm=90.0 if rows > 20 else 192.0, thickness_mm=8.0,
                  pack=8)
    wide, deep = board.length_mm * pieces - 40.0, board.width_mm * rows - 30.0
    return job_of(((0, 0), (wide, 0), (wide - 60.0, deep), (0, deep)), board=board, first_mm=board.width_mm,
                  stagger=0.3 * board.length_mm)


def pages_of(job: PackJob, paper: Paper, rows: tuple[Row, ...]) -> Iterator[Sheet | str]:
    """The rows' sheets, or the sentence a row is refused with."""
    fit, names = Fit(job), names_by_piece(find_templates(job.plan, show=job.show))
    for row in rows:
        try:
            yield bound([row_page(job, row, paper, names, fit)], paper, foot="", short=job.title)[0]
        except PrintError as error:
            yield str(error)


def every_page(drawn: int, first: int) -> Iterator[tuple[str, Sheet | str]]:
    """(what it is, the sheet or the refusal), one after another."""
    for rows, pieces in product(ROWS, PIECES):
        job = grid_job(rows, pieces)
        some = tuple(job.plan.rows[k] for k in sorted({0, len(job.plan.rows) // 2, len(job.plan.rows) - 1}))
        for paper, show in _WAYS:
            for page in pages_of(replace(job, show=show), paper, some):
                yield f"{rows} rows of {pieces}, {paper.name}, {show}", page
    for seed in range(first, first + drawn):
        job = draw_case(seed).job
        for row, (paper, show) in zip(job.plan.rows, cycle(_WAYS)):
            for page in pages_of(replace(job, show=show), paper, (row,)):
                yield f"seed {seed}, {paper.name}, {show}", page


def main(drawn: int = 20, first: int = 0) -> None:
    began, pages, touching, by_box = time.process_time(), 0, 0, 0
    refused: dict[str, int] = {}
    for name, page in every_page(drawn, first):
        pages += 1
        if isinstance(page, str):
            refused[name.split(",")[0]] = refused.get(name.split(",")[0], 0) + 1
            continue
        found = clashes(page)
        touching += bool(found)
        by_box += bool(overprints(page) or strays(page))
        if found:
            print(f"{name}, {page.bookmark}: {found[:3]}", flush=True)
    print(f"{pages} pages: {touching} with something that touches or leaves the box (baseline, texts' boxes alone: "
          f"{by_box}); {sum(refused.values())} refused: {refused}")
    print(f"{time.process_time() - began:.0f} s of CPU")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
