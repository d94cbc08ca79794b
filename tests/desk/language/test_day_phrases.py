"""What a fitter says of the day in other languages: every event can be said, and what is shown is understood. The
sentences are invented for this test, from memory, no source."""
from __future__ import annotations

import re
from pathlib import Path
from string import Formatter

import pytest

from capture.language.messages import ENGLISH, Language, read_by
from desk.commands.day_parser import read_words
from desk.jobfile.day_entries import DayEntry
from desk.language.catalogues import folder_of_catalogues
from desk.language.missing import read_catalogue
from desk.problem import JobFileError
from desk.text.day_events import ASKS, HAPPENINGS, phrases
from desk.language.day_log import english_of, entry_said
from desk.language.day_phrases import english_sentences, phrases_of, shown
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort, PieceCut,
    PlaceMeasured, RowBegun, RowDown, Sight, ToFarWall)

LANGUAGES = ("de", "fr", "es", "nl")


def spoken_in(tag: str) -> Language:
    """A language by its tag, without a catalogue: its sentences stay English."""
    return Language(tag=tag, catalogue=ENGLISH.catalogue, decimal=",")


WALL = ToFarWall(row=4, sights=(Sight(distance_mm=1803.0, side="left"), Sight(distance_mm=1799.5, side="right")))
START = ToFarWall(row=0, sights=(Sight(distance_mm=3196.0, at_mm=350.0),))
PIPE = Obstacle(name="N1", row=5, left_mm=1204.0, ahead_mm=356.0, diameter_mm=22.0)
BOX = Obstacle(name="N1", row=0, left_mm=1204.0, ahead_mm=356.0, size_mm=(300.0, 200.0))
FOUND = OffcutFound(label="F1", length_mm=640.0, keeps=("left",))
PIECE = PieceCut(piece="4.5", length_mm=412.5)

