"""Templates say what the plan says, at full size, one way up only, and are made only for what a tape cannot set."""
from __future__ import annotations

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from layout.planning.planner import plan_floor
from layout.room import Pipe, Wishes
from printpack.paper import A4, LETTER, PAPERS
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.frames import in_board
from printpack.words.piece_outline import bare, frame_of, sawn_path, wall_foot
from printpack.drawing.sheet import Circle, Line, Text
from printpack.fullsize.template_draw import COLLAR_LAP_MM, template_items, window_of
from printpack.fullsize.template_sheets import template_sheets, template_svg_sheet
from printpack.fullsize.templates import find_templates, names_by_piece, template_words
from tests.support.looks import overprints, pages, strays, vectors
from tests.support.plans import BOARD, BREAST, SLANTED, breast_job, job_of

BREAST_JOB = breast_job()
SLANT_JOB = job_of(SLANTED)
BAY = ((0, 0), (3600, 0), (3600, 3200), (2700, 3205), (2400, 3600), (1200, 3610), (900, 3200), (0, 3190))
BAY_JOB = replace(job_of(BAY), plan=plan_floor(job_of(BAY).room, BOARD, Wishes(), moves=100))


def drawn(job, template, layer):
    return [item for item in template_items(template, job.plan, job.units) if getattr(item, "layer", "") == layer]


def of_kind(job, kind):
    """(template, cut) for every template that shows a cut of that kind."""
    return [(t, cut) for t in find_templates(job.plan) for cut in t.cuts if cut.kind == kind]


def test_what_a_tape_cannot_set_has_a_template_and_nothing_else():
    """Pipes, and cut-outs that are neither square nor one straight line (common practice, no source); slanted ends
    and square notches have their figures on the row's page."""
    for job in (BREAST_JOB, SLANT_JOB, BAY_JOB):
        names = names_by_piece(find_templates(job.plan))
        for piece in job.plan.pieces:
            bent = any(cut.kind in ("notch", "line") and not is_square(cut) and len(sawn_path(job.plan, piece, cut)) > 2
                       for cut in piece.cuts)
            assert (bent or any(cut.kind == "hole" for cut in piece.cuts)) == (piece.id in names)
    assert names_by_piece(find_templates(BAY_JOB.plan)) and not find_templates(SLANT_JOB.plan)


def is_square(cut) -> bool:
    return all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 1.0 for a, b in zip(cut.shape, cut.shape[1:] + cut.shape[:1]))


def test_notch_lines_are_the_plans_own():
    """Every side of the drawn notch lies on the plan's notch, and the cut lines lie inside the board's outline."""
    found = [pair for kind in ("notch", "line") for pair in of_kind(BAY_JOB, kind)]
    assert found
    for template, _ in found:
        shapes = [Polygon(cut.shape).exterior for cut in template.cuts if cut.kind in ("notch", "line")]
        sides = [LineString([line.start, line.end]) for line in drawn(BAY_JOB, template, "cut")
                 + drawn(BAY_JOB, template, "outer") if isinstance(line, Line)]
        assert all(min(shape.distance(Point(p)) for shape in shapes) < 1e-6 for side in sides for p in side.coords)
        assert sum(side.length for side in sides) == pytest.approx(sum(shape.length for shape in shapes), abs=1e-6)
        outline = Polygon(in_board(BAY_JOB.plan, template.piece)[0])
        for line in drawn(BAY_JOB, template, "cut"):
            assert LineString([line.start, line.end]).within(outline.exterior.buffer(0.2))


def test_every_corner_of_a_notch_inside_its_board_is_on_some_template():
    for piece in BAY_JOB.plan.pieces:
        windows = [window_of(t) for t in find_templates(BAY_JOB.plan) if t.piece.id == piece.id]
        for cut in piece.cuts:
            bent = windows and cut.kind in ("notch", "line") and not is_square(cut)
            for x, y in sawn_path(BAY_JOB.plan, piece, cut) if bent else ():
                if min(abs(x - piece.from_mm), abs(x - piece.to_mm)) > 0.5:
                    assert any(w[0] <= x <= w[2] and w[1] <= y <= w[3] for w in windows)


