"""What must not go wrong: two windows, a desk that is gone, unclear lengths, a slip of the tape, a window without
the key."""
from __future__ import annotations

import json
from pathlib import Path

from playwright.sync_api import expect

from tests.support.hands import add_length, comes_to_disk, disk, go, saved, until
from tests.support.invented_room import CORNERS, distance_mm

PAIRS = (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D"))


def tape_only_job(folder: Path) -> Path:
    """The invented room by tape alone: four walls and both diagonals, true to the millimetre."""
    folder.mkdir()
    tape = [{"between": [a, b], "mm": round(distance_mm(a, b))} for a, b in PAIRS]
    (folder / "job.json").write_text(json.dumps({"format": "tapegroove-job", "version": 1, "title": "Invented",
                                                 "outline": list("ABCD"), "tape": tape}), "utf-8")
    return folder


def test_a_second_window_is_told_and_overwrites_nothing(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    first, second = open_page(desk.address).page, open_page(desk.address).page
    first.fill("#title", "From the first window")
    first.press("#title", "Tab")
    saved(first)
    second.fill("#title", "From the second window")
    second.press("#title", "Tab")
    expect(second.locator("#saved")).to_have_text("Not saved")
    expect(second.locator("#notice")).to_contain_text("another window")
    assert disk(desk.folder)["title"] == "From the first window"
    with second.expect_download() as coming:
        second.click("text=Download a copy of mine")
    assert json.loads(Path(coming.value.path()).read_text("utf-8"))["title"] == "From the second window"
    second.click("text=Load the newer one")
    expect(second.locator("#title")).to_have_value("From the first window")


def test_a_folder_moved_away_is_said_and_saved_to_when_it_is_back(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    saved(page)
    moved = desk.folder.rename(tmp_path / "elsewhere")
    page.fill("#title", "Typed while it was away")
    page.press("#title", "Tab")
    expect(page.locator("#saved")).to_have_text("Not saved")
    expect(page.locator("#notice")).to_contain_text("Put the folder back")
    assert not desk.folder.exists()
    moved.rename(desk.folder)
    comes_to_disk(page, desk.folder, "title", "Typed while it was away")
    saved(page)


def test_a_desk_that_is_gone_is_said_and_nothing_on_the_disk_is_harmed(start_desk, open_page, tmp_path):
    desk = start_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    saved(page)
    before = disk(desk.folder)
    desk.process.kill()
    desk.process.wait()
    page.fill("#title", "Too late")
    page.press("#title", "Tab")
    expect(page.locator("#notice")).to_contain_text("not answering")
    expect(page.locator("#saved")).to_have_text("Not saved")
    assert disk(desk.folder) == before


def test_an_unclear_length_is_asked_back_and_not_guessed(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "tape")
    page.select_option("[data-key=from]", "A")
    page.select_option("[data-key=to]", "C")
    page.fill("[data-key=new-length]", "5.250")
    page.press("[data-key=new-length]", "Enter")
    expect(page.locator(".adder .echo.ask")).to_contain_text("5250 mm")
    expect(page.locator("[data-key=new-length]")).to_have_attribute("aria-invalid", "true")
    assert len(disk(desk.folder)["tape"]) == len(PAIRS)
    page.fill("[data-key=new-length]", "17' 2 11/16\"")
    expect(page.locator(".adder .echo")).to_have_text("= 5249.9 mm = 17' 2 11/16\"", use_inner_text=True)


def test_a_slip_of_the_tape_lights_up_with_its_sentence(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "tape")
    expect(page.locator(".says.good")).to_contain_text("No length or mark stands out")
    box = page.locator(".lengths li >> nth=4 >> input")
    box.fill(f"{round(distance_mm('A', 'C')) + 100} mm")
    box.press("Tab")
    saved(page)
    expect(page.locator(".lengths li.suspect").first).to_contain_text("Check this one")
    expect(page.locator(".plan.floor .suspect").first).to_be_attached()
    page.click("#undo")
    expect(page.locator(".lengths li.suspect")).to_have_count(0)


def test_two_taps_on_the_plan_choose_what_is_measured(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "tape")
    page.click("[data-key=point-B]")
    page.click("[data-key=point-D]")
    expect(page.locator("[data-key=from]")).to_have_value("B")
    expect(page.locator("[data-key=to]")).to_have_value("D")
    expect(page.locator("[data-key=new-length]")).to_be_focused()
    add_length(page, "B", "D", f"{distance_mm('B', 'D'):.0f}")
    # A bare number is kept with the unit it was read in, so that a change of units cannot change what it means.
    assert disk(desk.folder)["tape"][-1] == {"between": ["B", "D"], "mm": 5231, "typed": "5231 mm"}
    page.check("[data-key=show-imperial]")
    saved(page)
    expect(page.locator(".lengths li").last).to_contain_text("= 5231 mm")


def test_a_window_without_the_key_is_shown_nothing_of_the_job(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.home).page
    expect(page.locator("main")).to_contain_text("open the address the desk printed")
    assert "Invented" not in page.content() and page.locator("#title").input_value() == ""


def test_the_key_leaves_the_address_bar_and_survives_a_reload(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    saved(page)
    assert "token" not in page.url
    page.reload()
    expect(page.locator("#title")).to_have_value("Invented")


def test_fast_typing_from_box_to_box_loses_nothing(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "boards")
    page.focus("[data-key=board-length]")
    for text in ("1285", "192 mm", "8", "9"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    expect(page.locator("[data-key=board-width]")).to_have_value("192 mm")
    expect(page.locator("#undo")).to_be_enabled()
    expect(page.locator("[data-key=board-pack]")).to_have_value("9")
    expect(page.locator("#undo")).to_have_attribute("title", "Undo: changed the board")
    board = {"length": 1285, "width": 192, "thickness": 8, "pack": 9}
    until(page, lambda: disk(desk.folder).get("flooring", {}).get("board") == board, "the last box")


def test_a_floor_given_as_coordinates_has_walls_to_choose_from(quick_desk, open_page, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps({"floor": {"outline": [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]}}),
                                     "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "boards")
    assert page.locator("[data-key=way-start] option").all_text_contents()[1:] == ["A to B", "B to C", "C to D",
                                                                                   "D to A"]
    go(page, "tape")
    expect(page.locator(".plan.floor .spot")).to_have_count(4)


def test_what_is_selected_in_a_box_stays_selected_when_an_answer_arrives(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "room")
    page.click("[data-key=add-pipe]")
    saved(page)
    page.fill("#title", "Changed")
    page.press("#title", "Tab")
    saved(page)
    box = page.locator("[data-key=pipe-0-d]")
    # In one go: undo changes the view as any answer of the desk does.
    page.evaluate("""() => {
        const box = document.querySelector('[data-key=pipe-0-d]');
        box.focus();
        box.select();
        document.getElementById('undo').click();
        if (document.activeElement !== box || box.selectionEnd !== box.value.length) throw new Error('the box was taken from under the hands');
    }""")
    page.keyboard.insert_text("22 mm")
    page.keyboard.press("Tab")
    expect(box).to_have_value("22 mm")
    comes_to_disk(page, desk.folder, "pipes", [{"name": "P1", "diameter": 22}])


def test_lists_buttons_and_folds_under_the_hand_stay_when_an_answer_arrives(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "tape")
    expect(page.locator(".says.good")).to_be_visible()
    page.click("summary:has-text('Every wall as a list')")
    page.evaluate("""() => {
        window.kept = ['[data-key=from]', '[data-key=add]', '[data-key=point-A]', 'details', '[data-key=new-length]']
            .map((s) => document.querySelector(s));
        window.kept[0].focus();
    }""")
    page.fill("#title", "Changed")
    page.press("#title", "Tab")
    saved(page)
    page.click("#undo")  # a new survey comes with it
    saved(page)
    expect(page.locator(".says.good")).to_be_visible()
    assert page.evaluate("window.kept.every((node) => node.isConnected)") and page.evaluate("window.kept[3].open")


def test_a_press_that_began_before_an_answer_counts_after_it(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "room")
    box = page.locator("[data-key=add-pipe]").bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    page.evaluate("document.getElementById('title').value = 'Meanwhile'; "
                  "document.getElementById('title').dispatchEvent(new Event('change'))")
    saved(page)
    page.mouse.up()
    comes_to_disk(page, desk.folder, "pipes", [{"name": "P1", "diameter": 15}])


def test_a_door_is_dragged_to_its_wall_and_moved_by_keys(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    go(page, "room")
    page.click("[data-key=add-door]")
    grip = page.locator("[data-key=door-grip-D1] .reach")
    expect(grip).to_be_visible()
    comes_to_disk(page, desk.folder, "doors", [{"name": "D1", "wall": ["A", "B"], "from": 300, "width": 800}])
    # To the middle of the wall C-D, as the drawing shows it: its own transform, the room's own corners, y up in the
    # plan.
    middle = [(c + d) / 2 for c, d in zip(CORNERS["C"], CORNERS["D"])]
    target = page.evaluate("""([x, y]) => {
        const at = new DOMPoint(x, -y).matrixTransform(document.querySelector('.plan.room').getScreenCTM());
        return [at.x, at.y];
    }""", middle)
    box = grip.bounding_box()
    page.mouse.move(box["x"] + 22, box["y"] + 22)
    page.mouse.down()
    page.mouse.move(
        target[0], target[1] - 40, steps=5
    )  # the wall is the nearest one, but the hand is far from the grip
    page.mouse.up()
    saved(page)
    (door,) = disk(desk.folder)["doors"]
    assert door["wall"] == ["C", "D"] and abs(door["from"] - (distance_mm("C", "D") - 800) / 2) <= 30
    page.focus("[data-key=door-grip-D1]")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    comes_to_disk(page, desk.folder, "doors", [{**door, "from": door["from"] + 110}])
    expect(page.locator("[data-key=door-0-from]")).to_have_value(f"{door['from'] + 110} mm")


def test_a_radiator_is_two_pipes_and_one_step_to_undo(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address, "phone").page
    go(page, "room")
    page.click("[data-key=add-pipe]")
    page.click("[data-key=add-radiator]")
    comes_to_disk(page, desk.folder, "pipes", [{"name": name, "diameter": 15} for name in ("P1", "P2", "P3")])
    expect(page.locator("[data-key=pipe-2-photo]")).to_be_visible()
    page.click("#undo")
    comes_to_disk(page, desk.folder, "pipes", [{"name": "P1", "diameter": 15}])
