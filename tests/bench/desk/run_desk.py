"""How long the page lets a person wait, in a real Chromium: start, a large photo, a dragged mark, the rows, a job opened
again.

`python -m tests.bench.desk.run_desk`. The baseline of the dragged mark is the same drag without the desk following it:
the time from letting go until the survey is drawn, which is what a page without a preview would take. The baseline of
a job opened again is the same job on a machine that keeps nothing of it, which solves and plans before it draws. All
times are wall-clock in the page, medians of several.
"""
from __future__ import annotations

import io
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from desk.actions.demo import copy_demo

DRAGS = 40
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
         "--disable-dev-shm-usage"]
#: Notes, for each move of the pointer, when the drawing was changed and the next frame begun, and the last change of
#: all, ms.
WATCH = """(selector) => {
    window.waits = [];
    let since = 0;
    document.addEventListener('pointermove', () => { since = performance.now(); }, true);
    document.addEventListener('pointerup', () => { window.released = performance.now(); }, true);
    const changes = (m) => m.type !== 'attributes' || m.oldValue !== m.target.getAttribute(m.attributeName);
    new MutationObserver((met) => {
        if (!met.some(changes)) return;  // drawn again as it was, when another answer came
        window.last = performance.now();
        if (!since) return;
        const begun = since;
        since = 0;
        requestAnimationFrame(() => window.waits.push(performance.now() - begun));
    }).observe(document.querySelector(selector), {subtree: true, childList: true, attributes: true, attributeOldValue: true, characterData: true});
}"""


@contextmanager
def desk(folder: Path, settings: Path | str = "") -> Iterator[str]:
    """A desk in a process of its own, which keeps for later beside `settings`, or nothing; its address."""
    with desk_process(folder, settings) as (address, _):
        yield address


@contextmanager
def desk_process(folder: Path, settings: Path | str = "") -> Iterator[tuple[str, int]]:
    """The same, and the number of its process."""
    process = subprocess.Popen([sys.executable, "-m", "desk.cli", "desk", str(folder), "--no-browser"],
                               stdout=subprocess.PIPE, text=True, env=os.environ | {"TAPEGROOVE_SETTINGS": str(settings)})
    try:
        yield process.stdout.readline().strip(), process.pid
    finally:
        process.terminate()
        process.communicate(timeout=20)


def cpu_s(pid: int) -> float:
    """What a process and its children, alive or waited for, have taken of the processor so far, s (Linux's proc(5))."""
    told = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            fields = stat.read_text().rpartition(")")[2].split()
            told[int(stat.parent.name)] = int(fields[1]), sum(map(int, fields[11:15]))
    family = {pid}
    while more := {one for one, (parent, _) in told.items() if parent in family} - family:
        family |= more
    return sum(told[one][1] for one in family if one in told) / os.sysconf("SC_CLK_TCK")


def centre(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def waits(page: Page, selector: str, grip: str, step: tuple[float, float], desk_pid: int
          ) -> tuple[float, float, float]:
    """(median wait for the drawing while something is dragged, wait for what follows letting it go, the desk's own time
    of the processor for a move), ms."""
    page.evaluate(WATCH, selector)
    x, y = centre(page, grip)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 9, y + 9)
    page.evaluate("window.waits = []")
    used = cpu_s(desk_pid)
    for k in range(DRAGS):
        turn = k % 12 - 6
        page.mouse.move(x + turn * step[0], y + turn * step[1])
        page.wait_for_timeout(120)
    moved, used = page.evaluate("window.waits"), cpu_s(desk_pid) - used
    page.mouse.up()
    page.wait_for_timeout(4000)  # the last change after letting go is the survey, or plan, that was asked for
    return statistics.median(moved), page.evaluate("window.last - window.released"), 1000.0 * used / DRAGS


