"""The glossaries: whole, each word with how sure it is, and sentences held to them."""
from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest
from babel import Locale
from babel.messages.catalog import Catalog

from capture.language.messages import read_by
from desk.language.catalogues import read_language
from desk.language.extraction import template
from desk.language.glossary import glossary, strays
from desk.language.missing import read_catalogue
from layout.words.terms import in_terms

LANGUAGES = ("de", "fr", "es", "nl")
CATALOGUES = Path(str(resources.files("capture.language"))) / "catalogues"


@pytest.mark.parametrize("tag", LANGUAGES)
def test_a_glossary_has_every_term_and_no_other(tag):
    assert set(glossary(tag)) == set(glossary("en"))


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_word_says_how_sure_it_is(tag):
    """A standard by its number and the words of its title, or from memory."""
    for slug, term in glossary(tag).items():
        assert term.word == term.word.strip() != "", slug
        assert term.sure == "from memory" or (", title: " in term.sure and "EN " in term.sure), slug


@pytest.mark.parametrize("tag", LANGUAGES)
def test_no_word_stands_for_two_terms(tag):
    words = [term.word.casefold() for term in glossary(tag).values()]
    assert sorted(word for word in set(words) if words.count(word) > 1) == []


@pytest.mark.parametrize("tag", LANGUAGES)
def test_words_are_written_in_letters_of_their_language(tag):
    """CLDR's exemplar letters, main and auxiliary, as Babel does not carry them: Latin letters and the accents below,
    from memory."""
    accents = {"de": "äöüß", "fr": "àâçéèêëîïôùûüœ", "es": "áéíóúñü", "nl": "éèëïöü"}[tag]
    assert Locale.parse(tag).language == tag
    strange = {letter for term in glossary(tag).values() for letter in term.word.casefold()
               if letter.isalpha() and not (letter.isascii() or letter in accents)}
    assert strange == set()


def test_the_american_words_differ_from_the_british_ones():
    """Skirting and baseboard, mitre and miter: common practice, from memory."""
    english = glossary("en")
    assert english["skirting"].us == "baseboard" and english["mitre"].us == "miter"
    assert all(term.us != term.word for term in english.values())


@pytest.mark.parametrize("slug", ["skirting", "beading", "mitre", "threshold-profile", "expansion-profile",
                                  "polythene-film", "dust-mask"])
def test_sentences_for_americans_use_the_american_words_of_the_glossary(slug):
    term = glossary("en")[slug]
    assert in_terms(f"The {term.word} comes last.", "imperial") == f"The {term.us} comes last."
    assert in_terms(f"The {term.word} comes last.", "metric") == f"The {term.word} comes last."


def test_words_of_other_languages_are_left_alone_in_feet_and_inches():
    with read_by(read_language("de", b'msgid ""\nmsgstr "Language: de\\n"\n', cache=None)):
        assert in_terms("Die Leiste, mitre.", "imperial") == "Die Leiste, mitre."


def test_gaps_and_names_of_files_are_no_terms():
    made = Catalog(locale="de")
    made.add("{boards}, in templates/ and templates.pdf", "{boards}, in templates/ und templates.pdf")
    assert list(strays(made, "de")) == []


def test_a_sentence_that_leaves_the_glossary_is_found():
    made = Catalog(locale="de")
    made.add("The skirting covers the offcuts.", "Die Sockelleiste deckt die Reststücke ab.")
    made.add("The skirting is off.", "Die Leiste ist ab.")
    made.add("The walls of the rooms.", "Die Wände der Räume.")
    found = list(strays(made, "de"))
    assert [(stray.sentence, stray.term) for stray in found] == [("The skirting is off.", "skirting")]


def test_catalogues_keep_to_the_glossary():
    """Those that are offered, and those that are begun."""
    assert {path: found for path in sorted(CATALOGUES.glob("*.po"))
            if (found := list(strays(read_catalogue(path, path.stem), path.stem)))} == {}


def test_the_program_uses_the_glossary_at_all():
    """Of the terms that are one plain word, most stand in some sentence; a glossary of other words would be none."""
    said = " ".join(str(message.id) for message in template()).casefold()
    assert sum(term.word.casefold() in said for term in glossary("en").values()) > 60
