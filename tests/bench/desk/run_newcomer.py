"""Newcomers with photos of a room, from an empty desk to a downloaded pack: how many actions to a first floor, a first
plan, the pack, and a picture of every step to look at.

`python -m tests.bench.desk.run_newcomer FOLDER [demo] [L] [sheet]` writes the pictures into FOLDER, for a laptop with a
mouse and a phone with a finger. Rooms: the demo; an L drawn at random; the same L by tape alone, drawn on the sheet. An
action is a click, a tap, a choice in a list, a box filled in, or a wheel turned. The newcomer measures what the page
asks for, until it asks for no more. Corners that the desk sees by itself are not used.
"""
from __future__ import annotations

import io
import json
import math
import re
import shutil
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import ExifTags, Image
from playwright.sync_api import Page, sync_playwright

import demo_photos
from desk.actions.pipeline import survey_job
from desk.jobfile.files import parse_job
from desk.store.photos import photo_facts
from tests.bench.desk.run_desk import FLAGS, desk
from tests.support.kept_windows import NOTHING_SEEN, SCREENS
from tests.support.hands import on_screen
from tests.support.simulate import draw_determined

DEMO = Path(demo_photos.__file__).parent
BOARD = (("board-length", "1285"), ("board-width", "192 mm"), ("board-thickness", "8"), ("board-pack", "8"))
#: Lengths a newcomer takes at most, however many are asked for.
MOST_TAPED = 20
#: Width of a drawn room's door, mm (common practice, no source).
DOOR_MM = 762
#: Rooms drawn at most until one shows every corner.
MOST_DRAWN = 100
#: Marks nearer than this on the screen are not told apart by a finger, CSS px.
NEAR = 24.0


