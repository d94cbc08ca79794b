"""A kept plan holds facts: another unit words it anew and solves nothing; one kept when sentences were still kept is
read without them.

Outside the project: 25.4 mm are an inch (international yard and pound agreement of 1959), so a length in the other unit
is the same to half a sixteenth.
"""
from __future__ import annotations

import datetime
import json
import re
from html import unescape
from pathlib import Path

import pytest

import capture.solve
import layout.planning.planner
from desk.actions.kept_plan import with_plan
from desk.actions.pipeline import plan_job, plan_text, planned_job, survey_job
from desk.convert import survey_doubts, to_pack_job
from desk.jobfile.files import parse_job
from desk.text.page_view import show_plan
from desk.text.reports import say_plan
from layout.facts.notes import OfADoor
from printpack.booklet.booklet import booklet_sheets
from printpack.booklet.phone import phone_page
from printpack.paper import A4
from tests.support.looks import texts

DAY = datetime.date(2026, 3, 5)
OTHER = {"metric": "imperial", "imperial": "metric"}
#: What is told in mm in either unit: film by its thickness, a rule as its source tells it.
SIZES_OF_THEIR_OWN = r"\(?0\.2 mm\)?|1\.5 mm (?:for each|a) met(?:re|er)|8 mil"
INCHES, MM = r'\d"', r"\d\s?mm\b"


def kept_in(show: str, box: dict) -> dict:
    """A room by tape whose lengths disagree, with rules too tight and a gap left open, its plan kept in that unit."""
    tree = box | {"show": show, "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8},
                                             "gap": "auto", "longest": 2000, "first_row": 40,
                                             "stock": [{"length": 640, "keeps": ["left"]}]}}
    tree["tape"] = [{key: value for key, value in entry.items() if key != "typed"} for entry in tree["tape"]]
    tree["tape"][0]["mm"] += 12
    job = parse_job(tree)
    survey = survey_job(job, {})
    plan = plan_job(job, survey, effort="preview")
    assert survey_doubts(survey) and plan.relaxed and plan.notes and plan.profiles
    return with_plan(job, survey, plan, on=DAY).tree()


@pytest.fixture
def no_solver(monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("solved or planned although only the unit is another")
    monkeypatch.setattr(capture.solve, "solve_floor", refuse)
    monkeypatch.setattr(layout.planning.planner, "plan_floor", refuse)


@pytest.fixture(params=OTHER)
def kept(request, box):
    return request.param, kept_in(request.param, box)


def all_texts(value) -> list[str]:
    if isinstance(value, dict):
        return [text for inner in value.values() for text in all_texts(inner)]
    if isinstance(value, list):
        return [text for inner in value for text in all_texts(inner)]
    return [value] if isinstance(value, str) else []


def everything_said(tree: dict) -> str:
    """Terminal, page, JSON, booklet and phone of a job with its kept plan."""
    job = parse_job(tree)
    survey, plan, found = planned_job(job, {})
    assert found.is_current
    pack = to_pack_job(job, survey, plan, date=DAY)
    said = [say_plan(plan, job, survey_doubts(survey)), *all_texts(show_plan(plan, survey.floor, job.show)),
            *(text.text for sheet in booklet_sheets(pack, A4, {}) for text in texts(sheet)),
            re.sub(r"(?s)<style>.*?</style>|<script>.*?</script>|<svg.*?</svg>|<[^>]*>", " ", phone_page(pack, {}))]
    answer = json.loads(plan_text(plan, survey, job))
    said += [*answer["says"], *answer["warnings"], *answer["survey"]["doubts"], answer["survey"]["verdict"]]
    return re.sub(SIZES_OF_THEIR_OWN, "", unescape(" ".join(said)).replace("\u00a0", " "))


def test_a_plan_kept_in_one_unit_is_told_in_the_other_and_solves_nothing(kept, no_solver):
    show, tree = kept
    own, other = (everything_said(tree | {"show": unit}) for unit in (show, OTHER[show]))
    mine, theirs = (INCHES, MM) if show == "imperial" else (MM, INCHES)
    assert len(re.findall(mine, own)) > 100 and len(re.findall(theirs, other)) > 100
    assert not re.findall(f".{{0,40}}{theirs}", own) and not re.findall(f".{{0,40}}{mine}", other)


def test_nothing_kept_is_a_sentence(kept):
    """No text in it is longer than a name: sentences of the old kind were some 40 to 400 letters long."""
    plan = kept[1]["plan"]
    found = {text for key in plan.keys() - {"digests"} for text in all_texts(plan[key])}
    assert max(map(len, found)) <= 30 and not [text for text in found if text.endswith((".", ":"))]


def test_a_plan_kept_with_sentences_is_read_without_them():
    """Stored by the version before: its survey and its plan held sentences in inches."""
    tree = json.loads((Path(__file__).parents[2] / "data/jobs/v1/kept-sentences.json").read_text())
    assert tree["plan"]["says"] and '5/8"' in " ".join(tree["plan"]["kept"]["warnings"])
    said = everything_said(tree | {"show": "metric"})
    assert not re.findall(INCHES, said)
    survey, plan, found = planned_job(parse_job(tree), {})
    fresh = plan_job(parse_job(tree), survey)
    # A plan made today may lie the other way, which changes neither the doors nor what kinds of things are bought.
    assert found.is_current and [note for note in plan.notes if isinstance(note, OfADoor)] == [
        note for note in fresh.notes if isinstance(note, OfADoor)]
    assert [item.purchase.slug for item in plan.shopping] == [item.purchase.slug for item in fresh.shopping]
    assert [note.slug for note in plan.notes] == ["doorway-laid", "casing-undercut", "loose-survey"]
    assert len(survey.suspects) == len(tree["plan"]["kept"]["suspects"])
    assert {"another-floor", "disagreement", "no-left-or-right"} == {note.slug for note in survey.notes}


def test_a_corner_may_be_called_anything(box):
    """A name with blanks and a dash in it: the start wall and the direction are still known."""
    corners = dict(zip(box["outline"], ("by door", "C-D", *box["outline"][2:])))
    named = json.loads(re.sub(r'"([A-Z]\d?)"', lambda name: json.dumps(corners.get(name[1], name[1])), json.dumps(box)))
    job = parse_job(named | {"flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8},
                                          "start": ["by door", "C-D"]}})
    survey = survey_job(job, {})
    shown = show_plan(plan_job(job, survey, effort="preview"), survey.floor, "metric")
    assert shown["way"]["start"] == ["by door", "C-D"] and shown["wall"]
    assert set(shown["way"]["direction"]) <= set(named["outline"])
