"""Snapping a mark to the skirting, by mouse, finger and key; and saying that printed targets lie on the floor."""
from __future__ import annotations

import io
import json
import re
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from tests.support.hands import add_photos, disk, go, marks, on_screen, point_at, saved, stage_photo
from tests.support.invented_room import corner_px, picture
from tests.support import target_scene

VIEW = "from the door"
#: A mark this near the true corner lies on it, px of the photo. What a snap says of itself holds for photographs only.
OFF_PX = 1.5
#: What is said of a mark put on the corner: first by the edges, then, where both networks see one, by them.
PLACED = re.compile("edges meet|corner seen there")


@pytest.fixture
def marking(quick_desk, open_page, tmp_path: Path):
    """Opens a page on the screen asked for, with one photo of the invented room on the stage; gives the page and the
    job's folder."""
    def opened(screen: str = "laptop") -> tuple[Page, Path]:
        desk = quick_desk()
        page = open_page(desk.address, screen).page
        stage_photo(page, tmp_path, picture(VIEW))
        return page, desk.folder
    return opened


def mark_of(folder: Path, point: str) -> dict:
    return next(mark for mark in disk(folder)["photos"][0]["marks"] if mark["point"] == point)


def settled(page: Page) -> None:
    """No better place is waited for any more, and what came is saved."""
    expect(page.locator("[data-key=snap]")).to_have_attribute("aria-busy", "false")
    saved(page)


def off_px(mark: dict, truth: tuple[float, float]) -> float:
    return float(np.hypot(mark["x"] - truth[0], mark["y"] - truth[1]))


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_a_mark_beside_a_corner_is_snapped_onto_it_and_back(marking, screen):
    """The true corner is that of the invented room's own pinhole camera."""
    page, folder = marking(screen)
    touch, (x, y) = screen == "phone", corner_px("D", VIEW)
    point_at(page, x - 7, y + 9, touch=touch)
    saved(page)
    before = mark_of(folder, "A")
    button = page.locator("[data-key=snap]")
    button.tap() if touch else button.click()
    expect(page.locator("#status")).to_contain_text(PLACED)
    expect(page.locator(".canvas polyline.trace.over")).not_to_have_count(0)
    settled(page)
    after = mark_of(folder, "A")
    assert 0.2 < after["sd"] < 2.5 and off_px(after, (x, y)) <= OFF_PX < off_px(before, (x, y))
    assert button.bounding_box()["height"] >= 44 and page.evaluate(
        "document.documentElement.scrollWidth <= screen.width")
    page.click("#undo")
    saved(page)
    assert mark_of(folder, "A") == before and "sd" not in before


def test_the_key_s_snaps_the_mark_that_has_the_keyboard(marking):
    page, folder = marking()
    x, y = corner_px("D", VIEW)
    point_at(page, x - 7, y + 9)
    saved(page)
    page.focus("[data-mark='p:A']")
    page.keyboard.press("s")
    expect(page.locator("#status")).to_contain_text(PLACED)
    settled(page)
    assert off_px(mark_of(folder, "A"), (x, y)) <= OFF_PX
    expect(page.locator("[data-mark='p:A']")).to_be_focused()
    # A hand that moves it on is less sure than the edges were.
    page.keyboard.press("ArrowLeft")
    saved(page)
    assert "sd" not in mark_of(folder, "A")


def test_where_no_edges_meet_the_page_says_so_and_the_mark_stays(marking):
    page, folder = marking()
    point_at(page, 760.0, 900.0)
    saved(page)
    before = mark_of(folder, "A")
    page.click("[data-key=snap]")
    expect(page.locator("section[aria-label='The mark you selected'] .says.look")).to_contain_text("by eye")
    expect(page.locator("[data-key=snap]")).to_be_focused()
    settled(page)
    assert mark_of(folder, "A") == before


@pytest.mark.parametrize("is_moved_on", [False, True])
def test_the_corner_seen_follows_the_edges_unless_a_hand_moved_on(marking, is_moved_on):
    """It comes later than the edges; one undo takes both back."""
    page, folder = marking()
    x, y = corner_px("D", VIEW)
    held: list = []
    page.route("**/api/photos/*/tapped", lambda route: held.append(route))
    point_at(page, x - 7, y + 9)
    saved(page)
    before = mark_of(folder, "A")
    page.focus("[data-mark='p:A']")
    page.keyboard.press("s")
    expect(page.locator("#status")).to_contain_text(PLACED)
    saved(page)
    if is_moved_on:
        page.keyboard.press("ArrowLeft")
        saved(page)
    met = mark_of(folder, "A")
    seen = {"x": round(x + 1.0, 1), "y": round(y, 1), "sd": 0.4}
    held[0].fulfill(json={**seen, "moved": 3.0})
    settled(page)
    assert mark_of(folder, "A") == (met if is_moved_on else {"point": "A", **seen})
    if not is_moved_on:
        page.click("#undo")
        saved(page)
        assert mark_of(folder, "A") == before


