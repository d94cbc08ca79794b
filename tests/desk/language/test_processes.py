"""What other processes say arrives in the language of who asked."""
from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from capture.errors import CaptureError
from capture.language.messages import ENGLISH, gettext, lazy_gettext, read_by
from desk.actions.look import look_in_bytes
from desk.batch.engine import Asked
from desk.batch.many import Ended, plan_many
from desk.batch.parcel import read_parcel
from desk.limited_pool import LimitedPool, Limits
from desk.problem import JobFileError
from desk.server.decoding import Decoding
from desk.server.plan_process import Planning
from layout.errors import LayoutError
from tests.desk.language.conftest import OPEN


def said() -> str:
    """A sentence worded where the work is done."""
    return gettext("wall {a}-{b}", a="A", b="B")


def refuse() -> None:
    """Work that ends as a room of ours ends it."""
    raise LayoutError("needle", lazy_gettext("No wood to spare in {pieces}. Longer? “{page}”.", pieces=1, page=2))


def test_a_language_goes_to_another_process_and_english_stays_the_one_it_is(bracketed):
    assert pickle.loads(pickle.dumps(ENGLISH)) is ENGLISH
    there = pickle.loads(pickle.dumps(bracketed))
    assert (there.tag, there.decimal, there.thousands) == ("de", ",", ".")
    with read_by(there):
        assert gettext("too large") == "⟦too large⟧"
    assert pickle.loads(pickle.dumps(bracketed)).catalogue is there.catalogue, "read once"


def test_a_process_of_the_pool_speaks_the_language_of_who_asked(bracketed):
    pool = LimitedPool(1, Limits(seconds=120.0))
    try:
        english = pool.submit(said).result()
        with read_by(bracketed):
            asked = pool.submit(gettext, "too large")
        assert (english, asked.result(), pool.submit(gettext, "too large").result()) == (
            "wall A-B", "⟦too large⟧", "too large")
    finally:
        pool.close()


def test_what_a_plan_is_refused_for_is_worded_by_who_reads_it(bracketed):
    planning = Planning()
    try:
        with pytest.raises(LayoutError) as refused:
            planning.run(refuse)
        assert str(refused.value).startswith("No wood")
        with read_by(bracketed):
            assert str(refused.value).startswith(f"{OPEN}No wood")
            assert planning.run(gettext, "too large") == "⟦too large⟧"
    finally:
        planning.close()


def test_a_picture_that_cannot_be_read_is_told_in_the_language_of_who_asked(tmp_path, bracketed):
    decoding = Decoding(tmp_path)
    try:
        with read_by(bracketed), pytest.raises((CaptureError, JobFileError)) as refused:
            decoding.tell(b"no picture", "a.jpg")
        with read_by(bracketed):
            assert str(refused.value).startswith(OPEN)
    finally:
        decoding.close()


def test_what_is_seen_in_no_picture_is_told_in_the_readers_language(bracketed):
    with read_by(bracketed), pytest.raises(CaptureError) as refused:
        look_in_bytes(b"no picture", "a.jpg")
    with read_by(bracketed):
        assert str(refused.value).startswith(OPEN)


def test_many_jobs_are_told_of_in_the_language_of_who_asked(tmp_path, bracketed):
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "job.json").write_text('{"outline": 5}')
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / "job.json").write_text("{}")
    with read_by(bracketed):
        ended = [event.outcome for event in plan_many(Asked(folder=tmp_path), processes=1) if isinstance(event, Ended)]
    assert {outcome.name for outcome in ended} == {"broken", "empty"}
    assert all(words.startswith(OPEN) for outcome in ended for words in outcome.says)


def test_a_job_planned_for_another_reader_is_told_of_anew(tmp_path, box, on_disk, bracketed):
    """What is kept of a job is worded: a reader of another language has another digest."""
    place: Path = on_disk(box)
    english = read_parcel(place, place.parent, "usual")
    with read_by(bracketed):
        theirs = read_parcel(place, place.parent, "usual")
    assert english.digest != theirs.digest and english.reader is ENGLISH and theirs.reader is bracketed
