"""Pipes, doors and bare parts put on the plan by a tap, a drag or the keys, and typed afterwards as the tape says them.

Distances off a wall are worked out here anew from the invented room's corners: |(b - a) x (p - a)| / |b - a|, school
geometry.
"""
from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.support.hands import comes_to_disk, disk, go, saved, until
from tests.support.invented_room import CORNERS, distance_mm
from tests.browser.whole.test_access import looks_well
from tests.browser.whole.test_care import tape_only_job

#: A tap is kept to 10 mm, and one pixel of the drawing is up to 15 mm.
BY_HAND_MM = 30.0


def off_mm(wall: list[str], place: tuple[float, float]) -> float:
    """Distance of a place from a wall's line."""
    a, b = (np.array(CORNERS[name]) for name in wall)
    (ux, uy), (px, py) = b - a, np.array(place) - a
    return float(abs(ux * py - uy * px) / np.hypot(ux, uy))


def on_plan(page: Page, place: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the plan is on the screen: the browser's own transform, y up in the plan."""
    page.locator(".plan.room").scroll_into_view_if_needed()
    return tuple(page.evaluate("""([x, y]) => {
        const at = new DOMPoint(x, -y).matrixTransform(document.querySelector('.plan.room').getScreenCTM());
        return [at.x, at.y];
    }""", place))


def tap_plan(page: Page, tool: str, place: tuple[float, float], *, touch: bool = False) -> None:
    page.click(f"[data-key=tool-{tool}]")
    at = on_plan(page, place)
    page.touchscreen.tap(*at) if touch else page.mouse.click(*at)
    saved(page)


def offsets(folder: Path, point: str) -> list[dict]:
    return [entry for entry in disk(folder)["tape"] if entry.get("point") == point]


def typed_on_disk(page: Page, folder: Path, point: str, text: str) -> None:
    """Wait until a distance is saved as it was typed: the desk reads the box before the save begins."""
    until(page, lambda: any(entry.get("typed") == text for entry in offsets(folder, point)), text)


@pytest.fixture
def room(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))

    def opened(screen: str = "laptop") -> tuple[Page, Path]:
        page = open_page(desk.address, screen).page
        go(page, "room")
        expect(page.locator(".plan.room .ground")).to_be_visible()
        return page, desk.folder
    return opened


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_a_tap_puts_a_pipe_and_the_tape_corrects_it(room, screen):
    page, folder = room(screen)
    place = (3300.0, 2500.0)
    tap_plan(page, "pipe", place, touch=screen == "phone")
    comes_to_disk(page, folder, "pipes", [{"name": "P1", "diameter": 15}])
    put = offsets(folder, "P1")
    assert [set(entry["wall"]) for entry in put] == [
        {"C", "D"},
        {"B", "C"},
    ]  # the nearest, and the nearest that crosses it
    assert all(abs(entry["mm"] - off_mm(entry["wall"], place)) <= BY_HAND_MM and entry["by_hand"] is True for entry in put)
    thing = page.locator(".thing", has_text="Pipe P1")
    expect(thing).to_contain_text("put by hand, ±200 mm")
    go(page, "tape")
    expect(page.locator(".says", has_text="put on the plan by hand")).to_contain_text("Pipe P1 was")
    page.click("[data-key=by-hand]")
    for side, mm in ((0, 512), (1, 1004)):
        page.fill(f"[data-key=pipe-0-off-{side}]", f"{mm} mm")
        page.press(f"[data-key=pipe-0-off-{side}]", "Enter")
        typed_on_disk(page, folder, "P1", f"{mm} mm")
    expect(thing).not_to_contain_text("by hand")
    assert [(entry["mm"], entry["typed"], "by_hand" in entry) for entry in offsets(folder, "P1")] == [
        (512, "512 mm", False),
        (1004, "1004 mm", False),
    ]
    expect(page.locator("[data-key=grip-P1]")).to_have_count(0)  # what the tape says is moved by the tape
    go(page, "tape")
    expect(page.locator(".lengths .pair", has_text="P1 off")).to_have_count(2)
    expect(page.locator(".says", has_text="by hand")).to_have_count(0)


