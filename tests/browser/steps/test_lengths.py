"""Boards of several lengths in one pack: typed on the page from the label, planned, taken back."""
from __future__ import annotations

import json

from playwright.sync_api import expect

from tests.support.hands import comes_to_disk, disk, fill, go

MIX = [{"length": 600, "count": 1}, {"length": 1400, "count": 3}, {"length": 2000, "count": 4}]


def write(page, key: str, text: str) -> None:
    """Type into one of the boxes and leave it, as a hand does."""
    page.fill(f"[data-key={key}]", text)
    page.press(f"[data-key={key}]", "Tab")


def test_lengths_are_typed_planned_and_taken_out_again(quick_desk, open_page, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps({"floor": {"outline": [[0, 0], [3700, 0], [3700, 2400], [0, 2400]]}}),
                                     "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "boards")
    fill(page, "board-width", "180")
    page.click("text=A pack holds boards of several lengths")
    for k, row in enumerate(MIX):
        fill(page, f"mix-length-{k}", f"{row['length']} mm")
        write(page, f"mix-count-{k}", str(row["count"]))
    comes_to_disk(page, folder, "flooring", {"board": {"width": 180, "lengths": MIX}})
    expect(page.locator("[data-key=board-length]")).to_have_count(0)
    expect(page.locator("[data-key=board-pack]")).to_have_count(0)
    go(page, "rows")
    expect(page.locator("main")).to_contain_text("fewer hold too little wood")
    expect(page.locator("main")).to_contain_text("boards of 1400 mm")
    go(page, "boards")
    page.click("#undo")
    comes_to_disk(page, folder, "flooring", {"board": {"width": 180, "lengths": MIX[:2]}})
    expect(page.locator("[data-key=mix-count-2]")).to_have_value("")
    for k in (1, 0):
        write(page, f"mix-length-{k}", "")
        write(page, f"mix-count-{k}", "")
    fill(page, "board-length", "1285 mm")
    comes_to_disk(page, folder, "flooring", {"board": {"length": 1285, "width": 180}})
    assert "lengths" not in disk(folder)["flooring"]["board"]
