"""The booklet: complete, readable, nothing over anything else, for small jobs and large ones."""
from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from shapely.geometry import LinearRing, LineString, Polygon, box

from layout.materials.beading import beading_of
from layout.plan import BeadingPiece
from layout.room import Board, Door, Room, Underlay
from layout.words.cautions import CAUTIONS, Caution
from layout.materials.underlay_sheets import film_sheets, underlay_sheets
from printpack.booklet.safety import safety_points
from printpack.booklet.booklet import booklet_sheets
from printpack.booklet.finishing import beading_rows
from printpack.words.tolerances import Fit
from printpack.drawing.page_layout import SMALL
from printpack.drawing.metrics import CAP, text_width
from printpack.paper import A3, A4, LETTER
from printpack.drawing.pdf import pdf_bytes
from printpack.booklet.plan_view import plan_drawing
from printpack.outputs.revision import revision_sheets
from printpack.words.row_words import row_checks
from printpack.drawing.sheet import MEDIUM, Line, Poly, Text
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.howto.under_page import under_pages
from tests.support.looks import all_text, ink, overprints, strays, texts
from tests.support.plans import LONG, RECTANGLE, SLANTED, breast_job, job_of

LONG_TITLE = "Ångström’s Küche, hintere Kammer und Flur – łazienka na piętrze, côté jardin (erfunden)"
MANY = Board(length_mm=650.0, width_mm=90.0, thickness_mm=8.0, pack=10)

JOBS = {"three rows": lambda: job_of(RECTANGLE), "breast, pipes, door": breast_job,
        "breast in inches": lambda: breast_job(show="imperial"),
        "slanted in inches": lambda: job_of(SLANTED, show="imperial"),
        "many rows": lambda: job_of(LONG, title=LONG_TITLE), "exact floor": lambda: job_of(LONG, sd_mm=0.0),
        "60 rows, 20 pieces": lambda: job_of(((0, 0), (11600, 0), (11600, 5400), (0, 5400)), board=MANY, first_mm=90.0,
                                             stagger=200.0),}


@lru_cache
def sheets_of(job, paper):
    return booklet_sheets(job, paper, names_by_piece(find_templates(job.plan)))


@pytest.fixture(scope="module", params=JOBS)
def job(request):
    return JOBS[request.param]()


@pytest.fixture(scope="module")
def breast():
    return breast_job()


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda p: p.name)
def test_no_text_overprints_and_nothing_leaves_the_printable_box(job, paper):
    for sheet in sheets_of(job, paper):
        assert not overprints(sheet), sheet.bookmark
        assert not strays(sheet), sheet.bookmark


def test_no_tape_is_laid_to_an_edge_sawn_along_the_wall():
    """The far wall steps back on the right: row 11 ends at it on the left, where its edge is sawn, and has floor
    before it on the right."""
    job = job_of(((0, 0), (2600, 0), (2600, -900), (4310, -900), (4310, 2000), (0, 2000)))
    row = next(row for row in job.plan.rows if {"near"} in [{cut.kept for cut in piece.cuts if cut.kind == "rip"}
                                                            for piece in row.pieces])
    assert row is not job.plan.rows[-1]
    both = replace(row, number=4)
    (said,) = row_checks(replace(job, plan=replace(job.plan, rows=tuple(both if other is row else other
                                                                        for other in job.plan.rows))), both, Fit(job))
    assert " left, " not in said and "Your edge to the wall: " in said


def test_no_text_is_under_nine_points(job):
    assert min(text.size_mm for sheet in sheets_of(job, A4)
               for text in texts(sheet)) >= 9 * 25.4 / 72 - 1e-9 == SMALL - 1e-9


def test_each_row_has_its_pages_in_order(job):
    marks = [sheet.bookmark for sheet in sheets_of(job, A4) if sheet.bookmark.startswith("Row ")]
    assert marks == [f"Row {row.number}" for row in job.plan.rows]


