"""Units and paper of a new job by the reader's region, and lengths typed in the reader's way."""
from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest
from babel import Locale

from capture.errors import CaptureError
from capture.language.messages import ENGLISH, Language, read_by
from capture.language.numbers import thousands_mark
from capture.tape import parse_length
from desk.actions.pack import usual_paper
from desk.jobfile.parse import parse_job
from desk.language.catalogues import language
from desk.language.region import units_of, units_wished
from desk.server.http.guard import new_guard
from desk.server.routes import Desk
from desk.store.job_store import JobKeeper
from desk.store.settings import Settings, keep_settings, read_settings

LANGUAGES = ("de", "fr", "es", "nl")


def spoken_in(tag: str) -> Language:
    """A language by its tag and CLDR's marks in figures; its sentences stay English."""
    marks = Locale.parse(tag).number_symbols["latn"]
    return Language(tag=tag, catalogue=ENGLISH.catalogue, decimal=str(marks["decimal"]), thousands=str(marks["group"]))


@pytest.fixture(autouse=True)
def own_settings(tmp_path, monkeypatch):
    """A machine that has kept nothing yet."""
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "settings.json"))


@pytest.mark.parametrize(("tag", "units"), [
    ("en-US", "imperial"), ("en-CA", "imperial"), ("fr-CA", "imperial"), ("es-US", "imperial"), ("en_us", "imperial"),
    ("es-Latn-US", "imperial"), ("en-US-x-own", "imperial"), ("en-GB", "metric"), ("de-AT", "metric"),
    ("es-419", "metric"), ("zh-Hans-CN", "metric"), ("en", None), ("zh-Hans", None), ("", None), (None, None),
    ("../US", None)])
def test_units_by_region(tag, units):
    """Letter in the United States and Canada: CLDR, supplemental data, paperSize; inches in Canada: common practice."""
    assert units_of(tag) == units


@pytest.mark.parametrize(("header", "units"), [
    ("en-US,en;q=0.9", "imperial"), ("de-DE, en-US;q=0.7", "metric"), ("en;q=0.5, fr-CA", "imperial"),
    ("de,en-US;q=0.7", None), ("en-US;q=0", None), ("", None), (";;,q=2," * 500, None)])
def test_units_by_what_a_browser_wishes_for(header, units):
    """Accept-Language: RFC 9110, 12.5.4."""
    assert units_wished(header) == units


@pytest.mark.parametrize(("tag", "show", "paper"), [("en-US", "imperial", "letter"), ("fr-CA", "imperial", "letter"),
                                                    ("de-DE", "metric", "a4"), ("de", "metric", "a4")])
def test_a_new_job_has_the_units_and_the_paper_of_the_region(tmp_path, tag, show, paper):
    keeper = JobKeeper(tmp_path / "new")
    assert keeper.open_or_start(units_of(tag))
    job = parse_job(keeper.load()[0])
    assert (job.show, usual_paper(job, Settings()).lower()) == (show, paper)


def test_units_kept_of_an_earlier_job_win(tmp_path):
    keep_settings({"show": "metric"})
    keeper = JobKeeper(tmp_path / "new")
    keeper.open_or_start("imperial")
    keeper.settle_units("imperial")
    assert keeper.load()[0]["show"] == "metric" and read_settings()[0].show == "metric"


def test_a_job_just_begun_takes_the_units_of_the_first_browser(tmp_path):
    desk = Desk(tmp_path / "new", new_guard(5000))
    try:
        desk.keeper.open_or_start()
        assert desk.open_job("en-US,en;q=0.9")["job"]["show"] == "imperial"
        assert desk.open_job("de-DE")["job"]["show"] == "imperial", "asked once"
    finally:
        desk.close()


@pytest.mark.parametrize("touched", [True, False])
def test_a_job_that_was_there_or_was_changed_keeps_its_units(tmp_path, touched):
    keeper = JobKeeper(tmp_path / "new")
    keeper.open_or_start()
    if touched:
        tree, revision = keeper.load()
        keeper.save({**tree, "title": "Hall"}, revision=revision)
    else:
        keeper = JobKeeper(tmp_path / "new")
        assert not keeper.open_or_start("imperial")
    keeper.settle_units("imperial")
    assert json.loads((tmp_path / "new" / "job.json").read_text())["show"] == "metric"


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_thousands_mark_is_that_of_cldr(tag):
    with read_by(language(tag)):
        assert thousands_mark() == Locale.parse(tag).number_symbols["latn"]["group"]
    assert thousands_mark() == ""


def test_a_length_typed_in_another_language_needs_no_tables_of_cldr(tmp_path):
    """They take longer to load than a command takes to start; what is needed of them is compiled in."""
    typed = ("import sys; from desk.language.catalogues import language; from capture.language.messages import speak;"
             "from capture.language.numbers import thousands_mark; from capture.tape import parse_length;"
             "speak(language('de'));"
             "print(parse_length('1.234,5 mm', thousands=thousands_mark()), 'babel' in sys.modules)")
    said = [subprocess.run([sys.executable, "-c", typed], capture_output=True, text=True, check=True,
                           env={**os.environ, "TAPEGROOVE_CACHE": str(tmp_path)}).stdout for _ in range(2)]
    assert said == ["1234.5 True\n", "1234.5 False\n"], "compiled the first time, kept from then on"


READ = [("1,5 m", 1500.0), ("1.5 m", 1500.0), ("412,5 mm", 412.5), ("4,312 m", 4312.0), ("1.234,5 mm", 1234.5),
        ("3 420 mm", 3420.0), ("3\u202f420 mm", 3420.0)]


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize(("text", "mm"), READ)
def test_comma_or_point_and_blanks_between_thousands_in_every_language(tag, text, mm):
    with read_by(spoken_in(tag)):
        assert parse_length(text, thousands=thousands_mark()) == mm


@pytest.mark.parametrize("tag", ["de", "es", "nl"])
@pytest.mark.parametrize("text", ["1.285", "1.285 mm"])
def test_a_point_between_thousands_is_read_where_it_is_the_custom(tag, text):
    """As metres 1.285 means the same."""
    with read_by(spoken_in(tag)):
        assert parse_length(text, thousands=thousands_mark()) == 1285.0


@pytest.mark.parametrize(("tag", "text"), [
    ("de", "1,285"), ("de", "1,285 mm"), ("de", "1.285 cm"), ("fr", "1.285 mm"), ("fr", "1,285"), ("en", "1,285"),
    ("en", "1.285 mm")])
def test_what_is_left_with_two_readings_is_asked_back(tag, text):
    with read_by(ENGLISH if tag == "en" else spoken_in(tag)), pytest.raises(CaptureError) as asked:
        parse_length(text, thousands=thousands_mark())
    assert asked.value.slug == "ambiguous-length"


@pytest.mark.parametrize(("text", "mm"), [
    ("2 Meter", 2000.0), ("41 Zentimeter", 410.0), ("10 Zoll", 254.0), ("2,5 mètres", 2500.0), ("10 pouces", 254.0),
    ("5 pi 3 po", 1600.2), ("2,5 metros", 2500.0), ("10 pulgadas", 254.0), ("41 centímetros", 410.0),
    ("10 duim", 254.0)])
def test_units_in_words_of_each_language(text, mm):
    """Inch and foot: international yard and pound agreement 1959. The words: from memory."""
    assert parse_length(text) == pytest.approx(mm)
