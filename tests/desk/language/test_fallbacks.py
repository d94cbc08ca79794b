"""A job in another language than the reader's, in one nobody speaks here, and a catalogue that lacks words: from the
command line to what it says."""
from __future__ import annotations

import json
from io import BytesIO

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from capture.language.messages import ENGLISH
from desk.cli import main
from desk.language import catalogues
from desk.language.catalogues import read_language


def offer(monkeypatch, made) -> None:
    """German is offered, with this catalogue."""
    monkeypatch.setattr(catalogues, "OFFERED", ("en", "de"))
    monkeypatch.setattr(catalogues, "language", lambda tag: ENGLISH if tag == "en" else made)


@pytest.fixture
def lacking(monkeypatch):
    """A catalogue of two sentences."""
    made, written = Catalog(locale="de", charset="utf-8"), BytesIO()
    made.add("Nothing wrong was found.", "Kein Fehler gefunden.")
    made.add('{where} lacks "{key}", {wanted}.', "In {where} fehlt „{key}“: {wanted}.")
    write_po(written, made)
    offer(monkeypatch, read_language("de", written.getvalue(), cache=None))


def test_a_job_speaks_its_own_language(monkeypatch, capsys, on_disk, box, bracketed):
    offer(monkeypatch, bracketed)
    assert main(["survey", str(on_disk({**box, "title": "", "language": "de-CH"}))]) == 0
    out, err = capsys.readouterr()
    assert "⟦floor area⟧" in out.casefold() and err == ""


def test_faults_of_a_job_are_told_in_its_own_language(monkeypatch, capsys, on_disk, bracketed):
    offer(monkeypatch, bracketed)
    for command in ("survey", "check"):
        assert main([command, str(on_disk({"language": "de", "outline": 5, "tape": [{"between": ["A", "B"]}]}))]) == 2
        told = capsys.readouterr().err.splitlines()
        assert len(told) >= 2 and all(line.startswith("⟦") for line in told)


def test_the_command_line_goes_before_the_job(monkeypatch, capsys, on_disk, box, bracketed):
    offer(monkeypatch, bracketed)
    assert main(["--language", "en-GB", "survey", str(on_disk({**box, "language": "de"}))]) == 0
    assert "⟦" not in capsys.readouterr().out


@pytest.mark.parametrize("command", ["survey", "check", "plan"])
def test_a_language_nobody_speaks_here_is_told_once_and_english_spoken(command, capsys, on_disk, box):
    assert main([command, str(on_disk({**box, "language": "tlh"}))]) == 0
    out, err = capsys.readouterr()
    spoken = ", ".join(catalogues.OFFERED)
    assert out and err.splitlines() == [f'"tlh" is not a language this program speaks; choose one of {spoken}.',
                                        "The job asks for that language; English is spoken instead."]


@pytest.mark.parametrize("tag", [5, "", "../de", "de\n", ["de"]])
def test_what_is_no_language_at_all_is_a_fault_of_the_job_told_once(tag, capsys, on_disk, box):
    assert main(["check", str(on_disk({**box, "language": tag}))]) == 2
    assert capsys.readouterr().err.count("language") == 2  # its place, and what it must be


def test_words_a_catalogue_lacks_are_english_and_that_is_told_once(lacking, capsys, on_disk, box):
    assert main(["check", "--language", "de", str(on_disk(box))]) == 0
    out, err = capsys.readouterr()
    assert out == "Kein Fehler gefunden.\n" and len(err.splitlines()) <= 1
    assert main(["check", "--language", "de", str(on_disk({"tape": [{"between": ["A", "B"]}], "outline": "x"}))]) == 2
    told = capsys.readouterr().err.splitlines()
    assert told[0].startswith("outline is ") or told[1].startswith("outline is ")
    assert "In tape[0] fehlt „mm“: a length in mm, such as 4312." in told
    assert sum("which stay English" in line for line in told) == 1 and "which stay English" in told[-1]


def test_the_answer_for_programs_holds_no_word_of_it(lacking, capsys, on_disk, box):
    assert main(["check", "--json", "--language", "de", str(on_disk({"outline": "x"}))]) == 2
    out, _ = capsys.readouterr()
    assert json.loads(out)["problems"]
