"""Nine mishaps at the page, each in the demo's room: how long after the tap that shows it it is told, whether one tap
puts it right and undo takes that back, and what the main button of the rows is before it is put right.

`python -m tests.bench.desk.run_page_mishaps [KIND]...`. The job is the demo's with one thing spoilt and its last length
left out; typing that length (or, for the door, choosing its wall) is the tap that shows it. Right is the job as the
demo has it; the aim is told within 3 s, and no way by main buttons to a kept plan of a wrong room. Seconds are of the
clock, with whatever else the machine does, and beside them the desk's own of the processor.
"""
from __future__ import annotations

import json
import math
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from desk.actions.demo import copy_demo
from tests.bench.desk.newcomer_rooms import DEMO
from tests.bench.desk.run_desk import FLAGS, cpu_s, desk_process
from tests.support.kept_windows import NOTHING_SEEN

WAIT_MS = 60_000
LAST = ["A", "C"]
TRUTH = {name: tuple(spot[:2]) for name, spot in json.loads((DEMO / "truth.json").read_text("utf-8"))["points"].items()}
#: What shows which main button the rows have, once they are settled.
MAIN = ".onward .main:is([data-key=keep], [data-key=settle], [data-key=mend])"


@dataclass(frozen=True, kw_only=True)
class Mishap:
    """spoil: what is done to the demo's job; typed: the last length as it is typed; told: the button that is offered
    first; is_right: whether the job is as it should be again."""

    spoil: Callable[[dict[str, Any]], None]
    told: str
    is_right: Callable[[dict[str, Any], dict[str, Any]], bool]
    typed: str = "5449 mm"
    step: str = "tape"


def _mark(job: dict[str, Any], photo: int, point: str) -> dict[str, Any]:
    return next(mark for mark in job["photos"][photo]["marks"] if mark["point"] == point)


def _swap_letters(job: dict[str, Any]) -> None:
    one, other = _mark(job, 2, "F"), _mark(job, 2, "G")
    one["point"], other["point"] = "G", "F"


def _of_another_room(job: dict[str, Any]) -> None:
    rng = np.random.default_rng(11)
    for mark in job["photos"][1]["marks"]:
        mark |= {"x": float(rng.uniform(80, 1520)), "y": float(rng.uniform(500, 1150))}


def _twice(job: dict[str, Any]) -> None:
    _mark(job, 2, "F")["point"] = "K"
    job["outline"].insert(job["outline"].index("F") + 1, "K")


def _order(job: dict[str, Any]) -> None:
    order = job["outline"]
    i, j = order.index("D"), order.index("E")
    order[i], order[j] = order[j], order[i]
    for photo in job["photos"]:  # lines are drawn along walls of the list, so none was drawn yet
        photo.pop("edges", None)


def _never_seen(job: dict[str, Any]) -> None:
    """D is in no photo and in no list, though the room has it."""
    job["outline"].remove("D")
    job["tape"] = [entry for entry in job["tape"] if "D" not in entry.get("between", ())]
    for photo in job["photos"]:
        photo["marks"] = [mark for mark in photo["marks"] if mark["point"] != "D"]
        photo["edges"] = [edge for edge in photo.get("edges", []) if "D" not in edge["wall"]]


def _clockwise(job: dict[str, Any]) -> None:
    """By tape alone: every wall and every length across from A, B and C."""
    for key in ("photos", "targets", "on_wall", "pipes", "closeups", "cameras"):
        job.pop(key, None)
    names = job["outline"]
    pairs = {frozenset(pair) for pair in zip(names, names[1:] + names[:1])} | {
        frozenset((a, b)) for a in "ABC" for b in names if a != b}
    job["tape"] = [{"between": sorted(pair), "mm": round(math.dist(*(TRUTH[name] for name in pair)))}
                   for pair in sorted(pairs, key=sorted) if pair != set(LAST)]
    job["outline"] = [names[0], *names[:0:-1]]


def _as_it_was(*keys: str) -> Callable[[dict[str, Any], dict[str, Any]], bool]:
    return lambda now, right: all(now.get(key) == right.get(key) for key in keys)


def _length(now: dict[str, Any], right: dict[str, Any]) -> bool:
    return abs(next(entry["mm"] for entry in now["tape"] if entry.get("between") == LAST) - 5449) < 2


def _letters(now: dict[str, Any], right: dict[str, Any]) -> bool:
    return [{m["point"]: m["x"] for m in photo["marks"]} for photo in now["photos"]] == [
        {m["point"]: m["x"] for m in photo["marks"]} for photo in right["photos"]]


def _ring(now: dict[str, Any], right: dict[str, Any]) -> bool:
    def walls(ring: list[str]) -> set[frozenset[str]]:
        return {frozenset(pair) for pair in zip(ring, ring[1:] + ring[:1])}
    return walls(now["outline"]) == walls(right["outline"])


