"""The floor beside the photo from the first tap on: the order of the corners told by the photos, lengths typed where two
corners are tapped, an outline drawn by hand."""
from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.whole.test_access import looks_well
from tests.support.hands import comes_to_disk, disk, go, point_at, saved, stage_photo, until
from tests.support.invented_room import corner_px, distance_mm, picture

VIEW = "from the door"
#: An L of 5 x 4 m as somebody draws it, anticlockwise from its lower left, in shares of the sheet.
DRAWN = ((0.2, 0.8), (0.8, 0.8), (0.8, 0.2), (0.5, 0.2), (0.5, 0.5), (0.2, 0.5))
CORNERS_MM = {"A": (0, 0), "B": (5000, 0), "C": (5000, 4000), "D": (2500, 4000), "E": (2500, 2000), "F": (0, 2000)}


@pytest.fixture
def page(quick_desk, open_page, tmp_path: Path) -> tuple[Page, Path]:
    """A page with one photo of the invented room on the stage, and the job's folder."""
    desk = quick_desk()
    page = open_page(desk.address).page
    stage_photo(page, tmp_path, picture(VIEW))
    return page, desk.folder


def tap(page: Page, *corners: str) -> None:
    """Tap corners of the room one after the other; each gets the next letter."""
    for number, corner in enumerate(corners):
        point_at(page, *corner_px(corner, VIEW))
        expect(page.locator(f"[data-mark='p:{'ABCD'[number]}']")).to_be_visible()


def test_corners_tapped_crosswise_are_listed_as_the_walls_run(page):
    """Tapped A, C, B, D of the room: round the room these run as the letters A, C, B, D, either way."""
    page, folder = page
    tap(page, "A", "C", "B", "D")
    until(page, lambda: disk(folder)["outline"] in (["A", "C", "B", "D"], ["A", "D", "B", "C"]), "the order of the walls")
    expect(page.locator(".live-floor .spot")).to_have_count(4)
    page.click("#undo")  # a tap and its place in the order are one change
    comes_to_disk(page, folder, "outline", ["A", "B", "C"])  # three corners follow one another either way


def test_two_corners_tapped_on_the_sketch_open_the_box_for_their_length(page):
    page, folder = page
    tap(page, "A", "B", "C", "D")
    page.click(".live-floor [data-key=point-A]")
    expect(page.locator(".taping-here")).to_contain_text("tap the other corner")
    page.click(".live-floor [data-key=point-C]")
    box = page.locator("[data-key=quick-length]")
    expect(box).to_be_focused()
    assert box.get_attribute("inputmode") == "decimal"
    box.fill(f"{distance_mm('A', 'C') / 1000:.3f} m")
    box.press("Enter")
    until(page, lambda: [set(e["between"]) for e in disk(folder)["tape"]] == [{"A", "C"}], "the length")


def test_two_marks_tapped_in_the_photo_do_so_too(page):
    page, _ = page
    tap(page, "A", "B", "C", "D")
    page.check("[data-key=mode-tape]")
    for corner in ("D", "B"):
        point_at(page, *corner_px(corner, VIEW))
    expect(page.locator(".taping-here label")).to_have_text("From D to B")


def test_an_order_the_photos_contradict_is_mended_by_a_tap(page):
    """The order is put wrong by hand: the walls that cross are named and drawn, and the photos' order is offered."""
    page, folder = page
    tap(page, "A", "B", "C", "D")
    saved(page)
    page.click("[data-key=up-C]")
    expect(page.locator(".live-floor .crossing").first).to_be_attached()
    page.click("[data-key=take-order]")
    expect(page.locator(".live-floor .crossing")).to_have_count(0)
    until(page, lambda: disk(folder)["outline"] in (list("ABCD"), list("ADCB")), "the photos' order")
    page.click("#undo")
    expect(page.locator("[data-key=take-order]")).to_be_visible()


def draw(page: Page) -> None:
    box = page.locator(".sheet-canvas").bounding_box()
    for number, (x, y) in enumerate(DRAWN, start=1):
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
        expect(page.locator(".sheet-canvas .spot")).to_have_count(number)