SAID = {
    "de": [("Reihe 4 fertig", RowDown(row=4)), ("Ich habe Reihe 4 verlegt.", RowDown(row=4)),
           ("Reihen 2 bis 6 sind fertig!", RowDown(row=6)), ("reihe 5 begonnen", RowBegun(row=5)),
           ("Reihe 4 zur Wand links 1803 mm, rechts 1799,5 mm", WALL),
           ("Startwand zur Wand bei 350 mm ist 3196 mm", START),
           ("Stück 4.5 ist 412,5 mm lang", PIECE), ("4,5 wurde 41,25 cm", PIECE),
           ("der Platz ist 1306 mm", PlaceMeasured(length_mm=1306.0)),
           ("Platz für Stück 4.5 misst 1306 mm", PlaceMeasured(piece="4.5", length_mm=1306.0)),
           ("Diele kaputt", BoardsSpoiled(count=1)), ("zwei Dielen sind zerbrochen", BoardsSpoiled(count=2)),
           ("Reststück 7.4 weg", OffcutGone(label="7.4")), ("Rest 7R zu kurz", OffcutShort(label="7R")),
           ("640 mm gefunden links", FOUND), ("nur noch 7 Dielen", BoardsLeft(count=7)),
           ("keine Dielen mehr", BoardsLeft(count=0)), ("Rohr 22 mm links 1204 mm Reihe 5 voraus 356 mm", PIPE),
           ("Kasten 300 mm mal 200 mm links 1204 mm Startwand voraus 356 mm", BOX),
           ("erste Reihe 130 mm breit", FirstRowWidth(width_mm=130.0)),
           ("4 mm zur Startwand geschoben", FloorPushed(towards_start_mm=4.0)),
           ("Boden 4 mm von der Startwand weg gerückt", FloorPushed(towards_start_mm=-4.0)),
           ("zurücknehmen", 0), ("Zurucknehmen 3", 3)],
    "fr": [("rangée 4 finie", RowDown(row=4)), ("J’ai posé la rangee 4", RowDown(row=4)),
           ("les rangées 2 à 6 sont posées", RowDown(row=6)), ("rangée 5 commencée", RowBegun(row=5)),
           ("rangée 4 au mur gauche 1803 mm, droite 1799,5 mm", WALL),
           ("mur de départ au mur à 350 mm est 3196 mm", START),
           ("morceau 4.5 mesure 412,5 mm", PIECE), ("la place mesure 1306 mm", PlaceMeasured(length_mm=1306.0)),
           ("la place du morceau 4.5 fait 1306 mm", PlaceMeasured(piece="4.5", length_mm=1306.0)),
           ("lame abîmée", BoardsSpoiled(count=1)), ("j'ai cassé deux lames", BoardsSpoiled(count=2)),
           ("chute 7.4 perdue", OffcutGone(label="7.4")), ("la chute 7R est trop courte", OffcutShort(label="7R")),
           ("trouvé 640 mm bout gauche", FOUND), ("il reste 7 lames", BoardsLeft(count=7)),
           ("plus de lames", BoardsLeft(count=0)), ("tuyau 22 mm à gauche 1204 mm rangée 5 devant 356 mm", PIPE),
           ("coffre 300 mm sur 200 mm à gauche 1204 mm mur de départ devant 356 mm", BOX),
           ("première rangée 130 mm", FirstRowWidth(width_mm=130.0)),
           ("poussé 4 mm vers le mur de départ", FloorPushed(towards_start_mm=4.0)),
           ("poussé 4 mm vers le mur opposé", FloorPushed(towards_start_mm=-4.0)), ("annuler", 0), ("annuler 3", 3)],
    "es": [("hilera 4 lista", RowDown(row=4)), ("he puesto la fila 4", RowDown(row=4)),
           ("las hileras 2 a 6 están listas", RowDown(row=6)), ("hilera 5 empezada", RowBegun(row=5)),
           ("hilera 4 a pared izquierda 1803 mm, derecha 1799,5 mm", WALL),
           ("pared de inicio a pared a 350 mm mide 3196 mm", START), ("pieza 4.5 mide 412,5 mm", PIECE),
           ("el hueco mide 1306 mm", PlaceMeasured(length_mm=1306.0)),
           ("hueco 4.5 mide 1306 mm", PlaceMeasured(piece="4.5", length_mm=1306.0)),
           ("tabla estropeada", BoardsSpoiled(count=1)), ("he roto dos tablas", BoardsSpoiled(count=2)),
           ("recorte 7.4 perdido", OffcutGone(label="7.4")), ("el recorte 7R es muy corto", OffcutShort(label="7R")),
           ("encontrado 640 mm izquierda", FOUND), ("solo quedan 7 tablas", BoardsLeft(count=7)),
           ("no quedan tablas", BoardsLeft(count=0)), ("tubo 22 mm izquierda 1204 mm hilera 5 delante 356 mm", PIPE),
           ("cajón 300 mm por 200 mm izquierda 1204 mm pared de inicio delante 356 mm", BOX),
           ("primera hilera 130 mm", FirstRowWidth(width_mm=130.0)),
           ("empujado 4 mm hacia la pared de inicio", FloorPushed(towards_start_mm=4.0)),
           ("empujado 4 mm hacia la pared opuesta", FloorPushed(towards_start_mm=-4.0)), ("deshacer", 0),
           ("deshacer 3", 3)],
    "nl": [("rij 4 klaar", RowDown(row=4)), ("ik heb rij 4 gelegd", RowDown(row=4)),
           ("rijen 2 tot 6 zijn klaar", RowDown(row=6)), ("rij 5 begonnen", RowBegun(row=5)),
           ("rij 4 tot muur links 1803 mm, rechts 1799,5 mm", WALL), ("startmuur tot muur op 350 mm is 3196 mm", START),
           ("stuk 4.5 is 412,5 mm lang", PIECE), ("de plaats is 1306 mm", PlaceMeasured(length_mm=1306.0)),
           ("plaats voor stuk 4.5 is 1306 mm", PlaceMeasured(piece="4.5", length_mm=1306.0)),
           ("plank kapot", BoardsSpoiled(count=1)), ("twee planken zijn gebroken", BoardsSpoiled(count=2)),
           ("reststuk 7.4 kwijt", OffcutGone(label="7.4")), ("reststuk 7R is te kort", OffcutShort(label="7R")),
           ("640 mm gevonden links", FOUND), ("nog maar 7 planken over", BoardsLeft(count=7)),
           ("geen planken meer", BoardsLeft(count=0)), ("buis 22 mm links 1204 mm rij 5 vooruit 356 mm", PIPE),
           ("koker 300 mm bij 200 mm links 1204 mm startmuur vooruit 356 mm", BOX),
           ("eerste rij 130 mm breed", FirstRowWidth(width_mm=130.0)),
           ("4 mm naar de startmuur geschoven", FloorPushed(towards_start_mm=4.0)),
           ("vloer 4 mm naar de overliggende muur geschoven", FloorPushed(towards_start_mm=-4.0)),
           ("terugnemen", 0), ("terugnemen 3", 3)],
}


