"""All rooms of a flat on one page: joined by dragging, by presses, by keyboard and finger; opened and come back from;
what is wrong told where it is. Where rooms come to lie is worked out by hand in tests/desk/server/test_home.py."""
from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from desk.cli import main
from tests.browser.whole.test_access import looks_well
from tests.support.hands import press, saved, until
from tests.support.houses import invented_flat, write_house, write_room

pytestmark = pytest.mark.usefixtures("short_searches")
KITCHEN, HALL, BATH = "kitchen-D1", "hall-D1", "bath-D1"


@pytest.fixture
def flat(tmp_path: Path) -> Path:
    """Two rooms and a hall, every wall's thickness told by the doors, no door joined to another yet."""
    folder = invented_flat(tmp_path / "flat")
    job = json.loads((folder / "bath" / "job.json").read_text())
    job["doors"][0]["reveal"] = 60
    (folder / "bath" / "job.json").write_text(json.dumps(job))
    write_house(folder, doorways=[])
    return folder


def doorways(folder: Path) -> list[list[list[str]]]:
    """The sides of every doorway on the disk."""
    told = json.loads((folder / "house.json").read_text())
    return [[list(side) for side in zip(one["rooms"], one["doors"])] for one in told["doorways"]]


def seen(page: Page) -> None:
    """Wait until the rooms are drawn as they are saved."""
    saved(page)
    expect(page.locator(".plan.flat .ground").first).to_be_visible()
    expect(page.locator(".home .stale")).to_have_count(0)


def middle(page: Page, key: str) -> tuple[float, float]:
    box = page.locator(f"[data-key=door-{key}] .grip").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, one: str, other: str) -> None:
    page.locator(".plan.flat").scroll_into_view_if_needed()
    start, end = middle(page, one), middle(page, other)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, steps=4)
    page.mouse.move(*end, steps=4)
    expect(page.locator(".plan.flat line.next")).to_have_count(1)
    page.mouse.up()


def press_both(page: Page, one: str, other: str) -> None:
    for key in (one, other):
        press(page, f"[data-key=door-{key}]")


def by_keys(page: Page, one: str, other: str) -> None:
    for key in (one, other):
        page.locator(f"[data-key=door-{key}]").focus()
        page.keyboard.press("Enter")


@pytest.mark.parametrize(("screen", "joined"), [("laptop", drag), ("laptop", press_both), ("laptop", by_keys),
                                                ("phone", press_both)])
def test_two_doors_become_one_doorway_and_the_rooms_lie_side_by_side(quick_desk, open_page, flat, screen,
                                                                    joined: Callable[..., None]):
    watched = open_page(quick_desk(flat).address, screen)
    page = watched.page
    seen(page)
    joined(page, KITCHEN, HALL)
    seen(page)
    assert doorways(flat) == [[["kitchen", "D1"], ["hall", "D1"]]]
    expect(page.locator(".doorways > li")).to_contain_text("Boards run through.")
    expect(page.locator(f"[data-key=door-{KITCHEN}]")).to_have_count(0)  # the opening itself is drawn now
    page.click("#undo")
    seen(page)
    assert doorways(flat) == [] and watched.errors == []


def test_a_door_let_fall_beside_every_other_joins_nothing_and_escape_lets_one_go(quick_desk, open_page, flat):
    page = open_page(quick_desk(flat).address).page
    seen(page)
    page.mouse.move(*middle(page, KITCHEN))
    page.mouse.down()
    x, y = middle(page, KITCHEN)
    page.mouse.move(x - 120, y, steps=4)  # in the middle of its own room
    page.mouse.up()
    expect(page.locator("line.next")).to_have_count(0)
    press(page, f"[data-key=door-{KITCHEN}]")
    expect(page.locator(f"[data-key=door-{KITCHEN}]")).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("Escape")
    expect(page.locator(f"[data-key=door-{KITCHEN}]")).to_have_attribute("aria-pressed", "false")
    assert doorways(flat) == []


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_buttons_join_every_room_and_one_purchase_is_shown(quick_desk, open_page, flat, screen):
    watched = open_page(quick_desk(flat).address, screen)
    page = watched.page
    seen(page)
    press(page, "[data-key=onward]")  # leads to the likeliest pair
    expect(page.locator("[data-key=join-kitchen-D1]")).to_be_focused()
    page.keyboard.press("Enter")
    seen(page)
    press(page, "[data-key=join-hall-D2]")
    seen(page)
    assert doorways(flat) == [[["kitchen", "D1"], ["hall", "D1"]], [["hall", "D2"], ["bath", "D1"]]]
    expect(page.locator(".purchase .figures b").first).to_have_text(re.compile(r"^\d+$"))
    expect(page.locator("[data-key=part-of-doors]")).to_contain_text("✓")
    assert watched.errors == []