def test_rows_say_of_a_pipe_put_by_eye_that_its_place_is_rough(quick_desk, open_page, tmp_path):
    folder = tape_only_job(tmp_path / "job")
    job = disk(folder)
    job["tape"] += [{"point": "P1", "wall": list(wall), "mm": mm, "sd": 100} for wall, mm in (("AB", 300), ("DA", 400))]
    job |= {"pipes": [{"name": "P1", "diameter": 15}],
            "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}}
    (folder / "job.json").write_text(json.dumps(job), "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "rows")
    expect(page.locator("main")).to_contain_text("place of P1 is known to no better than")


def test_the_keys_alone_put_a_pipe_and_move_it(room):
    page, folder = room()
    page.focus("[data-key=tool-pipe]")
    page.keyboard.press("Enter")
    cross = page.locator("[data-key=aim]")
    expect(cross).to_be_focused()
    middle = np.mean([CORNERS[name] for name in "ABCD"], axis=0)
    for _ in range(3):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    saved(page)
    aimed = tuple(middle + (300.0, 10.0))
    assert all(abs(entry["mm"] - off_mm(entry["wall"], aimed)) <= 8.0 for entry in offsets(folder, "P1"))
    expect(page.locator("[data-key=grip-P1]")).to_be_focused()
    before = offsets(folder, "P1")
    page.keyboard.press("Shift+ArrowUp")
    saved(page)
    after = offsets(folder, "P1")
    assert [entry["wall"] for entry in after] == [entry["wall"] for entry in before]
    moved = tuple(np.array(aimed) + (0.0, 100.0))
    assert all(abs((now["mm"] - was["mm"]) - (off_mm(now["wall"], moved) - off_mm(now["wall"], aimed))) <= 1.0
               for was, now in zip(before, after))
    page.click("#undo")
    page.click("#undo")
    saved(page)
    assert not disk(folder).get("pipes") and not offsets(folder, "P1")


def test_escape_puts_nothing_and_gives_the_button_back(room):
    page, folder = room()
    page.focus("[data-key=tool-bare]")
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    expect(page.locator("[data-key=tool-bare]")).to_be_focused()
    expect(page.locator("[data-key=aim]")).to_have_count(0)
    assert not disk(folder).get("islands")


def test_outside_the_floor_nothing_is_put(room):
    page, folder = room()
    tap_plan(page, "pipe", (2000.0, -250.0))
    expect(page.locator("#status")).to_contain_text("outside the floor")
    assert not disk(folder).get("pipes")


def test_a_bare_part_is_put_dragged_and_typed_by_its_edges(room):
    page, folder = room()
    tap_plan(page, "bare", (1500.0, 900.0))
    comes_to_disk(page, folder, "islands", [{"name": "bare part 1", "corners": ["H1", "H2", "H3", "H4"]}])
    start, target = on_plan(page, (1500.0, 900.0)), on_plan(page, (2100.0, 1300.0))
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*target, steps=4)
    expect(page.locator(".plan.room .measure")).to_have_count(2)  # how far it is off its walls, while it moves
    page.mouse.up()
    saved(page)
    corners = {name: {tuple(entry["wall"]): entry["mm"] for entry in offsets(folder, name)}
               for name in ("H1", "H2", "H3", "H4")}
    walls = list(corners["H1"])
    for wall in walls:
        near, far = sorted({corner[wall] for corner in corners.values()})
        assert abs((near + far) / 2 - off_mm(list(wall), (2100.0, 1300.0))) <= BY_HAND_MM
    page.fill("[data-key=bare-0-0-1]", "1777 mm")
    page.press("[data-key=bare-0-0-1]", "Enter")
    typed_on_disk(page, folder, "H2", "1777 mm")
    typed = [entry for name in corners for entry in offsets(folder, name) if entry.get("typed")]
    assert len(typed) == 2 and all(entry["mm"] == 1777 and tuple(entry["wall"]) == walls[0]
                                   and "sd" not in entry for entry in typed)
    page.click("[data-key=bare-0]")
    comes_to_disk(page, folder, "islands", [])
    assert all("between" in entry for entry in disk(folder)["tape"])


def test_a_radiator_and_a_door_are_put_by_one_tap_each(room):
    page, folder = room()
    tap_plan(page, "radiator", (2150.0, 2850.0))
    comes_to_disk(page, folder, "pipes", [{"name": name, "diameter": 15} for name in ("P1", "P2")])
    first, second = ({tuple(sorted(entry["wall"])): entry["mm"] for entry in offsets(folder, name)}
                     for name in ("P1", "P2"))
    assert abs(first["C", "D"] - second["C", "D"]) <= 10 and abs(first["C", "D"]
                                                                 - off_mm(["C", "D"], (2150.0, 2850.0))) <= BY_HAND_MM
    tap_plan(page, "door", (4400.0, 1500.0))
    (door,) = disk(folder)["doors"]
    assert door["wall"] == ["B", "C"] and abs(door["from"] + door["width"] / 2
                                              - distance_mm("B", "C") / 2) <= BY_HAND_MM


def test_a_floor_given_as_coordinates_keeps_its_pipes_as_coordinates(quick_desk, open_page, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps({"floor": {"outline": [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]}}),
                                     "utf-8")
    page = open_page(quick_desk(folder).address).page
    go(page, "room")
    expect(page.locator(".plan.room .ground")).to_be_visible()
    expect(page.locator("[data-key=tool-bare]")).to_have_count(0)
    tap_plan(page, "pipe", (500.0, 400.0))
    (pipe,) = disk(folder)["pipes"]
    assert np.hypot(pipe["at"][0] - 500, pipe["at"][1] - 400) <= BY_HAND_MM
    page.fill("[data-key=pipe-0-off-0]", "333 mm")  # off A-B, the nearest: y
    page.press("[data-key=pipe-0-off-0]", "Enter")
    comes_to_disk(page, folder, "pipes", [{**pipe, "at": [pipe["at"][0], 333]}])


def test_no_rule_is_broken_while_things_are_put(room):
    page, _ = room()
    tap_plan(page, "radiator", (2150.0, 2700.0))
    tap_plan(page, "bare", (1500.0, 900.0))
    page.click("[data-key=tool-pipe]")
    looks_well(page, "floor, while things are put")


def test_a_door_longer_than_its_wall_is_told_beside_its_boxes(quick_desk, open_page, tmp_path):
    desk = quick_desk(tape_only_job(tmp_path / "job"))
    page = open_page(desk.address).page
    page.set_viewport_size({"width": 1366, "height": 768})  # a common laptop's
    go(page, "room")
    page.click("[data-key=add-door]")
    page.fill("[data-key=door-0-width]", "9000 mm")
    page.press("[data-key=door-0-width]", "Tab")
    told = page.locator(".thing .says.look")
    expect(told).to_contain_text("Door D1")
    expect(told).to_be_in_viewport(ratio=1)
    page.click("#undo")
    expect(told).to_have_count(0)
