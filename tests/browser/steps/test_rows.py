"""The plan on the page: drawn at once, moved and turned by hand, called one's own and then printed as it is."""
from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from desk.actions.demo import copy_demo
from tests.support.hands import comes_to_disk, disk, fill, go, saved, until

pytestmark = pytest.mark.usefixtures("short_searches")
FLOOR = {"outline": [[0, 0], [3600, 0], [3600, 2500], [0, 2500]]}
BOARD = {"length": 1285, "width": 192, "thickness": 8, "pack": 8}


@pytest.fixture
def desk(quick_desk, tmp_path):
    """A desk with a plain room of 3.6 x 2.5 m, given as coordinates, and its boards."""
    folder = tmp_path / "job"
    folder.mkdir()
    job = {"format": "tapegroove-job", "version": 1, "title": "Invented", "floor": FLOOR, "flooring": {"board": BOARD}}
    (folder / "job.json").write_text(json.dumps(job), "utf-8")
    return quick_desk(folder)


def strip_job(place: Path) -> Path:
    """4600 x 2354 mm: a whole first row would leave 30 mm (2354 less two gaps of 10 mm are 12 boards of 192 and 30)."""
    folder = place / "job"
    folder.mkdir()
    job = {"floor": {"outline": [[0, 0], [4600, 0], [4600, 2354], [0, 2354]]},
           "flooring": {"board": BOARD, "direction": ["A", "B"], "start": ["A", "B"]}}
    (folder / "job.json").write_text(json.dumps(job), "utf-8")
    return folder


def figure(page: Page, name: str) -> str:
    return page.locator(f".figures > div:has(dt:text-is('{name}')) b").inner_text().replace("\xa0", " ")


def growing(page: Page) -> tuple[int, int]:
    """Which way on the screen the first row grows, as steps right and down: from it to the last row, as both are drawn;
    the grip says whether that is up and down or across."""
    across, down = page.evaluate("""() => {
        const rows = [...document.querySelectorAll('.plan.rows .piece')].map((node) => [parseInt(node.dataset.piece), node]);
        const last = Math.max(...rows.map(([row]) => row));
        const middle = (wanted) => {
            const boxes = rows.filter(([row]) => row === wanted).map(([, node]) => node.getBoundingClientRect());
            return [(Math.min(...boxes.map((b) => b.left)) + Math.max(...boxes.map((b) => b.right))) / 2,
                    (Math.min(...boxes.map((b) => b.top)) + Math.max(...boxes.map((b) => b.bottom))) / 2];
        };
        return [0, 1].map((i) => middle(last)[i] - middle(1)[i]);
    }""")
    if page.locator("[data-key=first-row]").get_attribute("aria-orientation") == "vertical":
        return 0, 1 if down > 0 else -1
    return 1 if across > 0 else -1, 0


#: The key that points a way on the screen.
KEYS = {(0, -1): "ArrowUp", (0, 1): "ArrowDown", (-1, 0): "ArrowLeft", (1, 0): "ArrowRight"}


def settled(page: Page) -> None:
    """Wait until the search is over."""
    expect(page.locator("[data-key=keep], .stage-words [data-key=let-go]").first).to_be_enabled()


def flooring(folder: Path) -> dict:
    return disk(folder)["flooring"]


