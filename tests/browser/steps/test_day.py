"""The step Day at a phone: a row down, distances that change the plan, words that are not understood, and an edit
that loses nothing."""
from __future__ import annotations

import re
import urllib.request

import pytest
from playwright.sync_api import expect
from tests.support.day_logs import DAY, kept_job, tree_of

from desk.actions.day import day_of, tell
from desk.actions.pipeline import printable
from desk.jobfile.files import read_job, with_keys, write_job
from desk.jobfile.parse import parse_job
from desk.text.row_view import show_row
from layout.replan.events import RowDown
from layout.replan.floor_estimation import middles
from tests.support.hands import disk, go, saved, until

BOX = [[0, 0], [3000, 0], [3000, 2400], [0, 2400]]


def test_a_day_told_at_the_phone(open_page, quick_desk, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    # So far that the last row comes up, which a nearer wall makes narrower.
    write_job(folder, tell(kept_job(tree_of(BOX)), RowDown(row=7), "row 7 done", on=DAY).job)
    desk = quick_desk(folder)
    watched = open_page(desk.address, "phone")
    page = watched.page
    go(page, "day")
    for row in (8, 9, 10, 11):
        page.click("[data-key=row-down]")
        expect(page.get_by_role("heading", name=re.compile(rf"Row {row} of \d+ is down"))).to_be_visible()
    day = day_of(read_job(folder))
    page.click("[data-key=ask-wall]")
    for side, s in zip(("left", "right"), middles(day.plan, 11)):
        page.fill(f"[data-key=wall-{side}]", f"{day.drift.ahead(11, s)[0] - 9:.0f}")
    page.click("[data-key=wall]")
    changed = page.locator("[data-key=changed]")
    expect(changed).to_be_visible()
    with urllib.request.urlopen(desk.home.rstrip("/") + changed.get_attribute("href")) as pdf:
        assert pdf.read(5) == b"%PDF-"
    page.fill("[data-key=words]", "the dog ate it")
    page.click("[data-key=say]")
    expect(page.locator(".says.look")).to_contain_text("not understood")
    page.fill("#title", "Another name")
    page.press("#title", "Tab")
    saved(page)
    page.click("[data-key=undo-day]")
    expect(page.get_by_text("is taken back").first).to_be_visible()
    assert [entry["what"] for entry in disk(folder)["day"]] == ["row-down"] * 5 + ["to-far-wall", "undo"]
    assert disk(folder)["title"] == "Another name" and watched.errors == [] and watched.outside(desk.home) == []


def test_a_pipe_nobody_had_marked_is_told_by_its_boxes(open_page, quick_desk, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    page = open_page(quick_desk(folder).address, "phone").page
    go(page, "day")
    page.click("[data-key=row-down]")
    expect(page.get_by_role("heading", name=re.compile(r"Row 1 of \d+ is down"))).to_be_visible()
    page.click("summary:has-text('Something stands in the way')")
    for key, text in (("across", "22 mm"), ("left", "1204 mm"), ("ahead", "356 mm")):
        page.fill(f"[data-key=new-{key}]", text)
    page.click("[data-key=say-obstacle]")
    expect(page.locator(".said li")).to_have_count(2)
    assert disk(folder)["day"][-1].items() >= {"row": 1, "left": 1204, "ahead": 356, "diameter": 22}.items()


def test_the_row_is_drawn_beside_its_buttons_and_nothing_moves_when_it_comes(open_page, quick_desk, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    watched = open_page(quick_desk(folder).address, "laptop")
    page = watched.page
    waiting = []
    page.route("**/api/row", lambda route: waiting.append(route))
    go(page, "day")
    button = page.locator("[data-key=spoiled]")
    expect(button).to_be_visible()
    until(page, lambda: waiting, "the question for the row")
    before = button.bounding_box()
    waiting.pop().continue_()
    expect(page.locator(".row-picture > svg")).to_be_visible()
    assert button.bounding_box() == before
    assert min(before["width"], before["height"]) >= 60
    assert watched.errors == []


def test_a_board_spoiled_and_an_offcut_lost_by_buttons_and_in_own_words(open_page, quick_desk, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    watched = open_page(quick_desk(folder).address, "phone")
    page = watched.page
    go(page, "day")
    for key in ("row-down", "spoiled"):
        page.locator(f"[data-key={key}]").tap()
        expect(page.locator(f"[data-key={key}]")).to_be_enabled()
    expect(page.locator(".said li")).to_have_count(2)
    hand = day_of(read_job(folder)).now.spares
    page.locator("[data-key=ask-lost]").tap()
    expect(page.locator("[data-key^=lost-]")).to_have_count(len(hand))
    page.locator("[data-key^=lost-]").first.tap()
    expect(page.locator(".said li")).to_have_count(3)
    page.fill("[data-key=words]", "I broke a board")
    page.click("[data-key=say]")
    expect(page.locator(".said li")).to_have_count(4)
    page.fill("[data-key=words]", "the wall is closer")
    page.click("[data-key=say]")
    expect(page.locator(".says.look")).to_contain_text("How far is the wall now?")
    assert [entry["what"] for entry in disk(folder)["day"]] == ["row-down", "boards-spoiled", "offcut-gone",
                                                                "boards-spoiled"]
    assert watched.errors == []


def test_without_a_kept_plan_the_day_says_where_to_keep_one(open_page, quick_desk, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, parse_job(tree_of(BOX)))
    watched = open_page(quick_desk(folder).address)
    go(watched.page, "day")
    expect(watched.page.locator(".says.look")).to_contain_text("on the page Rows")
    expect(watched.page.get_by_role("button", name="See the rows")).to_have_count(1)


def test_a_kept_plan_that_is_out_of_date_is_drawn_as_it_was_kept(open_page, quick_desk, tmp_path):
    """The picture is that of the plan the day's words follow: narrower boards chosen since change nothing in it."""
    folder = tmp_path / "job"
    folder.mkdir()
    job = kept_job(tree_of(BOX))
    board = job.data["flooring"]["board"]
    write_job(folder, with_keys(job, flooring={**job.data["flooring"], "board": {**board, "width": 140}}))
    page = open_page(quick_desk(folder).address).page
    go(page, "day")
    expect(page.locator(".says.look")).to_contain_text("is out of date")
    day = day_of(job)
    drawn = show_row(printable(job, day.survey, day.plan, date=DAY), 1, narrow=False)
    expect(page.get_by_role("heading", name=f"Row 1 of {drawn['rows']}")).to_be_visible()
    figures = re.findall(r"<text[^>]*>([^<]*)<", drawn["svg"])
    assert page.locator(".row-picture > svg text").all_text_contents() == figures


def test_what_an_entry_leads_to_is_said_once_where_it_can_be_read(open_page, quick_desk, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    page = open_page(quick_desk(folder).address).page
    go(page, "day")
    page.click("[data-key=spoiled]")
    expect(page.locator(".answer")).to_contain_text("1 board set aside")
    expect(page.locator(".answer")).to_be_in_viewport(ratio=1)
    expect(page.locator("#status")).to_be_empty()


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_that_a_row_is_done_is_said_by_one_main_button_always_in_sight(open_page, quick_desk, tmp_path, screen):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    page = open_page(quick_desk(folder).address, screen).page
    go(page, "day")
    done = page.get_by_role("button", name="is done")
    for row in (1, 2):
        expect(done).to_have_text(f"Row {row} is done")
        expect(done).to_be_enabled()
        page.locator(".stands").scroll_into_view_if_needed()
        expect(done).to_be_in_viewport(ratio=1)
        done.press("Enter")
    expect(done).to_have_text("Row 3 is done")
    expect(done).to_be_focused()


def test_every_kind_of_entry_in_words_and_wrong_ones_in_one_sentence(open_page, quick_desk, tmp_path):
    """Lengths for the distances are the plan's own; wrong words are answered beside the box, stay in it, and are no
    entry."""
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of(BOX)))
    ahead = day_of(read_job(folder)).planned.ahead(1, middles(day_of(read_job(folder)).plan, 1)[0])[0]
    watched = open_page(quick_desk(folder).address, "phone")
    page = watched.page
    go(page, "day")
    told = 0
    for words, refusal in (("row 99 done", "is not in this plan"), ("row 1 done", ""),
                           (f"row 1 to wall left {ahead:.0f} mm right {ahead:.0f} mm", ""),
                           ("row 7 to wall left 1800 mm", "row 7 done"),
                           ("piece 2.1 came out 5 m", "longer than a board"), ("row 2 begun", ""),
                           ("piece 2.1 came out 500 mm", ""), ("row 2 done", ""),
                           ("0 boards spoiled", "not understood"), ("board spoiled", ""),
                           ("offcut ZZ lost", "No offcut on hand"), ("found 640 mm left", ""),
                           ("found 9 m left", "longer than a board"),
                           ("pipe 22 mm at left 9999 mm row 2 ahead 356 mm", "outside the floor"),
                           ("pipe 22 mm at left 1204 mm row 2 ahead 356 mm", ""), ("out of boards", ""),
                           ("-3 boards left", "not understood"), ("undo 99", "not there to take back"), ("undo", "")):
        page.fill("[data-key=words]", words)
        page.click("[data-key=say]")
        if refusal:
            expect(page.locator(".says.look")).to_contain_text(refusal)
            expect(page.locator("[data-key=words]")).to_have_value(words)
        else:
            told += 1
            expect(page.locator(".said li")).to_have_count(told)
    assert len(disk(folder)["day"]) == told and watched.errors == []
