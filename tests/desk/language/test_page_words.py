"""Sentences of the page: found by the extractor in scripts and HTML, every gap filled; the catalogue it is served."""
from __future__ import annotations

import json
import re
from importlib import resources
from pathlib import Path

import pytest

from capture.language.messages import ENGLISH
from desk.language import catalogues
from desk.language.catalogues import read_language
from desk.language.extraction import template
from desk.language.missing import gaps_of
from desk.language.page import page_catalogue, worded_page
from desk.language.wishes import wished
from desk.server.reader import reader_of
from tests.desk.language.conftest import CLOSE, OPEN
from tests.desk.language.test_catalogues import po

WEB = Path(str(resources.files("desk"))) / "web"
SCRIPTS = sorted(path for path in WEB.rglob("*.js") if path.name != "catalogue.js")
#: A call that words a sentence, up to its first argument; a second reading, by nothing of Babel's.
CALL = re.compile(r"(?<!function )\b(ngettext|gettextNodes|gettext)\(\s*")
TEXT = re.compile(r"""'((?:[^'\\]|\\.)*)'|"((?:[^"\\]|\\.)*)\"""")


def arguments(code: str, at: int) -> list[str]:
    """The arguments of the call whose parenthesis opens before `at`."""
    found, depth, start = [], 0, at
    while depth >= 0:
        text = TEXT.match(code, at)
        if text:
            at = text.end()
            continue
        depth += (code[at] in "([{") - (code[at] in ")]}")
        if depth < 0 or (depth == 0 and code[at] == ","):
            found.append(code[start:at].strip())
            start = at + 1
        at += 1
    return [argument for argument in found if argument]


def keys_of(literal: str) -> set[str]:
    """The keys of an object written out: {a, b: f(c)}."""
    return {re.split(r"\W", part, maxsplit=1)[0] for part in arguments(literal.strip()[1:-1] + ")", 0)}


CALLS = [(f"{path.relative_to(WEB)}: {match[1]} {told[0][:60]}", match[1], told)
         for path in SCRIPTS for code in [path.read_text("utf-8")] for match in CALL.finditer(code)
         for told in [arguments(code, match.end())]]


def said(argument: str) -> str:
    match = TEXT.fullmatch(argument)
    assert match is not None, f"not written out: {argument}"
    return (match[1] if match[1] is not None else match[2]).replace("\\'", "'")


def test_every_sentence_of_a_script_is_written_out_and_found():
    found = {form for message in template() if any(place.endswith(".js") for place, _ in message.locations)
             for form in ([message.id] if isinstance(message.id, str) else message.id)}
    wanted = {said(argument) for _, call, told in CALLS for argument in told[:2 if call == "ngettext" else 1]}
    assert wanted == found


def test_every_gap_of_a_script_is_filled_and_every_value_has_its_gap():
    wrong = []
    for place, call, told in CALLS:
        forms = told[:2] if call == "ngettext" else told[:1]
        values = told[3:] if call == "ngettext" else told[1:]
        wanted = set().union(*(gaps_of(said(form)) for form in forms)) - ({"count"} if call == "ngettext" else set())
        if wanted != (keys_of(values[0]) if values else set()):
            wrong.append(place)
    assert wrong == []


def test_no_word_of_the_html_is_anybodys_language_but_the_readers(bracketed):
    for name in ("index.html", "send.html", "said.html"):
        page = worded_page((WEB / name).read_bytes(), bracketed, says="").decode()
        assert '<html lang="de" dir="ltr">' in page and OPEN in page
        shown = re.sub(r"<title>Tape &amp; Groove</title>|<b>Tape &amp; Groove</b>", "", page)
        words = re.findall(r">([^<]*[a-z]{2,}[^<]*)<", shown) + re.findall(r'(?:title|aria-label|alt)="([^"]+)"', shown)
        assert [text for text in words if not re.fullmatch(f"\\s*{OPEN}.*{CLOSE}\\s*", text)] == []


def test_english_needs_no_catalogue_and_another_language_has_what_the_scripts_say(bracketed):
    assert page_catalogue(ENGLISH) is None
    told = dict(re.findall(r"^export const (\w+) = (.*);$", page_catalogue(bracketed).decode(), re.MULTILINE))
    sentences = json.loads(told["sentences"])
    assert (json.loads(told["tag"]), json.loads(told["decimal"])) == ("de", ",")
    assert sentences["Saved"] == [f"{OPEN}Saved{CLOSE}"] and "(n != 1)" in told["plural"]
    assert sentences["in {count} photo"] == [f"{OPEN}in {{count}} photo{CLOSE}", f"{OPEN}in {{count}} photos{CLOSE}"]
    assert not any("tapegroove plan" in sentence for sentence in sentences)  # the terminal's are not sent


def test_a_sentence_that_is_lacking_or_unsure_is_not_sent():
    po = ('msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
          '#: desk/web/head.js\nmsgid "Saved"\nmsgstr ""\n\n'
          '#: desk/web/head.js\n#, fuzzy\nmsgid "Saving"\nmsgstr "x"\n')
    assert read_language("de", po.encode(), cache=None).catalogue.of_page() == {}


def test_a_language_written_from_right_to_left_is_so_on_the_page():
    """CLDR: Hebrew."""
    hebrew = read_language("he", po("he", ("Saved", "Saved")), cache=None)
    assert '<html lang="he" dir="rtl">' in worded_page(b'<html lang="{{language}}" dir="{{direction}}">',
                                                       hebrew).decode()


@pytest.mark.parametrize(("header", "tags"), [
    ("da, en-gb;q=0.8, en;q=0.7", ["da", "en-gb", "en"]),  # RFC 9110, 12.5.4
    ("en;q=0.5,de-CH, fr;q=0 , *;q=0.1", ["de-CH", "en"]), ("", []), ("<script>", []), ("de;q=x,nl", ["nl"])])
def test_wishes_are_read_by_weight(header, tags):
    assert wished(header) == tags


@pytest.mark.parametrize(("asked", "wishes", "tag"), [
    ('"de"', "fr", "de"), ("null", "fr, de;q=0.5", "de"), ('"xx"', "de", "de"), ("null", "fr", "en"),
    ("null", "en, de", "en"), ("7", "de", "de"), ("broken", "de", "de")])
def test_the_jobs_language_comes_before_the_browsers_wish(monkeypatch, tmp_path, bracketed, asked, wishes, tag):
    monkeypatch.setattr(catalogues, "OFFERED", ("en", "de"))
    monkeypatch.setattr(catalogues, "language", lambda name: {"en": ENGLISH, "de": bracketed}[name])
    (tmp_path / "job.json").write_text(f'{{"format": "tapegroove-job", "version": 1, "language": {asked}}}')
    assert reader_of((tmp_path,), wishes).tag == tag