MISHAPS = {
    "a slip of 100 mm": Mishap(spoil=lambda job: None, typed="5549 mm", told="mend-use-length", is_right=_length),
    "feet for metres": Mishap(spoil=lambda job: None, typed="17.88 m", told="mend-use-length", is_right=_length),
    "letters swapped": Mishap(spoil=_swap_letters, told="mend-swap-points", is_right=_letters),
    "another room's photo": Mishap(spoil=_of_another_room, told="mend-leave-out-photo", is_right=lambda now, right: [
        photo["file"] for photo in now["photos"]] == [photo["file"] for photo in right["photos"] if "room-2" not in
                                                      photo["file"]]),
    "an order wrong": Mishap(spoil=_order, told="mend-outline", is_right=_ring),
    "the same corner twice": Mishap(spoil=_twice, told="mend-keep-one", is_right=_letters),
    "a corner never seen": Mishap(spoil=_never_seen, told="not-straight", is_right=lambda now, right: True),
    "clockwise naming": Mishap(spoil=_clockwise, told="mend-flip", is_right=_as_it_was("outline")),
    "a door on the wrong wall": Mishap(spoil=lambda job: None, told="mend-door-D1-A-B", step="room",
                                       is_right=_as_it_was("doors")),
}


def _folder(place: Path, mishap: Mishap) -> tuple[Path, dict[str, Any]]:
    """The job's folder with the mishap in it, and the demo's own job."""
    folder = copy_demo(place / "job")
    right = json.loads((folder / "job.json").read_text("utf-8"))
    told = deepcopy(right)
    told["tape"] = [entry for entry in told["tape"] if entry.get("between") != LAST]
    mishap.spoil(told)
    if mishap.step != "tape":
        told = deepcopy(right)
    (folder / "job.json").write_text(json.dumps(told), "utf-8")
    return folder, right


def _ready(page: Page, address: str, step: str, desk_pid: int) -> None:
    """The job is opened, and everything that the desk works out of it by itself is done."""
    page.goto(address)
    page.click(f"[data-key=step-{step}]")
    page.wait_for_selector("#saved:text-is('Saved')")
    page.wait_for_function("() => !document.querySelector('.working, [data-key=anew]')")
    used = -1.0
    while cpu_s(desk_pid) - used > 0.02:
        used = cpu_s(desk_pid)
        page.wait_for_timeout(1500)


def _show(page: Page, mishap: Mishap, desk_pid: int) -> str:
    """The tap that shows it, and how long until it is told."""
    if mishap.step == "room":
        begun, used = time.monotonic(), cpu_s(desk_pid)
        page.select_option("[data-key=door-0-wall]", json.dumps(["D", "E"], separators=(",", ":")))
        page.wait_for_selector(_button(mishap))
        return f"{time.monotonic() - begun:.1f} s ({cpu_s(desk_pid) - used:.1f} s of CPU)"
    for key, name in zip(("from", "to"), LAST):
        page.select_option(f"[data-key={key}]", name)
    page.fill("[data-key=new-length]", mishap.typed)
    begun, used = time.monotonic(), cpu_s(desk_pid)
    page.press("[data-key=new-length]", "Enter")
    page.locator(_button(mishap)).first.wait_for()
    return f"{time.monotonic() - begun:.1f} s ({cpu_s(desk_pid) - used:.1f} s of CPU)"


def _button(mishap: Mishap) -> str:
    return f"[data-key^='{mishap.told}']:visible"


def _main_on_rows(page: Page, step: str) -> str:
    """What the main button of the rows says while the mishap is there."""
    page.click("[data-key=step-rows]")
    page.wait_for_selector(MAIN)
    said = page.inner_text(".onward .main")
    page.click(f"[data-key=step-{step}]")
    return said


def run(page: Page, address: str, desk_pid: int, name: str, folder: Path, right: dict[str, Any]) -> str:
    """One mishap, as a line of the table."""
    mishap = MISHAPS[name]
    _ready(page, address, mishap.step, desk_pid)
    told = _show(page, mishap, desk_pid)
    on_rows = _main_on_rows(page, mishap.step)
    button = page.locator(_button(mishap)).first
    said = button.inner_text()
    before = json.loads((folder / "job.json").read_text("utf-8"))
    button.click()
    if mishap.told == "not-straight":
        page.wait_for_selector("[data-key=step-corners][aria-current]")
        return f"{name}: told after {told}; on the rows: {on_rows!r}; {said!r} leads to the corners"
    page.wait_for_selector("#saved:text-is('Saved')")
    is_right = mishap.is_right(json.loads((folder / "job.json").read_text("utf-8")), right)
    page.locator(_button(mishap)).first.wait_for(state="detached")
    page.click("#undo")
    page.wait_for_selector("#saved:text-is('Saved')")
    page.locator(_button(mishap)).first.wait_for()
    is_undone = json.loads((folder / "job.json").read_text("utf-8")) == before
    return (f"{name}: told after {told}; on the rows: {on_rows!r}; {said!r} puts it right: {is_right}, "
            f"undone: {is_undone}")


def main(wished: list[str]) -> None:
    print(f"load of the machine in the last minute: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors",
          flush=True)
    for name in wished or MISHAPS:
        with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
            folder, right = _folder(Path(place), MISHAPS[name])
            with desk_process(folder) as (address, pid):
                browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
                page = browser.new_page(viewport={"width": 1366, "height": 768})
                page.set_default_timeout(WAIT_MS)
                page.route("**/api/photos/*/seen", lambda route: route.fulfill(json=NOTHING_SEEN))
                try:
                    print(run(page, address, pid, name, folder, right), flush=True)
                except Exception as error:
                    page.screenshot(path=f"mishap-{name.replace(' ', '-').replace(chr(39), '')}.png")
                    print(f"{name}: not so, {str(error).splitlines()[0]}", flush=True)
                browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
