"""Two rooms and a hall from their stored jobs to one purchase, kept and printed, on the page of all rooms: how many
actions, by whom, and pictures to look at.

`python -m tests.bench.desk.run_flat_page FOLDER [mouse] [phone] [keys]` writes the pictures into FOLDER. An action is a
click, a tap, a drag or a choice; by keyboard each key that does something counts, and the Tab presses on the way are
told beside them. The rooms are invented (`tests.support.houses`), every door measured, no two joined. Baseline: the
command line, where house.json is written by hand and two commands are typed.
"""
from __future__ import annotations

import json
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.bench.desk.run_desk import FLAGS, desk
from tests.support.houses import invented_flat, write_house
from tests.support.kept_windows import SCREENS
from tests.support.needs import browsers

WAIT_MS = 240_000
PAIRS = (("kitchen-D1", "hall-D1"), ("hall-D2", "bath-D1"))


class Hand:
    """Does things at the page and counts them."""

    def __init__(self, page: Page, kind: str) -> None:
        self.page, self.kind, self.did = page, kind, Counter[str]()

    def press(self, key: str) -> None:
        """A button, a link or a door by its key."""
        selector = f"[data-key='{key}']"
        self.page.wait_for_selector(f"{selector}:not([disabled])")
        if self.kind == "keys":
            self._tab_to(key)
            self.page.keyboard.press("Enter")
            self.did["keys"] += 1
        elif self.kind == "phone":
            self.page.tap(selector)
            self.did["taps"] += 1
        else:
            self.page.click(selector)
            self.did["clicks"] += 1

    def join(self, one: str, other: str) -> None:
        if self.kind != "mouse":
            self.press(f"door-{one}")
            self.press(f"door-{other}")
            return
        for key in (one, other):
            self.page.locator(f"[data-key=door-{key}]").scroll_into_view_if_needed()
        start, end = (self._middle(key) for key in (one, other))
        self.page.mouse.move(*start)
        self.page.mouse.down()
        self.page.mouse.move(*end, steps=6)
        self.page.mouse.up()
        self.did["drags"] += 1

    def _middle(self, key: str) -> tuple[float, float]:
        box = self.page.locator(f"[data-key=door-{key}] .grip").bounding_box()
        assert box is not None
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def _tab_to(self, key: str) -> None:
        """By Tab alone, forwards or back, whichever is nearer."""
        at, want, many = self.page.evaluate("""(key) => {
            const all = [...document.querySelectorAll('a, button, input, select, [tabindex="0"], summary')]
                .filter((e) => e.checkVisibility() && !e.disabled && e.tabIndex >= 0);
            return [all.indexOf(document.activeElement), all.findIndex((e) => e.dataset.key === key), all.length];
        }""", key)
        way = "Tab" if (want - at) % many <= (at - want) % many else "Shift+Tab"
        for _ in range(2 * many):
            if self.page.evaluate("document.activeElement.dataset.key") == key:
                return
            self.page.keyboard.press(way)
            self.did["tabs on the way"] += 1
        raise SystemExit(f"{key} is not reached by {way} ({at} to {want} of {many})")


def settled(page: Page) -> None:
    """Wait until everything is saved and drawn as it is."""
    page.wait_for_selector("#saved:text-is('Saved')")
    page.wait_for_function("() => !document.querySelector('.home .stale')")


def walk(folder: Path, flat: Path, kind: str, chromium: str) -> None:
    begun = time.monotonic()
    with desk(flat) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        page = browser.new_context(**SCREENS["phone" if kind == "phone" else "laptop"]).new_page()
        page.set_default_timeout(WAIT_MS)
        page.goto(address)
        hand = Hand(page, kind)

        def shoot(name: str) -> None:
            page.screenshot(path=folder / f"{kind}-{name}.png", full_page=True)
        page.wait_for_selector(".plan.flat .ground")
        settled(page)
        shoot("1-apart")
        for pair in PAIRS:
            hand.join(*pair)
            settled(page)
        page.wait_for_selector(".purchase .figures")
        packs = page.inner_text(".purchase .figures b >> nth=0")
        joined = dict(hand.did)
        shoot("2-joined")
        hand.press("keep")
        page.wait_for_selector("[data-key=make]:not([disabled])")
        shoot("3-kept")
        hand.press("make")
        page.wait_for_selector("[data-key=download]")
        with page.expect_download():
            hand.press("download")
        print(f"{kind}: to one purchase ({packs} packs) {joined}; with plans kept and the booklet fetched "
              f"{dict(hand.did)}; {time.monotonic() - begun:.0f} s")
        browser.close()


def main(arguments: list[str]) -> None:
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    chromium = next(iter(browsers()))
    for kind in arguments[1:] or ["mouse", "phone", "keys"]:
        with tempfile.TemporaryDirectory() as place:
            flat = invented_flat(Path(place) / "flat")
            job = json.loads((flat / "bath" / "job.json").read_text())
            job["doors"][0]["reveal"] = 60
            (flat / "bath" / "job.json").write_text(json.dumps(job))
            write_house(flat, doorways=[])
            walk(folder, flat, kind, chromium)


if __name__ == "__main__":
    main(sys.argv[1:])
