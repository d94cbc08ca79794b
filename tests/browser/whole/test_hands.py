"""The page under a hand: the way on always in sight, help in place, a pack's label pasted whole, what the machine keeps
for the next job, a phone's screen."""
from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Page, expect

from desk.actions.demo import copy_demo
from tests.browser.whole.test_care import tape_only_job
from tests.support.hands import add_photos, disk, go, saved
from tests.support.invented_room import VIEWS, picture

pytestmark = pytest.mark.usefixtures("short_searches")
STEPS = ("photos", "corners", "tape", "room", "boards", "rows", "pack", "day")
#: A plain room of 3.6 x 2.5 m, given as coordinates.
PLAIN = {"floor": {"outline": [[0, 0], [3600, 0], [3600, 2500], [0, 2500]]}}


#: Whether a sentence of the status lies over the way on.
SAID_OVER_IT = """() => {
    const [status, button] = ['#status', '.onward .main'].map((which) => document.querySelector(which));
    const before = status.textContent;
    status.textContent = 'A to B: 4312 mm added.';
    const [said, way] = [status, button].map((node) => node.getBoundingClientRect());
    status.textContent = before;
    return said.left < way.right && way.left < said.right && said.top < way.bottom && way.top < said.bottom;
}"""


@pytest.fixture
def plain(tmp_path):
    """A folder of a plain room without boards."""
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps(PLAIN), "utf-8")
    return folder


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A machine's settings of this test's own."""
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "machine" / "settings.json"))


def in_sight(page: Page, selector: str) -> bool:
    """Whether an element lies on the screen as it is scrolled now, and nothing over it."""
    return page.evaluate("""(selector) => {
        const box = document.querySelector(selector).getBoundingClientRect();
        const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
        return box.y >= 0 && box.bottom <= innerHeight && document.elementFromPoint(x, y)?.closest(selector) !== null;
    }""", selector)


#: Colour and height of the one main button.
LOOK_OF_THE_WAY_ON = """() => {
    const way = document.querySelector('.onward .main');
    return JSON.stringify([getComputedStyle(way).backgroundColor, way.offsetHeight]);
}"""


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_the_way_on_is_in_sight_on_every_step_however_far_it_is_scrolled(quick_desk, open_page, tmp_path, screen):
    watched = open_page(quick_desk(copy_demo(tmp_path / "demo")).address, screen)
    page = watched.page
    looks = set()
    for step in STEPS:
        go(page, step)
        way_on = page.locator(".onward .main")
        expect(way_on).to_be_visible()
        looks.add(page.evaluate(LOOK_OF_THE_WAY_ON))  # at once: an answer may put another button in its place
        assert page.evaluate(SAID_OVER_IT) is False, step
        for place in ("0", "document.documentElement.scrollHeight"):
            page.evaluate(f"scrollTo(0, {place})")
            assert in_sight(page, ".onward .main"), step
        assert page.locator(".main:visible").count() == 1, step
        assert page.evaluate("document.documentElement.scrollWidth <= screen.width")
    assert len(looks) == 1
    assert watched.errors == []


def test_the_way_on_leads_from_photo_to_photo_and_resets_what_a_tap_does(quick_desk, open_page, tmp_path):
    files = []
    for number, view in enumerate(VIEWS, start=1):
        files.append(tmp_path / f"IMG_{number}.jpg")
        files[-1].write_bytes(picture(view))
    page = open_page(quick_desk(tmp_path / "job").address, "phone").page
    add_photos(page, files)
    page.locator("[data-key=onward]").tap()
    stage = page.locator(".stage")
    expect(stage).to_have_attribute("aria-label", "Photo photos/1.jpg")
    box = stage.bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(page.locator(".mark")).to_have_count(1)
    page.locator(".pick:has([data-key=mode-edge])").tap()
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    assert in_sight(page, ".canvas")  # the photo stays while letters are chosen below it
    expect(page.locator("[data-key=onward]")).to_contain_text("On to photo 2")
    page.locator("[data-key=onward]").tap()
    expect(stage).to_have_attribute("aria-label", "Photo photos/2.jpg")
    expect(page.locator("[data-key=mode-point]")).to_be_checked()
    assert in_sight(page, ".canvas") and in_sight(page, ".thumb[aria-pressed=true]")
    saved(page)


def test_with_a_tape_only_the_way_on_leads_to_the_tape(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(tmp_path / "job").address).page
    page.click("[data-key=on]")
    way_on = page.locator("[data-key=onward]")
    expect(way_on).to_contain_text("Add photos")
    box = page.locator(".sheet-canvas").bounding_box()
    for x, y in ((0.2, 0.8), (0.8, 0.8), (0.8, 0.2)):
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    expect(way_on).to_contain_text("On to the tape")


def test_who_has_measured_enough_beside_the_plan_goes_on_to_the_room(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(tape_only_job(tmp_path / "job")).address).page
    go(page, "corners")
    expect(page.locator(".taping-here .enough")).to_be_visible()
    assert page.locator(".main:visible").count() == 1
    page.click("[data-key=onward]")
    expect(page.locator("[data-key=step-room]")).to_have_attribute("aria-current", "step")


def test_one_button_leads_from_the_plan_to_the_pack_and_to_the_day(quick_desk, open_page, plain):
    watched = open_page(quick_desk(plain).address)
    page = watched.page
    go(page, "boards")
    page.fill("[data-key=label]", "1285 x 192 x 8 mm, 8 per pack")
    page.press("[data-key=label]", "Enter")
    expect(page.locator("[data-key=board-length]")).to_have_value(re.compile("^1285"))
    way_on = page.locator(".main:visible")
    for said in ("See the rows", "This is my plan", "Make the pack", "Download everything", "On to the day"):
        expect(way_on).to_have_count(1)
        expect(way_on).to_have_text(said)
        assert page.get_by_text(said, exact=True).count() == 1
        if said.startswith("Download"):
            with page.expect_download():
                way_on.click()
        else:
            way_on.click()
    expect(page.locator("[data-key=step-day]")).to_have_attribute("aria-current", "step")
    go(page, "pack")
    expect(page.locator(".files, [data-key=zip]").first).to_be_visible()
    assert watched.errors == []


def test_a_phone_reads_the_steps_and_scrolls_little(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address, "phone").page
    expect(page.locator("#steps a")).to_have_count(len(STEPS))
    sizes = page.evaluate("[...document.querySelectorAll('#steps a')].map((e) => parseFloat(getComputedStyle(e).fontSize))")
    assert min(sizes) >= 12
    go(page, "rows")
    expect(page.locator(".way").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollHeight / innerHeight") <= 4


def test_help_is_for_the_step_and_the_tour_can_be_left(quick_desk, open_page, tmp_path, machine):
    desk = quick_desk(tmp_path / "job")
    watched = open_page(desk.address)
    page = watched.page
    page.click("[data-key=tour]")
    expect(page.locator("#help")).to_contain_text("1 of 8: Photos")
    for _ in range(2):
        page.press("[data-key=tour-next]", "Enter")
    expect(page.locator("#help")).to_contain_text("3 of 8: Tape")
    page.click("[data-key=tour-leave]")
    expect(page.locator("#help")).to_be_hidden()
    page.click("#help-button")
    expect(page.locator("#help")).to_contain_text("three or four photos")
    go(page, "boards")
    expect(page.locator("#help")).to_contain_text("label")
    page.click("[data-key=no-help]")
    expect(page.locator("#help")).to_be_hidden()
    page = open_page(desk.address).page
    expect(page.locator(".drop")).to_be_visible()
    expect(page.locator("#help")).to_be_hidden()  # whoever took the tour, or left it, is not asked again
    assert watched.errors == []


def test_a_label_is_pasted_whole(quick_desk, open_page, plain):
    watched = open_page(quick_desk(plain).address)
    page = watched.page
    go(page, "boards")
    page.fill("[data-key=label]", "Oak look, 1285 x 192 x 8 mm, 8 per pack")
    page.press("[data-key=label]", "Enter")
    expect(page.locator(".label-box .says.good")).to_contain_text("8 in a pack")
    saved(page)
    assert disk(plain)["flooring"]["board"] == {"length": 1285, "width": 192, "thickness": 8, "pack": 8}
    expect(page.locator("[data-key=board-length]")).to_have_value("1285 mm")
    page.fill("[data-key=label]", "AC4, class 32")
    page.click("[data-key=read-label]")
    expect(page.locator(".label-box .says.look")).to_contain_text("No board's size")
    page.click("#undo")
    saved(page)
    assert "board" not in disk(plain).get("flooring", {})
    assert watched.errors == []


def test_what_was_chosen_is_there_in_the_next_job(quick_desk, open_page, tmp_path, plain, machine):
    page = open_page(quick_desk(plain).address).page
    page.fill("#title", "Attic (invented)")
    page.press("#title", "Tab")
    go(page, "pack")
    page.check("[data-key=paper-a3]")
    for key, text in (("across", "179.4 mm"), ("down", "239.5 mm")):
        page.fill(f"[data-key=ruler-{key}]", text)
        page.press(f"[data-key=ruler-{key}]", "Tab")
    saved(page)
    expect(page.locator("#names option")).to_have_attribute("value", "Attic (invented)")
    watched = open_page(quick_desk(tmp_path / "next").address)
    page = watched.page
    go(page, "pack")
    expect(page.locator("[data-key=paper-a3]")).to_be_checked()
    expect(page.locator("main")).to_contain_text("Measured for an earlier job on this machine: 179.4 mm and 239.5 mm")
    page.click("[data-key=forget-rulers]")
    expect(page.locator("main")).not_to_contain_text("Measured for an earlier job")
    go(page, "tape")
    page.check("[data-key=show-imperial]")
    saved(page)
    page = open_page(quick_desk(tmp_path / "third").address).page
    go(page, "tape")
    expect(page.locator("[data-key=show-imperial]")).to_be_checked()
    assert watched.errors == []