def opened_again(browser: Browser, folder: Path, settings: Path | str) -> tuple[float, float, float]:
    """(the page asked for to rows drawn, the desk started to rows drawn, the desk's own time of the processor until
    then) of a job that was planned before, s."""
    begun = time.monotonic()
    with desk_process(folder, settings) as (address, pid):
        page = browser.new_page(viewport={"width": 1366, "height": 800})
        asked = time.monotonic()
        page.goto(address)
        page.click("[data-key=step-rows]")
        page.wait_for_selector(".plan.rows .piece", state="attached", timeout=90_000)
        drawn, used = time.monotonic(), cpu_s(pid)
        page.wait_for_selector("[data-key=keep], [data-key=settle]", timeout=90_000)
        page.close()
    return drawn - asked, drawn - begun, used


def large_photo() -> bytes:
    """A 48-megapixel JPEG with the grain of a photo."""
    rng = np.random.default_rng(1)
    small = rng.integers(60, 200, (756, 1008, 3), dtype=np.uint8)
    image = Image.fromarray(small).resize((8064, 6048), Image.Resampling.BICUBIC)
    target = io.BytesIO()
    image.save(target, "JPEG", quality=90)
    return target.getvalue()


def main() -> None:
    print(f"load of the machine in the last minute: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        starts = []
        for k in range(5):
            begun = time.monotonic()
            with desk(Path(place) / f"new{k}") as address:
                page = browser.new_page()
                page.goto(address)
                page.wait_for_selector("label.drop")
                starts.append(time.monotonic() - begun)
                page.close()
        print(f"start to usable page: {statistics.median(starts):.2f} s (slowest of 5: {max(starts):.2f} s)")

        photo = Path(place) / "IMG_48MP.jpg"
        photo.write_bytes(large_photo())
        with desk(Path(place) / "large") as address:
            page = browser.new_page(viewport={"width": 1366, "height": 800})
            page.goto(address)
            page.wait_for_selector("label.drop")
            begun = time.monotonic()
            page.set_input_files("#pick", str(photo))
            page.wait_for_selector("[data-key^=mark-]")
            page.click("[data-key^=mark-]")
            page.wait_for_selector(".canvas image[href]", state="attached")
            print(f"48-megapixel photo of {photo.stat().st_size / 1e6:.0f} MB ready to mark: "
                  f"{time.monotonic() - begun:.2f} s")
            page.close()

        with desk_process(copy_demo(Path(place) / "demo")) as (address, pid):
            page = browser.new_page(viewport={"width": 1366, "height": 800})
            page.goto(address)
            page.click("[data-key=step-corners]")
            page.wait_for_selector(".live-floor .oval", state="attached", timeout=60_000)
            page.wait_for_timeout(1500)
            moved, settled, used = waits(page, ".live-floor .plan", "[data-mark='p:H'] .shape", (2.0, 1.0), pid)
            print(f"a dragged mark to the redrawn floor: {moved:.0f} ms median of {DRAGS}, {used:.0f} ms of CPU at the "
                  f"desk; baseline, let go to surveyed anew: {settled:.0f} ms")
            page.evaluate("window.begun = performance.now()")
            page.click("[data-key=step-rows]")
            page.wait_for_selector(".plan.rows .piece", state="attached")
            print(f"opening the rows to a first plan drawn: {page.evaluate('performance.now() - window.begun'):.0f} ms")
            page.wait_for_selector("[data-key=keep], [data-key=settle]", timeout=60_000)
            page.wait_for_timeout(3000)
            moved, _, used = waits(page, ".plan.rows", "[data-key=first-row] .grip", (0.0, 4.0), pid)
            print(f"the first row dragged to rows, boards and packs drawn: {moved:.0f} ms median of {DRAGS}, "
                  f"{used:.0f} ms of CPU at the desk")
        demo, machine = copy_demo(Path(place) / "again"), Path(place) / "machine" / "settings.json"
        for what, settings in (("planned before", machine), ("baseline, nothing kept of it", "")):
            runs = [opened_again(browser, demo, settings) for _ in range(4)][1:]  # the first one plans it
            from_page, from_start, used = (statistics.median(column) for column in zip(*runs))
            print(f"a job opened again to rows drawn, {what}: {from_page:.2f} s from the page, {from_start:.2f} s from "
                  f"the command, {used:.2f} s of CPU at the desk")
        browser.close()


if __name__ == "__main__":
    main()