def test_holes_stand_where_the_pipes_stand():
    """Back from the board's frame to the plan, each circle's centre is its pipe's place."""
    for template, cut in of_kind(BREAST_JOB, "hole"):
        circle = next(c for c in drawn(BREAST_JOB, template, "cut") if isinstance(c, Circle) and c.centre == cut.centre)
        hole = next(h for h in BREAST_JOB.plan.holes if h.pipe == cut.pipe)
        board, plan = in_board(BREAST_JOB.plan, template.piece)[0], template.piece.outline_mm
        dx, dy = circle.centre[0] - board[0][0], circle.centre[1] - board[0][1]
        assert (plan[0][0] + dx, plan[0][1] - dy) == pytest.approx(hole.centre_mm, abs=1e-6)
        assert 2 * circle.radius_mm == hole.diameter_mm
        collar = next(c for c in drawn(BREAST_JOB, template, "collar") if c.centre == cut.centre)
        assert 2 * collar.radius_mm == hole.diameter_mm + COLLAR_LAP_MM


def test_the_back_piece_comes_out_towards_the_wall():
    """P1 and P2 stand by the start wall, P3 by the left wall: straight out from each lies no board."""
    feet = {cut.pipe: (wall_foot(BREAST_JOB.plan, t.piece, cut.centre), cut.centre, t.piece)
            for t, cut in of_kind(BREAST_JOB, "hole")}
    for pipe, heading in (("P1", (0.0, -1.0)), ("P2", (0.0, -1.0)), ("P3", (-1.0, 0.0))):
        foot, centre, piece = feet[pipe]
        far = hypot(foot[0] - centre[0], foot[1] - centre[1])
        assert ((foot[0] - centre[0]) / far, (foot[1] - centre[1]) / far) == pytest.approx(heading)
        assert bare(BREAST_JOB.plan, piece, (foot[0] + 2 * heading[0], foot[1] + 2 * heading[1]))


def test_the_back_pieces_saw_lines_start_on_the_hole_and_end_on_the_outline():
    for template, _ in of_kind(BREAST_JOB, "hole"):
        outline = Polygon(in_board(BREAST_JOB.plan, template.piece)[0]).exterior
        for line in drawn(BREAST_JOB, template, "wedge"):
            assert outline.distance(Point(line.end)) < 1e-6
            assert any(abs(hypot(line.start[0] - c.centre[0], line.start[1] - c.centre[1]) - c.diameter / 2) < 1e-6
                       for c in template.cuts if c.kind == "hole")


def test_a_pipe_at_a_joint_gives_two_half_holes_without_a_wedge():
    plan = breast_job().plan
    row = plan.rows[8].pieces
    joint = row[0].outline_mm[1] if row[0].outline_mm[1][0] > row[0].outline_mm[0][0] else row[0].outline_mm[0]
    joint_x = max(x for x, _ in row[0].outline_mm)
    middle_y = sum(y for _, y in row[0].outline_mm) / 4
    job = job_of(BREAST, first_mm=150.0, pipes=(Pipe(name="PJ", centre_mm=(joint_x, middle_y), diameter_mm=15.0),))
    halves = of_kind(job, "hole")
    assert len(halves) == 2 and joint
    for template, cut in halves:
        assert not drawn(job, template, "wedge")
        assert min(abs(cut.centre[0] - template.piece.from_mm), abs(cut.centre[0] - template.piece.to_mm)) < 1e-6
        assert "Half hole" in template_words(template, job.plan, job.units)[0]


def half_hole_job():
    """A pipe on the edge between rows 9 and 10."""
    edge = breast_job().plan.rows[8]
    return job_of(BREAST, first_mm=150.0, pipes=(Pipe(name="PE", centre_mm=(900.0, 3040.0 - edge.far_mm - 4.0),
                                                      diameter_mm=22.0),))


@pytest.mark.parametrize("job", [BREAST_JOB, BAY_JOB, half_hole_job()], ids=["breast", "bay", "half hole"])
def test_a_template_cannot_be_used_mirrored(job):
    """The near edge is named at the top with its arrow, and every side in sight is named or drawn."""
    for template in find_templates(job.plan):
        items = template_items(template, job.plan, job.units)
        words = {item.text: item.at for item in items if isinstance(item, Text)}
        near = next(at for text, at in words.items() if text.startswith("↑ wall edge"))
        far = next(at for text, at in words.items() if text.startswith("your edge"))
        assert abs(near[1] - template.near_mm) < 6 and abs(far[1] - template.far_mm) < 6
        sheets = template_sheets(job, (template,), A4)
        assert any("decor face" in item.text for item in sheets[1].items if isinstance(item, Text))


