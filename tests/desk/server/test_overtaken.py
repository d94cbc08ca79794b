"""A survey that nobody waits for any more: it is heard at every step, says that it searches widely, and ends where its
listener says so. What is kept and read on the page's behalf, by its routes."""
from __future__ import annotations

import json

import numpy as np
import pytest

from capture.progress import heard_by
from desk.actions.pipeline import solve_job
from desk.jobfile.parse import parse_job
from desk.problem import JobFileError
from desk.server.http.guard import Guard
from desk.server.routes import Desk


class Enough(Exception):
    """What the listener raises."""


def test_a_survey_that_fits_nowhere_is_ended_in_the_midst_of_its_wide_search(in_photos):
    """Marks anywhere: no floor fits them."""
    tree, rng = json.loads(json.dumps(in_photos)), np.random.default_rng(3)
    for mark in (mark for photo in tree["photos"] for mark in photo["marks"]):
        mark |= {"x": float(rng.uniform(50, 1400)), "y": float(rng.uniform(50, 1000))}
    heard = []

    def hear(doing):
        heard.append(doing)
        if "wide-search" in heard and len(heard) > heard.index("wide-search") + 3:
            raise Enough
    with heard_by(hear), pytest.raises(Enough):
        solve_job(parse_job(tree), {})
    assert heard.index("wide-search") > 1


def test_whoever_listens_may_end_a_solve_at_any_step(in_photos):
    tree = in_photos | {"tape": [in_photos["tape"][0] | {"sd": 2.75}, *in_photos["tape"][1:]]}
    heard = []

    def hear(doing):
        heard.append(doing)
        if len(heard) == 5:
            raise Enough
    with heard_by(hear), pytest.raises(Enough):
        solve_job(parse_job(tree), {})
    assert len(heard) == 5


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "machine.json"))
    made = Desk(tmp_path / "job", Guard(hosts=("127.0.0.1:1",), token="a-token"))
    made.keeper.open_or_start()
    yield made
    made.close()


def test_the_page_is_told_what_the_machine_keeps(desk, tmp_path):
    assert desk.open_job()["settings"]["says"] == ""
    told = desk.keep_settings({"paper": "a3", "rulers": {"show": "metric", "across": 179.4, "down": 239.5}})
    assert told["measured"] == "179.4 mm and 239.5 mm" and desk.open_job()["settings"] == told
    with pytest.raises(JobFileError):
        desk.keep_settings({"paper": "papyrus"})
    (tmp_path / "machine.json").write_text("{")
    assert "cannot be used" in desk.open_job()["settings"]["says"]


def test_a_label_is_read_for_the_page(desk):
    assert desk.read_label("1285 x 192 x 8 mm, 8 per pack", show="metric")["board"] == {
        "length": 1285.0, "width": 192.0, "thickness": 8.0, "pack": 8}
    asked = desk.read_label("class 32", show="metric")
    assert asked["board"] is None and "No board's size" in asked["says"]
