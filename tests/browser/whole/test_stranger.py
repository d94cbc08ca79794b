"""What somebody does who has never seen the page: corners close together, files let go beside the box, lengths that
do not fit."""
from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from desk.actions.demo import copy_demo
from tests.support.hands import add_photos, disk, go, marks, point_at, saved
from tests.support.invented_room import distance_mm, picture

PAIRS = (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D"))

# A file let go somewhere on the page, as the browser tells it.
DROP = """([where, name, data]) => {
    const carried = new DataTransfer();
    carried.items.add(new File([Uint8Array.from(atob(data), (c) => c.charCodeAt(0))], name));
    const event = new DragEvent("drop", {dataTransfer: carried, bubbles: true, cancelable: true});
    document.querySelector(where).dispatchEvent(event);
    return event.defaultPrevented;
}"""


@pytest.fixture
def stage(quick_desk, open_page, tmp_path: Path) -> tuple[Page, Path]:
    (tmp_path / "one.jpg").write_bytes(picture("from the door"))
    desk = quick_desk()
    page = open_page(desk.address).page
    add_photos(page, [tmp_path / "one.jpg"])
    go(page, "corners")
    expect(page.locator(".stage")).to_have_attribute("aria-label", "Photo photos/1.jpg")
    return page, desk.folder


def photo_px(page: Page) -> float:
    """How many photo pixels one pixel of the screen is."""
    return 1600 / page.evaluate("document.querySelector('.canvas').getScreenCTM().a * 1600")


def test_a_corner_close_beside_another_is_a_corner_of_its_own(stage):
    page, folder = stage
    point_at(page, 500, 600)
    saved(page)
    point_at(page, 500 + 16 * photo_px(page), 600)
    saved(page)
    assert list(marks(folder)) == ["A", "B"]
    # Right on a mark, the mark is meant; the page says how to put a point closer still.
    point_at(page, 500 + 5 * photo_px(page), 600)
    expect(page.locator("#status")).to_contain_text("zoom in first")
    assert list(marks(folder)) == ["A", "B"]


def test_a_corner_found_late_goes_to_its_place_round_the_room(stage):
    page, folder = stage
    for x, y in ((300, 700), (600, 500), (1000, 500)):
        point_at(page, x, y)
        saved(page)
    page.select_option("[data-key=after]", "A")
    point_at(page, 1300, 700)
    saved(page)
    assert disk(folder)["outline"] == ["A", "D", "B", "C"]
    point_at(page, 1200, 900)
    saved(page)
    assert disk(folder)["outline"] == ["A", "D", "B", "C", "E"]


@pytest.mark.parametrize(("name", "data", "told"),
                         [("notes.txt", "aGVsbG8=", "not a whole JPEG"), ("cut.jpg", "/9j/4A==", "not a whole JPEG")])
def test_a_wrong_file_let_go_beside_the_box_is_named_and_the_page_stays(quick_desk, open_page, name, data, told):
    desk = quick_desk()
    page = open_page(desk.address).page
    go(page, "boards")
    assert page.evaluate(DROP, ["main", name, data])
    expect(page.locator(".says.look")).to_contain_text(name)
    expect(page.locator(".says.look")).to_contain_text(told)
    assert disk(desk.folder)["photos"] == []


def tape_job(folder: Path, slip_mm: int, braces: int) -> Path:
    """The invented room by tape; the first diagonal typed wrongly. `braces` diagonals in all."""
    folder.mkdir()
    tape = [{"between": [a, b], "mm": round(distance_mm(a, b))} for a, b in PAIRS[: 4 + braces]]
    tape[4]["mm"] += slip_mm
    (folder / "job.json").write_text(json.dumps({"title": "Invented", "outline": list("ABCD"), "tape": tape}), "utf-8")
    return folder


def test_how_far_the_floor_can_be_trusted_stands_right_under_it(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(tape_job(tmp_path / "job", 0, 2)).address).page
    go(page, "tape")
    first = page.locator(".plan.floor + div > .says").first
    expect(first).to_contain_text("orners are sure to about ±")
    assert first.inner_text().strip()[0].isupper() and first.inner_text().strip().endswith(".")


def test_one_sentence_about_several_lengths_is_said_once(quick_desk, open_page, tmp_path):
    """Four walls and two diagonals: one slip is noticed, but nothing tells which of the six it is in."""
    page = open_page(quick_desk(tape_job(tmp_path / "job", 110, 2)).address).page
    go(page, "tape")
    expect(page.locator(".lengths .suspect").first).to_be_visible()
    said = page.locator(".plan.floor + div > .says").all_inner_texts()
    assert len(said) == len(set(said)) and any("A-C" in text for text in said[1:])


def test_nothing_entered_yet_is_answered_in_words_of_the_page(quick_desk, open_page):
    page = open_page(quick_desk().address).page
    for step in ("rows", "pack"):
        go(page, step)
        if step == "pack":
            page.click("[data-key=make]")
        expect(page.locator(".says.look").last).to_contain_text("label on the pack")
        assert "{" not in page.locator("main").inner_text()
        page.click("[data-key=mend]")
        expect(page.locator("[data-key=step-corners]")).to_have_attribute("aria-current", "step")


_OVER = """([wordsAre, lettersAre]) => {
    const box = (node) => node.getBoundingClientRect();
    const [words, letters] = [wordsAre, lettersAre].map((which) => [...document.querySelectorAll(which)]);
    const meet = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
    return words.flatMap((word, i) => [...letters, ...words.slice(i + 1)].filter((other) => meet(box(word), box(other)))
        .map((other) => `${word.textContent} and ${(other.closest('.spot') ?? other).textContent}`));
}"""


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_no_length_on_the_plan_stands_under_a_letter_or_another_length(quick_desk, open_page, tmp_path, screen):
    """The demo's walls run along the screen to a degree or two, so that the boxes of turned words are hardly larger
    than the words."""
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address, screen).page
    go(page, "tape")
    expect(page.locator(".plan.floor text.measure").first).to_be_visible()
    assert page.evaluate(_OVER, [".plan.floor text.measure", ".plan.floor .spot rect"]) == []
    assert page.locator(".plan.floor text.measure").count() >= 6


@pytest.mark.parametrize("first_row", [20, 60, 150])
def test_no_piece_is_named_under_a_letter(quick_desk, open_page, tmp_path, first_row):
    """Letters of corners that jut into the room, such as a breast's, stand on the floor."""
    copy_demo(tmp_path / "demo")
    job = json.loads((tmp_path / "demo" / "job.json").read_text())
    job["flooring"]["first_row"] = first_row
    (tmp_path / "demo" / "job.json").write_text(json.dumps(job))
    page = open_page(quick_desk(tmp_path / "demo").address).page
    go(page, "rows")
    expect(page.locator(".plan.rows .letter").first).to_be_visible()
    assert page.evaluate(_OVER, [".plan.rows text.piece-id", ".plan.rows text.letter"]) == []
    assert page.locator(".plan.rows text.piece-id").count() >= 40
