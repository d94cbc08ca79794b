"""Sentences with gaps: worded for the reader they meet, also after a way between processes and in threads."""
from __future__ import annotations

import contextvars
import pickle
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from capture.errors import CaptureError
from capture.language.messages import (
    ENGLISH, Language, Message, all_of, figure, gettext, lazy_gettext, lazy_ngettext, marked, ngettext, read_by, spoken,
    worded)
from capture.mishaps.errors import mishap_error
from capture.mishaps.facts import OneCorner


class Shouted:
    """A language that says everything in capitals, gaps apart."""

    def gettext(self, message: str, /) -> str:
        return "".join(part if k % 2 else part.upper() for k, part in enumerate(self._parts(message)))

    def ngettext(self, one: str, many: str, count: int, /) -> str:
        return self.gettext(one if count == 1 else many)

    @staticmethod
    def _parts(message: str) -> list[str]:
        return message.replace("{", "\0{").replace("}", "}\0").split("\0")


SHOUTED = Language(tag="xx", catalogue=Shouted(), decimal=",")


def test_english_is_the_sentence_itself():
    assert gettext("wall {a}-{b}", a="A", b="B") == "wall A-B"
    assert gettext('write {"size": 150.0}') == 'write {"size": 150.0}'


@given(st.floats(-1e6, 1e6), st.sampled_from([".0f", ".1f", ".2f", "g", ".3g"]))
def test_english_figures_are_those_of_format(value, spec):
    assert figure(value, spec) == gettext("{x:" + spec + "}", x=value) == format(value, spec)


def test_figures_take_the_decimal_mark_in_gaps_and_whole_numbers_stay():
    with read_by(SHOUTED):
        assert gettext("about {x:.1f} of {n}", x=12.25, n=3) == "ABOUT 12,2 OF 3"
        assert figure(1234.5, "g") == "1234,5"


@pytest.mark.parametrize(("count", "said"), [(0, "0 boards"), (1, "1 board"), (2, "2 boards")])
def test_so_many(count, said):
    assert ngettext("{count} board", "{count} boards", count) == said
    assert str(lazy_ngettext("{count} board", "{count} boards", count)) == said


def test_a_message_is_worded_where_it_is_read():
    message = lazy_gettext("corner {corner}", corner="A")
    assert str(message) == "corner A"
    with read_by(SHOUTED):
        assert str(message) == "CORNER A"
    assert str(message) == "corner A" and spoken() is ENGLISH


def test_messages_in_messages_are_worded_with_them():
    with read_by(SHOUTED):
        assert str(lazy_gettext("{start}; go on", start=lazy_gettext("stop"))) == "STOP; GO ON"


def test_a_message_goes_to_another_process_and_is_worded_there():
    message = pickle.loads(pickle.dumps(lazy_gettext("{what} is {x:.1f}", what=lazy_gettext("it"), x=2.5)))
    assert isinstance(message, Message)
    with read_by(SHOUTED):
        assert str(message) == "IT IS 2,5"


def test_an_error_is_worded_by_its_reader():
    """Raised in English, read in another language."""
    errors = [CaptureError("no-scale", lazy_gettext("no scale at {corner}", corner="A")),
              mishap_error(OneCorner(kept="A", dropped="B", away_mm=3.0))]
    assert [str(error)[:8] for error in errors] == ["no scale", "A and B "]
    with read_by(SHOUTED):
        assert [str(error)[:8] for error in errors] == ["NO SCALE", "A AND B "]


def test_two_readers_at_once_do_not_meet():
    """A thread that is given the context of who asked words in that language; another one does not."""
    message = lazy_gettext("row")
    with ThreadPoolExecutor(1) as pool:
        with read_by(SHOUTED):
            asked = pool.submit(contextvars.copy_context().run, str, message)
        assert asked.result() == "ROW"
        assert pool.submit(str, message).result() == "row"


def test_a_table_is_worded_when_it_is_read():
    table = {"a": marked("so {x}")}
    with read_by(SHOUTED):
        assert worded(table["a"], x="y") == "SO y"


def test_a_message_is_filled_later():
    assert str(lazy_gettext("{a} and {b}", a="A").filled(b="B")) == "A and B"


@pytest.mark.parametrize(("names", "said"), [(["A"], "A"), (["A", "B"], "A and B"), (["A", "B", "C"], "A and B and C")])
def test_names_one_after_the_other(names, said):
    assert str(all_of(names)) == said
