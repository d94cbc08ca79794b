"""Marks under mouse, keys and undo; every change on the disk at once."""
from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.support.hands import (
    add_length, choose_photo, disk, go, marks, on_screen, point_at, saved, stage_photo)
from tests.support.invented_room import corner_px, distance_mm, picture

VIEW = "from the door"


@pytest.fixture
def stage(quick_desk, open_page, tmp_path: Path) -> tuple[Page, Path]:
    """A page with one photo on the stage, and the job's folder."""
    desk = quick_desk()
    page = open_page(desk.address).page
    stage_photo(page, tmp_path, picture(VIEW))
    return page, desk.folder


def place(page: Page, *names: str) -> None:
    for name in names:
        point_at(page, *corner_px(name, VIEW))
        expect(page.locator(f"[data-mark='p:{name}']")).to_be_visible()
    saved(page)


def test_a_drag_moves_the_mark_and_undo_brings_it_back(stage):
    page, folder = stage
    place(page, "A", "B")
    before = marks(folder)["A"]
    start, end = on_screen(page, *before), on_screen(page, before[0] + 120, before[1] - 60)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=6)
    expect(page.locator(".loupe")).to_be_visible()
    page.mouse.up()
    saved(page)
    assert marks(folder)["A"] == pytest.approx((before[0] + 120, before[1] - 60), abs=2.5)
    assert len(marks(folder)) == 2
    page.click("#undo")
    saved(page)
    assert marks(folder)["A"] == before
    page.click("#redo")
    saved(page)
    assert marks(folder)["A"] != before


def test_an_answer_that_comes_during_a_drag_changes_nothing_under_the_finger(stage):
    page, folder = stage
    place(page, "A", "B")
    before = marks(folder)["A"]
    start, end = on_screen(page, *before), on_screen(page, before[0] + 120, before[1] - 60)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, steps=3)
    page.evaluate("document.getElementById('title').value = 'Meanwhile'; "
                  "document.getElementById('title').dispatchEvent(new Event('change'))")
    saved(page)
    page.wait_for_function("() => document.querySelector(\"[data-mark='p:A'] .pin\")")
    box = page.evaluate("""() => { const {x, y, width, height} = document.querySelector("[data-mark='p:A'] .pin").getBoundingClientRect();
        return {x, y, width, height}; }""")
    assert abs(box["x"] + box["width"] / 2 - (start[0] + end[0]) / 2) < 3
    page.mouse.move(*end, steps=3)
    page.mouse.up()
    saved(page)
    assert marks(folder)["A"] == pytest.approx((before[0] + 120, before[1] - 60), abs=2.5)


def test_a_mark_that_is_undone_while_it_is_dragged_is_let_go(stage):
    page, folder = stage
    place(page, "A")
    place(page, "B")
    start = on_screen(page, *marks(folder)["B"])
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 30, start[1] - 30, steps=3)
    page.evaluate("document.getElementById('undo').click()")
    page.mouse.move(start[0] + 60, start[1] - 60, steps=3)
    page.mouse.up()
    saved(page)
    assert set(marks(folder)) == {"A"}


def test_arrow_keys_nudge_by_one_pixel_and_by_ten(stage):
    page, folder = stage
    place(page, "A")
    x, y = marks(folder)["A"]
    page.focus("[data-mark='p:A']")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowUp")
    saved(page)
    assert marks(folder)["A"] == pytest.approx((x + 1, y - 10), abs=0.051)
    expect(page.locator("[data-mark='p:A']")).to_be_focused()
    page.keyboard.press("Delete")
    saved(page)
    assert marks(folder) == {} and disk(folder)["outline"] == ["A"]
    page.keyboard.press("Control+z")
    saved(page)
    assert list(marks(folder)) == ["A"]


def test_keys_alone_place_a_corner(stage):
    page, folder = stage
    page.focus(".thumb")
    page.keyboard.press("Tab")
    expect(page.locator(".canvas")).to_be_focused()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Enter")
    saved(page)
    (x, y), scale = marks(folder)["A"], 1600 / page.evaluate(
        "document.querySelector('.canvas').getScreenCTM().a * 1600")
    # 8 and 40 screen pixels from the middle of the photo.
    assert (x, y) == pytest.approx((799.5 + 8 * scale, 599.5 + 40 * scale), abs=1.0)


def test_a_tap_after_a_pan_or_zoom_still_hits_its_photo_pixel(stage):
    page, folder = stage
    x, y = corner_px("C", VIEW)
    page.mouse.move(*on_screen(page, x, y))
    page.mouse.wheel(0, -900)
    start = on_screen(page, x + 40, y + 60)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 70, start[1] - 40, steps=5)
    page.mouse.up()
    assert marks(folder) == {}
    point_at(page, x, y)
    saved(page)
    assert marks(folder)["A"] == pytest.approx((x, y), abs=0.5)


def test_a_chosen_letter_is_moved_by_a_tap_so_that_nothing_needs_a_drag(stage):
    page, folder = stage
    place(page, "A", "B", "C")
    page.click("[data-key=chip-B]")
    point_at(page, 700, 300)
    saved(page)
    assert marks(folder)["B"] == pytest.approx((700, 300), abs=2.5) and disk(folder)["outline"] == ["A", "B", "C"]


