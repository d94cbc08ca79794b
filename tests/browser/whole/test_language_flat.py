"""The page of all rooms in a made-up language whose every sentence is bracketed: nothing stands outside brackets but
names and figures."""
from __future__ import annotations

import datetime
import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from desk.actions.flat.planning import flat_kept
from desk.server.home.site import open_home
from tests.browser.whole.test_language import in_german, offered, unlooked_on
from tests.desk.language.conftest import CLOSE, OPEN, bracketed_language
from tests.support.hands import go, until
from tests.support.houses import drawn_flat, invented_flat, write_house, write_room

pytestmark = pytest.mark.usefixtures("short_searches")
#: As the rooms and doors of these flats are called.
NAMES = ("kitchen", "hall", "bath", "attic", "broken", "cellar", "Invented flat", "D1", "D2")
__all__ = ["offered"]  # the fixture


@pytest.fixture
def spoken(offered):
    """The made-up language is offered as German."""
    offered(de=bracketed_language())


def seen(page: Page) -> None:
    """Wait until the rooms are drawn as they are saved."""
    expect(page.locator("#saved")).to_have_text(f"{OPEN}Saved{CLOSE}")
    expect(page.locator(".plan.flat .ground").first).to_be_visible()
    expect(page.locator(".home .stale")).to_have_count(0)


def in_made_up(flat: Path) -> Path:
    """A flat's page is in the language of its first room."""
    for folder in flat.iterdir():
        if (folder / "job.json").is_file() and (folder / "job.json").read_text() != "{":
            title = json.loads((folder / "job.json").read_text()).get("title", "")
            in_german(folder, title=title)
    return flat


def test_a_flat_that_is_joined_bought_kept_and_printed(quick_desk, open_page, tmp_path, spoken):
    page = open_page(quick_desk(in_made_up(invented_flat(tmp_path / "flat"))).address).page
    seen(page)
    expect(page.locator(".purchase .figures").first).to_be_visible()
    expect(page.locator(".purchase .working")).to_have_count(0)
    assert page.evaluate("[document.documentElement.lang, document.documentElement.dir]") == ["de", "ltr"]
    assert unlooked_on(page, *NAMES) == set()
    page.click("[data-key=keep]")
    expect(page.locator("[data-key=make]")).to_be_enabled()
    assert unlooked_on(page, *NAMES) == set(), "kept"
    page.click("[data-key=make]")
    expect(page.locator("[data-key=download]")).to_be_visible()
    assert unlooked_on(page, *NAMES) == set(), "printed"


def test_doors_chosen_joined_and_parted(quick_desk, open_page, tmp_path, spoken):
    """And every change by the name that undo has for it."""
    flat = in_made_up(invented_flat(tmp_path / "flat"))
    write_house(flat, doorways=[])
    page = open_page(quick_desk(flat).address).page
    seen(page)
    assert unlooked_on(page, *NAMES) == set()
    for key in ("kitchen-D1", "hall-D1"):
        page.click(f"[data-key=door-{key}]")
        assert unlooked_on(page, *NAMES) == set(), key
    seen(page)
    for act in (lambda: page.select_option("[data-key=laid-kitchen-D1-hall-D1]", "profile"),
                lambda: page.select_option("[data-key=flat-direction]", index=1),
                lambda: page.click("[data-key=later-kitchen]"), lambda: page.click("[data-key=order-anew]"),
                lambda: page.select_option("[data-key=flat-entrance]", "bath"),
                lambda: page.click("[data-key=part-kitchen-D1-hall-D1]"), lambda: page.click("[data-key=out-bath]"),
                lambda: page.click("[data-key=in-bath]"), lambda: page.click("#undo")):
        act()
        assert unlooked_on(page, *NAMES) == set()
        seen(page)
        assert unlooked_on(page, *NAMES) == set()


def test_what_is_wrong_with_a_flat(quick_desk, open_page, tmp_path, spoken):
    """A room that cannot be read, doors that do not meet, a wall of unknown thickness, a folder that is not listed."""
    flat = invented_flat(tmp_path / "flat")
    write_room(flat / "attic", [[0, 0], [3000, 0], [3000, 2000], [0, 2000]],
               [{"name": "D1", "wall": ["A", "B"], "from": 500, "width": 600, "reveal": 60}], flooring={})
    write_room(flat / "cellar", [[0, 0], [2000, 0], [2000, 2000], [0, 2000]], [])
    (flat / "broken").mkdir()
    (flat / "broken" / "job.json").write_text("{")
    write_house(flat, rooms=["kitchen", "hall", "bath", "attic", "broken", "missing"], doorways=[
        {"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"]}, {"rooms": ["hall", "bath"], "doors": ["D2", "D1"]},
        {"rooms": ["hall", "attic"], "doors": ["D1", "D1"]}, {"rooms": ["bath", "attic"], "doors": ["D9", "D1"]}])
    page = open_page(quick_desk(in_made_up(flat)).address).page
    seen(page)
    expect(page.locator("[data-key=room-broken]")).to_contain_text("cannot be read")
    assert unlooked_on(page, *NAMES, "missing", "D9") == set()
    page.fill("#new-room-name", "kitchen")
    page.click("[data-key=new-room]")
    expect(page.locator("#rooms")).to_contain_text("choose another name")
    assert unlooked_on(page, *NAMES, "missing", "D9") == set()


def test_a_flat_that_is_begun(quick_desk, open_page, tmp_path, spoken, monkeypatch):
    """No room says yet in which language: it is the one the browser wishes for."""
    monkeypatch.setattr("tests.browser.conftest.open_any", open_home)
    page = open_page((desk := quick_desk(tmp_path / "begun")).address).page
    page.route("**/*", lambda route: route.continue_(headers={**route.request.headers, "accept-language": "de"}))
    page.reload()
    expect(page.locator("#new-room-name")).to_be_visible()
    page.click("[data-key=new-room]")
    page.click("[data-key=onward]")
    assert page.evaluate("document.documentElement.lang") == "de" and not desk.folder.exists()
    assert unlooked_on(page, "Begun") == set()


def test_the_day_of_a_floor_of_a_flat(quick_desk, open_page, tmp_path, spoken):
    """Where offcuts come from other floors and go to them."""
    flat = in_made_up(drawn_flat(1, tmp_path / "flat"))
    kept = flat_kept(flat, "preview", on=datetime.date(2026, 3, 5))
    assert kept.flat is not None
    names = ["Invented flat", *(room for floor in kept.flat.floors for room in (floor.name, floor.name.title()))]
    page = open_page(quick_desk(flat).address).page
    seen(page)
    assert unlooked_on(page, *names, *NAMES) == set()
    for floor in {side for travel in kept.flat.travels for side in (travel.from_floor, travel.to_floor)}:
        page.goto(page.url.partition("/?")[0].rstrip("/") + f"/?room=floors/{floor}#day")
        expect(page.locator("[data-key=row-down]")).to_be_visible()
        assert unlooked_on(page, *names) == set(), floor
        page.click("[data-key=row-down]")
        expect(page.locator(".said li")).to_have_count(1)
        assert unlooked_on(page, *names, "Reihe 1 fertig") == set(), floor
        for step in ("rows", "pack", "boards"):
            go(page, step)
            assert unlooked_on(page, *names) == set(), step
    until(page, lambda: any(json.loads(path.read_text()).get("day") for path in flat.glob("floors/*/job.json")),
          "the day's log")
