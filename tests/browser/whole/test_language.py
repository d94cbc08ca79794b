"""The page in another language: a made-up one whose every sentence is bracketed goes through every step and the phone's
page, and nothing stands outside brackets but names and figures."""
from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from babel import Locale
from playwright.sync_api import Page, expect

from capture.language.messages import ENGLISH, Language
from desk.actions.demo import copy_demo
from desk.jobfile.files import write_job
from desk.language import catalogues
from desk.language.catalogues import read_language
from desk.server import phone_photos
from tests.browser.whole.test_access import ready
from tests.desk.language.conftest import CLOSE, OPEN, bracketed_language
from tests.desk.language.test_bracketed import unlooked
from tests.desk.language.test_catalogues import po
from tests.support.day_logs import kept_job, tree_of
from tests.support.hands import disk, go, saved
from tests.support.invented_room import VIEWS, picture

pytestmark = pytest.mark.usefixtures("short_searches")
#: Names: the program's, languages' by themselves, papers', files', what a person called things; units of files.
NAMES = re.compile(r"Tape & Groove|\b(?:English|Deutsch|Letter|Legal|Tabloid|kB|MB)\b|[\w/.-]+\.\w{3,4}\b|https?://\S+")
#: Every text and every attribute that is read out or shown, of what can be seen and of what cannot.
TEXTS = """() => {
    const walker = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
    const texts = [];
    while (walker.nextNode()) if (!walker.currentNode.parentNode.closest('style, script, noscript')) texts.push(walker.currentNode.data);
    const attributes = [...document.querySelectorAll('*')].flatMap((node) =>
        ['aria-label', 'aria-valuetext', 'title', 'placeholder', 'alt'].map((name) => node.getAttribute(name) ?? ''));
    return [texts.join('\\n'), ...attributes.filter(Boolean)];
}"""


def unlooked_on(page: Page, *names: str) -> set[str]:
    """Words of a page that no catalogue was asked for, and gaps that were not filled. names: what the job calls
    things."""
    found = set()
    for text in page.evaluate(TEXTS):
        bare = NAMES.sub(" ", text)
        for name in names:
            bare = bare.replace(name, " ")
        found |= {*unlooked(bare), *re.findall(r"\{\w+\}", bare)}
    return found


@pytest.fixture
def offered(monkeypatch):
    """Languages a desk of this process offers, from now on."""
    def offer(**known: Language) -> None:
        monkeypatch.setattr(catalogues, "OFFERED", ("en", *known))
        monkeypatch.setattr(catalogues, "language", lambda tag: {"en": ENGLISH, **known}[tag])
    monkeypatch.setattr(phone_photos, "lan_address", lambda: "127.0.0.1")
    return offer


def in_german(folder: Path, **more: object) -> Path:
    tree = json.loads((folder / "job.json").read_text("utf-8"))
    (folder / "job.json").write_text(json.dumps(tree | {"language": "de", "title": "7"} | more))
    return folder


def test_every_step_says_nothing_that_was_not_looked_up(quick_desk, open_page, tmp_path, offered):
    offered(de=bracketed_language())
    watched = open_page(quick_desk(in_german(copy_demo(tmp_path / "demo"))).address)
    page = watched.page
    for step in ("photos", "corners", "tape", "room", "boards", "rows", "pack"):
        go(page, step)
        ready(page, step)
        page.click("#help-button")
        assert unlooked_on(page) == set(), step
        page.click("#help-button")
    go(page, "corners")
    page.locator(".mark").first.focus()
    for mode in ("edge", "tape"):
        page.click(f".pick:has([data-key=mode-{mode}])")
        assert unlooked_on(page) == set(), mode
    assert page.evaluate("[document.documentElement.lang, document.documentElement.dir]") == ["de", "ltr"]
    assert page.locator("#saved").inner_text() == f"{OPEN}Saved{CLOSE}"
    assert watched.errors == []


