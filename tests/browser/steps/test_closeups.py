"""Close-ups on the page: a casing by mouse and a pipe by finger from photo to the job, and by keys alone. Truth:
what was rendered."""
from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import expect

import demo_photos
from tests.support.hands import disk, go, on_screen, point_at, saved

HOME = Path(demo_photos.__file__).parent
DEMO = json.loads((HOME / "job.json").read_text("utf-8"))
CASING, PIPE = DEMO["closeups"]


@pytest.fixture
def opened(quick_desk, open_page, tmp_path: Path):
    """Opens the demo without what its close-ups told, and adds one of their pictures; gives the page and the job's
    folder."""
    def _opened(entry: dict, screen: str):
        folder = tmp_path / "job"
        folder.mkdir()
        tree = json.loads(json.dumps(DEMO)) | {"closeups": []}
        del tree["doors"][0]["casing"]
        tree["tape"] = [reading for reading in tree["tape"] if reading.get("point") != "P1"
                        or reading["wall"] != ["B", "C"]]
        (folder / "job.json").write_text(json.dumps(tree), "utf-8")
        (folder / "photos").mkdir()
        for photo in tree["photos"]:
            shutil.copy(HOME / photo["file"], folder / photo["file"])
        watched = open_page(quick_desk(folder).address, screen)
        page = watched.page
        go(page, "room")
        page.click("[data-key=to-closeups]")
        page.set_input_files("#pick-closeup", str(HOME / entry["file"]))
        expect(page.locator(".stage[aria-label^='Close-up']")).to_be_visible()
        page.select_option("[data-key=closeup-of]", entry["of"])
        saved(page)
        return watched, folder
    return _opened


def tap_all(page, kind: str, places: list, *, touch: bool = False) -> None:
    page.check(f"[data-key=taps-{kind}]")
    for place in places:
        point_at(page, *place, touch=touch)
    saved(page)


def zoom_to(page, places: list) -> None:
    """Turn the wheel over the middle of some places until they lie apart on the screen, as a person would."""
    page.locator(".stage").scroll_into_view_if_needed()
    page.mouse.move(*on_screen(page, *np.mean(places, axis=0)))
    for _ in range(10):
        page.mouse.wheel(0, -100)


def answered(page, words: str) -> None:
    expect(page.locator("section[aria-label='What the photo tells']")).to_contain_text(words)


def test_a_casing_is_tapped_asked_about_and_kept(opened):
    watched, folder = opened(CASING, "laptop")
    page = watched.page
    page.select_option("[data-key=closeup-leg]", CASING["leg"])
    page.check("[data-key=closeup-mirror]")
    page.wait_for_function("document.querySelector('.canvas').viewBox.baseVal.width > 1000")
    zoom_to(page, [(click["x"], click["y"]) for click in CASING["outline"]])
    for click in CASING["outline"]:
        page.check(f"[data-key=taps-{'arc' if click.get('arc') else 'outline'}]")
        point_at(page, click["x"], click["y"])
    page.click("button[aria-label='Whole photo']")
    tap_all(page, "wall", CASING["edges"][0]["points"])
    # Nothing is measured before somebody has said that the sheet is no smaller or larger one of its shape.
    answered(page, "has the same shape")
    expect(page.locator(".traced-shape")).to_have_count(0)
    expect(page.locator("[data-key=closeup-keep]")).to_have_count(0)
    page.click("[data-key=closeup-yes]")
    expect(page.locator(".traced-shape path.line")).to_have_count(1)
    answered(page, "Nothing is promised beyond")
    page.click("[data-key=closeup-keep]")
    expect(page.locator("#status")).to_contain_text("Kept")
    saved(page)
    casing = disk(folder)["doors"][0]["casing"]
    leg = np.array(casing["legs"]["left"])
    assert abs(np.ptp(leg[:, 0]) - 57.0) <= 1.5 * 1.5 and abs(np.max(leg[:, 1]) - 15.0) <= 1.5
    assert set(casing["legs"]) == {"left", "right"}
    assert disk(folder)["closeups"][0]["beside"] == "a4"
    page.click("#undo")
    saved(page)
    assert "casing" not in disk(folder)["doors"][0]
    assert watched.errors == []


def test_a_pipe_is_tapped_with_a_finger(opened):
    watched, folder = opened(PIPE, "phone")
    page = watched.page
    page.select_option("[data-key=closeup-beside]", "card")
    page.wait_for_function("document.querySelector('.canvas').viewBox.baseVal.width > 1000")
    for _ in range(6):
        page.locator("button[aria-label='Zoom in']").tap()  # the pipe stands in the middle of this photo
    tap_all(page, "ring", PIPE["ring"], touch=True)
    assert len(disk(folder)["closeups"][0]["ring"]) == len(PIPE["ring"])
    answered(page, "mm across")
    page.check("[data-key=taps-wall]")
    assert page.evaluate("document.documentElement.scrollWidth <= screen.width")
    page.locator("[data-key=closeup-corners]").tap()
    point_at(page, 300, 400, touch=True)
    saved(page)
    assert "corners" not in disk(folder)["closeups"][0]
    assert watched.errors == []


def test_keys_alone_put_move_and_remove_a_tap(opened):
    watched, folder = opened(CASING, "laptop")
    page = watched.page
    page.focus(".canvas")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    saved(page)
    (click,) = disk(folder)["closeups"][0]["outline"]
    page.focus("[data-mark='outline:0']")
    page.keyboard.press("Shift+ArrowLeft")
    saved(page)
    (moved,) = disk(folder)["closeups"][0]["outline"]
    assert abs(click["x"] - moved["x"] - 10) < 0.2 and moved["y"] == click["y"]
    page.keyboard.press("Delete")
    saved(page)
    assert disk(folder)["closeups"][0]["outline"] == []
    assert watched.errors == []
