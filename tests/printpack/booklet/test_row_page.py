"""A row's page: one sheet, few words, large figures, nothing over anything else, whatever the row."""
from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from layout.plan import Relaxed
from layout.planning.planner import plan_floor
from layout.room import Board, Wishes
from printpack.booklet.row_page import row_page
from printpack.drawing.page_layout import SMALL, bound
from printpack.drawing.pdf import pdf_bytes
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.paper import A4, PAPERS
from printpack.strip.row_picture import row_facts, row_picture
from printpack.strip.card_parts import DIGITS_MM
from printpack.strip.corner_figures import corner_tapes
from printpack.words.row_words import is_checked, row_lines, special_lines
from printpack.words.tolerances import Fit
from printpack.drawing.metrics import CAP
from tests.support.looks import ink, overprints, strays, texts
from tests.support.plans import BREAST, LONG, RECTANGLE, SLANTED, breast_job, job_of

MIDDLING = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
MANY = Board(length_mm=650.0, width_mm=90.0, thickness_mm=8.0, pack=10)
SHORT = Board(length_mm=310.0, width_mm=90.0, thickness_mm=8.0, pack=10)
BAY = ((0, 0), (3600, 0), (3600, 3200), (2700, 3205), (2400, 3600), (1200, 3610), (900, 3200), (0, 3190))


def planned(ring, board=MIDDLING, show="metric", **wishes):
    job = job_of(ring, show=show)
    return replace(job, plan=plan_floor(job.room, board, Wishes(gap_least_mm=8.0, gap_most_mm=13.0, **wishes),
                                        moves=200))


JOBS = {"three rows": lambda: job_of(RECTANGLE), "breast, pipes, door": breast_job,
        "breast in inches": lambda: breast_job(show="imperial"),
        "slanted in inches": lambda: job_of(SLANTED, show="imperial"), "bay": lambda: planned(BAY),
        "45 degrees": lambda: planned(LONG, direction_rad=float(np.pi / 4)),
        "planned breast": lambda: planned(BREAST, lay="right-to-left"),
        "60 rows, 20 pieces": lambda: job_of(((0, 0), (11600, 0), (11600, 5400), (0, 5400)), board=MANY, first_mm=90.0,
                                             stagger=200.0),
        "one piece a row": lambda: planned(((0, 0), (1180, 0), (1190, 2500), (0, 2500)))}


@lru_cache
def pages_of(job, paper):
    """Some of the rows' pages: all of a small floor, a dozen of a large one, first and last among them."""
    fit, names = Fit(job), names_by_piece(find_templates(job.plan, show=job.show))
    rows = job.plan.rows
    places = np.linspace(0, len(rows) - 1, min(len(rows), 12)).round().astype(int)
    some = [rows[k] for k in sorted(set(places.tolist()))]
    pages = [row_page(job, row, paper, names, fit) for row in some]
    return some, bound(pages, paper, title=job.title, foot=str)


@pytest.fixture(scope="module", params=JOBS)
def job(request):
    return JOBS[request.param]()


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_nothing_leaves_the_printable_box_and_no_text_touches_another(job, paper):
    _, sheets = pages_of(job, paper)
    for sheet in sheets:
        assert {sheet.width_mm, sheet.height_mm} == {paper.width_mm, paper.height_mm}
        assert not overprints(sheet), sheet.bookmark
        assert not strays(sheet), sheet.bookmark


def test_main_figures_are_eight_millimetres_high_and_no_text_is_under_nine_points(job):
    _, sheets = pages_of(job, A4)
    for sheet in sheets:
        figures = [text for text in texts(sheet) if text.layer == "figure"]
        assert all(text.size_mm * CAP >= DIGITS_MM - 1e-9 for text in figures)
        assert min(text.size_mm for text in texts(sheet)) >= SMALL - 1e-9


def test_every_distance_of_every_cut_is_a_main_figure_on_its_page(job):
    """Straight cuts and notches of the plan against the figures of the sheet."""
    some, sheets = pages_of(job, A4)
    for row, sheet in zip(some, sheets):
        shown = {text.text for text in texts(sheet) if text.layer == "figure"}
        for piece in row.pieces:
            for cut in piece.cuts:
                if cut.kind == "cross":
                    one = abs(cut.at[0] - cut.at[1]) < 1.0
                    wanted = {sum(cut.at) / 2} if one else set(cut.at)
                    assert {job.units.figure(mm) for mm in wanted} <= shown, (piece.id, cut)
                if cut.kind == "hole":
                    assert any(text.text.startswith("Ø") for text in texts(sheet))