class Newcomer:
    """Does things at the page and counts them."""

    def __init__(self, page: Page, folder: Path, screen: str, room: str) -> None:
        self.page, self.folder, self.screen, self.room, self.actions = page, folder, screen, room, 0
        self.floor, self.begun = "", time.monotonic()
        self.complaints: list[str] = []
        page.on("console", lambda told: self.complaints.append(told.text)
                if told.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.context.on("request", lambda request: self.complaints.append(request.url)
                        if "127.0.0.1" not in request.url else None)

    def click(self, selector: str) -> None:
        self.actions += 1
        self.page.tap(selector) if self.screen == "phone" else self.page.click(selector)

    def tap(self, x: float, y: float) -> None:
        self.actions += 1
        self.page.locator(".stage").scroll_into_view_if_needed()
        place = on_screen(self.page, x, y)
        self.page.touchscreen.tap(*place) if self.screen == "phone" else self.page.mouse.click(*place)

    def tap_closely(self, x: float, y: float, others: list[tuple[float, float]]) -> None:
        """Tap a place; where another mark is too near on this screen, with a pinch before it and the whole photo
        again behind it."""
        self.page.locator(".stage").scroll_into_view_if_needed()
        place = on_screen(self.page, x, y)
        if min((math.dist(place, on_screen(self.page, *other)) for other in others), default=99.0) > NEAR:
            self.tap(x, y)
            return
        self.actions += 2
        self.page.mouse.move(*place)
        self.page.mouse.wheel(0, -700)  # the pinch: two fingers are not to be had here
        self.tap(x, y)
        self.page.wait_for_timeout(150)
        self.page.locator("button[aria-label='Whole photo']").click()

    def fill(self, key: str, text: str) -> None:
        self.actions += 1
        self.page.fill(f"[data-key={key}]", text)
        self.page.press(f"[data-key={key}]", "Enter")

    def choose(self, key: str, value: str) -> None:
        if self.page.input_value(f"[data-key={key}]") != value:
            self.actions += 1
            self.page.select_option(f"[data-key={key}]", value)

    def so_far(self) -> str:
        """Actions and seconds since the start."""
        return f"{self.actions} actions ({time.monotonic() - self.begun:.0f} s)"

    def look(self, name: str) -> None:
        self.page.wait_for_timeout(700)
        self.page.screenshot(path=self.folder / f"{self.room}-{self.screen}-{name}.png")


@dataclass(frozen=True, kw_only=True)
class Room:
    """What a newcomer has: pictures, where the corners are in each (px, by the letter they get on the page), and where
    they are in the room, mm; a door: its wall, where it begins, how wide it is."""

    pictures: list[Path]
    marks: list[list[tuple[str, float, float]]]
    places: dict[str, tuple[float, float]]
    door: tuple[list[str], int, int]


def demo_room(_: Path) -> Room:
    """The demo's photos and marks; lengths from its own survey."""
    job = rename(json.loads((DEMO / "job.json").read_text("utf-8")))
    parsed = parse_job(job)
    floor = survey_job(parsed, {p.file: photo_facts(DEMO, p.file) for p in parsed.photos}).floor
    marks = [[(m["point"], m["x"], m["y"]) for m in sorted((m for m in photo["marks"] if m["point"] in job["outline"]),
                                                           key=lambda m: m["point"])] for photo in job["photos"]]
    door = job["doors"][0]
    return Room(pictures=[DEMO / photo["file"] for photo in job["photos"]], marks=marks,
                places={name: tuple(floor.at(name)) for name in job["outline"]},
                door=(door["wall"], door["from"], door["width"]))


def drawn_room(folder: Path) -> Room:
    """An L that nobody tuned anything to; its pictures show nothing, for the script knows where the corners are."""
    rng = np.random.default_rng(2611)
    drawn = (draw_determined(rng, shape="L", photos=5) for _ in range(MOST_DRAWN))
    case = next((case for case in drawn if {mark.point for mark in case.network.marks} >= set(case.names)), None)
    if case is None:
        raise RuntimeError(f"None of {MOST_DRAWN} drawn L rooms shows every corner in its five photos.")
    names: dict[str, str] = {}
    photos = [[m for m in case.network.marks if m.photo == photo.name and m.point in case.names]
              for photo in case.network.photos]
    for photo in photos:
        for mark in photo:
            names.setdefault(mark.point, "ABCDEFGHIJKLMNOP"[len(names)])
    files = []
    for number in range(len(photos)):
        noise = np.random.default_rng(number).normal(120, 12, (1200, 1600, 1)).clip(0, 255).astype(np.uint8)
        tags, target = Image.Exif(), io.BytesIO()
        tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = 26
        Image.fromarray(noise.repeat(3, axis=2)).save(target, "JPEG", quality=60, exif=tags)
        files.append(folder / f"L-{number + 1}.jpg")
        files[-1].write_bytes(target.getvalue())
    places = {names[name]: tuple(spot) for name, spot in zip(case.names, case.corners) if name in names}
    return Room(pictures=files, marks=[[(names[m.point], m.x_px, m.y_px) for m in photo] for photo in photos],
                places=places, door=door_in(places))


def sheet_room(folder: Path) -> Room:
    """The same L with the letters its corners get on the sheet: in the order they are drawn."""
    room = drawn_room(folder)
    places = dict(zip("ABCDEFGHIJKLMNOP", room.places.values()))
    return replace(room, places=places, door=door_in(places))


def door_in(places: dict[str, tuple[float, float]]) -> tuple[list[str], int, int]:
    """A door in the middle of the longest wall of a room given by its corners in order, mm."""
    ring = list(places)
    wall = max(zip(ring, ring[1:] + ring[:1]), key=lambda ends: math.dist(places[ends[0]], places[ends[1]]))
    return list(wall), round((math.dist(*(places[name] for name in wall)) - DOOR_MM) / 2), DOOR_MM


def mark(who: Newcomer, room: Room) -> None:
    placed: set[str] = set()
    for number, marks in enumerate(room.marks, start=1):
        if number > 1:
            who.click(f".thumb >> nth={number - 1}")
        who.page.wait_for_selector(f".stage[aria-label='Photo photos/{number}.jpg']")
        for name, x, y in marks:
            chip = f"chip-{name}" if name in placed else "chip-+"
            if who.page.get_attribute(f"[data-key='{chip}']", "aria-pressed") != "true":
                who.click(f"[data-key='{chip}']")
            placed.add(name)
            who.tap_closely(x, y, [(u, v) for other, u, v in marks if other != name])
            who.page.wait_for_selector(f"[data-mark='p:{name}']", state="attached")
            who.page.wait_for_timeout(200)
        if number == 1:
            who.look("2-corners")


def draw(who: Newcomer, room: Room) -> None:
    """The outline on the empty sheet, corner after corner."""
    who.page.wait_for_selector(".sheet-canvas")
    box = who.page.locator(".sheet-canvas").bounding_box()
    spots = np.array(list(room.places.values()))
    low, size = spots.min(axis=0), float(np.ptp(spots, axis=0).max())
    for x, y in (spots - low) / size:
        who.actions += 1
        place = box["x"] + (0.5 + 0.6 * (x - 0.5)) * box["width"], box["y"] + (0.9 - 0.75 * y) * box["height"]
        who.page.touchscreen.tap(*place) if who.screen == "phone" else who.page.mouse.click(*place)
        who.page.wait_for_timeout(200)
    who.look("2-sheet")


def measure(who: Newcomer, room: Room) -> int:
    """Types the length that is asked for until none is; returns how many."""
    page, label = who.page, ".taping-here label"
    for count in range(MOST_TAPED):
        page.wait_for_selector(f"{label}, .taping-here .enough", timeout=60_000)
        page.wait_for_timeout(600)
        if not page.locator(label).count():
            return count
        a, b = re.fullmatch(r"From (\w+) to (\w+)", page.inner_text(label)).groups()
        who.fill("quick-length", f"{math.dist(room.places[a], room.places[b]):.0f} mm")
        page.wait_for_function("([label, was]) => document.querySelector(label)?.textContent !== was",
                               arg=[label, f"From {a} to {b}"])
        page.wait_for_selector("#saved:text-is('Saved')")
        if not who.floor and page.locator(".live-floor .oval").count():
            who.floor = who.so_far()
    return MOST_TAPED


def walk(who: Newcomer, room: Room, address: str, *, draws: bool) -> None:
    """The whole way."""
    page = who.page
    page.goto(address)
    page.wait_for_selector(".drop")
    if draws:
        who.click("[data-key=on]")
        draw(who, room)
    else:
        who.actions += 1
        page.set_input_files("#pick", [str(picture) for picture in room.pictures])
        page.wait_for_selector(f".shots li >> nth={len(room.pictures) - 1}", timeout=60_000)
        who.look("1-photos")
        who.click("[data-key=onward]")
        mark(who, room)
    taped = measure(who, room)
    page.wait_for_selector(".live-floor .oval", state="attached", timeout=60_000)
    who.floor = who.floor or who.so_far()
    who.look("3-measured")
    while (asked := page.locator("[data-key^=straight-]")).count():
        key = asked.first.get_attribute("data-key")
        who.click(f"[data-key='{key}']")
        page.wait_for_selector(f"[data-key='{key}']", state="detached")
    who.click("[data-key=step-room]")
    who.click("[data-key=add-door]")
    wall, begins, width = room.door
    walls = page.eval_on_selector_all("[data-key=door-0-wall] option", "(all) => all.map((one) => one.value)")
    same = next((key for key in walls if set(json.loads(key)) == set(wall)), walls[0])
    who.choose("door-0-wall", same)
    who.fill("door-0-from", f"{begins} mm")
    who.fill("door-0-width", f"{width} mm")
    who.look("4-room")
    who.click("[data-key=step-boards]")
    for key, text in BOARD:
        who.fill(key, text)
    who.look("5-boards")
    who.click("[data-key=step-rows]")
    page.wait_for_selector("[data-key=keep]", timeout=90_000)
    plan = who.so_far()
    page.wait_for_selector(".way", timeout=90_000)
    who.look("6-rows")
    who.click("[data-key=keep]")
    page.wait_for_selector("[data-key=let-go]", timeout=60_000)
    who.click("[data-key=step-pack]")
    who.click("[data-key=make]")
    page.wait_for_selector("[data-key=zip]", timeout=60_000)
    who.look("7-pack")
    with page.expect_download():
        who.click("[data-key=zip]")
    print(f"{who.screen}, {who.room}: {taped} lengths; first floor after {who.floor}, first plan after {plan}, "
          f"pack after {who.so_far()}; {len(who.complaints)} complaints of the console or requests outside "
          f"{who.complaints[:3]}", flush=True)


#: How each room is come by, and whether it is drawn on the sheet.
ROOMS = {"demo": (demo_room, False), "L": (drawn_room, False), "sheet": (sheet_room, True)}


def main(folder: Path, rooms: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name in rooms or ROOMS:
        make, draws = ROOMS[name]
        for screen, options in SCREENS.items():
            with (
                tempfile.TemporaryDirectory() as place,
                sync_playwright() as playwright,
                desk(Path(place) / "job") as address,
            ):
                browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
                page = browser.new_context(**options, accept_downloads=True).new_page()
                page.route("**/api/photos/*/seen", lambda route: route.fulfill(json=NOTHING_SEEN))
                who = Newcomer(page, folder, screen, name)
                try:
                    walk(who, make(Path(place)), address, draws=draws)
                except Exception:
                    who.look("stuck")
                    raise
                browser.close()


def rename(job: dict) -> dict:
    """The demo job with the letters a newcomer's corners get: in the order they are first marked, photo by photo."""
    names: dict[str, str] = {}
    for photo in job["photos"]:
        for m in sorted((m for m in photo["marks"] if m["point"] in job["outline"]),
                        key=lambda m: job["outline"].index(m["point"])):
            names.setdefault(m["point"], "ABCDEFGHIJKLMNOP"[len(names)])
    return names and json.loads(json.dumps(job),
                                object_hook=lambda d: _renamed(d, names)) | {"outline": [names[n]
                                                                                         for n in job["outline"]]}


def _renamed(entry: dict, names: dict[str, str]) -> dict:
    for key in ("between", "wall"):
        if key in entry:
            entry[key] = [names.get(name, name) for name in entry[key]]
    if "point" in entry:
        entry["point"] = names.get(entry["point"], entry["point"])
    return entry


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "newcomer"), sys.argv[2:])
