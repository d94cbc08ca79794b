"""Tiles cover the drawing, overlap exactly, and keep true lengths across every seam, measured in the PDF."""
from __future__ import annotations

from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from printpack.errors import PrintError
from printpack.drawing.metrics import text_box
from printpack.paper import PAPERS
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.sheet import Line, Pen, Sheet, Text, mapped, moved
from printpack.fullsize.template_sheets import FOOT_MM, HEAD_MM, LEFT_MM
from printpack.fullsize.tiles import CROSS_MM, OVERLAP_MM, crosses, tile_grid, tile_items, tile_name
from tests.support.looks import ink, pages, vectors
from tests.support.plans import DATE

SIZE = (450.0, 520.0)


def room_of(paper) -> tuple[float, float]:
    return paper.live_width_mm - LEFT_MM, paper.live_height_mm - HEAD_MM - FOOT_MM


@given(st.floats(20, 3000), st.floats(20, 1500), st.floats(60, 300), st.floats(60, 400))
def test_windows_cover_the_drawing_and_overlap_exactly(width, height, room_x, room_y):
    tiles = tile_grid((width, height), (room_x, room_y))
    for low, high, size, along in ((0, 2, width, "column"), (1, 3, height, "row")):
        spans = sorted({getattr(tile, along): (tile.window[low], tile.window[high]) for tile in tiles}.values())
        assert spans[0][0] <= 1e-9 and spans[-1][1] >= size - 0.01
        assert [a[1] - b[0] for a, b in zip(spans, spans[1:])] == pytest.approx([OVERLAP_MM] * (len(spans) - 1),
                                                                                abs=1e-6)
    assert len({tile.name for tile in tiles}) == len(tiles) == tiles[0].columns * tiles[0].rows


def test_names_count_across_in_letters_and_down_in_numbers():
    assert [tile_name(0, 0), tile_name(1, 1), tile_name(25, 0), tile_name(26, 2), tile_name(52, 0)] == [
        "A1",
        "B2",
        "Z1",
        "AA3",
        "BA1",
    ]


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
                    items=tuple(moved(item, 18.0, 37.0) for item in tile_items(drawing, tile, tiles)
                                if item.layer == "grid")) for tile in tiles]
    read = [(x + tile.window[0] - 18.0, y + tile.window[1] - 37.0)
            for page, tile in zip(pages(pdf_bytes(tuple(sheets), title="t", date=DATE)), tiles)
            for x0, y0, x1, y1 in vectors(page) for x, y in ((x0, y0), (x1, y1))]
    wanted_x, wanted_y = (np.unique(np.round([p[i] for line in drawing for p in (line.start, line.end)], 6))
                          for i in (0, 1))
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
                         items=tuple(moved(item, 18.0, 37.0) for item in tile_items(drawing, tile, tiles)
                                     if item.layer == "grid")) for tile in tiles)
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


def _places(least: float, most: float) -> st.SearchStrategy[float]:
    """Places on paper, to a nanometre: closer to an edge than that, rounding decides."""
    return st.floats(least, most).map(lambda place: round(place, 6))


@given(_places(-20, 420), _places(-20, 330), st.sampled_from(("start", "middle", "end")), st.integers(1, 60))
def test_a_text_is_shown_whole_and_where_it_belongs_as_far_as_it_can_be(x, y, anchor, letters):
    """Unmoved on every sheet it fits on whole; where it fits on none, on the one that holds its middle, moved no
    further than to that edge."""
    tiles = tile_grid((400.0, 310.0), (181.0, 160.0))
    text = Text((x, y), "m" * letters, 4.0, anchor)
    left, top, right, bottom = text_box(text)
    shown = {tile.name: item for tile in tiles for item in tile_items((text,), tile, tiles) if isinstance(item, Text)}
    whole = [tile for tile in tiles if tile.window[0] <= left and tile.window[1] <= top and right <= tile.window[2]
             and bottom <= tile.window[3]]
    if whole:
        assert set(shown) == {tile.name for tile in whole}
        assert all(shown[tile.name].at == pytest.approx((x - tile.window[0], y - tile.window[1])) for tile in whole)
        return
    middle = (left + right) / 2, (top + bottom) / 2
    homes = [tile for tile in tiles if tile.window[0] <= middle[0] <= tile.window[2]
             and tile.window[1] <= middle[1] <= tile.window[3]]
    assert set(shown) == {tile.name for tile in homes[:1]}
    for tile in homes[:1]:
        wide, tall = tile.window[2] - tile.window[0], tile.window[3] - tile.window[1]
        box = text_box(shown[tile.name])
        moved_by = shown[tile.name].at[0] + tile.window[0] - x, shown[tile.name].at[1] + tile.window[1] - y
        for low, high, room, step, before in ((box[0], box[2], wide, moved_by[0],
                                               (left - tile.window[0], right - tile.window[2])),
                                              (box[1], box[3], tall, moved_by[1],
                                               (top - tile.window[1], bottom - tile.window[3]))):
            if high - low <= room:
                assert low >= -1e-6 and high <= room + 1e-6
                assert step == pytest.approx(-min(before[0], 0.0) - max(before[1], 0.0), abs=1e-6)


def test_a_drawing_smaller_than_a_sheet_lies_in_its_middle_and_the_last_sheet_is_named():
    (tile,) = tile_grid((100.0, 60.0), (181.0, 160.0))
    assert tile.window == pytest.approx((-40.5, -50.0, 140.5,
                                         110.0)) and tile.name == tile.last_name == "A1" and not tile.neighbours()
    tiles = tile_grid((400.0, 310.0), (181.0, 160.0))
    assert {tile.last_name for tile in tiles} == {tiles[-1].name} == {"C2"}
    assert tiles[0].neighbours() == {"right": "B1", "bottom": "A2"} and tiles[-1].neighbours() == {
        "left": "B2",
        "top": "C1",
    }


@pytest.mark.parametrize("size, sheets", [(181.0, 1), (182.0, 2), (352.0, 2), (353.0, 3)])
def test_no_more_sheets_than_needed(size, sheets):
    """Two windows of 181 mm that share 10 mm reach 352 mm."""
    assert len(tile_grid((size, 100.0), (181.0, 160.0))) == sheets


@pytest.mark.parametrize("room, fits", [(19.9, False), (20.0, False), (20.1, True)])
def test_a_sheet_must_be_wider_than_both_its_overlaps(room, fits):
    if fits:
        assert tile_grid((30.0, 30.0), (room, 200.0))
    else:
        with pytest.raises(PrintError):
            tile_grid((30.0, 30.0), (room, 200.0))


def test_crosses_are_upright_crosses_at_a_quarter_and_three_quarters_of_a_seam():
    tile = tile_grid((300.0, 100.0), (181.0, 160.0))[0]
    lines = crosses(tile)
    _, top, right, bottom = tile.window
    seam, spots = right - OVERLAP_MM / 2, [top + share * (bottom - top) for share in (0.25, 0.75)]
    assert [line.start for line in lines] == [pytest.approx(p) for y in spots
                                              for p in ((seam - CROSS_MM / 2, y), (seam, y - CROSS_MM / 2))]
    assert [line.end for line in lines] == [pytest.approx(p) for y in spots
                                            for p in ((seam + CROSS_MM / 2, y), (seam, y + CROSS_MM / 2))]