def test_each_piece_has_one_box_to_tick_and_its_name(job):
    some, sheets = pages_of(job, A4)
    for row, sheet in zip(some, sheets):
        ticks = [item for item in sheet.items if getattr(item, "layer", "") == "tick"]
        said = [text.text for text in texts(sheet)]
        assert len(ticks) - any("Your edge to" in text for text in said) == len(row.pieces)
        assert all(piece.id in said for piece in row.pieces)


def test_a_row_with_nothing_to_saw_says_so():
    job = job_of(((0, 0), (1285 * 2 + 20, 0), (1285 * 2 + 20, 1000), (0, 1000)), stagger=0.0)
    row = job.plan.rows[1]
    row = replace(row, runs=tuple(replace(run, pieces=tuple(replace(piece, cuts=()) for piece in run.pieces))
                                  for run in row.runs))
    page = row_page(replace(job, plan=replace(job.plan, rows=(job.plan.rows[0], row, *job.plan.rows[2:]))), row, A4, {},
                    Fit(job))
    said = [item.text for item in page.items if getattr(item, "text", "").startswith("Nothing to saw: ")]
    assert len(said) == 1


def test_the_far_edge_is_checked_every_fourth_row_and_before_the_last_three():
    plan = job_of(LONG).plan
    checked = [row.number for row in plan.rows if is_checked(plan, row)]
    last = len(plan.rows)
    assert checked == sorted({*range(4, last, 4), last - 3})


def test_no_page_has_more_than_120_words_and_the_median_has_60():
    """Read back from the PDF by a second library; two hundred rooms: `tests.bench.printpack.run_pictures`."""
    counts = []
    for name in ("bay", "planned breast", "45 degrees", "one piece a row"):
        job = JOBS[name]()
        fit, names = Fit(job), names_by_piece(find_templates(job.plan))
        sheets = bound([row_page(job, row, A4, names, fit) for row in job.plan.rows], A4, title=job.title, foot=str)
        counts += words_a_page(pdf_bytes(sheets, title="t", date=job.date))
    assert np.median(counts) <= 60 and max(counts) <= 120


def words_a_page(pdf: bytes) -> list[int]:
    """Words of each page, as text between blanks."""
    import pypdfium2
    document = pypdfium2.PdfDocument(pdf)
    return [len(page.get_textpage().get_text_bounded().split()) for page in document]


@pytest.mark.parametrize("show", ["metric", "imperial"])
def test_a_row_of_forty_pieces_is_one_page_that_can_be_read(show):
    job = job_of(((0, 0), (12000, 0), (12000, 600), (0, 600)), board=SHORT, first_mm=90.0, stagger=0.0, show=show)
    row = job.plan.rows[2]
    assert len(row.pieces) >= 38
    page = row_page(job, row, A4, {}, Fit(job))
    (sheet,) = bound([page], A4, title="t", foot=str)
    assert not overprints(sheet) and not strays(sheet)
    assert sum(text.layer == "name" for text in texts(sheet)) >= len(row.pieces)


def test_a_notch_of_three_millimetres_is_drawn_large_enough_to_see():
    job = job_of(((0, 0), (4300, 0), (4300, 2400), (2000, 2400), (2000, 2397), (1500, 2397), (1500, 2400), (0, 2400)))
    row = next(row for row in job.plan.rows if any(cut.kind == "notch" for piece in row.pieces for cut in piece.cuts))
    picture = row_picture(row_facts(job, row, Fit(job), {}), job.units, 273.0)
    notches = [item for item in picture.items if getattr(item, "layer", "") == "outer"
               and any(step.kind == "shape" for step in picture.steps)]
    heights = [max(y for _, y in item.points) - min(y for _, y in item.points) for item in notches]
    assert heights and min(heights) >= 2.0
    assert "3" in {item.text for item in picture.items if getattr(item, "layer", "") == "figure"}


def test_an_offcut_whose_end_was_sawn_slanted_is_measured_from_its_square_end():
    """The rest of a slanted cut is longer at one edge than its square part, which is all the picture draws."""
    frame = ((0.0, 0.0), (848.0, 0.0), (848.0, 192.0), (0.0, 192.0))
    path = ((113.0, 192.0), (203.0, 110.0), (203.0, 0.0))
    told = {ends: {tape.mm for tape in corner_tapes(path, frame, "near", ends) if tape.lane != "by"}
            for ends in (("left", "right"), ("right",))}
    assert told == {("left", "right"): {113.0, 203.0}, ("right",): {735.0, 645.0}}


