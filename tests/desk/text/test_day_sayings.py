"""The day in people's own words. The sentences are invented for this test, common speech, no source."""
from __future__ import annotations

import pytest

from desk.commands.day_parser import read_words
from desk.problem import JobFileError
from desk.text.day_events import HAPPENINGS
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, FirstRowWidth, OffcutGone, OffcutShort, PieceCut, RowBegun, RowDown)


@pytest.mark.parametrize(("words", "event"), [
    ("I broke a board", BoardsSpoiled(count=1)), ("I've ruined two planks.", BoardsSpoiled(count=2)),
    ("a board split", BoardsSpoiled(count=1)), ("3 planks are damaged", BoardsSpoiled(count=3)),
    ("broken board", BoardsSpoiled(count=1)), ("we dropped another board", BoardsSpoiled(count=1)),
    ("I finished row 4", RowDown(row=4)), ("laid row 12", RowDown(row=12)), ("row 4 is finished", RowDown(row=4)),
    ("started row 5", RowBegun(row=5)), ("I have just begun with row 5", RowBegun(row=5)),
    ("I cut piece 4.5 to 412 mm", PieceCut(piece="4.5", length_mm=412.0)),
    ("sawed 4.5 to 41.2 cm", PieceCut(piece="4.5", length_mm=412.0)),
    ("4.5 is 412 mm", PieceCut(piece="4.5", length_mm=412.0)),
    ("I lost offcut 7.4", OffcutGone(label="7.4")), ("can't find 7R", OffcutGone(label="7R")),
    ("7.4 is missing", OffcutGone(label="7.4")), ("7.4 is too short", OffcutShort(label="7.4")),
    ("offcut 7R doesn't reach", OffcutShort(label="7R")), ("I have only 7 boards left", BoardsLeft(count=7)),
    ("there are seven planks left", BoardsLeft(count=7)), ("no more boards", BoardsLeft(count=0)),
    ("I ran out of boards", BoardsLeft(count=0)), ("make the first row 130 mm wide", FirstRowWidth(width_mm=130.0)),
    ("take that back", 0)])
def test_words_as_they_come(words, event):
    assert read_words(words.split(), show="metric") == event


@pytest.mark.parametrize(("words", "asked"), [
    ("the wall is closer", "How far is the wall now?"), ("wall is not straight", "How far is the wall now?"),
    ("the room is a bit narrower than planned", "How far is the wall now?"),
    ("I cut it too short", "Which piece"), ("cut a board wrong", "Which piece"), ("I lost an offcut", "Which offcut?"),
    ("the offcut is too short", "offcut 7.4 too short"), ("there is a pipe", "Where is it, and how thick?"),
    ("a pipe nobody told me of", "Where is it")])
def test_what_lacks_a_number_is_asked_for_it(words, asked):
    with pytest.raises(JobFileError) as refusal:
        read_words(words.split(), show="metric")
    assert refusal.value.slug == "unknown-words" and asked in str(refusal.value)
    assert "is not understood" not in str(refusal.value)


def test_every_saying_stands_for_a_sentence_of_its_own_entry():
    """Whatever its parts are, the sentence a saying stands for is one of the same event."""
    parts = {"row": "4", "count": "2", "piece": "4.5", "length": "412 mm", "label": "7.4", "width": "130 mm"}
    for each in HAPPENINGS:
        for _, sentence in each.sayings:
            event = read_words(sentence.format_map(parts).split(), show="metric")
            assert (type(event) is each.kind) if each.kind else event == 0, sentence
