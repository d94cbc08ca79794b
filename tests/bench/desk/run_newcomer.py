"""Newcomers with a room the page has never seen, from an empty desk to a downloaded pack: how many actions to a first
floor, a first plan, the pack, of which kind, and a picture of every step to look at.

`python -m tests.bench.desk.run_newcomer FOLDER [ROOM]... [laptop] [phone] [LANGUAGE]` writes the pictures into FOLDER,
for a laptop with a mouse and a phone with a finger. Rooms: those of `newcomer_rooms`, and demo-proposed: the demo,
where the newcomer says that sheets with targets lie on the floor, takes what the desk sees in the photos, looks at it,
and marks the rest. LANGUAGE: that of the browser, such as de-DE (else en-GB); the newcomer reads it, and types metres
with its decimal mark. An action is a click, a tap, a choice in a list, a box filled in, or a wheel turned. The newcomer
does what the page asks for next, and measures until it asks for no more.
"""
from __future__ import annotations

import json
import math
import re
import shutil
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from capture.language.messages import ENGLISH, Language, figure, read_by, worded
from desk.language.catalogues import offered
from tests.bench.desk.newcomer_rooms import ROOMS, Place, Room
from tests.bench.desk.run_desk import FLAGS, desk
from tests.support.kept_windows import NOTHING_SEEN, SCREENS
from tests.support.hands import on_screen

#: What stands on a pack, by language.
LABELS = {"en": "1285 x 192 x 8 mm, 8 per pack", "de": "1285 x 192 x 8 mm, 8 Stück je Paket",
          "fr": "1285 x 192 x 8 mm, 8 lames par paquet", "es": "1285 x 192 x 8 mm, 8 tablas por paquete",
          "nl": "1285 x 192 x 8 mm, 8 planken per pak"}
#: Lengths a newcomer takes at most, however many are asked for.
MOST_TAPED = 40
#: Marks nearer than this on the screen are not told apart by a finger, CSS px.
NEAR = 24.0
#: A mark that lies farther than this off its corner is seen to be wrong, px of the photo.
WRONG_PX = 12.0
WAIT_MS = 120_000
#: The marks of the photo on the stage: [letter, x, y].
MARKS = """() => [...document.querySelectorAll("[data-mark^='p:']")]
    .map((node) => [node.dataset.mark.slice(2), node.place.x, node.place.y])"""


def quoted(text: str) -> str:
    """A text in a selector."""
    return json.dumps(text, ensure_ascii=False)