def test_a_first_plan_is_there_before_the_rows_are_opened(desk, open_page):
    """Made as soon as floor and boards are known; opening the rows asks for none again, and what is searched for
    begins only then."""
    page = open_page(desk.address, "laptop").page
    go(page, "boards")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url.rpartition("/")[2])
            if request.method in ("POST", "PUT") else None)
    # What is asked while the save is on its way is still about the job as it was.
    page.on("response", lambda answer: asked.append("saved")
            if answer.request.method == "PUT" and answer.url.endswith("job") else None)
    fill(page, "board-width", "200")
    until(page, lambda: re.search("saved((?!saved|job).)*preview", " ".join(asked)), "a first plan of what was saved")
    before = len(asked)
    assert "plan" not in asked
    go(page, "rows")
    settled(page)
    assert "plan" in asked[before:] and "preview" not in asked[before:]


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_the_first_row_is_dragged_and_the_plan_follows(desk, open_page, screen):
    watched = open_page(desk.address, screen)
    page = watched.page
    go(page, "rows")
    settled(page)
    grip = page.locator("[data-key=first-row]")
    grip.scroll_into_view_if_needed()
    before = int(grip.get_attribute("aria-valuenow"))
    box = page.locator("[data-key=first-row] .reach").bounding_box()
    assert min(box["width"], box["height"]) >= 43.5
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    scale = page.evaluate("1 / document.querySelector('.plan.rows').getScreenCTM().a")  # mm in a CSS px
    wider = -40 if before > 120 else 40
    right, down = (part * wider / scale for part in growing(page))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right / 2, y + down / 2)
    page.mouse.move(x + right, y + down)
    wanted = pytest.approx(before + wider, abs=scale + 1)
    expect(page.locator(".stage-words")).to_contain_text("Let go to plan")
    until(page, lambda: int(grip.get_attribute("aria-valuenow")) == wanted, "the row where the hand is")
    assert "first_row" not in flooring(desk.folder)  # nothing is saved while it is only tried
    page.mouse.up()
    saved(page)
    settled(page)
    told = flooring(desk.folder)
    assert told["first_row"] == wanted and told["direction"] == told["start"]
    until(page, lambda: figure(page, "First row") == f"{told['first_row']:.0f} mm", "the row that was let go")
    page.click("#undo")
    comes_to_disk(page, desk.folder, "flooring", {"board": BOARD})
    until(page, lambda: figure(page, "First row") == f"{before} mm", "the row as it was")
    settled(page)
    assert watched.errors == []


def drag_past_its_end(page: Page) -> None:
    """Draw the first row wider by a hand that goes on when a whole board is reached, and let it go."""
    box = page.locator("[data-key=first-row] .reach").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    right, down = growing(page)
    page.mouse.move(x, y)
    page.mouse.down()
    for far in range(4, 60, 4):
        page.mouse.move(x + right * far, y + down * far)
        page.wait_for_timeout(30)
    expect(page.locator(".stage-words")).to_contain_text("Let go to plan")
    expect(page.locator("[data-key=first-row]")).to_have_attribute("aria-valuenow", "192")
    page.mouse.up()
    saved(page)
    settled(page)


def test_the_first_row_follows_a_hand_that_goes_past_its_end(quick_desk, open_page, tmp_path):
    """In the demo, whose first rows lie in a doorway of the start wall."""
    folder = copy_demo(tmp_path / "demo")
    page = open_page(quick_desk(folder).address).page
    go(page, "rows")
    settled(page)
    before = flooring(folder)
    drag_past_its_end(page)
    assert flooring(folder)["first_row"] == 192
    page.click("#undo")
    comes_to_disk(page, folder, "flooring", before)


def test_a_row_left_too_narrow_by_the_hand_is_said_once(quick_desk, open_page, tmp_path):
    folder = strip_job(tmp_path)
    page = open_page(quick_desk(folder).address).page
    go(page, "rows")
    settled(page)
    assert page.locator(".says.look").all_inner_texts() == []
    drag_past_its_end(page)
    assert flooring(folder)["first_row"] == 192
    given = page.locator(".says.look").all_inner_texts()
    assert given and len(set(given)) == len(given)  # a last row under 60 mm breaks a rule: said, and said once


def test_the_first_row_is_moved_by_keys(desk, open_page):
    page = open_page(desk.address).page
    go(page, "rows")
    settled(page)
    grip = page.locator("[data-key=first-row]")
    before = int(grip.get_attribute("aria-valuenow"))
    right, down = growing(page)
    narrower, wider = KEYS[-right, -down], KEYS[right, down]
    grip.focus()
    page.keyboard.press(narrower)
    page.keyboard.press(f"Shift+{narrower}")
    until(page, lambda: "first_row" in flooring(desk.folder), "the first row")
    assert flooring(desk.folder)["first_row"] == before - 11
    page.keyboard.press(wider)
    until(page, lambda: flooring(desk.folder)["first_row"] == before - 10, "the row a key wider")
    expect(grip).to_be_focused()