@pytest.mark.parametrize(("whole", "words"), [
    ({2, 3}, "First 4.1, 2 whole boards, then 4.4."), ({1, 2}, ""), ({2, 3, 4}, "First 4.1, 2 whole boards, then 4.4."),
    ({1}, "")])
def test_whole_boards_are_counted_between_the_ends_alone(whole, words):
    job = job_of(((0, 0), (4300, 0), (4300, 2400), (0, 2400)))
    row = job.plan.rows[3]
    assert [piece.id for piece in row.pieces] == ["4.1", "4.2", "4.3", "4.4"]
    cut = next(piece.cuts for piece in row.pieces if piece.cuts)
    run = replace(row.runs[0], pieces=tuple(replace(piece, takes="", cuts=() if int(piece.id[2:]) in whole else cut)
                                            for piece in row.pieces))
    row = replace(row, runs=(run,))
    job = replace(job, plan=replace(job.plan, rows=(*job.plan.rows[:3], row, *job.plan.rows[4:])))
    said = [line for line in row_lines(job, row, Fit(job)) if line.startswith("First")]
    assert said == ([words] if words else [])


@pytest.mark.parametrize(("rule", "had", "asked", "words"), [
    ("alike", 56.0, 100.0, "Joints 56 mm, not 100 mm, from those two rows before."),
    ("stagger", 299.8, 300.0, "Joints just under 300 mm apart here.")])
def test_a_rule_that_gave_way_is_said_shortly(rule, had, asked, words):
    job = job_of(LONG)
    gave = Relaxed(rule=rule, where="row 2", asked_mm=asked, had_mm=had)
    job = replace(job, plan=replace(job.plan, relaxed=(gave,)))
    assert words in [line.replace("\u00a0", " ") for line in special_lines(job, job.plan.rows[1], Fit(job))]


def test_a_title_of_300_letters_leaves_one_page_with_a_short_foot():
    job = job_of(LONG, title="Wohnzimmer " * 30)
    (sheet,) = bound([row_page(job, job.plan.rows[3], A4, {}, Fit(job))], A4, title=job.title, foot=str)
    assert not overprints(sheet) and not strays(sheet)


def test_the_same_job_gives_the_same_bytes():
    made = [pdf_bytes(pages_of.__wrapped__(breast_job(), A4)[1], title="t", date=breast_job().date) for _ in range(2)]
    assert made[0] == made[1]


def test_figures_stand_clear_of_lines_by_raster():
    """By raster (pypdfium2): round each figure a hair's breadth is white, so that no line runs into a digit."""
    for name in ("breast, pipes, door", "bay", "slanted in inches"):
        job = JOBS[name]()
        _, sheets = pages_of(job, A4)
        pdf = pdf_bytes(sheets, title="t", date=job.date)
        for number, sheet in enumerate(sheets):
            dark, across, down = ink(pdf, number, dpi=110)
            for text in (text for text in texts(sheet) if text.layer == "figure"):
                assert _ring_is_white(dark, text, across, down), (name, sheet.bookmark, text.text)


def _ring_is_white(dark, text, across, down) -> bool:
    """Whether the frame just outside a figure's digits is crossed by no line above or below it."""
    from printpack.drawing.metrics import text_width
    wide = text_width(text.text, text.size_mm, bold=True)
    left = text.at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    tall = CAP * text.size_mm
    rows = [text.at[1] - tall - 0.35, text.at[1] + 0.35]
    strip = [dark[int(y * down), int((left + 0.4) * across):int((left + wide - 0.4) * across)] for y in rows]
    deep = 1.8 if re.search(r"[,\"']", text.text) else 0.35
    return all((line > 0.6).mean() < 0.5 for line in strip[:1 if deep > 1 else 2])


def test_greys_that_carry_words_keep_their_contrast():
    """WCAG 2.2, 1.4.3: 4.5 to 1. Relative luminance of a grey by its formula; words on the grey band are black, the
    palest words are those behind a card's name."""
    def luminance(grey: float) -> float:
        return grey / 12.92 if grey <= 0.04045 else ((grey + 0.055) / 1.055) ** 2.4

    job = breast_job()
    _, sheets = pages_of(job, A4)
    for sheet in sheets:
        for text in texts(sheet):
            assert (luminance(0.93) + 0.05) / (luminance(text.grey) + 0.05) >= 4.5