def test_a_tape_only_is_a_start_of_its_own(quick_desk, open_page):
    """Drawn roughly, measured as asked, "3 of 9" and on: the floor is the one measured, and no question of left and
    right is left."""
    desk = quick_desk()
    page = open_page(desk.address).page
    page.click("[data-key=on]")
    expect(page.locator("[data-key=onward]")).to_have_text("Add photos")
    draw(page)
    saved(page)
    expect(page.locator("[data-key=onward]")).to_have_text("On to the tape")  # nobody needs a photo to go on
    looks_well(page, "sheet")
    page.set_viewport_size({"width": 1366, "height": 800})
    label, seen = page.locator(".taping-here label"), []
    while True:
        expect(page.locator(".taping-here label, .taping-here .enough").first).to_be_visible()
        if not label.count():
            break
        said = label.inner_text()
        assert said not in seen and len(seen) < 15
        seen.append(said)
        (x, y), (u, v) = (CORNERS_MM[said.split()[k]] for k in (1, 3))
        page.fill("[data-key=quick-length]", f"{((x - u) ** 2 + (y - v) ** 2) ** 0.5:.0f} mm")
        page.press("[data-key=quick-length]", "Enter")
        expect(page.locator(f".taping-here label:text-is('{said}')")).to_have_count(0)
        expect(page.locator("#saved")).to_have_text("Saved")
    expect(page.locator(".live-floor h2")).to_contain_text("15.0")
    go(page, "tape")
    expect(page.locator("main")).not_to_contain_text("left from right")


def test_short_walls_are_drawn_with_a_finger_and_the_first_corner_closes_the_outline(quick_desk, open_page):
    """A chimney breast of 16 px on the phone's sheet: nearer than a finger is wide, and every tap is a corner."""
    desk = quick_desk()
    page = open_page(desk.address, "phone").page
    page.locator("[data-key=on]").tap()
    box = page.locator(".sheet-canvas").bounding_box()
    step = 16 / box["width"]
    drawn = [(0.2, 0.8), (0.8, 0.8), (0.8, 0.6), (0.8 - step, 0.6), (0.8 - step, 0.4), (0.8, 0.4), (0.8, 0.2), (0.2, 0.2)]
    for number, (x, y) in enumerate(drawn, start=1):
        page.touchscreen.tap(box["x"] + x * box["width"], box["y"] + y * box["height"])
        expect(page.locator(".sheet-canvas .spot")).to_have_count(number)
    page.touchscreen.tap(box["x"] + 0.2 * box["width"] + 4, box["y"] + 0.8 * box["height"] - 4)
    expect(page.locator("#status")).to_contain_text("once round the room")
    expect(page.locator(".sheet-canvas .spot")).to_have_count(len(drawn))
    until(page, lambda: len(disk(desk.folder).get("sketch", {})) == len(drawn), "the drawing")
    sketch = disk(desk.folder)["sketch"]
    assert sketch["C"][1] == sketch["D"][1] and sketch["D"][0] == sketch["E"][0] < sketch["C"][0] == sketch["B"][0]


def test_the_sheet_is_drawn_on_with_the_keys_alone(quick_desk, open_page):
    desk = quick_desk()
    page = open_page(desk.address).page
    page.click("[data-key=on]")
    page.locator(".sheet-canvas").focus()
    for keys in (("ArrowLeft", "Enter"), ("Shift+ArrowRight", "Shift+ArrowRight", "Enter"), ("Shift+ArrowUp", "Enter")):
        for key in keys:
            page.keyboard.press(key)
    expect(page.locator(".sheet-canvas .spot")).to_have_count(3)
    until(page, lambda: list(disk(desk.folder)["sketch"]) == ["A", "B", "C"], "the drawing")


def test_the_outline_drawn_says_which_of_two_floors_is_meant(quick_desk, open_page, tmp_path):
    """A rectangle of 3 x 4 m and E before the middle of its side D-A, which nobody taped: mirrored in that side E is
    400 mm inside the room, and every length is the same."""
    folder = tmp_path / "job"
    folder.mkdir()
    slanted = math.hypot(2000, 400)
    tape = [{"between": list(pair), "mm": round(mm)} for pair, mm in
            {"AB": 3000, "BC": 4000, "CD": 3000, "AC": 5000, "BD": 5000, "DE": slanted, "EA": slanted}.items()]
    job = {"format": "tapegroove-job", "version": 1, "outline": list("ABCDE"), "tape": tape}
    (folder / "job.json").write_text(json.dumps(job), "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "corners")
    expect(page.locator(".which-floor")).to_be_visible()
    first = page.locator(".live-floor h2").inner_text()
    page.click("[data-key=take-floor-other]")
    expect(page.locator(".which-floor")).to_have_count(0)
    expect(page.locator(".live-floor h2")).not_to_have_text(first)
    assert set(disk(folder)["sketch"]) == set("ABCDE")
    page.click("#undo")
    expect(page.locator(".which-floor")).to_be_visible()
