"""Titles and names from elsewhere in what is printed: text, and nothing but text, in every file of the pack.

Where text may break out: OWASP, "Cross Site Scripting Prevention" (element content, attribute values) and "CSV
Injection"; text that runs the other way: Unicode Technical Report 36, section 2.5 (bidirectional text), and UAX 9 for
its controls. XML as `xml.etree` reads it, HTML as `html.parser` does.
"""
from __future__ import annotations

import csv
import io
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest

from desk.actions.pipeline import pack_job, plan_job, survey_job
from desk.jobfile.files import parse_job
from desk.problem import JobFileError
from tests.support.foreign_trees import DAY, small_job

#: Titles (any length) and names (40 letters).
HOSTILE = ("<img src=x onerror=alert(1)>", "\"><svg onload='alert(1)'>", "--></h1><script>alert(1)</script>",
           "=HYPERLINK(\"http://x.example\")", "@SUM(1+9)", "]]>&#x3c;b&#x3e;&lt;i&gt;", "javascript:alert(1)",
           "\u05d7\u05d3\u05e8 \u05d0 12 \u05d1", "\u0645\u0637\u0628\u062e 3", "a" * 40, "W\u0301" * 20)


class Page(HTMLParser):
    """Tags and attributes of a page, and its text outside scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: dict[str, int] = {}
        self.attributes: set[str] = set()
        self.targets: set[str] = set()
        self.text, self._inside = "", ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self._inside = tag
        self.tags[tag] = self.tags.get(tag, 0) + 1
        self.attributes |= {name for name, _ in attrs}
        self.targets |= {value or "" for name, value in attrs if name in ("href", "src", "action", "data")}

    def handle_endtag(self, tag):
        self._inside = ""

    def handle_data(self, data):
        self.text += data if self._inside not in ("script", "style") else ""


def pack_of(name: str, title: str) -> dict[str, bytes]:
    """The pack of a small room whose pipe, door and island have a name."""
    tree = small_job()
    tree["pipes"][0]["name"], tree["doors"][0]["name"] = name, name
    tree["islands"] = [{"name": name, "corners": ["1", "2", "3", "4"]}]
    job = parse_job(tree | {"title": title})
    survey = survey_job(job, {})
    return pack_job(job, survey, plan_job(job, survey, effort="preview"), date=DAY, paper="a4")


@pytest.fixture(scope="module")
def plain():
    return pack_of("P1", "Box room (invented)")


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_text_in_every_file(plain, name):
    pack = pack_of(name, name)
    honest, page = Page(plain["booklet.html"].decode()), Page(pack["booklet.html"].decode())
    assert page.tags.keys() == honest.tags.keys() and page.tags["script"] == 1
    assert page.attributes == honest.attributes and all(target.startswith("#") for target in page.targets)
    assert name in page.text
    for file, data in pack.items():
        if file.endswith(".svg"):
            drawn = {element.tag.rpartition("}")[2] for element in ElementTree.fromstring(data).iter()}
            assert not drawn & {"script", "image", "a", "foreignObject", "img"}
    cells = [cell for row in csv.reader(io.StringIO(pack["cuts.csv"].decode("utf-8-sig"))) for cell in row]
    assert not any(cell.startswith(("=", "+", "@", "\t", "\r")) for cell in cells)
    assert pack.keys() == plain.keys()


@pytest.mark.parametrize("title", ["x" * 300, "<b>" * 100, "word " * 60, "\u05d0" * 300])
def test_a_long_title_is_told_and_printed(plain, title):
    pack = pack_of("P1", title)
    page = Page(pack["booklet.html"].decode())
    assert page.tags == Page(plain["booklet.html"].decode()).tags and title.strip() in page.text
    assert pack["booklet.pdf"].startswith(b"%PDF")


@pytest.mark.parametrize("control", ["\u202e", "\u2066", "\u200f", "\u2028", "\x1b", "\x00", "\ufeff"])
def test_controls_that_turn_text_round_are_in_no_name(control):
    tree = small_job()
    tree["pipes"][0]["name"] = f"P{control}1"
    with pytest.raises(JobFileError, match="printable"):
        parse_job(tree)
