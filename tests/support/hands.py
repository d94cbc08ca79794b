"""What a person does at the page, in words the tests can use."""
from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.support.patience import PATIENCE_S

PATIENCE_MS = 1000 * PATIENCE_S


def until(page: Page, holds: Callable[[], bool], what: str) -> None:
    """Wait until something holds that the page itself does not show; its events are heard meanwhile."""
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < end, f"{what} did not come"
        page.wait_for_timeout(50)


def press(page: Page, selector: str) -> None:
    """With a finger where the screen takes one, else with the mouse."""
    element = page.locator(selector)
    element.tap() if page.evaluate("navigator.maxTouchPoints > 0") else element.click()


def go(page: Page, step: str) -> None:
    press(page, f"[data-key=step-{step}]")
    expect(page.locator(f"[data-key=step-{step}]")).to_have_attribute("aria-current", "step")


def saved(page: Page) -> None:
    """Wait until everything is on the disk."""
    expect(page.locator("#saved")).to_have_text("Saved")


def add_photos(page: Page, files: list[Path]) -> None:
    page.set_input_files("#pick", [str(file) for file in files])
    expect(page.locator(".shots li")).to_have_count(
        len(files), timeout=60_000
    )  # the processes that decode may have to be begun
    saved(page)


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a photo pixel is on the screen now; the browser's own transform, not ours."""
    return tuple(page.evaluate("""([x, y]) => {
        const canvas = document.querySelector('.canvas');
        const at = new DOMPoint(x, y).matrixTransform(canvas.getScreenCTM());
        return [at.x, at.y];
    }""", [x, y]))


def choose_photo(page: Page, number: int) -> None:
    press(page, f".thumb >> nth={number - 1}")
    expect(page.locator(f".thumb >> nth={number - 1}")).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".stage")).to_have_attribute("aria-label", f"Photo photos/{number}.jpg")


def stage_photo(page: Page, folder: Path, picture: bytes) -> None:
    """One photo added on the page and put on the stage; folder: where its file may lie."""
    (folder / "one.jpg").write_bytes(picture)
    add_photos(page, [folder / "one.jpg"])
    go(page, "corners")
    choose_photo(page, 1)


def point_at(page: Page, x: float, y: float, *, touch: bool = False) -> None:
    page.locator(".stage").scroll_into_view_if_needed()
    place = on_screen(page, x, y)
    page.touchscreen.tap(*place) if touch else page.mouse.click(*place)


def add_length(page: Page, a: str, b: str, text: str) -> None:
    before = page.locator(".lengths li").count()
    page.select_option("[data-key=from]", a)
    page.select_option("[data-key=to]", b)
    page.fill("[data-key=new-length]", text)
    page.press("[data-key=new-length]", "Enter")
    expect(page.locator(".lengths li")).to_have_count(before + 1)
    saved(page)


def fill(page: Page, key: str, text: str) -> None:
    page.fill(f"[data-key={key}]", text)
    page.press(f"[data-key={key}]", "Tab")
    saved(page)


def disk(folder: Path) -> dict:
    return json.loads((folder / "job.json").read_text("utf-8"))


def comes_to_disk(page: Page, folder: Path, key: str, value: object) -> None:
    """Wait until the job on the disk holds `value`: a box that was left is read by the desk before the save begins."""
    until(page, lambda: disk(folder).get(key) == value, f"{key} as {value}")


def marks(folder: Path, photo: int = 1) -> dict[str, tuple[float, float]]:
    """Places on the disk by point, px."""
    return {mark["point"]: (mark["x"], mark["y"]) for mark in disk(folder)["photos"][photo - 1].get("marks", [])}