@pytest.mark.parametrize(("rows", "words"),
                         [((2,), "page of row 2 and put this in its place"), ((2, 3), "pages of rows 2 and 3"),
                          ((2, 4, 5), "pages of rows 2, 4 and 5"), ((2, 3, 4), "pages of rows 2 to 4 and put these")])
def test_a_revision_says_which_pages_it_takes_the_place_of(rows, words):
    """The changed rows' pages and no other, every sheet with the revision's letter."""
    said = [[item.text for item in texts(sheet)] for sheet in revision_sheets(job_of(LONG), rows, "B",
                                                                              "A board was lost.", A4)]
    assert words in " ".join(said[0])
    assert {int(text.split()[1]) for sheet in said for text in sheet if re.fullmatch(r"Row \d+", text)} == set(rows)
    assert all("B" in sheet for sheet in said)


def test_the_cover_has_the_job_in_figures(breast):
    job = breast
    cover = {text.text for text in texts(sheets_of(job, A4)[0])}
    area, pm = job.floor.area()
    assert {str(job.plan.boards), str(job.plan.packs), "START WALL", "6.3 %", f"at least {job.plan.bound} are needed",
            "door D1", "P1"} <= cover
    assert job.units.area(area, pm) in cover and "± 0.02 m²" in job.units.area(area, pm)
    assert set(job.floor.outline) <= cover


def test_the_start_wall_is_named_however_the_rows_lie():
    """Rows at any angle: the plan is turned on paper and the name has to find its place."""
    job = job_of(SLANTED)
    for turn in np.arange(0.0, 2 * np.pi, 0.3):
        c, s = float(np.cos(turn)), float(np.sin(turn))
        turned = replace(job, plan=replace(job.plan, frame=replace(job.plan.frame, u=(c, s), v=(s, -c))))
        assert any(isinstance(item, Text) and item.text == "START WALL"
                   for item in plan_drawing(turned, 12.0, 30.0, 186.0, 170.0))


def test_safety_sends_people_to_the_right_doors(breast):
    words = all_text(pdf_bytes(sheets_of(breast, A4), title="t", date=breast.date))
    for word in ("asbestos", "lead", "licensed", "fire door", "leaflet", "Eyes", "Dust", "moisture", "48 hours",
                 "never to the floor", "Take out every spacer"):
        assert word.lower() in words.lower()


def test_a_caution_of_the_plan_is_not_said_twice(monkeypatch):
    """What the common hazards say is left to them; what only a plan's cautions know is added."""
    assert set(CAUTIONS) >= {"asbestos", "lead", "saw", "back-and-knees"}
    monkeypatch.setitem(CAUTIONS, "gas", Caution("Row 2 passes a gas pipe.", "Gas"))
    points = safety_points(job_of(RECTANGLE))
    texts = [text for _, text in points]
    assert points[-1] == ("Gas", "Row 2 passes a gas pipe.") and len(set(texts)) == len(texts)
    assert sum("asbestos" in text for text in texts) == 1 and sum("muffs" in text for text in texts) == 1


def test_beading_is_listed_as_seen_from_the_room():
    """Facing wall A-B of an anticlockwise room, A is at the right hand: its angle stands under "right end"."""
    job = job_of(RECTANGLE)
    plan = replace(job.plan, beading=(BeadingPiece(where="A-B", length_mm=3010.0, start_deg=44.0, end_deg=46.0),))
    sheet = next(s for s in sheets_of(replace(job, plan=plan), A4) if s.bookmark == "Finishing")
    places = {text.text: text.at[0] for text in texts(sheet)}
    assert places["left end"] == places["46.0° in"] < places["44.0° in"] == places["right end"]


def test_a_mitre_says_which_way_it_slants():
    """An L's one inner corner is an outside one for the beading: both pieces that meet there have their longer edge
    in front."""
    job = job_of(RECTANGLE)
    room = Room(names=tuple("ABCDEF"), outline_mm=np.array([(0, 0), (4000, 0), (4000, 1500), (2500, 1500), (2500, 3000),
                                                            (0, 3000)], dtype=float))
    job = replace(job, room=room, plan=replace(job.plan, beading=beading_of(room)))
    rows = {wall: ends for wall, _, *ends in beading_rows(job)}
    assert rows["C-D"] == ["45.0° out", "45.0° in"] and rows["D-E"] == ["45.0° in", "45.0° out"]
    assert sum(end.endswith("out") for ends in rows.values() for end in ends) == 2
    words = all_text(pdf_bytes(sheets_of(job, A4), title="t", date=job.date))
    assert "Out: an outside corner, the front edge is the longer" in " ".join(words.split())


