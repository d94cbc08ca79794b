"""Tiles cover the drawing, overlap exactly, and keep true lengths across every seam, measured in the PDF."""
from __future__ import annotations

from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from printpack.errors import PrintError
from printpack.paper import PAPERS
from printpack.pdf import pdf_bytes
from printpack.sheet import Line, Pen, Sheet, Text, mapped, moved
from printpack.template_sheets import FOOT_MM, HEAD_MM, LEFT_MM
from printpack.tiles import CROSS_MM, OVERLAP_MM, crosses, tile_grid, tile_items, tile_name
from tests.printpack.looks import ink, pages, vectors
from tests.printpack.plans import DATE

SIZE = (450.0, 520.0)


def room_of(paper) -> tuple[float, float]:
    return paper.live_width_mm - LEFT_MM, paper.live_height_mm - HEAD_MM - FOOT_MM


@given(st.floats(20, 3000), st.floats(20, 1500), st.floats(60, 300), st.floats(60, 400))
def test_windows_cover_the_drawing_and_overlap_exactly(width, height, room_x, room_y):
    tiles = tile_grid((width, height), (room_x, room_y))
    for low, high, size, along in ((0, 2, width, "column"), (1, 3, height, "row")):
        spans = sorted({getattr(tile, along): (tile.window[low], tile.window[high]) for tile in tiles}.values())
        assert spans[0][0] <= 1e-9 and spans[-1][1] >= size - 0.01
        assert [a[1] - b[0] for a, b in zip(spans, spans[1:])] == pytest.approx([OVERLAP_MM] * (len(spans) - 1), abs=1e-6)
    assert len({tile.name for tile in tiles}) == len(tiles) == tiles[0].columns * tiles[0].rows


def test_names_count_across_in_letters_and_down_in_numbers():
    assert [tile_name(0, 0), tile_name(1, 1), tile_name(25, 0), tile_name(26, 2), tile_name(52, 0)] == ["A1", "B2", "Z1", "AA3", "BA1"]


def test_neighbours_name_one_another():
    tiles = {tile.name: tile for tile in tile_grid(SIZE, room_of(PAPERS[0]))}
    back = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
    for tile in tiles.values():
        for side, name in tile.neighbours().items():
            assert tiles[name].neighbours()[back[side]] == tile.name


def test_neighbours_show_the_same_two_crosses_in_their_overlap():
    tiles = {tile.name: tile for tile in tile_grid(SIZE, room_of(PAPERS[0]))}
    for tile in tiles.values():
        mine = {(line.start, line.end) for line in crosses(tile)}
        assert len(mine) == 4 * len(tile.neighbours())
        for name in tile.neighbours().values():
            shared = _near(mine, {(line.start, line.end) for line in crosses(tiles[name])})
            assert len(shared) == 4
            w, o = tile.window, tiles[name].window
            assert all(max(w[0], o[0]) <= x <= min(w[2], o[2]) and max(w[1], o[1]) <= y <= min(w[3], o[3])
                       for pair in shared for x, y in pair)
    assert CROSS_MM < OVERLAP_MM


def _near(mine, theirs):
    return [a for a in mine if any(np.allclose(a, b, atol=1e-6) for b in theirs)]


def test_a_sheet_too_small_for_its_overlap_is_refused():
    with pytest.raises(PrintError) as refusal:
        tile_grid((500.0, 500.0), (20.0, 200.0))
    assert refusal.value.slug == "overlap-too-large" and "larger paper" in str(refusal.value)


def grid_drawing() -> tuple[Line, ...]:
    """Lines across, down and on the diagonal over the whole drawing."""
    w, h = SIZE
    upright = [Line((x, 0.0), (x, h), Pen(0.2), "grid") for x in np.linspace(5.0, w - 5.0, 9)]
    level = [Line((0.0, y), (w, y), Pen(0.2), "grid") for y in np.linspace(7.0, h - 7.0, 9)]
    return (*upright, *level, Line((0.0, 0.0), (w, h), Pen(0.2), "grid"))


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
@pytest.mark.parametrize("scale", [(1.0, 1.0), (1.004, 0.997)])
def test_lengths_are_true_across_every_seam(paper, scale):
    """Every line end read back from every sheet, put together by the sheets' windows: 0.01 mm per 100 mm, by vectors.

    The diagonal crosses seams both ways; on each sheet its points must lie on one straight line.
    """
    drawing = tuple(mapped(item, *scale, 0.0, 0.0) for item in grid_drawing())
    size = (SIZE[0] * scale[0], SIZE[1] * scale[1])
    tiles = tile_grid(size, room_of(paper))
    sheets = [Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm,
                    items=tuple(moved(item, 18.0, 37.0) for item in tile_items(drawing, tile, tiles) if item.layer == "grid"))
              for tile in tiles]
    read = [(x + tile.window[0] - 18.0, y + tile.window[1] - 37.0)
            for page, tile in zip(pages(pdf_bytes(tuple(sheets), title="t", date=DATE)), tiles)
            for x0, y0, x1, y1 in vectors(page) for x, y in ((x0, y0), (x1, y1))]
    wanted_x, wanted_y = (np.unique(np.round([p[i] for line in drawing for p in (line.start, line.end)], 6)) for i in (0, 1))
    for x, y in read:
        slope = size[1] / size[0]
        off = min(np.abs(wanted_x - x).min(), np.abs(wanted_y - y).min(), abs(y - slope * x) / hypot(1.0, slope))
        assert off < 0.01
    assert len(read) >= 2 * len(drawing)


def test_a_distance_over_a_seam_is_true_in_the_raster_too():
    """An upright line 60 mm in and one on the next sheet: their distance from two 300 dpi pictures, 0.05 mm."""
    paper = PAPERS[0]
    drawing = (Line((60.0, 0.0), (60.0, 200.0), Pen(0.3), "grid"), Line((310.0, 0.0), (310.0, 200.0), Pen(0.3), "grid"))
    tiles = tile_grid((400.0, 200.0), room_of(paper))
    sheets = tuple(Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm,
                         items=tuple(moved(item, 18.0, 37.0) for item in tile_items(drawing, tile, tiles) if item.layer == "grid"))
                   for tile in tiles)
    pdf = pdf_bytes(sheets, title="t", date=DATE)
    places = []
    for number, tile in enumerate(tiles):
        dark, across, _ = ink(pdf, number, dpi=300)
        profile = dark.sum(axis=0)
        if profile.any():
            places.append((profile @ (np.arange(len(profile)) + 0.5)) / profile.sum() / across - 18.0 + tile.window[0])
    assert places == pytest.approx([60.0, 310.0], abs=0.05)


def test_a_text_on_a_seam_stands_whole_on_one_sheet():
    tiles = tile_grid((400.0, 100.0), (181.0, 240.0))
    seam = tiles[0].window[2] - OVERLAP_MM / 2
    text = Text((seam, 50.0), "a long line of words across the seam", 5.0, "middle")
    shown = [item for tile in tiles for item in tile_items((text,), tile, tiles) if isinstance(item, Text)]
    assert len(shown) == 1
