"""What is worth measuring next is pointed at, on the plan and in a photo; how sure each corner is is drawn; the
glass stays off the finger."""
from __future__ import annotations

import math
import re

import pytest
from playwright.sync_api import Page, expect

from desk.actions.demo import copy_demo
from tests.support.hands import disk, go, marks

#: Marks of the demo differ from where the survey expects them by a person's slip of the hand and its own error, px of
#: 1600 by 1200 pictures.
NEAR_PX = 12.0


def ends_of(page: Page, selector: str) -> list[tuple[float, float]]:
    """The ends of a line of a drawing, in its own units."""
    return [tuple(p) for p in page.evaluate("""(selector) => {
        const line = document.querySelector(selector);
        if (line.points) return [...line.points].map(({x, y}) => [x, y]);
        return [1, 2].map((i) => [line[`x${i}`].baseVal.value, line[`y${i}`].baseVal.value]);
    }""", selector)]


def test_the_next_length_is_pointed_at_on_the_plan_and_in_a_photo(quick_desk, open_page, tmp_path):
    desk = quick_desk(copy_demo(tmp_path / "demo"))
    page = open_page(desk.address).page
    go(page, "tape")
    expect(page.locator(".plan.floor line.next")).to_have_count(1)
    a, b = re.match(r"Measure (\w+) to (\w+) ", page.locator(".says:has([data-key=look-0])").inner_text()).groups()
    # On the plan: from one of the pair to the other. The letters stand beside their corners, so ends are compared with
    # the survey's places.
    places = page.evaluate("""async (names) => {
        const {work} = await import('/common/api.js');
        const {answer} = await work('survey');
        return names.map((name) => [answer.points[name].x, -answer.points[name].y]);
    }""", [a, b])
    assert all(math.dist(end, place) < 0.5 for end, place in zip(ends_of(page, ".plan.floor line.next"), places))
    page.click("[data-key=look-0]")
    expect(page.locator("[data-key=measure-next]")).to_contain_text(f"{a} to {b}")
    expect(page.locator(".canvas polyline.measure")).to_have_count(1)
    expect(page.locator(".stage")).to_have_attribute("aria-label", re.compile("^Photo photos/"))
    shown = page.locator(".stage").get_attribute("aria-label").removeprefix("Photo ")
    marks = {mark["point"]: (mark["x"], mark["y"]) for entry in disk(desk.folder)["photos"] if entry["file"] == shown
             for mark in entry["marks"]}
    drawn = dict(zip((a, b), ends_of(page, ".canvas polyline.measure")))
    assert any(name in marks for name in drawn)
    assert all(math.dist(drawn[name], marks[name]) < NEAR_PX for name in drawn if name in marks)
    page.click("[data-key=to-tape]")
    assert [page.input_value(f"[data-key={key}]") for key in ("from", "to")] == [a, b]


def test_the_plan_draws_how_sure_each_corner_is_and_says_how_much_enlarged(quick_desk, open_page, tmp_path):
    desk = quick_desk(copy_demo(tmp_path / "demo"))
    page = open_page(desk.address).page
    go(page, "tape")
    expect(page.locator(".plan.floor .oval").first).to_be_attached()
    assert page.locator(".plan.floor .oval").count() >= len(disk(desk.folder)["outline"])
    expect(page.get_by_label("The floor so far")).to_contain_text("times as large as they are")
    assert all("known to ±" in page.locator(f"[data-key=point-{name}]").get_attribute("aria-label")
               for name in disk(desk.folder)["outline"])


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_the_glass_shows_beside_the_finger_and_never_under_it(quick_desk, open_page, tmp_path, screen):
    """On whichever side of the photo the finger is: the glass lies over the photo, on the other side."""
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address, screen).page
    go(page, "corners")
    expect(page.locator(".mark").first).to_be_attached()
    expect(page.locator(".stage")).to_have_attribute("aria-label", re.compile("^Photo photos/"))
    page.locator(".stage").scroll_into_view_if_needed()
    stage = page.locator(".stage").bounding_box()
    points = page.evaluate("""() => [...document.querySelectorAll('.mark .reach')].map((reach) => {
        const box = reach.getBoundingClientRect();
        return [box.x + box.width / 2, box.y + box.height / 2];
    })""")
    middle = stage["x"] + stage["width"] / 2
    sides = []
    for x, y in points:
        if not (stage["x"] + 20 < x < stage["x"] + stage["width"] - 20
                and stage["y"] + 20 < y < stage["y"] + stage["height"] - 60):
            continue
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 14, y + 4, steps=3)
        glass = page.locator(".loupe")
        expect(glass).to_be_visible()
        box = glass.bounding_box()
        inside = box["x"] <= x + 14 <= box["x"] + box["width"] and box["y"] <= y + 4 <= box["y"] + box["height"]
        page.mouse.up()
        page.click("#undo")
        expect(glass).to_be_hidden()
        assert not inside
        assert stage["x"] <= box["x"] and box["x"] + box["width"] <= stage["x"] + stage["width"]
        assert stage["y"] <= box["y"] and box["y"] + box["height"] <= stage["y"] + stage["height"]
        assert (box["x"] > middle) == (x + 14 <= middle)
        sides.append(box["x"] > middle)
    assert set(sides) == {True, False}


def test_the_letter_asked_for_is_shown_as_it_was_marked_in_another_photo(quick_desk, open_page, tmp_path):
    desk = quick_desk(copy_demo(tmp_path / "demo"))
    page = open_page(desk.address).page
    go(page, "corners")
    photos = disk(desk.folder)["photos"]
    shared = next(mark["point"] for mark in photos[1]["marks"]
                  if any(mark["point"] == other["point"] for other in photos[0]["marks"]))
    page.click(f"[data-key='photo-{photos[1]['file']}']")
    expect(page.locator(".stage")).to_have_attribute("aria-label", f"Photo {photos[1]['file']}")
    page.click(f"[data-key=chip-{shared}]")
    expect(page.locator(".crop image")).to_have_count(1)
    number = int(page.locator(".crop figcaption").inner_text().removeprefix(f"{shared} in photo "))
    assert number != 2
    mark = marks(desk.folder, number)[shared]
    left, top, wide, high = map(float, page.locator(".crop svg").get_attribute("viewBox").split())
    assert left <= mark[0] <= left + wide and top <= mark[1] <= top + high
    ring = page.locator(".crop circle").last
    assert (float(ring.get_attribute("cx")), float(ring.get_attribute("cy"))) == mark
    page.set_viewport_size({"width": 1366, "height": 768})  # a common laptop's
    expect(page.locator(".advice")).to_contain_text("Dotted rings")  # the floor is solved: the card is at its longest
    for asked in (".placer .next", ".crop svg", f"[data-key=chip-{shared}]", ".live-floor > .plan", ".stage"):
        expect(page.locator(asked)).to_be_in_viewport(ratio=1)
    page.click("[data-key='chip-+']")
    expect(page.locator(".crop")).to_have_count(0)
