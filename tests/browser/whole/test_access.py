"""The page for everybody: axe-core, the W3C's rules as a program, on every view; every mark by keyboard; large letters
on a small screen.

axe-core does not look at marks drawn in SVG, so their size on the screen is measured by ourselves (WCAG 2.2, 2.5.5: 44
px).
"""
from __future__ import annotations

import re
from importlib import resources

import axe_playwright_python
import pytest
from playwright.sync_api import Page, expect
from tests.support.day_logs import kept_job, tree_of

from desk.server import phone_photos
from desk.actions.demo import copy_demo
from desk.jobfile.files import write_job
from tests.support.hands import go

pytestmark = pytest.mark.usefixtures("short_searches")
AXE = (resources.files(axe_playwright_python) / "axe.min.js").read_text("utf-8")
COLOURS = "{runOnly: ['color-contrast', 'link-in-text-block']}"
STEPS = ("photos", "corners", "tape", "room", "boards", "rows", "pack", "day")
#: A laptop, its dark look, a phone, and the laptop at 200 % (WCAG 2.2, 1.4.4), which leaves half as many CSS pixels.
AXE_LOOKS = (((1366, 800), "light"), ((1366, 800), "dark"), ((360, 740), "light"), ((360, 740), "dark"),
             ((683, 400), "light"))
_SMALL = """() => [...document.querySelectorAll(
        'button, .button, select, input, .pick, summary, .steps a, .drop, .mark .reach, [role=button] .reach, [role=slider] .reach')]
    .filter((e) => e.checkVisibility() && !e.matches('.hidden, .pick input')).map((e) => ({e, box: e.getBoundingClientRect()}))
    .filter(({box}) => box.height < 43.5 || box.width < 43.5).map(({e, box}) => `${e.outerHTML.slice(0, 80)} ${box.width}x${box.height}`)"""