def test_rows_are_turned_by_a_choice_with_its_picture(desk, open_page):
    page = open_page(desk.address).page
    go(page, "rows")
    settled(page)
    cards = page.locator(".way")
    expect(cards.first).to_have_attribute("aria-pressed", "true")
    before = int(figure(page, "Rows"))
    across = (
        ("along B-C", "along D-A") if before < 16 else ("along A-B", "along C-D")
    )  # 2.5 m hold 13 rows of 192 mm, 3.6 m hold 19
    turned = next(i for i in range(cards.count()) if any(way in cards.nth(i).inner_text() for way in across))
    assert (cards.nth(turned).locator("svg line").count() > 15) == (before < 16)
    cards.nth(turned).click()
    saved(page)
    settled(page)
    assert "-".join(flooring(desk.folder)["direction"]) in " ".join(across)
    expect(cards.nth(turned)).to_have_attribute("aria-pressed", "true")
    assert (int(figure(page, "Rows")) > 15) == (before < 16)
    page.click("[data-key=way-free]")
    saved(page)
    settled(page)
    assert int(figure(page, "Rows")) == before


def test_my_plan_is_kept_and_told_of_when_it_no_longer_fits(desk, open_page):
    page = open_page(desk.address).page
    go(page, "rows")
    settled(page)
    page.click("[data-key=keep]")
    expect(page.locator(".stage-words")).to_contain_text("This is your plan, kept on")
    assert disk(desk.folder)["plan"]["format"] == "tapegroove-plan"
    go(page, "pack")
    expect(page.locator("main")).to_contain_text("Your plan is printed")
    page.reload()
    expect(page.locator("main")).to_contain_text("Your plan is printed, as you kept it on")
    go(page, "rows")
    expect(page.locator(".stage-words")).to_contain_text("This is your plan, kept on")
    go(page, "boards")
    fill(page, "plain-gap", "12")
    comes_to_disk(page, desk.folder, "flooring", {"board": BOARD, "gap": 12})
    go(page, "rows")
    expect(page.locator(".stage-words")).to_contain_text("out of date: the boards and how they are laid changed")
    settled(page)
    assert "plan" in disk(desk.folder)
    page.click("#undo")
    expect(page.locator(".stage-words")).to_contain_text("This is your plan, kept on")


def test_rulers_are_typed_both_and_refused_when_the_viewer_scaled(desk, open_page):
    page = open_page(desk.address).page
    go(page, "pack")
    expect(page.locator("[data-key=ruler-across]")).to_have_attribute("placeholder", "180 mm")
    fill(page, "ruler-across", "179.4 mm")
    expect(page.locator("main")).to_contain_text("The other ruler is needed as well")
    fill(page, "ruler-down", "200 mm")
    comes_to_disk(page, desk.folder, "rulers",
                  {"across": {"mm": 179.4, "typed": "179.4 mm"}, "down": {"mm": 200, "typed": "200 mm"}})
    page.click("[data-key=make]")
    expect(page.locator(".says.look").last).to_contain_text("more than 3 % off")
    fill(page, "ruler-down", "239.5 mm")
    page.click("[data-key=make]")
    page.wait_for_selector("[data-key=zip]")


def test_a_piece_tells_of_its_row_in_sentences_and_what_the_plan_avoids_is_drawn(quick_desk, open_page, tmp_path):
    folder = strip_job(tmp_path)
    watched = open_page(quick_desk(folder).address)
    page = watched.page
    go(page, "rows")
    settled(page)
    expect(page.locator(".reason")).to_contain_text("a strip of only 30")
    expect(page.locator(".beside .look .strip")).to_have_count(1)
    page.select_option("select[data-key=piece]", "1.1")
    expect(page.locator(".row-picture > svg")).to_be_visible()
    notes = page.locator(".row-picture p, .row-picture .says").all_inner_texts()
    assert notes and all(len(note) > 12 and note.rstrip()[-1] in ".?!" for note in notes), notes
    assert watched.errors == []