@pytest.mark.parametrize("job", [BREAST_JOB, BAY_JOB], ids=["breast", "bay"])
def test_the_alignment_is_drawn_where_the_words_say(job):
    for template in find_templates(job.plan):
        side, away = template.mark
        lines = drawn(job, template, "align")
        left, _, right, _ = window_of(template)
        if away:
            assert away % 5 == 0
            end = template.piece.from_mm if side == "left" else template.piece.to_mm
            assert [abs(line.start[0] - end) for line in lines] == pytest.approx([away])
            assert left < lines[0].start[0] < right
        elif side:
            a, _ = frame_of(job.plan, template.piece).side(side)
            assert left <= a[0] <= right and not lines


def test_marks_in_inches_are_whole_quarter_inches():
    """What is printed to 1/16 inch is then exact."""
    job = breast_job(show="imperial")
    marks = [t.mark[1] for t in find_templates(job.plan, show="imperial") if t.mark[1]]
    assert marks and all(abs(mark / 6.35 - round(mark / 6.35)) < 1e-9 for mark in marks)


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda p: p.name)
def test_a_template_is_true_on_paper(paper):
    """The hole's cut lines read back with pdfplumber: wedge feet 50 mm apart pipe to pipe, hole to far edge, 0.01
    mm."""
    template = find_templates(BREAST_JOB.plan)[0]
    assert template.piece.id == "1.3"
    sheets = template_sheets(BREAST_JOB, (template,), paper)
    lines = vectors(pages(pdf_bytes(sheets, title="t", date=BREAST_JOB.date))[1])
    tall = max(abs(y1 - y0) for x0, y0, x1, y1 in lines if abs(x1 - x0) < 1e-3 and abs(abs(y1 - y0) - 150.0) < 2)
    assert tall == pytest.approx(150.0, abs=0.015)
    drops = sorted(x0 for x0, y0, x1, y1 in lines if abs(x1 - x0) < 1e-3 and abs(abs(y1 - y0) - 100.0) < 0.05)
    gaps = np.diff(drops)
    assert any(abs(gap - 50.0) < 0.01 for gap in gaps)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_a_wide_board_still_gets_its_template_on_every_paper(paper):
    """A 400 mm wide board: the template runs over sheets, and no cut line is lost between them."""
    from layout.room import Board
    job = job_of(BREAST, board=Board(length_mm=1285.0, width_mm=400.0, thickness_mm=8.0, pack=4), first_mm=400.0)
    for template in find_templates(job.plan)[:2]:
        sheets = template_sheets(job, (template,), paper)[1:]
        assert not any(overprints(sheet) for sheet in sheets)
        drawn_mm = sum(hypot(i.end[0] - i.start[0], i.end[1] - i.start[1]) for s in sheets for i in s.items
                       if isinstance(i, Line) and i.layer == "cut")
        left, top, right, bottom = window_of(template)
        whole = sum(LineString([i.start, i.end]).intersection(Polygon([(left, top), (right, top), (right, bottom),
                                                                       (left, bottom)])).length
                    for i in template_items(template, job.plan, job.units) if isinstance(i, Line) and i.layer == "cut")
        assert drawn_mm >= whole - 1e-6


def test_the_svg_is_the_template_at_full_size():
    template = find_templates(BREAST_JOB.plan)[0]
    sheet = template_svg_sheet(BREAST_JOB, template)
    left, top, right, bottom = window_of(template)
    assert sheet.width_mm > right - left and sheet.height_mm > bottom - top and not strays(sheet, margin_mm=0.0)
    assert any(item.layer == "check" and abs(item.end[1] - item.start[1]) == 100.0 for item in sheet.items
               if isinstance(item, Line))
    circles = [item for item in sheet.items if isinstance(item, Circle) and item.layer == "cut"]
    assert [c.radius_mm for c in circles] == [17.5, 17.5] and abs(circles[0].centre[0]
                                                                  - circles[1].centre[0]) == pytest.approx(50.0)
