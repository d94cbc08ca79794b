"""Faults told where they are and mended with one tap, which undo takes back: a wall nobody has seen, a misread length, a
room named the wrong way round."""
from __future__ import annotations

import json

import pytest
from playwright.sync_api import expect

from tests.support.hands import comes_to_disk, disk, go

BOARD = {"length": 1285, "width": 192, "thickness": 8, "pack": 8}
#: A room of 4 x 3 m and both its diagonals, square to the millimetre.
LENGTHS = {("A", "B"): 4000, ("B", "C"): 3000, ("C", "D"): 4000, ("D", "A"): 3000, ("A", "C"): 5000, ("B", "D"): 5000}


@pytest.fixture
def page_of(quick_desk, open_page, tmp_path):
    """Opens the page of a taped job; returns (page, the job's folder)."""
    def opened(lengths: dict, screen: str):
        folder = tmp_path / "job"
        folder.mkdir()
        job = {"format": "tapegroove-job", "version": 1, "outline": ["A", "B", "C", "D"], "flooring": {"board": BOARD},
               "tape": [{"between": list(pair), "mm": mm} for pair, mm in lengths.items()]}
        (folder / "job.json").write_text(json.dumps(job), "utf-8")
        return open_page(quick_desk(folder).address, screen).page, folder
    return opened


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_a_wall_nobody_saw_is_asked_about_and_the_plan_is_kept_only_then(page_of, screen):
    page, folder = page_of({pair: mm for pair, mm in LENGTHS.items() if pair != ("C", "D")}, screen)
    go(page, "rows")
    main = page.locator("main")
    expect(main).to_contain_text("Perhaps not your room")
    expect(main).to_contain_text("Is C-D one straight wall?")
    expect(page.locator("[data-key=keep]")).to_have_count(0)
    page.click("[data-key=straight-C-D]")
    comes_to_disk(page, folder, "straight", [["C", "D"]])
    expect(main).not_to_contain_text("Perhaps not your room")
    page.locator("[data-key=keep]").click()
    expect(main).to_contain_text("This is your plan")
    assert "plan" in disk(folder)


def test_a_wall_nobody_saw_is_dashed(page_of):
    page, _ = page_of({pair: mm for pair, mm in LENGTHS.items() if pair != ("C", "D")}, "laptop")
    go(page, "tape")
    expect(page.locator(".plan.floor .unseen, .plan .unseen").first).to_be_attached()


def test_a_misread_length_is_mended_by_a_tap_and_undone(page_of):
    page, folder = page_of(LENGTHS | {("A", "C"): 5100}, "laptop")
    go(page, "tape")
    button = page.locator("[data-key^=mend-use-length]").first
    expect(button).to_be_visible()
    said = button.inner_text()
    button.click()
    expect(page.locator("main")).to_contain_text("No length or mark stands out as wrong")
    mended = [entry["mm"] for entry in disk(folder)["tape"]]
    assert mended != list((LENGTHS | {("A", "C"): 5100}).values()) and said.startswith("Use ")
    page.click("#undo")
    expect(page.locator("[data-key^=mend-use-length]").first).to_be_visible()


@pytest.mark.parametrize("step", ["corners", "tape", "rows"])
def test_a_room_named_clockwise_is_flipped_by_a_tap_where_it_is_told_and_undone(page_of, step):
    page, folder = page_of(LENGTHS, "laptop")
    go(page, step)
    button = page.locator("[data-key^=mend-flip]").first
    expect(button).to_be_visible()
    expect(page.locator(".says", has=button)).to_contain_text("no photo tells left from right", ignore_case=True)
    button.click()
    comes_to_disk(page, folder, "outline", ["A", "D", "C", "B"])
    page.click("#undo")
    comes_to_disk(page, folder, "outline", ["A", "B", "C", "D"])