def test_a_day_says_nothing_that_was_not_looked_up(quick_desk, open_page, tmp_path, offered):
    """But what was said to it, in the words of the day (`desk.language.day_phrases`)."""
    offered(de=bracketed_language())
    (folder := tmp_path / "job").mkdir()
    write_job(folder, kept_job(tree_of([[0, 0], [3000, 0], [3000, 2400], [0, 2400]])))
    page = open_page(quick_desk(in_german(folder)).address).page
    go(page, "day")
    page.click("[data-key=row-down]")
    expect(page.locator(".said li")).to_have_count(1)
    for asked in ("wall", "piece", "lost", "short"):
        page.click(f"[data-key=ask-{asked}]")
        expect(page.locator(f"[data-key=asked-{asked}]")).to_be_visible()
        assert unlooked_on(page, "Reihe 1 fertig") == set(), asked


def test_the_phones_page_speaks_its_readers_language(quick_desk, open_page, tmp_path, offered):
    offered(de=bracketed_language())
    desk = quick_desk()
    page = open_page(quick_desk(in_german(desk.folder)).address).page
    page.click("[data-key=link-open]")
    expect(page.locator(".qr")).to_be_visible()
    assert unlooked_on(page) == set()
    phone = open_page(page.locator(".link span").inner_text(), "phone").page
    (tmp_path / "1.jpg").write_bytes(picture(next(iter(VIEWS))))
    phone.set_input_files("#pick", str(tmp_path / "1.jpg"))
    expect(phone.locator("#done")).to_have_text(
        f"{OPEN}1 photo is on the computer. Pick more, or put the phone away.{CLOSE}")
    assert unlooked_on(phone) == set()


def test_a_language_is_chosen_where_units_are(quick_desk, open_page, tmp_path, offered):
    offered(de=bracketed_language())
    page = open_page((desk := quick_desk(copy_demo(tmp_path / "demo"))).address).page
    go(page, "tape")
    choices = page.locator("[data-key=language]")
    assert choices.locator("option").all_text_contents() == ["English", "Deutsch"] and choices.input_value() == "en"
    choices.select_option("de")
    expect(page.locator("h1")).to_have_text(f"{OPEN}Tape lengths{CLOSE}")
    assert disk(desk.folder)["language"] == "de" and choices.input_value() == "de"
    choices.select_option("en")
    expect(page.locator("h1")).to_have_text("Tape lengths")


def test_no_language_is_offered_where_there_is_but_one(quick_desk, open_page, tmp_path, offered):
    offered()
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    go(page, "tape")
    expect(page.locator("[data-key=show-metric]")).to_be_attached()
    assert page.locator("[data-key=language]").count() == 0


def test_counts_and_figures_follow_cldr(quick_desk, open_page, offered):
    """Polish has three forms; which one a number takes is CLDR's rule, by Babel's own reading of it."""
    forms = ("one", "few", "many")
    offered(pl=read_language("pl", po("pl", (("{count} board", "{count} boards"), forms)), cache=None))
    page = open_page((desk := quick_desk()).address).page
    page.goto(desk.home)
    in_german(desk.folder, language="pl")
    counts = [*range(40), 101, 111, 112, 122, 1000, 1002]
    told = page.evaluate("async (counts) => { const {plural, decimal} = await import('/catalogue.js?anew');"
                         " return [counts.map(plural), decimal]; }", counts)
    assert [forms[index] for index in told[0]] == [Locale.parse("pl").plural_form(n) for n in counts]
    assert told[1] == ","


def test_inches_are_read_with_american_words(quick_desk, open_page, tmp_path):
    """Baseboard and skirting: the glossary's; common practice and from memory."""
    page = open_page(quick_desk(copy_demo(tmp_path / "demo")).address).page
    go(page, "boards")
    expect(page.locator("main")).to_contain_text("the skirting hides it")
    go(page, "tape")
    page.click(".pick:has([data-key=show-imperial])")
    saved(page)
    go(page, "boards")
    expect(page.locator("main")).to_contain_text("the baseboard hides it")
    go(page, "corners")
    page.click("#help-button")
    expect(page.locator("#help")).to_contain_text("at the foot of the baseboard")
    assert "skirting" not in page.locator("body").inner_text().lower()
