"""Traced casings on paper: the try-out page is the footprint true to size, the template lies in its board as every
template does."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from layout.region.casings import saw_lines, standing_legs
from layout.planning.planner import EFFORTS, plan_floor
from layout.room import Casing, Door, Wishes
from printpack.outputs.pack import make_pack
from printpack.paper import A4, LETTER
from printpack.drawing.frames import board_shift, in_rows
from printpack.drawing.sheet import Line, Poly, Text
from printpack.fullsize.casing_templates import traced_sheets
from tests.support.looks import overprints, strays
from tests.support.plans import LONG, job_of

#: 57 wide, 15 thick at its outer side, down to nothing at the opening: a mirror image would show.
CHAIN = ((57.0, 0.0), (57.0, 15.0), (44.0, 15.0), (44.0, 10.0), (0.0, 0.0))


@pytest.fixture(scope="module")
def job():
    plain = job_of(LONG)
    door = Door(name="D1", wall=("A", "B"), from_mm=900.0, width_mm=760.0,
                casing=Casing(width_mm=57.0, thickness_mm=15.0), legs=(("left", CHAIN), ("right", CHAIN)),
                traced_pm_mm=0.6)
    return replace(plain, room=replace(plain.room, doors=(door,)))


def lines(sheet, layer):
    return [np.array(item.points) for item in sheet.items if isinstance(item, Poly) and item.layer == layer]


def words(sheet):
    return " ".join(item.text for item in sheet.items if isinstance(item, Text))


@pytest.mark.parametrize(("name", "side"), [("C1", 1.0), ("C2", -1.0)])
def test_the_try_out_page_shows_the_footprint_as_the_reader_sees_it(job, name, side):
    """Facing the wall, the left leg runs to the left away from the opening: its thick end is at the left of the
    page."""
    (sheet,) = [sheet for sheet in traced_sheets(job, A4) if sheet.bookmark == f"{name}: paper first"]
    (ring,) = lines(sheet, "cut")
    off = ring - ring[-1]
    assert np.allclose(off, [(-side * u, t) for u, t in CHAIN], atol=1e-6)
    assert "± 0.6 mm" in words(sheet)
    assert "Paper first" in words(sheet)


def test_the_template_lies_in_its_board_with_the_wall_edge_up(job):
    """Its one thick line is closed and runs along every saw line of the footprint with the gap outward, put from the
    plan into the board by the pack's own rule."""
    legs = {f"C{k}": leg for k, leg in enumerate(standing_legs(job.room, job.plan.gap_mm), start=1)}
    pieces = {piece.id: piece for piece in job.plan.pieces}
    found = 0
    for sheet in traced_sheets(job, A4)[1:]:
        if "piece" not in sheet.bookmark:
            continue
        name, piece = sheet.bookmark[:2], pieces[sheet.bookmark.rpartition(" ")[2]]
        cuts = [item for item in sheet.items if isinstance(item, Poly) and item.layer == "cut"]
        true = [np.array(in_rows(job.plan, line)) + board_shift(job.plan, piece)
                for line in saw_lines(piece, legs[name])]
        assert cuts and max(item.pen.width_mm for item in cuts) > 0.5
        others = [item for item in sheet.items if isinstance(item, (Poly, Line)) and item.layer in ("wall", "foot",
                                                                                                   "kept")]
        assert others and max(item.pen.width_mm for item in others) <= 0.2
        drawn = unary_union([LineString(cut.points + (cut.points[:1] if cut.closed else ())) for cut in cuts])
        moves = [np.array(spot) - corner for line in true for corner in line for cut in cuts for spot in cut.points]
        assert any(all(drawn.distance(Point(*(corner + move))) < 0.75 for line in true for corner in line)
                   for move in moves)
        assert {"casing", "bare wall"} <= {item.text for item in sheet.items if isinstance(item, Text)}
        assert "wall edge" in words(sheet) and "undercut" in words(sheet)
        found += 1
    assert found >= 2


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_everything_stays_on_its_sheet_and_nothing_overprints(job, paper):
    for sheet in traced_sheets(job, paper):
        assert strays(sheet) == []
        assert overprints(sheet) == []


@pytest.mark.parametrize("wall", [("B", "C"), ("D", "A")])
@pytest.mark.parametrize("reveal", [0.0, 60.0])
def test_no_label_wipes_out_a_wall_line(job, wall, reveal):
    """A label's white ground lies over what is drawn before it: a wall along the rows may not pass there, however
    close to the board it runs."""
    seen = 0
    for gap in (3.0, 5.0, 7.0, 10.0):
        (door,) = job.room.doors
        room = replace(job.room, doors=(replace(door, wall=wall, reveal_mm=reveal),))
        laid = replace(job, room=room, plan=plan_floor(room, job.plan.board, Wishes(gap_mm=gap),
                                                       moves=EFFORTS["preview"]))
        for sheet in traced_sheets(laid, A4)[1:]:
            walls = [LineString([item.start, item.end]) for item in sheet.items if isinstance(item, Line)
                     and item.layer == "wall"]
            grounds = [Polygon(ring) for ring in lines(sheet, "ground")]
            seen += bool(walls and grounds)
            assert not any(wall.intersects(ground) for wall in walls for ground in grounds), (gap, sheet.bookmark)
    assert seen


def test_the_pack_holds_it_only_where_something_was_traced(job):
    assert "traced.pdf" in make_pack(job, A4)
    assert "traced.pdf" not in make_pack(job_of(LONG), A4)
