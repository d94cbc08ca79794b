"""A newcomer with the demo's photos, from an empty desk to a downloaded pack: how many actions, and a picture of every
step to look at.

`python -m tests.bench.desk.run_newcomer FOLDER` writes the pictures into FOLDER, for a laptop with a mouse and a phone
with a finger. An action is a click, a tap, a choice in a list, a box filled in, or a wheel turned. Marks and tape
lengths are those of the demo job.
"""
from __future__ import annotations

import json
import math
import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

import demo_photos
from tests.bench.desk.run_desk import FLAGS, desk
from tests.browser.conftest import SCREENS
from tests.support.hands import on_screen

DEMO = Path(demo_photos.__file__).parent
BOARD = (("board-length", "1285"), ("board-width", "192 mm"), ("board-thickness", "8"), ("board-pack", "8"))
#: Walls and lengths across, as somebody would tape them who does the least that is advised.
TAPED = 12
#: Marks nearer than this on the screen are not told apart by a finger, CSS px.
NEAR = 24.0


class Newcomer:
    """Does things at the page and counts them."""

    def __init__(self, page: Page, folder: Path, screen: str) -> None:
        self.page, self.folder, self.screen, self.actions = page, folder, screen, 0
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

    def look(self, name: str) -> None:
        self.page.wait_for_timeout(700)
        self.page.screenshot(path=self.folder / f"{self.screen}-{name}.png")


def mark(who: Newcomer, job: dict) -> None:
    placed: set[str] = set()
    for number, photo in enumerate(job["photos"], start=1):
        if number > 1:
            who.click(f".thumb >> nth={number - 1}")
        who.page.wait_for_selector(f".stage[aria-label='Photo photos/{number}.jpg']")
        corners = sorted((m for m in photo["marks"] if m["point"] in job["outline"]),
                         key=lambda m: job["outline"].index(m["point"]))
        known = set(who.page.evaluate("[...document.querySelectorAll('.chip')].map((chip) => chip.dataset.key)"))
        for m in corners:
            # New corners get the next letter; the demo's own letters are only how this script knows them.
            if f"chip-{m['point']}" in known:
                if who.page.get_attribute(f"[data-key=chip-{m['point']}]", "aria-pressed") != "true":
                    who.click(f"[data-key=chip-{m['point']}]")
            else:
                if who.page.get_attribute("[data-key='chip-+']", "aria-pressed") != "true":
                    who.click("[data-key='chip-+']")
                if len(placed) >= 3:
                    ring = job["outline"]
                    before = [ring[ring.index(m["point"]) - k] for k in range(1, len(ring))]
                    who.choose("after", next(name for name in before if name in placed))
                placed.add(m["point"])
            who.tap_closely(m["x"], m["y"], [(other["x"], other["y"]) for other in corners if other is not m])
            who.page.wait_for_timeout(150)
        if number == 1:
            who.look("2-corners")


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    job = json.loads((DEMO / "job.json").read_text("utf-8"))
    for screen, options in SCREENS.items():
        with (
            tempfile.TemporaryDirectory() as place,
            sync_playwright() as playwright,
            desk(Path(place) / "job") as address,
        ):
            browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
            page = browser.new_context(**options, accept_downloads=True).new_page()
            who = Newcomer(page, folder, screen)
            page.goto(address)
            page.wait_for_selector(".drop")
            who.actions += 1
            page.set_input_files("#pick", [str(DEMO / photo["file"]) for photo in job["photos"]])
            page.wait_for_selector(f".shots li >> nth={len(job['photos']) - 1}", timeout=60_000)
            who.click("[data-key=targets]")
            who.look("1-photos")
            who.click("[data-key=onward]")
            order = rename(job)
            mark(who, order)
            who.click("[data-key=step-tape]")
            for entry in [e for e in order["tape"] if set(e.get("between", "?")) <= set(order["outline"])][:TAPED]:
                who.choose("from", entry["between"][0])
                who.choose("to", entry["between"][1])
                who.fill("new-length", f"{entry['mm']} mm")
                page.wait_for_timeout(300)
            page.wait_for_selector(".plan.floor .oval", state="attached", timeout=60_000)
            who.look("3-tape")
            who.click("[data-key=step-room]")
            who.click("[data-key=add-door]")
            door = order["doors"][0]
            who.choose("door-0-wall", json.dumps(door["wall"], separators=(",", ":")))
            who.fill("door-0-from", f"{door['from']} mm")
            who.fill("door-0-width", f"{door['width']} mm")
            who.look("4-room")
            who.click("[data-key=step-boards]")
            for key, text in BOARD:
                who.fill(key, text)
            who.look("5-boards")
            who.click("[data-key=step-rows]")
            page.wait_for_selector("[data-key=keep]", timeout=90_000)
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
            print(f"{screen}: {who.actions} actions, {len(who.complaints)} complaints of the console or requests "
                  f"outside {who.complaints[:3]}")
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
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "newcomer"))
