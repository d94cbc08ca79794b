"""What a machine keeps for the next job: kept, read strictly, never in the way. What is meant is this project's own
wish; there is no standard of it."""
from __future__ import annotations

import json

import pytest

from desk.actions.pack import usual_paper, with_own_printer
from desk.jobfile.parse import parse_job
from desk.problem import JobFileError
from desk.store.settings import Settings, keep_settings, read_settings, settings_path

RULERS = {"show": "metric", "across": 179.4, "down": 239.5}


@pytest.fixture
def place(tmp_path, monkeypatch):
    """The file of this test's machine."""
    path = tmp_path / "of its user" / "settings.json"
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(path))
    return path


def test_what_was_said_is_there_the_next_time_and_can_be_forgotten(place):
    assert read_settings() == (Settings(), "")
    keep_settings({"show": "imperial", "paper": "a3", "rulers": RULERS, "name": "Attic"})
    kept = keep_settings({"name": "Bath"})
    assert read_settings() == (kept, "")
    assert (kept.show, kept.paper, kept.names, kept.toured) == ("imperial", "a3", ("Bath", "Attic"), False)
    assert kept.rulers is not None and (kept.rulers.across_mm, kept.rulers.down_mm) == (179.4, 239.5)
    assert keep_settings({"rulers": None, "paper": None}).tree().keys() == {"format", "version", "show", "names"}


def test_a_few_names_are_kept_each_once_the_last_one_first(place):
    for name in ("Attic", "Bath", "Cellar", "Attic", "Den", "Hall", "Loft", "Study"):
        kept = keep_settings({"name": name})
    assert kept.names == ("Study", "Loft", "Hall", "Den", "Attic", "Cellar")


@pytest.mark.parametrize("text", ["", "{", "null", "[]", '{"show": "furlongs"}', '{"paper": "b7"}', '{"colour": "red"}',
                                  '{"rulers": {"across": 1}}', '{"names": ["two\\nlines"]}', '{"version": 2}',
                                  '{"names": ["' + 30_000 * "x" + '"]}', '{"toured": "yes"}'])
def test_a_broken_file_is_told_of_and_never_in_the_way(place, text):
    place.parent.mkdir()
    place.write_text(text, "utf-8")
    settings, note = read_settings()
    assert settings == Settings() and str(place) in note and "usual values hold" in note
    assert keep_settings({"paper": "letter"}) == read_settings()[0] == Settings(paper="letter")


@pytest.mark.parametrize("told", [{"show": 3}, {"colour": "red"}, {"name": 7}, {"name": "two\nlines"}, {"paper": "b7"}])
def test_what_is_no_setting_is_refused_and_nothing_lost(place, told):
    keep_settings({"paper": "a3"})
    before = place.read_bytes()
    with pytest.raises(JobFileError):
        keep_settings(told)
    assert place.read_bytes() == before


def test_kept_nowhere_where_that_is_wished(monkeypatch):
    """As in all tests."""
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", "")
    assert settings_path() is None
    keep_settings({"paper": "a3"})
    assert read_settings() == (Settings(), "")


def test_the_usual_place_is_the_users_configuration_folder(monkeypatch, tmp_path):
    """platformdirs knows each system's; on Linux that of the XDG Base Directory Specification, on macOS and Windows
    theirs."""
    monkeypatch.delenv("TAPEGROOVE_SETTINGS")
    for name in ("XDG_CONFIG_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path))
    assert settings_path().is_relative_to(tmp_path) and settings_path().name == "settings.json"


def test_the_printer_holds_only_where_the_job_says_nothing(place, box):
    settings = keep_settings({"rulers": RULERS, "paper": "a3"})
    own = with_own_printer(parse_job(box), settings)
    assert own.rulers is not None and (own.rulers.across_mm, own.rulers.down_mm) == (179.4, 239.5)
    typed = parse_job(box | {"rulers": {"across": {"mm": 181.0}, "down": {"mm": 241.0}}})
    assert with_own_printer(typed, settings) is typed
    inches = parse_job(json.loads(json.dumps(box)) | {"show": "imperial"})
    assert with_own_printer(inches, settings) is inches
    wild = keep_settings({"rulers": RULERS | {"across": 120.0}})
    assert with_own_printer(parse_job(box), wild).rulers is None
    assert usual_paper(inches, settings) == "a3" and usual_paper(inches, Settings()) == "letter"