def test_wall_lines_are_kept_with_their_wall(stage):
    page, folder = stage
    place(page, "A", "B", "C")
    page.check("[data-key=mode-edge]")
    page.select_option("[data-key=wall]", label="B to C")
    for at in ((1310.0, 676.0), (1260.0, 572.0)):
        point_at(page, *at)
    saved(page)
    (edge,) = disk(folder)["photos"][0]["edges"]
    assert edge["wall"] == ["B", "C"]
    assert [tuple(p) for p in edge["points"]] == [pytest.approx((1310.0, 676.0), abs=2.5),
                                                  pytest.approx((1260.0, 572.0), abs=2.5)]


def test_the_order_round_the_room_can_be_put_right(stage):
    page, folder = stage
    place(page, "A", "B", "C")
    page.click("[data-key=up-C]")
    saved(page)
    assert disk(folder)["outline"] == ["A", "C", "B"]
    page.click("[data-key=drop-C]")
    saved(page)
    assert disk(folder)["outline"] == ["A", "B"] and list(marks(folder)) == ["A", "B"]


def add_second_photo(page, folder):
    """The same room from the window, added on the page and chosen for marking."""
    go(page, "photos")
    (folder / "two.jpg").write_bytes(picture("from the window"))
    page.set_input_files("#pick", str(folder / "two.jpg"))
    expect(page.locator(".shots li")).to_have_count(2)
    go(page, "corners")
    choose_photo(page, 2)


def test_once_all_corners_are_marked_a_slip_on_a_later_photo_adds_none(stage, tmp_path):
    page, folder = stage
    place(page, "A", "B", "C", "D")
    add_second_photo(page, tmp_path)
    for name in "ABCD":
        point_at(page, *corner_px(name, "from the window"))
        expect(page.locator(f"[data-mark='p:{name}']")).to_be_visible()
    point_at(page, 800, 200)
    expect(page.locator("#status")).to_contain_text("new corner")
    saved(page)
    assert disk(folder)["outline"] == ["A", "B", "C", "D"]


def test_once_the_floor_is_known_the_next_photo_shows_where_its_corners_should_be(stage, tmp_path):
    page, folder = stage
    place(page, "A", "B", "C", "D")
    go(page, "tape")
    for a, b in (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C")):
        add_length(page, a, b, f"{distance_mm(a, b):.0f} mm")
    add_second_photo(page, tmp_path)
    for name in "ABC":
        point_at(page, *corner_px(name, "from the window"))
        expect(page.locator(f"[data-mark='p:{name}']")).to_be_visible()
    ghost = page.locator("[data-ghost=D]")
    expect(ghost).to_be_visible()
    # Three marks of about 2 px and a floor known to a few mm: the fourth corner is expected within some px of its true
    # place. The ring stands where the last answer expects it; the one to three marks comes a moment after the third.
    page.wait_for_function(
        """([x, y]) => { const g = document.querySelector('[data-ghost=D]')?.place;
        return g && Math.abs(g.x - x) <= 25 && Math.abs(g.y - y) <= 25; }""",
        arg=list(corner_px("D", "from the window")),
    )
    point_at(page, *corner_px("D", "from the window"))
    expect(ghost).to_have_count(0)
    saved(page)
    assert marks(folder, 2)["D"] == pytest.approx(corner_px("D", "from the window"), abs=2.5)
    # A slip of 90 px is doubted by the survey and shown so on the photo; with four marks there, others may be doubted
    # with it.
    page.click("[data-key=chip-C]")
    x, y = corner_px("C", "from the window")
    point_at(page, x + 70, y - 55)
    saved(page)
    expect(page.locator(".mark.doubt[data-mark='p:C']")).to_have_attribute("aria-label",
                                                                           "point C, to be checked, selected")
    expect(page.locator(".placer .says.look").first).to_be_visible()


def test_the_next_corner_is_the_next_one_round_the_room_either_way(stage):
    page, _ = stage
    asked = page.evaluate("""async () => {
        const {nextCorner} = await import('/corners/nextcorner.js');
        const [ring, unknown] = [[...'ABCDEF'], () => false];
        return [[], ['C'], ['C', 'B'], ['C', 'B', 'A'], ['E', 'F'], ['A', 'B', 'C', 'D', 'E', 'F']]
            .map((here) => nextCorner(ring, here, unknown))
            .concat(nextCorner(ring, ['C'], (name) => name === 'F'), nextCorner(ring, ['C'], (name) => 'DF'.includes(name)));
    }""")
    assert asked == ["A", "D", "A", "F", "A", None, "F", "D"]


def test_in_the_next_photo_the_page_goes_on_round_the_room_from_the_corner_chosen(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk().address).page
    stage_photo(page, tmp_path, picture(VIEW))
    place(page, "A", "B", "C", "D")
    go(page, "photos")
    (tmp_path / "two.jpg").write_bytes(picture("from the window"))
    page.set_input_files("#pick", str(tmp_path / "two.jpg"))
    expect(page.locator(".shots li")).to_have_count(2)
    go(page, "corners")
    choose_photo(page, 2)
    page.click("[data-key=chip-C]")
    for name, then in (("C", "D"), ("D", "A"), ("A", "B")):
        point_at(page, *corner_px(name, "from the window"))
        expect(page.locator(f"[data-key=chip-{then}]")).to_have_attribute("aria-pressed", "true")
