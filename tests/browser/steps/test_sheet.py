"""A sheet of paper on the floor: its corners marked on the page give the room's size without a tape. Sheet sizes:
ISO 216."""
from __future__ import annotations

import numpy as np
from playwright.sync_api import expect

from tests.support.hands import add_photos, choose_photo, comes_to_disk, disk, go, on_screen, point_at, saved
from tests.support.invented_room import CORNERS, VIEWS, corner_px, distance_mm, picture, place_px

#: An A4 sheet lying askew on the floor, its long side first, mm.
TURN, AT = np.radians(20.0), np.array([1900.0, 1400.0])
SHEET = [AT + x * np.array([np.cos(TURN), np.sin(TURN)]) + y * np.array([-np.sin(TURN), np.cos(TURN)])
         for x, y in ((0.0, 0.0), (297.0, 0.0), (297.0, 210.0), (0.0, 210.0))]


def figures(text: str) -> str:
    """The number of a length as drawn: of "4312 ± 9 mm", or "about 4.3 m" where it is loose."""
    return text.replace("\xa0", " ").removeprefix("about ").split(" ")[0]


def said_mm(text: str) -> float:
    return float(figures(text)) * (1000 if text.startswith("about") else 1)


def last_figure_mm(text: str) -> float:
    """What one step of the last figure drawn is worth."""
    unit = 1000.0 if text.startswith("about") else 1.0
    return unit / 10 ** len(figures(text).partition(".")[2])


def test_a_sheet_of_paper_gives_the_size(quick_desk, open_page, tmp_path):
    desk = quick_desk()
    watched = open_page(desk.address)
    page = watched.page
    files = []
    for number, view in enumerate(VIEWS, start=1):
        files.append(tmp_path / f"IMG_{number}.jpg")
        files[-1].write_bytes(picture(view))
    add_photos(page, files)
    page.click("[data-key=sheet-a4]")
    comes_to_disk(page, desk.folder, "papers", [{"corners": ["S1", "S2", "S3", "S4"], "size": "a4"}])
    go(page, "corners")
    for number, view in enumerate(VIEWS, start=1):
        choose_photo(page, number)
        for name in CORNERS:
            point_at(page, *corner_px(name, view))
            expect(page.locator(f"[data-mark='p:{name}']")).to_be_visible()
        page.click("[data-key=chip-S1]")
        page.mouse.move(*on_screen(page, *place_px(np.array([*SHEET[0], 0.0]), view)))
        page.mouse.wheel(0, -900)  # corners this close together need a closer look
        for k, corner in enumerate(SHEET, start=1):  # one after the other, without being chosen anew
            expect(page.locator(f"[data-key=chip-S{k}]")).to_have_attribute("aria-pressed", "true")
            point_at(page, *place_px(np.array([*corner, 0.0]), view))
            expect(page.locator(f"[data-mark='p:S{k}']")).to_be_visible()
    saved(page)
    go(page, "tape")
    drawn = page.locator(".plan.floor .measure")
    expect(drawn).to_have_count(4)
    walls = page.evaluate("async () => (await (await import('/common/api.js')).work('survey')).answer.walls")
    assert [wall["from"] for wall in walls] == list("ABCD")
    for wall, text in zip(walls, drawn.all_text_contents(), strict=True):
        true = distance_mm(wall["from"], wall["to"])
        assert abs(wall["length"] - true) <= 1.5 * wall["pm95"] + 1.0  # a 95 % interval; clicks are whole screen pixels
        assert abs(said_mm(text) - wall["length"]) <= last_figure_mm(text) / 2 + 0.01
    go(page, "photos")
    page.click("[data-key=sheet-bin-0]")
    comes_to_disk(page, desk.folder, "papers", [])
    assert all(mark["point"] in CORNERS for photo in disk(desk.folder)["photos"] for mark in photo["marks"])
    assert watched.errors == []


def test_a_gap_left_to_the_tool_is_said_in_words(quick_desk, open_page):
    desk = quick_desk()
    page = open_page(desk.address).page
    go(page, "boards")
    page.check("[data-key=gap-auto]")
    comes_to_disk(page, desk.folder, "flooring", {"gap": "auto"})
    expect(page.locator("[data-key=plain-gap]")).to_have_value("")
    expect(page.locator("[data-key=plain-gap]")).to_have_attribute("placeholder", "worked out")
    page.fill("[data-key=plain-gap]", "12")
    page.press("[data-key=plain-gap]", "Tab")
    comes_to_disk(page, desk.folder, "flooring", {"gap": 12})
    expect(page.locator("[data-key=gap-auto]")).not_to_be_checked()