def test_rooms_are_laid_in_the_order_that_is_chosen_and_the_keyboard_stays(quick_desk, open_page, flat):
    write_house(flat)
    page = open_page(quick_desk(flat).address).page
    seen(page)
    before = [card.get_attribute("data-key") for card in page.locator(".room-card").all()]
    first = before[0].removeprefix("room-")
    page.locator(f"[data-key=later-{first}]").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".room-card").nth(1)).to_have_attribute("data-key", before[0])
    expect(page.locator(f"[data-key=later-{first}]")).to_be_focused()
    seen(page)
    assert json.loads((flat / "house.json").read_text())["order"][1] == first
    page.click("[data-key=order-anew]")
    expect(page.locator(".room-card").first).to_have_attribute("data-key", before[0])


def test_how_a_doorway_is_laid_and_where_rows_run_is_chosen_and_told(quick_desk, open_page, flat):
    write_house(flat)
    page = open_page(quick_desk(flat).address).page
    seen(page)
    page.select_option("[data-key=laid-kitchen-D1-hall-D1]", "profile")
    expect(page.locator("[data-key=doorway-kitchen-D1-hall-D1]")).to_contain_text("A profile lies here. You chose it.")
    page.select_option("[data-key=flat-direction]", label="A to B in kitchen")
    seen(page)
    told = json.loads((flat / "house.json").read_text())
    assert told["doorways"][0]["laid"] == "profile" and told["direction"] == {"room": "kitchen", "wall": ["A", "B"]}


def test_a_room_opens_into_the_steps_and_leads_back_once_it_is_saved(quick_desk, open_page, flat):
    watched = open_page(quick_desk(flat).address)
    page = watched.page
    seen(page)
    page.click("[data-key=open-bath]")
    expect(page.locator("[data-key=step-room]")).to_be_visible()
    page.click("[data-key=step-room]")
    expect(page).to_have_url(re.compile(r"/\?room=bath#room$"))
    page.fill("#title", "Shower room")
    page.press("#title", "Tab")
    page.click("[data-key=all-rooms]")
    expect(page.locator("[data-key=open-bath]")).to_have_text("Shower room")
    assert json.loads((flat / "bath" / "job.json").read_text())["title"] == "Shower room"
    assert watched.errors == []


def test_a_new_room_opens_at_once_and_has_no_floor_yet(quick_desk, open_page, flat):
    page = open_page(quick_desk(flat).address).page
    seen(page)
    page.click("[data-key=new-room]")
    expect(page.locator("#rooms")).to_contain_text("Type a name for the room first.")
    page.fill("#new-room-name", "Kitchen")
    page.keyboard.press("Enter")
    expect(page.locator("#rooms .says")).to_contain_text("choose another name")
    page.fill("#new-room-name", "Box room")
    page.keyboard.press("Enter")
    expect(page.locator(".drop")).to_be_visible()
    page.click("[data-key=all-rooms]")
    expect(page.locator("[data-key='room-Box room']")).to_contain_text("No floor yet")
    expect(page.locator("[data-key=onward]")).to_have_text("Go on with Box room")
    assert json.loads((flat / "house.json").read_text())["rooms"][-1] == "Box room"


def test_what_is_wrong_is_told_where_it_is_and_no_rule_is_broken(quick_desk, open_page, flat):
    """A room that cannot be read, doors that do not meet, a wall of unknown thickness, a folder that is not listed."""
    job = json.loads((flat / "bath" / "job.json").read_text())
    del job["doors"][0]["reveal"]
    (flat / "bath" / "job.json").write_text(json.dumps(job))
    write_room(flat / "attic", [[0, 0], [3000, 0], [3000, 2000], [0, 2000]],
               [{"name": "D1", "wall": ["A", "B"], "from": 500, "width": 600, "reveal": 60}], flooring={})
    write_room(flat / "cellar", [[0, 0], [2000, 0], [2000, 2000], [0, 2000]], [])
    (flat / "broken").mkdir()
    (flat / "broken" / "job.json").write_text("{")
    write_house(flat, rooms=["kitchen", "hall", "bath", "attic", "broken"], doorways=[
        {"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"]}, {"rooms": ["hall", "bath"], "doors": ["D2", "D1"]},
        {"rooms": ["hall", "attic"], "doors": ["D1", "D1"]}])
    page = open_page(quick_desk(flat).address).page
    seen(page)
    expect(page.locator("[data-key=doorway-hall-D2-bath-D1]")).to_contain_text("How thick is the wall between")
    expect(page.locator("[data-key=room-broken]")).to_contain_text("cannot be read")
    expect(page.locator(".doorways .says.look")).to_have_count(2)
    expect(page.locator(".purchase .figures").first).to_be_visible()
    looks_well(page, "home with faults")
    page.fill("[data-key=thickness-hall-D2-bath-D1]", "100 mm")
    page.keyboard.press("Enter")
    until(page, lambda: "thickness" in (flat / "house.json").read_text(), "the thickness")
    seen(page)
    expect(page.locator("[data-key=doorway-hall-D2-bath-D1]")).to_contain_text("Boards run through")
    page.click("[data-key=in-cellar]")
    seen(page)
    page.click("[data-key=out-broken]")
    seen(page)
    assert json.loads((flat / "house.json").read_text())["rooms"] == ["kitchen", "hall", "bath", "attic", "cellar"]