def test_a_point_that_is_no_corner_is_not_offered_to_be_snapped(marking):
    page, folder = marking()
    page.click("summary:has-text('Another point')")
    page.fill("[data-key=extra]", "J1")
    page.click("text=Place it")
    point_at(page, *corner_px("D", VIEW))
    saved(page)
    assert list(marks(folder)) == ["J1"]
    expect(page.locator("[data-key=unmark]")).to_be_visible()
    expect(page.locator("[data-key=snap]")).to_have_count(0)


def type_size(page: Page, folder: Path, text: str, targets: dict) -> None:
    """Type the size of a target; the desk reads the text before the page saves it."""
    page.fill("[data-key=target-size]", text)
    with page.expect_response(lambda answer: answer.request.method == "PUT"):
        page.press("[data-key=target-size]", "Tab")
    saved(page)
    assert disk(folder)["targets"] == targets


@cache
def with_targets() -> np.ndarray:
    """A photo of a floor with printed targets."""
    return target_scene.photograph(target_scene.floor_picture(list(target_scene.TARGETS.items())), target_scene.NORTH,
                                   np.random.default_rng(31))


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_targets_on_the_floor_are_switched_on_sized_and_seen(quick_desk, open_page, tmp_path, screen):
    Image.fromarray(with_targets()).save(tmp_path / "floor.jpg", quality=92)
    (tmp_path / "room.jpg").write_bytes(picture(VIEW))
    desk = quick_desk()
    page = open_page(desk.address, screen).page
    add_photos(page, [tmp_path / "floor.jpg", tmp_path / "room.jpg"])
    assert "targets" not in disk(desk.folder)
    page.check("[data-key=targets]")
    saved(page)
    assert disk(desk.folder)["targets"] == {"size": 150}
    expect(page.locator(".shots li >> nth=0")).to_contain_text("3 targets seen")
    expect(page.locator(".shots li >> nth=1")).to_contain_text("no target seen")
    type_size(page, desk.folder, "148.5 mm", {"size": 148.5})
    assert page.evaluate("document.documentElement.scrollWidth <= screen.width")
    page.uncheck("[data-key=targets]")
    saved(page)
    assert "targets" not in disk(desk.folder)
    page.click("#undo")
    saved(page)
    assert disk(desk.folder)["targets"] == {"size": 148.5}
    with page.expect_download() as coming:
        page.click("[data-key=target-sheets]")
    assert len(pypdfium2.PdfDocument(io.BytesIO(Path(coming.value.path()).read_bytes()))) == 7


def test_what_else_a_job_says_of_its_targets_is_kept(quick_desk, open_page, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps({"title": "Invented", "outline": [],
                                                 "targets": {"size": 150, "note": "mine"}}), "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "photos")
    type_size(page, folder, "151 mm", {"size": 151, "note": "mine"})


def test_a_stroke_along_a_wall_gives_places_on_its_foot(marking):
    """Truth: the line between two corners of the invented room's own pinhole camera."""
    page, folder = marking()
    for name in ("D", "C", "B"):
        point_at(page, *corner_px(name, VIEW))
    page.check("[data-key=mode-edge]")
    page.select_option("[data-key=wall]", label="A to B")
    start, end = (np.array(corner_px(name, VIEW)) for name in ("D", "C"))
    way = (end - start) / np.hypot(*(end - start))
    across = np.array([-way[1], way[0]])
    spots = [start + t * (end - start) + 4 * np.sin(7 * t) * across for t in np.linspace(0.15, 0.85, 25)]
    page.mouse.move(*on_screen(page, *spots[0]))
    page.mouse.down()
    for spot in spots[1:]:
        page.mouse.move(*on_screen(page, *spot))
    page.mouse.up()
    expect(page.locator("#status")).to_contain_text("found under your stroke")
    saved(page)
    (edge,) = disk(folder)["photos"][0]["edges"]
    assert edge["wall"] == ["A", "B"] and len(edge["points"]) == 3
    assert np.abs((np.array(edge["points"]) - start) @ across).max() < 1.0
    page.click("#undo")
    saved(page)
    assert not disk(folder)["photos"][0].get("edges")