def violations(page: Page, rules: str = "{}") -> list[str]:
    """What axe-core finds, in short; rules of WCAG 2.0 to 2.2, A and AA, and its best practices."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    # Of what breaks no rule nothing is written up.
    found = page.evaluate(f"async () => (await axe.run({{resultTypes: ['violations'], ...{rules}}})).violations")
    return [f"{rule['id']}: {node['html'][:120]}" for rule in found for node in rule["nodes"]]


def small_targets(page: Page) -> list[str]:
    """What can be pressed or grasped and is smaller than 44 px on the screen."""
    return page.evaluate(_SMALL)


def ready(page: Page, step: str) -> None:
    """Wait until a step shows all it will."""
    if step == "tape":
        expect(page.locator(".plan.floor .spot").first).to_be_visible()
    if step == "corners":
        expect(page.locator(".mark").first).to_be_attached()
        # Marks have their size on the screen from when the picture is there.
        page.wait_for_function("() => document.querySelector('.mark .reach')?.getBoundingClientRect().width > 40")
    if step == "rows":
        expect(page.locator("[data-key=keep]")).to_be_enabled()
        expect(page.locator(".way").first).to_be_visible()


def test_no_rule_is_broken_on_any_view(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    for step in STEPS:
        go(page, step)
        ready(page, step)
        looks_well(page, step)


def looks_well(page: Page, where: str) -> None:
    """On every screen: no rule broken, nothing wider than the screen, nothing too small to press."""
    for (width, height), scheme in AXE_LOOKS:
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme=scheme)
        # In the dark nothing changes but colours, so only the rules about these are asked again.
        assert violations(page, "{}" if scheme == "light" else COLOURS) == [], (where, width, scheme)
        assert page.evaluate("document.documentElement.scrollWidth <= screen.width"), (where, width)
        assert small_targets(page) == [], (where, width)


def test_no_rule_is_broken_where_something_is_wrong(quick_desk, open_page, tmp_path):
    """A slip of the tape and an unclear length; a gap no floor has; one ruler of two; long names; no plan to be had."""
    folder = copy_demo(tmp_path / "demo")
    page = open_page(quick_desk(folder).address).page
    page.fill("#title", "The long back bedroom over the garage, beside the landing (invented) " * 2)
    page.press("#title", "Tab")
    go(page, "tape")
    ready(page, "tape")
    box = page.locator(".lengths li >> nth=0 >> input")
    box.fill("5000 mm")
    box.press("Tab")
    expect(page.locator(".lengths li.suspect").first).to_be_visible()
    page.fill("[data-key=new-length]", "5.250")
    page.press("[data-key=new-length]", "Enter")
    expect(page.locator(".adder .echo.ask")).to_be_visible()
    looks_well(page, "tape")
    page.click("#undo")
    go(page, "boards")
    page.fill("[data-key=plain-gap]", "900")
    page.press("[data-key=plain-gap]", "Tab")
    go(page, "rows")
    expect(page.locator("[data-key=mend]")).to_be_visible()
    looks_well(page, "rows")
    page.click("#undo")
    go(page, "pack")
    page.fill("[data-key=ruler-across]", "179.4 mm")
    page.press("[data-key=ruler-across]", "Tab")
    expect(page.locator("main")).to_contain_text("The other ruler is needed as well")
    looks_well(page, "pack")


def test_no_rule_is_broken_on_a_day_that_has_begun(quick_desk, open_page, tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    write_job(folder, kept_job(tree_of([[0, 0], [3000, 0], [3000, 2400], [0, 2400]])))
    page = open_page(quick_desk(folder).address).page
    go(page, "day")
    page.click("[data-key=row-down]")
    expect(page.get_by_role("heading", name=re.compile(r"Row 1 of \d+ is down"))).to_be_visible()
    page.fill("[data-key=words]", "the dog ate it")
    page.click("[data-key=say]")
    expect(page.locator(".says.look")).to_contain_text("not understood")
    looks_well(page, "day")


def test_the_checker_finds_what_is_planted(quick_desk, open_page):
    page = open_page(quick_desk().address).page
    expect(page.locator(".drop")).to_be_visible()
    page.evaluate(
        "document.querySelector('main').append(document.createElement('img'), document.createElement('button'))")
    assert {found.split(":")[0] for found in violations(page)} >= {"image-alt", "button-name"}


def test_what_turns_stands_still_for_who_wants_less_motion(quick_desk, open_page):
    """WCAG 2.2, 2.3.3."""
    page = open_page(quick_desk().address).page
    page.evaluate("document.body.append(Object.assign(document.createElement('span'), {className: 'turning'}))")
    for wanted, turns in (("no-preference", 1), ("reduce", 0)):
        page.emulate_media(reduced_motion=wanted)
        assert page.evaluate("document.querySelector('.turning').getAnimations().length") == turns


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_rule_is_broken_on_the_phones_page_and_beside_its_code(quick_desk, open_page, monkeypatch, scheme):
    monkeypatch.setattr(phone_photos, "lan_address", lambda: "127.0.0.1")
    page = open_page(quick_desk().address, "laptop", scheme).page
    page.click("[data-key=link-open]")
    expect(page.locator(".qr")).to_be_visible()
    assert violations(page) == []
    phone = open_page(page.locator(".link span").inner_text(), "phone", scheme).page
    assert violations(phone) == []


def test_every_mark_and_point_is_reached_by_the_keyboard(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    go(page, "corners")
    ready(page, "corners")
    marks = page.evaluate("[...document.querySelectorAll('.mark')].map((mark) => mark.dataset.mark)")
    assert tabbed(page, "mark", page.locator(".canvas")) >= set(marks)
    go(page, "tape")
    ready(page, "tape")
    points = page.evaluate("[...document.querySelectorAll('.spot')].map((spot) => spot.dataset.key)")
    assert tabbed(page, "key", page.locator("[data-key=show-metric]")) >= set(points)


#: On each step, what goes, moves, or can no longer be pressed once it is pressed.
PRESSED = (("photos", "out-photos/room-2.jpg"), ("photos", "link-open"), ("corners", "drop-D"), ("corners", "up-B"),
           ("corners", "down-G"), ("tape", "remove-14"), ("room", "door-0-bin"), ("room", "pipe-1-bin"),
           ("rows", "take-way-1"), ("rows", "keep"), ("pack", "make"))


@pytest.mark.parametrize(("step", "key"), PRESSED)
def test_the_keyboard_is_never_lost(quick_desk, open_page, tmp_path, monkeypatch, step, key):
    """Whatever Enter does, the page says of some element of the step, or of its way on, that it holds the keyboard, and
    Tab goes on from there."""
    monkeypatch.setattr(phone_photos, "lan_address", lambda: "127.0.0.1")
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    go(page, step)
    ready(page, step)
    page.locator(f"[data-key='{key}']").focus()
    page.evaluate("""() => { window.lost = 0; document.addEventListener('focusout', () => setTimeout(() => {
        window.lost += document.activeElement === document.body; }, 50)); }""")
    page.keyboard.press("Enter")
    expect(page.locator("#saved")).to_have_text("Saved")
    page.wait_for_load_state("networkidle")  # a loaded machine surveys and plans for longer than a click may take
    assert page.evaluate("document.activeElement.closest('main, #onward') !== null && window.lost === 0")


def test_a_button_at_work_has_the_keyboard_back_when_it_is_done(quick_desk, open_page, tmp_path):
    """While the pack is made the way on holds the keyboard, not a neighbour that the next key would change, and then
    the button that took its place; who has gone on is left alone."""
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    go(page, "pack")
    ready(page, "pack")
    make = page.locator("[data-key='make']")
    held = "document.activeElement.dataset.key ?? document.activeElement.id"
    page.evaluate(
        """() => document.addEventListener("focusin", (event) => window.met?.push(event.target.dataset.key ?? event.target.id))"""
    )
    for goes_on in (False, True):
        page.check(f"[data-key=paper-{'legal' if goes_on else 'letter'}]")
        make.focus()
        page.evaluate("window.met = []")
        page.keyboard.press("Enter")
        expect(make).to_be_disabled()
        assert page.evaluate(held) == "onward"
        if goes_on:
            page.locator("[data-key='paper-a3']").focus()
        expect(page.locator("[data-key=zip]")).to_be_visible()
        assert page.evaluate(held) == ("paper-a3" if goes_on else "zip")
        assert page.evaluate("window.met") == ["onward", "paper-a3" if goes_on else "zip"]


def test_undo_that_has_nothing_left_gives_the_keyboard_to_the_step(quick_desk, open_page, tmp_path):
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    go(page, "corners")
    ready(page, "corners")
    page.locator("[data-key='up-B']").click()
    for button in ("undo", "redo"):
        page.locator(f"#{button}").focus()
        page.keyboard.press("Enter")
        expect(page.locator(f"#{button}")).to_be_disabled()
        assert page.evaluate("document.activeElement.id") == "work"


def tabbed(page: Page, kind: str, start) -> set[str]:
    """What the Tab key comes to from `start`, by the name it carries."""
    start.focus()
    seen = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        seen.add(page.evaluate(f"document.activeElement.dataset.{kind}"))
    return seen
