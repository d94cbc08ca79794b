"""What a page may ask with wrong values: an answer, or a refusal in a sentence, never a fault of this program.

Which kinds of values: OWASP, "Input Validation" (wrong types, empty, out of range, too long, control characters).
"""
from __future__ import annotations

import json

import pytest

from capture.errors import CaptureError
from desk.problem import JobFileError
from desk.server.http.body import Turned, number_in, places_in
from desk.server.http.guard import Guard
from desk.server.label import Unreadable, read_label
from desk.server.routes import REFUSALS, Desk, read_length
from tests.support.wrong_values import WRONG

ODD = (*WRONG, True, 10 ** 400, -5, ["x"], {"a": 1}, "\ud800", "\u202e1")


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("desk") / "job"
    made = Desk(folder, Guard(hosts=("127.0.0.1:1",), token="a-token"))
    made.keeper.open_or_start()
    _, revision = made.keeper.load()
    made.keeper.save({"title": "Closet (invented)", "floor": {"outline": [[0, 0], [1400, 0], [1400, 1200], [0, 1200]]},
                      "flooring": {"board": {"length": 1285, "width": 192}}}, revision=revision)
    yield made
    made.close()


@pytest.mark.parametrize("kind, key", [("row", "row"), ("row", "narrow"), ("day", "words"), ("closeups", "number"),
                                       ("preview", "flooring"), ("pack", "paper"), ("pack", "rulers"),
                                       ("typed", "x"), ("last", "x")])
def test_options_of_a_task(desk, kind, key):
    work = getattr(desk.session, kind)
    for value in ODD:
        if kind == "pack" and not value:
            continue  # the usual paper, and no rulers: a whole pack
        try:
            json.dumps(work({key: {"across": value} if key == "rulers" else value}), allow_nan=False)
        except REFUSALS as error:
            assert str(error)


def test_wishes_that_are_only_tried(desk):
    for key in ("board", "gap", "kerf", "rules", "direction", "start", "first_row", "stock", "nobody"):
        for value in ODD:
            try:
                json.dumps(desk.session.preview({"flooring": {key: value}}), allow_nan=False)
            except REFUSALS as error:
                assert str(error)


@pytest.mark.parametrize("key", ["show", "paper", "rulers", "names", "toured", "name", "format", "version", "nobody"])
def test_settings_take_what_they_are_for_and_nothing_else(desk, key, tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "settings.json"))
    for value in ODD:
        try:
            told = desk.keep_settings({key: value})
        except JobFileError as error:
            assert str(error)
            continue
        assert told["says"] == "" and json.dumps(told, allow_nan=False)


def test_numbers_and_places_of_a_picture():
    for value in ODD:
        if type(value) in (int, float) and abs(value) < 1e7:
            continue
        with pytest.raises(Turned):
            number_in({"x": value}, "x")
        with pytest.raises(Turned):
            places_in({"places": [{"x": 1, "y": 1}, {"x": value, "y": 1}]}, "places")
    for places in (*ODD, [{"x": 1, "y": 1}] * 2001):
        with pytest.raises(Turned):
            places_in({"places": places}, "places")


@pytest.mark.parametrize("text", [
    "1 x " * 500, "1/2 " * 500, "9" * 2000,
    "8 per " * 300, "pack : " * 280, "1,2,3," * 330, "length" + " " * 1990 + "1",
    "\u0661\u0662\u0663 x 1 x 2", "0/0 x 1/0 x 1", "1e999 x 2 x 3", "m\u00b2 " * 600, "\x00\x1b\u202e"])
def test_labels_made_to_be_slow_or_odd_are_asked_back(text):
    """Patterns that backtrack without end: OWASP, "Regular expression Denial of Service"."""
    with pytest.raises(Unreadable):
        read_label(text)


@pytest.mark.parametrize("text", ["1/0", "9" * 80, "1e400", "\u202e1", "nan", "inf", "1 m 1 m 1 m", "\x00"])
def test_lengths_made_to_be_odd_are_asked_back(text):
    told = read_length(text, show="metric")
    assert told["mm"] is None and told["says"]


def test_a_picture_that_is_not_there_is_refused(desk):
    for name in ("..", ".", "%2e%2e", "..\\job.json", "CON", "x" * 300, "a\x00b", "\ud800"):
        with pytest.raises((JobFileError, CaptureError)):
            desk.pictures.show(name, small=True)
        with pytest.raises((JobFileError, CaptureError)):
            desk.pictures.seen_in(desk.saved_job(), name)