@pytest.mark.parametrize(("tag", "words", "event"), [(tag, *one) for tag, said in SAID.items() for one in said])
def test_words_of_the_language_shown(tag, words, event):
    with read_by(spoken_in(tag)):
        assert read_words(words.split(), show="metric") == event


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_event_is_said_in_this_test(tag):
    kinds = {type(event) if not isinstance(event, int) else None for _, event in SAID[tag]}
    assert kinds == {each.kind for each in HAPPENINGS}


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("phrase", phrases())
def test_what_is_shown_is_in_the_language_and_understood_as_the_english_is(tag, phrase):
    english = read_words(phrase.split(), show="metric")
    with read_by(spoken_in(tag)):
        own = shown(phrase)
        assert own != phrase and not re.search(r"[\[\](){}|]", own)
        assert read_words(own.split(), show="metric") == english


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("phrase", phrases())
def test_english_is_always_understood(tag, phrase):
    english = read_words(phrase.split(), show="metric")
    with read_by(spoken_in(tag)):
        assert read_words(phrase.split(), show="metric") == english


@pytest.mark.parametrize("tag", LANGUAGES)
def test_a_table_has_every_english_sentence_and_its_gaps(tag):
    """Each phrase that is shown has the gaps of its English sentence, and every table the same sentences."""
    table, first = phrases_of(tag), phrases_of("de")
    assert table is not None and first is not None
    assert {phrase.english for phrase in table.says} == {phrase.english for phrase in first.says}
    assert set(table.asks) == set(ASKS) and all(table.asks.values())
    for phrase in table.says:
        gaps = {name for _, name, _, _ in Formatter().parse(phrase.english) if name}
        assert set(phrase.pattern.groupindex) == gaps, phrase.written


@pytest.mark.parametrize(("tag", "words", "asked"), [
    ("de", "Die Wand ist näher", "How far is the wall now?"), ("de", "Ich habe es zu kurz gesägt", "Which piece"),
    ("de", "Rest weg", "Which offcut?"), ("de", "das Reststück ist zu kurz", "7.4 too short"),
    ("de", "da ist ein Rohr", "Where is it"), ("fr", "le mur est plus près", "How far is the wall now?"),
    ("fr", "j'ai perdu une chute", "Which offcut?"), ("es", "la pared está más cerca", "How far is the wall now?"),
    ("es", "hay un tubo", "Where is it"), ("nl", "de muur is dichterbij", "How far is the wall now?"),
    ("nl", "ik heb een plank verkeerd gezaagd", "Which piece")])
def test_what_lacks_a_number_is_asked_for_it(tag, words, asked):
    with read_by(spoken_in(tag)), pytest.raises(JobFileError) as refusal:
        read_words(words.split(), show="metric")
    assert refusal.value.slug == "unknown-words" and asked in str(refusal.value)


@pytest.mark.parametrize(("tag", "words", "like", "unlike"), [
    ("de", "Reihe vier", "Reihe 4 fertig", "Diele kaputt"), ("fr", "chute quelconque", "chute 7.4 perdue", "lame"),
    ("es", "tabla rara", "tabla estropeada", "hilera"), ("nl", "rij vier", "rij 4 klaar", "plank"),
    ("de", "hallo", "Diele kaputt", "row 4 done")])
def test_what_is_not_understood_is_answered_with_what_is_in_the_language(tag, words, like, unlike):
    with read_by(spoken_in(tag)), pytest.raises(JobFileError) as refusal:
        read_words(words.split(), show="metric")
    assert like in str(refusal.value) and unlike not in str(refusal.value)


def test_the_phrase_with_the_most_words_of_its_own_counts():
    """"4.5 ist zu kurz" would do for a piece that "is" so long, were the offcut's own words not more."""
    with read_by(spoken_in("de")):
        assert english_sentences("7.4 ist zu kurz") == ("offcut 7.4 too short",)


