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
    def _opened(entry: dict, screen: str, *, pipe_mm: float = 15):
        folder = tmp_path / "job"
        folder.mkdir()
        tree = json.loads(json.dumps(DEMO)) | {"closeups": []}
        del tree["doors"][0]["casing"]
        tree["pipes"][0]["diameter"] = pipe_mm
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
        answer(page, f"closeup-of-{entry['of']}")
        return watched, folder
    return _opened


def answer(page, *keys: str) -> None:
    """Press what answers one question after the other."""
    for key in keys:
        page.click(f"[data-key={key}]")
        saved(page)


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
    answer(page, f"closeup-leg-{CASING['leg']}", "closeup-mirror-yes")
    # Nothing is measured before somebody has said that the sheet is no smaller or larger one of its shape.
    expect(page.locator(".question")).to_contain_text("has the same shape")
    expect(page.locator(".traced-shape")).to_have_count(0)
    point_at(page, 300, 400)
    expect(page.locator("#status")).to_contain_text("First answer")
    answer(page, "closeup-yes")
    page.wait_for_function("document.querySelector('.canvas').viewBox.baseVal.width > 1000")
    zoom_to(page, [(click["x"], click["y"]) for click in CASING["outline"]])
    for click in CASING["outline"]:
        page.check(f"[data-key=taps-{'arc' if click.get('arc') else 'outline'}]")
        point_at(page, click["x"], click["y"])
    page.click("button[aria-label='Whole photo']")
    tap_all(page, "wall", CASING["edges"][0]["points"])
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
    answer(page, "closeup-is-card")
    assert disk(folder)["closeups"][0]["beside"] == "card"
    page.wait_for_function("document.querySelector('.canvas').viewBox.baseVal.width > 1000")
    for _ in range(6):
        page.locator("button[aria-label='Zoom in']").tap()  # the pipe stands in the middle of this photo
    tap_all(page, "ring", PIPE["ring"], touch=True)
    assert len(disk(folder)["closeups"][0]["ring"]) == len(PIPE["ring"])
    answered(page, "mm across")
    page.check("[data-key=taps-wall]")
    assert page.evaluate("document.documentElement.scrollWidth <= screen.width")
    page.check("[data-key=taps-corners]")
    point_at(page, 300, 400, touch=True)
    saved(page)
    assert "corners" not in disk(folder)["closeups"][0]
    assert watched.errors == []


def test_keys_alone_put_move_and_remove_a_tap(opened):
    watched, folder = opened(CASING, "laptop")
    page = watched.page
    answer(page, "closeup-leg-left", "closeup-mirror-no", "closeup-yes")
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


def test_a_tap_close_to_another_is_a_new_one_and_a_drag_moves_it(opened):
    """Corners of a casing lie closer together than a finger is wide; a mark is chosen by pressing it for a moment."""
    watched, folder = opened(CASING, "laptop")
    page = watched.page
    answer(page, "closeup-leg-left", "closeup-mirror-no", "closeup-yes")
    page.wait_for_function("document.querySelector('.canvas').viewBox.baseVal.width > 1000")
    x, y = on_screen(page, 900, 700)
    for dx in (0, 4, 8):
        page.mouse.click(x + dx, y)
    saved(page)
    assert len(disk(folder)["closeups"][0]["outline"]) == 3
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 30, y - 30)
    page.mouse.move(x - 60, y - 60)
    page.mouse.up()
    saved(page)
    assert len(disk(folder)["closeups"][0]["outline"]) == 3
    page.focus(".canvas")
    page.keyboard.press("Escape")
    expect(page.locator(".mark.chosen")).to_have_count(0)
    moved = disk(folder)["closeups"][0]["outline"][0]
    page.mouse.move(*on_screen(page, moved["x"], moved["y"]))
    page.mouse.down()  # on the mark, and held there
    expect(page.locator(".mark.chosen")).to_have_count(1)
    page.locator("[data-key=untap]").wait_for()
    page.mouse.up()
    page.click("[data-key=untap]")
    saved(page)
    assert len(disk(folder)["closeups"][0]["outline"]) == 2
    assert watched.errors == []


def test_a_ring_too_wide_for_its_pipe_is_asked_about(opened):
    """The job says 2 mm where the ring comes out at 15."""
    watched, folder = opened(PIPE, "laptop", pipe_mm=2)
    page = watched.page
    answer(page, "closeup-is-card")
    page.wait_for_function("document.querySelector('.canvas').viewBox.baseVal.width > 1000")
    zoom_to(page, PIPE["ring"])
    tap_all(page, "ring", PIPE["ring"])
    expect(page.locator(".question")).to_contain_text("is this the collar round the pipe?")
    expect(page.locator("[data-key=closeup-keep]")).to_have_count(0)
    answer(page, "closeup-foot-collar")
    answered(page, "stand in its middle")
    assert disk(folder)["closeups"][0]["foot"] == "collar"
    assert watched.errors == []


def test_what_a_tap_marks_begins_afresh_with_each_photo(opened):
    watched, _ = opened(CASING, "laptop")
    page = watched.page
    answer(page, "closeup-leg-left", "closeup-mirror-no", "closeup-yes")
    page.check("[data-key=taps-wall]")
    page.set_input_files("#pick-closeup", str(HOME / PIPE["file"]))
    answer(page, "closeup-of-P1", "closeup-is-card")
    expect(page.locator("[data-key=taps-ring]")).to_be_checked()
    page.check("[data-key=closeup-0]")
    expect(page.locator("[data-key=taps-outline]")).to_be_checked()
