"""The whole way in a real browser: from two photos to a downloaded pack, on a laptop with a mouse and on a phone
with a finger."""
from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pdfplumber
import pytest
from playwright.sync_api import Page, expect

from desk.actions.demo import copy_demo
from tests.support.hands import (
    add_length, add_photos, choose_photo, comes_to_disk, disk, fill, go, marks, point_at, press, saved)
from tests.support.invented_room import CORNERS, VIEWS, corner_px, distance_mm, picture

TAPED = (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"))
BOARD = {"length": "1285", "width": "192 mm", "thickness": "8", "pack": "8"}


@pytest.fixture
def photo_files(tmp_path: Path) -> list[Path]:
    files = []
    for number, view in enumerate(VIEWS, start=1):
        files.append(tmp_path / f"IMG_{number}.jpg")
        files[-1].write_bytes(picture(view))
    return files


def looks_right(page: Page) -> None:
    """Nothing is wider than the screen, and whatever can be touched measures 44 px both ways (WCAG 2.2, 2.5.5)."""
    assert page.evaluate("document.documentElement.scrollWidth <= screen.width")
    small = page.evaluate("""() => [...document.querySelectorAll(
        'button, .button, select, input, .pick, summary, .steps a, .drop, .mark .reach, .spot[role=button] .reach')]
        .filter((e) => e.checkVisibility() && !e.matches('.hidden, .pick input'))
        .map((e) => ({what: e.dataset.key || e.outerHTML.slice(0, 60), box: e.getBoundingClientRect()}))
        .filter(({box}) => box.height < 43.5 || box.width < 43.5).map(({what, box}) => `${what} ${box.width}x${box.height}`)""")
    assert small == []


def mark_all(page: Page, *, touch: bool) -> None:
    go(page, "corners")
    for number, view in enumerate(VIEWS, start=1):
        choose_photo(page, number)
        for name in CORNERS:
            point_at(page, *corner_px(name, view), touch=touch)
            expect(page.locator(f"[data-mark='p:{name}']")).to_be_visible()
    saved(page)
    looks_right(page)


def type_tape(page: Page) -> None:
    go(page, "tape")
    for a, b in TAPED:
        add_length(page, a, b, f"{distance_mm(a, b) / 1000:.3f} m")
    looks_right(page)


def set_board(page: Page) -> None:
    go(page, "boards")
    for key, text in BOARD.items():
        fill(page, f"board-{key}", text)
    looks_right(page)


def set_door_and_pipe(page: Page) -> None:
    """A door as it comes, 300 mm from A, and a pipe taped off two walls."""
    go(page, "room")
    press(page, "[data-key=add-door]")
    press(page, "[data-key=add-pipe]")
    fill(page, "pipe-0-d", "22 mm")
    looks_right(page)
    press(page, "[data-key=pipe-0-tape]")
    for wall, text in (("A to B", "62 mm"), ("B to C", "1.2 m")):
        press(page, ".pick:has([data-key=kind-off])")
        page.select_option("[data-key=from]", "P1")
        page.select_option("[data-key=off-wall]", label=wall)
        page.fill("[data-key=new-length]", text)
        press(page, "[data-key=add]")
        expect(page.locator(".lengths li").last).to_contain_text("P1 off")
    expect(page.locator(".lengths li")).to_have_count(len(TAPED) + 2)
    saved(page)


def download_pack(page: Page) -> zipfile.ZipFile:
    go(page, "pack")
    press(page, "[data-key=make]")
    page.wait_for_selector("[data-key=zip]")
    looks_right(page)
    with page.expect_download() as coming:
        press(page, "[data-key=zip]")
    return zipfile.ZipFile(io.BytesIO(Path(coming.value.path()).read_bytes()))


def walls_shown(page: Page) -> list[tuple[float, float]]:
    """(length, plus-minus) in mm as the plan shows them."""
    expect(page.locator(".plan.floor .measure")).to_have_count(len(CORNERS))
    found = [re.fullmatch(r"(\d+) ±\s([\d.]+)\smm", text)
             for text in page.locator(".plan.floor .measure").all_text_contents()]
    return [(float(m.group(1)), float(m.group(2))) for m in found]


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_from_photos_to_pack(start_desk, open_page, photo_files, screen):
    desk = start_desk()
    watched = open_page(desk.address, screen)
    page = watched.page
    page.evaluate("""() => { window.mice = 0;
        addEventListener('pointerdown', (event) => { window.mice += event.pointerType === 'mouse'; }, true); }""")
    add_photos(page, photo_files)
    mark_all(page, touch=screen == "phone")
    # A click hits whole screen pixels; one of them is at most this many photo pixels here.
    coarse = 1600 / (page.locator(".canvas").bounding_box()["width"])
    for number, view in enumerate(VIEWS, start=1):
        for name, place in marks(desk.folder, number).items():
            assert place == pytest.approx(corner_px(name, view), abs=coarse)
    type_tape(page)
    assert disk(desk.folder)["tape"][0] == {"between": ["A", "B"], "mm": 4310, "typed": "4.310 m"}
    expect(page.locator(".says.good")).to_contain_text("No length or mark stands out")
    for (length, spread), (a, b) in zip(walls_shown(page), TAPED):
        assert abs(length - distance_mm(a, b)) <= spread + 1.0  # shown to whole mm
    set_door_and_pipe(page)
    comes_to_disk(page, desk.folder, "pipes", [{"name": "P1", "diameter": 22}])
    set_board(page)
    comes_to_disk(page, desk.folder, "flooring", {**disk(desk.folder).get("flooring", {}),
                                                  "board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}})
    go(page, "rows")
    expect(page.locator(".figures")).to_be_visible()
    looks_right(page)
    figures = dict(zip(page.locator(".figures dt").all_text_contents(), page.locator(".figures b").all_text_contents()))
    # Floor 12.9 m2 less the gaps over boards of 0.2467 m2: at least 51 boards by area alone.
    assert 51 <= int(figures["Boards"]) <= 60 and int(figures["Packs"]) == -(-int(figures["Boards"]) // 8)
    pack = download_pack(page)
    assert screen != "phone" or page.evaluate("window.mice") == 0  # the whole way by touch
    assert {"booklet.pdf", "templates.pdf", "plan.svg", "cuts.csv", "plan.json"} <= set(pack.namelist())
    with pdfplumber.open(io.BytesIO(pack.read("booklet.pdf"))) as booklet:
        assert len(booklet.pages) >= int(figures["Rows"])
    assert watched.errors == []
    assert watched.outside(desk.home) == []


def test_the_demo_opens_solved_with_every_photo_on_the_stage(quick_desk, open_page, tmp_path):
    desk = quick_desk(copy_demo(tmp_path / "demo"))
    watched = open_page(desk.address)
    page = watched.page
    job = disk(desk.folder)
    go(page, "tape")
    expect(page.locator(".plan.floor .measure")).to_have_count(len(job["outline"]))
    go(page, "corners")
    for number, photo in enumerate(job["photos"], start=1):
        page.click(f".thumb >> nth={number - 1}")
        expect(page.locator(".stage")).to_have_attribute("aria-label", f"Photo {photo['file']}")
        assert page.locator(".mark.point").count() == len(photo["marks"])
        assert page.locator(".canvas").get_attribute("viewBox") == f"-0.5 -0.5 {photo['size'][0]} {photo['size'][1]}"
    saved(page)
    assert disk(desk.folder) == job  # looking changes nothing
    assert watched.errors == [] and watched.outside(desk.home) == []