def test_what_two_phrases_say_alike_is_told(monkeypatch):
    monkeypatch.setattr("desk.commands.day_parser.english_sentences", lambda said: ("row 4 done", "row 4 begun"))
    with read_by(spoken_in("de")), pytest.raises(JobFileError, match="in two ways") as refusal:
        read_words(["Reihe", "4"], show="metric")
    assert "Reihe 4 fertig" in str(refusal.value) and "Reihe 4 begonnen" in str(refusal.value)


def test_an_unknown_language_has_no_phrases():
    assert phrases_of("xx") is None and phrases_of("../de") is None
    with read_by(spoken_in("xx")):
        assert shown("row 4 done") == "row 4 done" and read_words(["row", "4", "done"], show="metric") == RowDown(row=4)


QUOTED = re.compile(r"[“„«‘]\s*([^“”„«»’]+?)\s*[”“»’]")
EXAMPLE = {"row": 4, "piece": "4.5", "label": "7.4", "long": "412 mm", "mm": 4.0, "first": "4.5"}


def understood(phrase: str) -> bool:
    """Whether a quoted phrase, its gaps filled, is a sentence of the day."""
    try:
        read_words(phrase.format_map(EXAMPLE).split(), show="metric")
    except (JobFileError, KeyError):
        return False
    return True


@pytest.mark.parametrize("tag", LANGUAGES)
def test_what_a_translation_tells_to_say_is_understood(tag):
    """A sentence that quotes something to say quotes in its translation something that is understood."""
    path = Path(str(folder_of_catalogues())) / f"{tag}.po"
    for message in read_catalogue(path, tag):
        english, said = message.id, message.string
        if not isinstance(english, str) or not isinstance(said, str) or not said:
            continue
        phrases_told = QUOTED.findall(english)
        if not phrases_told or not all(map(understood, phrases_told)):
            continue
        with read_by(spoken_in(tag)):
            assert [phrase for phrase in QUOTED.findall(said) if not understood(phrase)] == [], said


LOGGED = (WALL, START, PIPE, BOX, PIECE, RowDown(row=4), RowBegun(row=12), PlaceMeasured(length_mm=1306.5),
          PlaceMeasured(piece="4.5", length_mm=306.0), BoardsSpoiled(count=1), BoardsSpoiled(count=12),
          OffcutGone(label="7.4"), OffcutShort(label="F2"), FirstRowWidth(width_mm=87.5), BoardsLeft(count=0),
          BoardsLeft(count=1), BoardsLeft(count=7), FloorPushed(towards_start_mm=2.5),
          FloorPushed(towards_start_mm=-4.0), OffcutFound(label="F1", length_mm=640.0, keeps=("left", "right")), FOUND)


@pytest.mark.parametrize("tag", ["en", *LANGUAGES])
@pytest.mark.parametrize("event", LOGGED, ids=lambda event: type(event).__name__)
def test_what_the_log_shows_of_an_event_tells_that_event_in_the_readers_language(tag, event):
    """Whatever was typed, and in whichever language: the log's words are read back, and mean the same."""
    with read_by(ENGLISH if tag == "en" else spoken_in(tag)):
        told = entry_said(DayEntry(event=event, said="typed by somebody else"), "metric", {})
        assert read_words([told], show="metric") == event
    assert (told == english_of(event, lambda mm: f"{mm:g} mm", {})) == (tag == "en")


@pytest.mark.parametrize("tag", ["en", *LANGUAGES])
def test_the_log_in_feet_and_inches_is_read_back_to_a_sixteenth(tag):
    with read_by(ENGLISH if tag == "en" else spoken_in(tag)):
        told = entry_said(DayEntry(event=PIECE), "imperial", {})
        assert read_words([told], show="imperial").length_mm == pytest.approx(PIECE.length_mm, abs=25.4 / 32)


def test_the_log_names_an_offcut_as_it_is_pencilled_and_shows_what_no_sentence_tells():
    with read_by(spoken_in("de")):
        assert entry_said(DayEntry(event=OffcutGone(label="3R")), "metric", {"3R": "7.4"}) == "Reststück 7.4 weg"
        assert entry_said(DayEntry(event=None, undoes=3), "metric", {}) == "Eintrag 3 zurücknehmen"
        unsaid = OffcutFound(label="F1", length_mm=640.0, keeps=())
        assert entry_said(DayEntry(event=unsaid, said="found it"), "metric", {}) == "found it"
