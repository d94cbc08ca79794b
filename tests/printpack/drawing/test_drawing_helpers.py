"""Hatching and clipping, against shapely as a second opinion."""
from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon, box

from printpack.drawing.clip import clip_line, clip_ring, clipped
from printpack.drawing.hatch import hatch
from printpack.drawing.label_placement import Placer
from printpack.drawing.sheet import Circle, Poly, Text

WINDOW = (0.0, 0.0, 100.0, 60.0)
PLACE = st.tuples(st.integers(-8000, 18000), st.integers(-8000, 14000)).map(lambda p: (p[0] / 100, p[1] / 100))
L_SHAPE = ((0.0, 0.0), (40.0, 0.0), (40.0, 15.0), (12.0, 15.0), (12.0, 30.0), (0.0, 30.0))


@given(PLACE, PLACE)
def test_a_clipped_line_is_the_part_in_the_window(a, b):
    part, truth = clip_line(a, b, WINDOW), LineString([a, b]).intersection(box(*WINDOW))
    assert (hypot(part[1][0] - part[0][0], part[1][1] - part[0][1]) if part else 0.0) == pytest.approx(
        truth.length, abs=1e-6
    )
    assert all(box(*WINDOW).distance(Point(p)) < 1e-6 and LineString([a, b]).distance(Point(p)) < 1e-6 for p in part
               or ())


@given(st.lists(PLACE, min_size=3, max_size=3, unique=True))
def test_a_clipped_triangle_has_the_area_in_the_window(ring):
    part = clip_ring(tuple(ring), WINDOW)
    area = Polygon(part).buffer(0).area if len(part) >= 3 else 0.0
    assert area == pytest.approx(Polygon(ring).intersection(box(*WINDOW)).area, abs=1e-6)


def test_a_clipped_outline_shows_no_line_along_the_window():
    parts = clipped(Poly(((-10.0, 10.0), (50.0, 10.0), (50.0, 30.0), (-10.0, 30.0)), fill=0.8), WINDOW)
    filled, *chains = parts
    assert filled.pen.width_mm == 0 and Polygon(filled.points).area == pytest.approx(50 * 20)
    drawn = sum(LineString(chain.points).length for chain in chains)
    assert drawn == pytest.approx(50 + 20 + 50)


def test_a_clipped_circle_keeps_its_radius():
    chains = clipped(Circle((0.0, 30.0), 20.0), WINDOW)
    assert all(abs(hypot(x, y - 30.0) - 20.0) < 0.002 for chain in chains for x, y in chain.points)
    assert sum(LineString(chain.points).length for chain in chains) == pytest.approx(3.14159 * 20, abs=0.01)


@pytest.mark.parametrize("rings", [(L_SHAPE,), (((0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)),
                                                ((10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0)))])
def test_a_hatch_fills_the_region_and_nothing_else(rings):
    """Length of hatch times its spacing is the area, in the limit of a fine hatch."""
    lines = hatch(rings, spacing_mm=0.25)
    region = Polygon(rings[0], rings[1:])
    assert 0.25 * sum(LineString([line.start, line.end]).length for line in lines) == pytest.approx(
        region.area, rel=0.01
    )
    grown = region.buffer(1e-6)
    assert all(grown.contains(LineString([line.start, line.end])) for line in lines)


def test_a_placer_refuses_what_would_overprint():
    placer = Placer((0.0, 0.0, 60.0, 20.0))
    assert placer.put(Text((2.0, 8.0), "first")) and not placer.put(Text((3.0, 9.0), "second"))
    assert placer.first([Text((3.0, 9.0), "second"), Text((2.0, 16.0), "second")])[0].at == (2.0, 16.0)
    assert not placer.put(Text((55.0, 8.0), "too far right"))