def test_beading_that_stops_at_a_door_is_square_there():
    door = Door(name="D1", wall=("A", "B"), from_mm=900.0, width_mm=800.0)
    job = job_of(RECTANGLE, doors=(door,))
    job = replace(job, plan=replace(job.plan, beading=beading_of(job.room)))
    ends = {wall: ends for wall, _, *ends in beading_rows(job)}
    assert ends["A-B (1 of 2)"][0] == ends["A-B (2 of 2)"][1] == "square"


@pytest.mark.parametrize("paper", [A4, LETTER, A3], ids=lambda p: p.name)
def test_ink_stays_off_the_margins(paper, breast):
    """By raster (pypdfium2): the outer 10 mm of every page are white, less half a line's width."""
    pdf = pdf_bytes(sheets_of(breast, paper), title="t", date=breast.date)
    for number in (0, 1, 5, 8, 9):
        dark, across, down = ink(pdf, number, dpi=60)
        inner = np.zeros_like(dark, dtype=bool)
        inner[int(9.5 * down):-int(9.5 * down), int(9.5 * across):-int(9.5 * across)] = True
        assert dark[~inner].max() < 0.02 and dark[inner].max() > 0.9


def test_it_is_black_and_white_by_construction(breast):
    """Only greys can be said in a display list; nothing that must be read is lighter than mid grey."""
    for sheet in sheets_of(breast, A4):
        assert all(text.grey <= 0.4 for text in texts(sheet))


def test_sheets_under_the_boards_are_counted_and_measured_as_the_planner_counts_them():
    """Underlay sheets of 1000 mm and film of 2000 mm lapped 200: their number, and their lengths added up, against
    `layout.materials.underlay_sheets`."""
    job = breast_job()
    rows = Polygon([job.plan.to_row_frame(p) for p in job.plan.floor.outline])
    roll = Underlay(thickness_mm=3.0, roll_length_mm=10_000.0, roll_width_mm=1000.0)
    said = " ".join(text.text for sheet in sheets_of(job, A4) if sheet.bookmark == "Under the boards"
                    for text in texts(sheet))
    lengths = [float(found) for found in re.findall(r"\d+: (\d+) mm", said)]
    under, film = underlay_sheets(rows, roll), film_sheets(rows)
    assert len(lengths) == under.strips + film.strips
    assert sum(lengths[:under.strips]) == pytest.approx(under.length_mm, abs=under.strips)
    assert sum(lengths[under.strips:]) == pytest.approx(film.length_mm, abs=film.strips)


@pytest.mark.parametrize("job", [lambda: job_of([(0, 0), (4060, 0), (4060, 3000), (0, 3000)]), breast_job],
                         ids=["last sheet 60 mm wide", "breast"])
def test_numbers_of_sheets_under_the_boards_touch_no_line(job):
    """A sheet too narrow for its number has it below the floor; where a breast takes a part, it lies on the rest."""
    (page,) = under_pages(job(), A4)
    numbers = [item for item in page.items if isinstance(item, Text) and item.text.isdigit() and item.bold]
    lines = [LineString((item.start, item.end)) for item in page.items if isinstance(item, Line)
             and item.layer == "joint"]
    rims = [LinearRing(item.points) for item in page.items if isinstance(item, Poly) and item.closed
            and item.pen == MEDIUM]
    assert len(numbers) >= 7 and lines and rims
    for number in numbers:
        (x, y), half = number.at, text_width(number.text, number.size_mm, bold=True) / 2
        ink_there = box(x - half, y - CAP * number.size_mm, x + half, y)
        assert all(not ink_there.intersects(line) for line in (*lines, *rims)), number.text
