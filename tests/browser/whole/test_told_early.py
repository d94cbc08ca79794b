"""What is said where it is typed and not only later: sizes no board has, doors in one place, lengths that
contradict, a plan out of date."""
from __future__ import annotations

import json
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.support.day_logs import kept_job, tree_of

from desk.jobfile.files import read_job, with_keys, write_job
from desk.server.plan_process import Planning
from desk.server.worker import Replaced
from layout.planning.planner import EFFORTS
from tests.support.hands import add_length, disk, fill, go
from tests.browser.whole.test_care import tape_only_job

BOX = [[0, 0], [3000, 0], [3000, 2400], [0, 2400]]


def kept(folder: Path) -> Path:
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    return folder


def test_a_size_no_board_has_is_told_beside_its_box(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(tape_only_job(tmp_path / "job")).address).page
    go(page, "boards")
    fill(page, "board-length", "1285 mm")
    fill(page, "board-width", "1920 mm")
    told = page.get_by_label("The board").locator(".says.look")
    expect(told.first).to_contain_text("width is 1920 mm")
    fill(page, "board-width", "192 mm")
    expect(told).to_have_count(0)


def test_two_doors_in_one_place_are_told_in_the_room(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(tape_only_job(tmp_path / "job")).address).page
    go(page, "room")
    for _ in range(2):
        page.click("[data-key=add-door]")
    expect(page.get_by_label("Doors", exact=True).locator(".says.look")).to_contain_text("D1 and D2 overlap by 800 mm")


def test_a_second_length_that_contradicts_the_first_is_told_under_the_box(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(tape_only_job(tmp_path / "job")).address).page
    go(page, "tape")
    told = page.locator(".adder .says.look")
    add_length(page, "A", "B", "4311 mm")  # 1 mm from the first is what people's readings differ by
    expect(page.locator(".lengths li.suspect")).to_have_count(0)
    expect(told).to_have_count(0)
    add_length(page, "B", "A", "4410 mm")
    expect(told.first).to_contain_text("was taped twice, as 4310 mm and 4410 mm")


def test_the_day_tells_of_a_plan_out_of_date_before_its_first_entry(quick_desk, open_page, tmp_path):
    folder = kept(tmp_path / "job")
    write_job(folder, with_keys(read_job(folder), flooring={**disk(folder)["flooring"], "gap": 12}))
    page = open_page(quick_desk(folder).address).page
    go(page, "day")
    expect(page.locator(".answer .says.look")).to_contain_text("out of date: the boards and how they are laid changed")
    page.click("[data-key=to-rows]")
    expect(page.locator("[data-key=step-rows]")).to_have_attribute("aria-current", "step")


def test_without_a_kept_plan_pack_and_day_lead_to_the_rows(quick_desk, open_page, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps(tree_of(BOX)), "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "rows")
    expect(page.locator("[data-key=keep]")).to_be_enabled()
    for step in ("pack", "day"):
        go(page, step)
        page.get_by_role("button", name="See the rows").click()
        expect(page.locator("[data-key=step-rows]")).to_have_attribute("aria-current", "step")


def test_a_plan_that_is_being_laid_says_so_instead_of_letting_go(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(kept(tmp_path / "job")).address).page
    go(page, "rows")
    expect(page.locator("[data-key=let-go]")).to_be_enabled()
    go(page, "day")
    page.click("[data-key=ask-wall]")
    page.fill("[data-key=wall-left]", "2390 mm")
    page.fill("[data-key=wall-right]", "2392 mm")
    page.click("[data-key=wall]")
    expect(page.locator(".said li")).to_have_count(1)
    go(page, "rows")
    expect(page.locator(".stage-words")).to_contain_text("rows are laid by this plan")
    expect(page.locator("[data-key=let-go]")).to_have_count(0)


def open_question(folder: Path) -> Path:
    """A job whose usual search ends one board above the bound: what a longer search is for."""
    folder.mkdir()
    floor = {"outline": [[0, 0], [3946, -2], [3914, 2035], [-37, 2032]]}
    board = {"length": 1285, "width": 192, "thickness": 8, "pack": 8}
    (folder / "job.json").write_text(json.dumps({"floor": floor, "flooring": {"board": board}}), "utf-8")
    return folder


def look_longer(page: Page) -> None:
    go(page, "rows")
    page.click("[data-key=longer]")


def test_looking_longer_says_what_it_found_and_is_offered_once(quick_desk, open_page, tmp_path, monkeypatch):
    """A room whose search proves nothing. Both searches are cut short here, in this process: what they find is the
    planner's tests' to say."""
    monkeypatch.setattr(Planning, "run", lambda self, work, *arguments, droppable=True: work(*arguments))
    for effort in ("usual", "long"):
        monkeypatch.setitem(EFFORTS, effort, EFFORTS["preview"])
    folder = open_question(tmp_path / "job")
    page = open_page(quick_desk(folder).address).page
    look_longer(page)
    expect(page.locator(".stage-words")).to_contain_text("A long search found none with fewer")
    expect(page.locator("[data-key=longer]")).to_have_count(0)
    expect(page.locator("[data-key=keep]")).to_be_enabled()


def test_a_search_that_is_no_longer_wanted_is_dropped(quick_desk, open_page, tmp_path, monkeypatch):
    """The usual searches are cut short; the long one is as long as it is, in its own process, and is ended there."""
    searched, dropped = Planning.run, []

    def run(self, work, job, floor, effort, *, droppable):
        try:
            return searched(self, work, job, floor, "preview" if effort == "usual" else effort, droppable=droppable)
        except Replaced:
            dropped.append(effort)
            raise
    monkeypatch.setattr(Planning, "run", run)
    folder = open_question(tmp_path / "job")
    page = open_page(quick_desk(folder).address).page
    look_longer(page)
    expect(page.locator(".stage-words .working")).to_be_visible()
    go(page, "boards")
    fill(page, "plain-gap", "12 mm")
    go(page, "rows")
    expect(
        page.locator("[data-key=keep]")
    ).to_be_enabled()  # the plan of the job as it is now, which the long search would have held up
    assert dropped == ["long"] and disk(folder)["flooring"]["gap"] == 12
