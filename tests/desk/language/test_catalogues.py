"""Catalogues: read, kept compiled, never stale; what they lack is told, and none is offered that lacks something."""
from __future__ import annotations

from importlib import resources
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po
from hypothesis import given
from hypothesis import strategies as st

from capture.language.messages import ENGLISH, gettext, ngettext, read_by
from desk.cli import main
from desk.jobfile.parse import parse_job
from desk.language.catalogues import OFFERED, compiled_catalogue, language, offered, read_language
from desk.language.extraction import template
from desk.language.missing import lacks_of, read_catalogue, updated
from desk.problem import JobFileError

CATALOGUES = Path(str(resources.files("capture.language"))) / "catalogues"
LANGUAGES = ("de", "fr", "es", "nl")


def po(tag: str, *sentences: tuple[str | tuple[str, str], str | tuple[str, ...]]) -> bytes:
    """A catalogue of these sentences, as its file."""
    made = Catalog(locale=tag, charset="utf-8")
    for english, said in sentences:
        made.add(english, said)
    written = BytesIO()
    write_po(written, made)
    return written.getvalue()


BOARDS = (("{count} board", "{count} boards"), ("{count} Diele", "{count} Dielen"))


def test_sentences_and_counts_are_those_of_the_catalogue():
    with read_by(read_language("de", po("de", ("corner {a}", "Ecke {a}"), BOARDS), cache=None)):
        assert gettext("corner {a}", a="A") == "Ecke A"
        assert [ngettext(*BOARDS[0], n) for n in (0, 1, 2)] == ["0 Dielen", "1 Diele", "2 Dielen"]


@pytest.mark.parametrize("tag", LANGUAGES)
def test_plural_rule_and_decimal_mark_are_those_of_cldr(tag):
    """CLDR by Babel's own reading of it, against the rule in the file's head as gettext reads it; French and Spanish
    have a form of their own for whole millions ("many")."""
    forms = ("one", "many", "other") if Catalog(locale=tag).num_plurals == 3 else ("one", "other")
    found = read_language(tag, po(tag, (("a", "b"), forms)), cache=None)
    rule = Locale.parse(tag).plural_form
    for count in (*range(130), 999, 1001, 1_000_000, 2_000_000, 2_000_001):
        assert found.catalogue.ngettext("a", "b", count) == rule(count), count
    assert found.decimal == Locale.parse(tag).number_symbols["latn"]["decimal"] == ","


def test_a_compiled_catalogue_is_kept_and_never_stands_for_a_newer_one(tmp_path):
    old, new = po("de", ("wall", "Mauer")), po("de", ("wall", "Wand"))
    assert read_language("de", old, cache=tmp_path).catalogue.gettext("wall") == "Mauer"
    (kept,) = tmp_path.iterdir()
    assert kept.read_bytes().endswith(compiled_catalogue("de", old))
    assert read_language("de", new, cache=tmp_path).catalogue.gettext("wall") == "Wand"
    assert read_language("de", old, cache=tmp_path).catalogue.gettext("wall") == "Mauer"


@pytest.mark.parametrize("rubbish", [b"", b"\xde\x12\x04\x95", b"no catalogue at all", bytes(200)])
def test_a_kept_file_that_is_none_of_ours_is_made_anew(tmp_path, rubbish):
    file = po("de", ("wall", "Wand"))
    read_language("de", file, cache=tmp_path)
    (kept,) = tmp_path.iterdir()
    sound = kept.read_bytes()
    kept.write_bytes(rubbish)
    assert read_language("de", file, cache=tmp_path).catalogue.gettext("wall") == "Wand"
    assert kept.read_bytes() == sound


@given(place=st.integers(0, 400), bit=st.integers(0, 7))
def test_a_kept_file_with_one_bit_changed_is_made_anew(place, bit):
    file = po("de", ("wall", "Wand"))
    with TemporaryDirectory() as folder:
        read_language("de", file, cache=Path(folder))
        (kept,) = Path(folder).iterdir()
        sound = bytearray(kept.read_bytes())
        sound[place % len(sound)] ^= 1 << bit
        kept.write_bytes(sound)
        assert read_language("de", file, cache=Path(folder)).catalogue.gettext("wall") == "Wand"


def test_a_cache_that_cannot_be_written_costs_nothing_but_time(tmp_path):
    (tmp_path / "file").write_text("no folder")
    assert read_language("de", po("de", ("wall", "Wand")), cache=tmp_path / "file").catalogue.gettext("wall") == "Wand"