def test_no_rule_is_broken_on_a_flat_that_is_joined(quick_desk, open_page, flat):
    write_house(flat)
    watched = open_page(quick_desk(flat).address)
    seen(watched.page)
    expect(watched.page.locator(".purchase .figures").first).to_be_visible()
    expect(watched.page.locator(".purchase .working")).to_have_count(0)
    boards = watched.page.locator(".purchase .figures b").nth(1).inner_text()
    expect(watched.page.locator(".purchase .figures + p")).to_contain_text(f": {boards} boards, ")
    expect(watched.page.locator(".purchase .plainlist").first).to_contain_text("1 roll tape")
    looks_well(watched.page, "home")
    assert watched.errors == []


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_one_button_keeps_the_plans_prints_them_and_fetches_the_booklet(quick_desk, open_page, flat, screen):
    write_house(flat)
    watched = open_page(quick_desk(flat).address, screen)
    page = watched.page
    seen(page)
    press(page, "[data-key=keep]")
    expect(page.locator("[data-key=make]")).to_be_enabled()
    expect(page.locator("[data-key=room-bath]")).to_contain_text("its plan is kept")
    press(page, "[data-key=make]")
    with page.expect_download() as coming:
        press(page, "[data-key=download]")
    assert coming.value.suggested_filename == "tapegroove-pack.zip"
    page.locator("[data-key=floor-of-bath]").click()
    expect(page.locator(".plan.rows .piece").first).to_be_visible()
    assert watched.errors == []


def test_the_rows_of_a_room_say_what_the_plan_of_all_rooms_gives_it_and_lead_there(quick_desk, open_page, flat):
    write_house(flat)
    watched = open_page(quick_desk(flat).address)
    page = watched.page
    seen(page)
    press(page, "[data-key=keep]")
    expect(page.locator("[data-key=make]")).to_be_enabled()
    page.click("[data-key=open-bath]")
    page.click("[data-key=step-rows]")
    told = page.locator(".in-flat")
    expect(told).to_contain_text("bath is one room of a flat")
    expect(page.locator("[data-key=to-all]")).to_be_visible()  # the way on is not to keep a plan of this room alone
    looks_well(page, "rows of a room of a flat")
    page.click("[data-key=to-floor]")
    expect(page).to_have_url(re.compile("room=floors%2Fbath#rows$"))
    expect(page.locator(".stage-words")).to_contain_text("This is your plan")
    page.click("[data-key=to-flat]")
    expect(page.locator("#buy")).to_be_visible()
    assert watched.errors == []


def test_once_a_room_is_begun_a_button_keeps_the_other_plans_again(quick_desk, open_page, flat):
    write_house(flat)
    page = open_page(quick_desk(flat).address).page
    seen(page)
    press(page, "[data-key=keep]")
    expect(page.locator("[data-key=make]")).to_be_enabled()
    expect(page.locator("[data-key=keep-again]")).to_have_count(0)
    assert main(["day", str(flat / "floors" / "bath"), "row", "1", "done"]) == 0
    page.reload()
    seen(page)
    expect(page.locator("[data-key=room-bath]")).to_contain_text("being laid")
    before = (flat / "floors" / "bath" / "job.json").read_bytes()
    press(page, "[data-key=keep-again]")
    expect(page.locator("[data-key=keep-again]")).to_be_enabled()
    seen(page)
    expect(page.locator(".purchase")).to_contain_text("The plans of all floors are kept")
    assert (flat / "floors" / "bath" / "job.json").read_bytes() == before


def test_a_flat_is_begun_with_its_first_room(start_desk, open_page, tmp_path):
    folder = tmp_path / "begun"
    desk = start_desk(folder, "--flat")
    watched = open_page(desk.address)
    page = watched.page
    page.click("[data-key=onward]")
    expect(page.locator("#new-room-name")).to_be_focused()
    assert not folder.exists()
    page.fill("#new-room-name", "Hall")
    page.keyboard.press("Enter")
    expect(page.locator(".drop")).to_be_visible()
    assert json.loads((folder / "house.json").read_text())["rooms"] == ["Hall"]
    assert (folder / "Hall" / "job.json").is_file() and watched.errors == [] and watched.outside(desk.home) == []


def test_the_page_of_a_single_job_has_no_way_to_other_rooms(quick_desk, open_page, flat):
    page = open_page(quick_desk(flat / "bath").address).page
    expect(page.locator("[data-key=step-room]")).to_be_visible()
    expect(page.locator("[data-key=all-rooms]")).to_have_count(0)