class Newcomer:
    """Does things at the page and counts them. letters: the page's letter of each corner, by the room's own name."""

    def __init__(self, page: Page, folder: Path, screen: str, name: str, language: Language) -> None:
        self.page, self.folder, self.screen, self.name, self.language = page, folder, screen, name, language
        self.did: Counter[str] = Counter()
        self.letters: dict[str, str] = {}
        self.floor, self.begun = "", time.monotonic()
        self.complaints: list[str] = []
        page.set_default_timeout(WAIT_MS)
        page.on("console", lambda told: self.complaints.append(told.text)
                if told.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.context.on("request", lambda request: self.complaints.append(request.url)
                        if "127.0.0.1" not in request.url else None)

    def click(self, selector: str, what: str = "buttons") -> None:
        self.did[what] += 1
        self.page.tap(selector) if self.screen == "phone" else self.page.click(selector)

    def touch(self, x: float, y: float) -> None:
        """A place on the screen."""
        self.page.touchscreen.tap(x, y) if self.screen == "phone" else self.page.mouse.click(x, y)

    def fill(self, key: str, text: str, what: str = "boxes") -> None:
        self.did[what] += 1
        self.page.fill(f"[data-key={key}]", text)
        self.page.press(f"[data-key={key}]", "Enter")

    def choose(self, key: str, value: str) -> None:
        if self.page.input_value(f"[data-key={key}]") != value:
            self.did["choices"] += 1
            self.page.select_option(f"[data-key={key}]", value)

    def said(self, sentence: str, **values: object) -> str:
        """What the page says for an English sentence, in the language the newcomer reads."""
        with read_by(self.language):
            return worded(sentence, **values)

    def length(self, mm: float) -> str:
        """A length as this newcomer types it."""
        if self.language is ENGLISH:
            return f"{mm:.0f} mm"
        with read_by(self.language):
            return f"{figure(mm / 1000.0, '.3f')} m"

    def saved(self) -> None:
        self.page.wait_for_selector(f"#saved:text-is('{self.said('Saved')}')")

    def so_far(self) -> str:
        """Actions and seconds since the start."""
        return f"{self.did.total()} actions ({time.monotonic() - self.begun:.0f} s)"

    def look(self, name: str) -> None:
        self.page.wait_for_timeout(500)
        self.page.screenshot(path=self.folder / f"{self.name}-{self.screen}-{name}.png")

    def own_name(self, letter: str) -> str:
        """The room's name of a corner the page calls so."""
        return next(name for name, given in self.letters.items() if given == letter)

    def is_told(self) -> bool:
        """Whether the page has its first floor; noted once."""
        if not self.floor and self.page.locator(".live-floor .oval").count():
            self.floor = self.so_far()
        return bool(self.floor)


@dataclass(frozen=True)
class Marker:
    """Marks the corners of one photo after another."""

    who: Newcomer
    room: Room
    takes: bool

    def mark_all(self) -> None:
        for number, corners in enumerate(self.room.marks, start=1):
            if number > 1:
                self.who.click(f".thumb >> nth={number - 1}", "photos")
            label = self.who.said("Photo {file}", file=f"photos/{number}.jpg")
            self.who.page.wait_for_selector(f".stage[aria-label={quoted(label)}]")
            self.who.page.wait_for_selector(".canvas image[href]", state="attached")
            while left := self._left(corners):
                self._mark_next(corners, left)
            if number == 1:
                self.who.look("2-corners")

    def _left(self, corners: dict[str, Place]) -> set[str]:
        """Corners still to be marked here, once what is proposed was taken: each mark may give others their letters."""
        if self.takes and not self.who.did["proposals taken off"]:
            self._take(corners)
        return set(corners) - set(self._marked(corners))

    def _take(self, corners: dict[str, Place]) -> None:
        """What is seen clearly, all at once; what lies wrong, or has a wrong letter, is taken off again."""
        page = self.who.page
        page.wait_for_function("(looking) => !document.querySelector('.placer')?.textContent.includes(looking)",
                               arg=self.who.said("Looking for corners in this photo; go on meanwhile."))
        if not page.locator("[data-key=take-sure]").count():
            return
        self.who.click("[data-key=take-sure]", "proposals taken")
        page.wait_for_function(f"() => ({MARKS})().length > 0")
        self.who.saved()
        page.wait_for_timeout(500)  # letters are settled once more by the photos
        for letter, x, y in page.evaluate(MARKS):
            name = min(corners, key=lambda one: math.dist(corners[one], (x, y)))
            if math.dist(corners[name], (x, y)) > WRONG_PX or self.who.letters.setdefault(name, letter) != letter:
                self.who.did["proposals taken off"] += 2
                page.locator(f"[data-mark='p:{letter}']").focus()
                page.click("[data-key=unmark]")

    def _marked(self, corners: dict[str, Place]) -> list[str]:
        letters = {letter for letter, _, _ in self.who.page.evaluate(MARKS)}
        return [name for name in corners if self.who.letters.get(name) in letters]

    def _mark_next(self, corners: dict[str, Place], left: set[str]) -> None:
        """One corner: the one the page asks for, where it is to be seen here, else one whose letter is chosen first."""
        page, letters = self.who.page, self.who.letters
        asked = page.get_attribute(".chip[aria-pressed=true]", "data-key") if page.locator(
            ".chip[aria-pressed=true]").count() else ""
        round_back = [name for name in reversed(self.room.places) if name in left]
        named = {f"chip-{letters.get(name, '+')}": name for name in round_back}
        name = named.get(asked or "")
        if name is None:
            known = [key for key in named if key != "chip-+"]  # one that is known again, as the page asks for
            key = known[0] if known else "chip-+"
            name = named[key]
            self.who.click(f"[data-key='{key}']", "letters chosen")
        self._tap(name, corners)

    def _tap(self, name: str, corners: dict[str, Place]) -> None:
        """Where another mark is too near on this screen, with a pinch before it."""
        page, at = self.who.page, corners[name]
        page.locator(".stage").scroll_into_view_if_needed()
        others = [on_screen(page, x, y) for _, x, y in page.evaluate(MARKS)]
        if min((math.dist(on_screen(page, *at), other) for other in others), default=99.0) <= NEAR:
            self.who.did["zooms"] += 1
            page.mouse.move(*on_screen(page, *at))
            page.mouse.wheel(0, -700)  # the pinch: two fingers are not to be had here
            page.wait_for_timeout(150)
        elif not self._is_in_view(at):
            self.who.click(f"button[aria-label={quoted(self.who.said('Whole photo'))}]", "zooms")
        before = {letter for letter, _, _ in page.evaluate(MARKS)}
        self.who.did["corners tapped"] += 1
        self.who.touch(*on_screen(page, *at))
        page.wait_for_function(f"(before) => ({MARKS})().length > before", arg=len(before))
        letter, = {letter for letter, _, _ in page.evaluate(MARKS)} - before
        if self.who.letters.setdefault(name, letter) != letter:
            raise RuntimeError(f"The corner known as {self.who.letters[name]} became {letter}.")
        self.who.saved()
        if self.takes:
            page.wait_for_timeout(700)  # a mark may give the corners that are seen their letters

    def _is_in_view(self, at: Place) -> bool:
        box = self.who.page.locator(".canvas").bounding_box()
        x, y = on_screen(self.who.page, *at)
        return box["x"] < x < box["x"] + box["width"] and box["y"] < y < box["y"] + box["height"]


def draw(who: Newcomer, room: Room) -> None:
    """The outline on the empty sheet, corner after corner, as wide as the sheet allows."""
    page = who.page
    page.wait_for_selector(".sheet-canvas")
    box = page.locator(".sheet-canvas").bounding_box()
    xs, ys = zip(*room.places.values())
    scale = min(0.8 * box["width"] / (max(xs) - min(xs)), 0.8 * box["height"] / (max(ys) - min(ys)))
    for name, (x, y) in room.places.items():
        drawn = page.locator(".sheet-canvas .spot").count()
        who.did["corners drawn"] += 1
        who.touch(box["x"] + box["width"] / 2 + scale * (x - (max(xs) + min(xs)) / 2),
                  box["y"] + box["height"] / 2 - scale * (y - (max(ys) + min(ys)) / 2))
        page.wait_for_function("(n) => document.querySelectorAll('.sheet-canvas .spot').length > n", arg=drawn)
        who.letters[name] = "ABCDEFGHIJKLMNOP"[drawn]
    who.look("2-sheet")


def measure(who: Newcomer, room: Room) -> int:
    """Types the length that is asked for until none is; returns how many."""
    page, label = who.page, ".taping-here label"
    asks = who.said("From {from} to {to}").format_map({"from": r"(?P<a>\w+)", "to": r"(?P<b>\w+)"})
    for count in range(MOST_TAPED):
        page.wait_for_selector(f"{label}, .taping-here .enough")
        page.wait_for_timeout(600)  # what is asked for may change with the survey
        if not page.locator(label).count():
            return count
        asked = page.inner_text(label)
        found = re.fullmatch(asks, asked)
        if found is None:
            raise RuntimeError(f"A length is asked for in words not known: {asked}")
        ends = (room.places[who.own_name(found[side])] for side in ("a", "b"))
        who.fill("quick-length", who.length(math.dist(*ends)), "lengths")
        page.wait_for_function("([label, was]) => document.querySelector(label)?.textContent !== was",
                               arg=[label, asked])
        who.saved()
        who.is_told()
    return MOST_TAPED


def answer_walls(who: Newcomer) -> None:
    """Walls nobody saw: each is one straight wall."""
    page = who.page
    while (asked := page.locator("[data-key^=straight-]")).count():
        key = asked.first.get_attribute("data-key")
        who.click(f"[data-key='{key}']", "walls answered")
        page.wait_for_selector(f"[data-key='{key}']", state="detached")


def add_door(who: Newcomer, room: Room) -> None:
    """Put on its wall with the tool, then typed."""
    (a, b), begins, width = room.door
    who.click("[data-key=add-door]")
    wall = {who.letters[a], who.letters[b]}
    options = who.page.eval_on_selector_all("[data-key=door-0-wall] option", "(all) => all.map((one) => one.value)")
    key = next(key for key in options if set(re.findall(r"\w+", key)) == wall)
    who.choose("door-0-wall", key)
    first = re.findall(r"\w+", key)[0]
    long = math.dist(room.places[a], room.places[b])
    who.fill("door-0-from", who.length(begins if first == who.letters[a] else long - begins - width))
    who.fill("door-0-width", who.length(width))


def walk(who: Newcomer, room: Room, address: str, *, takes: bool) -> None:
    """The whole way, by the page's own way on."""
    page = who.page
    page.goto(address)
    page.wait_for_selector(".drop")
    if room.is_drawn:
        who.click("[data-key=on]")
        draw(who, room)
    else:
        who.did["photos"] += 1
        page.set_input_files("#pick", [str(picture) for picture in room.pictures])
        page.wait_for_selector(f".shots li >> nth={len(room.pictures) - 1}")
        who.saved()
        if takes:  # sheets with targets lie on this floor
            who.did["boxes"] += 1
            page.check("[data-key=targets]")
            who.saved()
        who.look("1-photos")
        who.click("[data-key=onward]")
        Marker(who, room, takes).mark_all()
    taped = measure(who, room)
    page.wait_for_selector(".live-floor .oval", state="attached")
    who.is_told()
    who.look("3-measured")
    answer_walls(who)
    page.wait_for_selector(f"[data-key=onward]:has-text({quoted(who.said('On to the room'))})")
    who.click("[data-key=onward]")
    add_door(who, room)
    who.look("4-room")
    who.click("[data-key=onward]")
    who.fill("label", LABELS[who.language.tag])
    page.wait_for_function("() => document.querySelector('[data-key=board-width]')?.value.startsWith('192')")
    who.look("5-boards")
    who.click("[data-key=onward]")
    page.wait_for_selector(".plan.rows .piece", state="attached")
    plan = who.so_far()
    page.wait_for_selector("[data-key=keep]")
    page.wait_for_selector(".way")
    who.look("6-rows")
    who.click("[data-key=keep]")
    page.wait_for_selector(f"[data-key=onward]:has-text({quoted(who.said('Make the pack'))})")
    who.click("[data-key=onward]")
    page.wait_for_selector("[data-key=zip]")
    who.look("7-pack")
    with page.expect_download():
        who.click("[data-key=zip]")
    print(f"{who.screen}, {who.name}: first floor after {who.floor}, first plan after {plan}, pack after "
          f"{who.so_far()}, {taped} of them lengths; {dict(who.did)}; {len(who.complaints)} complaints of the console "
          f"or requests outside {who.complaints[:3]}", flush=True)


def main(folder: Path, wished: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    known = [*ROOMS, "demo-proposed"]
    locale = next((one for one in wished if one not in known and one not in SCREENS), "en-GB")
    for name in [name for name in known if name in wished] or known:
        for screen in [screen for screen in SCREENS if screen in wished] or SCREENS:
            _one(folder, name, screen, locale)


def _one(folder: Path, name: str, screen: str, locale: str) -> None:
    takes = name.endswith("-proposed")
    with (
        tempfile.TemporaryDirectory() as place,
        sync_playwright() as playwright,
        desk(Path(place) / "job") as address,
    ):
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_context(**SCREENS[screen], accept_downloads=True, locale=locale).new_page()
        if not takes:
            page.route("**/api/photos/*/seen", lambda route: route.fulfill(json=NOTHING_SEEN))
        who = Newcomer(page, folder, screen, name, offered(locale))
        try:
            walk(who, ROOMS[name.removesuffix("-proposed")](Path(place)), address, takes=takes)
        except Exception as error:
            who.look("stuck")
            print(f"{screen}, {name}: stuck after {who.so_far()}, {dict(who.did)}: {error}", flush=True)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "newcomer"), sys.argv[2:])
