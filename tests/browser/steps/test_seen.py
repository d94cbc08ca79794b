"""Corners that the desk sees in a photo: shown beside it, taken by a tap, a key or all at once, never by themselves.

Places are compared with the demo's truth.json, from the renderer's own camera.
"""
from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.support.hands import disk, go, on_screen, saved, until

DEMO = Path(__file__).parents[3] / "demo_photos"
FILES = ("photos/room-2.jpg", "photos/room-1.jpg")
TRUTH = {p["file"]: p["points"] for p in json.loads((DEMO / "truth.json").read_text())["photos"]}


@pytest.fixture
def seeing(quick_desk, open_page, tmp_path: Path):
    """A page with two photos of the demo, the first one on the stage and looked at; and the job's folder."""
    def opened(screen: str = "laptop") -> tuple[Page, Path]:
        folder = tmp_path / "job"
        (folder / "photos").mkdir(parents=True)
        for file in FILES:
            shutil.copy(DEMO / file, folder / file)
        (folder / "job.json").write_text(json.dumps({"format": "tapegroove-job", "version": 1,
                                                     "photos": [{"file": file} for file in FILES]}))
        desk = quick_desk(folder)
        page = open_page(desk.address, screen, sees=True).page
        go(page, "corners")
        expect(page.locator(".seen.sure").nth(2)).to_be_attached()
        return page, desk.folder
    return opened


def seen_places(page: Page) -> list[tuple[float, float]]:
    """Px of the photo where the desk sees clear corners, from left to right."""
    return [tuple(place) for place in page.evaluate("""() => [...document.querySelectorAll('.seen.sure')]
        .map((node) => [node.place.x, node.place.y])""")]


def off_truth(place: tuple[float, float], file: str) -> float:
    return min(float(np.hypot(place[0] - x, place[1] - y)) for x, y in TRUTH[file].values())


def tap(page: Page, place: tuple[float, float], *, touch: bool) -> None:
    page.touchscreen.tap(*place) if touch else page.mouse.click(*place)


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_a_tap_near_a_corner_takes_it_and_nothing_is_taken_without_one(seeing, screen):
    page, folder = seeing(screen)
    places = seen_places(page)
    assert len(places) >= 3 and all(off_truth(place, FILES[0]) < 6.0 for place in places)
    assert disk(folder).get("outline", []) == [] and "marks" not in disk(folder)["photos"][0]
    page.locator(".stage").scroll_into_view_if_needed()
    x, y = on_screen(page, *places[1])
    tap(page, (x + 6, y - 5), touch=screen == "phone")
    saved(page)
    (mark,) = disk(folder)["photos"][0]["marks"]
    assert (mark["point"], mark["x"], mark["y"]) == ("A", pytest.approx(places[1][0], abs=0.06),
                                                     pytest.approx(places[1][1], abs=0.06))
    assert mark["sd"] > 0
    expect(page.locator(".seen.sure")).to_have_count(len(places) - 1)
    assert page.evaluate("document.documentElement.scrollWidth <= screen.width")


def test_all_the_clear_ones_are_taken_at_once_and_one_undo_gives_them_back(seeing):
    page, folder = seeing()
    places = seen_places(page)
    page.click("[data-key=take-sure]")
    saved(page)
    told = disk(folder)
    assert told["outline"] == list("ABCDEFGH")[:len(places)]
    assert [(m["x"], m["y"]) for m in told["photos"][0]["marks"]] == [pytest.approx(place, abs=0.06) for place in places]
    assert "marks" not in told["photos"][1]
    page.keyboard.press("Control+z")
    until(page, lambda: not disk(folder)["photos"][0].get("marks"), "undo")
    expect(page.locator(".seen.sure")).to_have_count(len(places))


def test_one_letter_that_is_known_again_gives_the_others_theirs(seeing):
    """The names of truth.json: a corner of both photos has one letter, a corner of one its own."""
    page, folder = seeing()
    page.click("[data-key=take-sure]")
    saved(page)
    first = letters_by_truth(folder, 0)
    choose_photo(page, 2, file=FILES[1])
    expect(page.locator("[data-key=take-sure]")).to_have_count(0)
    page.click(f"[data-key=chip-{first['F']}]")
    page.locator(".stage").scroll_into_view_if_needed()
    tap(page, on_screen(page, *TRUTH[FILES[1]]["F"]), touch=False)
    page.click("[data-key=take-sure]")
    saved(page)
    second = letters_by_truth(folder, 1)
    assert len(second) > 2 and len({*first.values(), *second.values()}) == len({*first, *second})
    assert all(second[name] == letter for name, letter in first.items() if name in second)


def letters_by_truth(folder: Path, photo: int) -> dict[str, str]:
    """The letter each of the demo's corners has in a photo."""
    truth = TRUTH[FILES[photo]]
    return {min(truth, key=lambda name: np.hypot(truth[name][0] - mark["x"], truth[name][1] - mark["y"])): mark["point"]
            for mark in disk(folder)["photos"][photo]["marks"]}


def test_a_corner_is_taken_with_the_keys(seeing):
    page, folder = seeing()
    (x, y), *_ = seen_places(page)
    page.locator(".seen.sure").first.focus()
    page.keyboard.press("Enter")
    saved(page)
    (mark,) = disk(folder)["photos"][0]["marks"]
    assert (mark["x"], mark["y"]) == (pytest.approx(x, abs=0.06), pytest.approx(y, abs=0.06))


def test_what_contradicts_itself_is_said_at_the_tap(seeing):
    """Two letters on one spot."""
    page, _ = seeing()
    page.click("[data-key=take-sure]")
    saved(page)
    page.click("[data-key='chip-+']")
    whole = page.locator(".canvas").get_attribute("viewBox")
    x, y = page.evaluate("() => { const {x, y} = document.querySelector('.mark.point').place; return [x, y]; }")
    page.mouse.move(*on_screen(page, x, y))
    page.mouse.wheel(0, -1500)
    expect(page.locator(".canvas")).not_to_have_attribute("viewBox", whole)
    page.mouse.click(*on_screen(page, x + 4.0, y))
    expect(page.locator(".placer .says.look", has_text="lie on one spot")).to_be_visible()


def test_another_photo_is_looked_at_when_it_is_chosen(seeing):
    page, _ = seeing()
    choose_photo(page, 2, file=FILES[1])
    expect(page.locator(".seen.sure").nth(2)).to_be_attached()
    assert all(off_truth(place, FILES[1]) < 6.0 for place in seen_places(page))


def choose_photo(page: Page, number: int, *, file: str) -> None:
    page.click(f".thumb >> nth={number - 1}")
    expect(page.locator(".stage")).to_have_attribute("aria-label", f"Photo {file}")
    expect(page.locator(".why", has_text="Looking for corners")).to_have_count(0)