def test_what_a_catalogue_lacks_stays_english_and_is_remembered_once():
    found = read_language("de", po("de", BOARDS), cache=None)
    with read_by(found):
        assert [gettext("floor"), gettext("floor"), gettext("")] == ["floor", "floor", ""]
    assert found.catalogue.lacked == {"floor"}


@pytest.mark.parametrize(("said", "why"), [("", "untranslated"), ("Reihe {zeile}", "gaps"), ("Reihe {row:.1f}", "gaps"),
                                           ("Reihe {", "gaps"), ("Reihe {row}", None)])
def test_gaps_of_another_name_or_form_are_told(said, why):
    wanted, made = Catalog(), Catalog(locale="de")
    wanted.add("row {row}")
    made.add("row {row}", said)
    assert [lack.why for lack in lacks_of(made, wanted)] == ([why] if why else [])


def test_a_sentence_that_counts_may_leave_the_number_out_in_one_form():
    wanted, made = Catalog(), Catalog(locale="de")
    wanted.add(("a strip", "{count} strips"))
    made.add(("a strip", "{count} strips"), ("ein Streifen", "{count} Streifen"))
    assert lacks_of(made, wanted) == ()


def test_a_catalogue_is_brought_up_to_date():
    wanted, made = Catalog(), Catalog(locale="de")
    wanted.add("new")
    wanted.add("kept")
    made.add("kept", "behalten")
    made.add("gone", "weg")
    after = updated(made, wanted).decode()
    assert 'msgid "new"' in after and "behalten" in after and "gone" not in after


@pytest.mark.parametrize("tag", [tag for tag in OFFERED if tag != "en"] or ["en"])
def test_an_offered_language_lacks_nothing(tag):
    if tag == ENGLISH.tag:
        assert offered("en") is ENGLISH
        return
    assert lacks_of(read_catalogue(CATALOGUES / f"{tag}.po", tag), template()) == ()


def test_a_begun_catalogue_has_no_wrong_gaps():
    """It may lack sentences; it may not spoil one."""
    for path in CATALOGUES.glob("*.po"):
        lacks = lacks_of(read_catalogue(path, path.stem), template())
        assert [lack for lack in lacks if lack.why == "gaps"] == []


@pytest.mark.parametrize("tag", ["en", "en-GB", "en_US", "EN"])
def test_english_is_spoken_in_every_region(tag):
    assert offered(tag) is ENGLISH


@pytest.mark.parametrize("tag", ["", "xx", "../en", "e", "tlh", "x" * 500])
def test_a_language_that_is_not_offered_is_refused_in_a_sentence(tag):
    with pytest.raises(JobFileError, match="is not a language this program speaks; choose one of en") as refused:
        offered(tag)
    assert refused.value.slug == "unknown-language" and len(str(refused.value)) < 200


@pytest.mark.parametrize("tag", ["xx", "../../secrets"])
def test_there_is_no_catalogue_outside_the_folder(tag):
    with pytest.raises(JobFileError, match="no catalogue"):
        language(tag)


def test_the_command_refuses_an_unknown_language_before_anything_else(capsys, tmp_path):
    assert main(["survey", str(tmp_path), "--language", "xx"]) == 2
    out, err = capsys.readouterr()
    spoken = ", ".join(OFFERED)
    assert out == "" and err == f'"xx" is not a language this program speaks; choose one of {spoken}.\n'


@pytest.mark.parametrize(("command", "answer"), [("survey", "floor area"), ("check", "Nothing wrong")])
def test_a_job_in_a_language_that_is_not_offered_is_read_in_english_and_told_once(command, answer, capsys, on_disk,
                                                                                  box):
    assert main([command, str(on_disk({**box, "language": "tlh"}))]) == 0
    out, err = capsys.readouterr()
    assert answer in out and err.count("tlh") == 1 and "English is spoken instead" in err


def test_the_command_line_goes_before_the_job(capsys, on_disk, box):
    assert main(["--language", "en", "survey", str(on_disk({**box, "language": "tlh"}))]) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("tag", ["de", "pt-BR", "zh-Hans-CN"])
def test_a_job_may_name_any_language(tag, box):
    assert parse_job({**box, "language": tag}).language == tag


@pytest.mark.parametrize("tag", ["", "d", "../de", "de\n", 5, "a b"])
def test_a_job_names_a_language_by_its_tag(tag, box):
    with pytest.raises(JobFileError, match="language"):
        parse_job({**box, "language": tag})
