"""What terminal, paper and phone say in a made-up language whose every sentence is bracketed: nothing stands outside
brackets but names and figures."""
from __future__ import annotations

import datetime
import html
import json
import re
from dataclasses import replace

import pytest

from capture.language.messages import read_by
from desk.actions.pipeline import plan_job, printable, survey_job
from desk.convert import survey_doubts, to_room
from desk.jobfile.parse import parse_job
from desk.text.reports import say_check, say_plan, say_survey
from layout.judge.check import find_faults
from layout.words.lengths import Lengths
from printpack.booklet.booklet import booklet_sheets
from printpack.booklet.phone import phone_page
from printpack.drawing.sheet import Text
from printpack.fullsize.target_sheets import target_sheets
from printpack.fullsize.template_sheets import template_sheets
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.paper import A4
from tests.desk.conftest import JOBS
from tests.desk.language.conftest import CLOSE, OPEN

#: Units of length and area, as they stand behind a figure, and signs.
UNITS = r"mm|m[2²]?|ft|sq ft|in|px"


def outside(text: str) -> str:
    """What stands in no bracket."""
    depth, left = 0, []
    for letter in text:
        depth += {OPEN: 1, CLOSE: -1}.get(letter, 0)
        if depth == 0 and letter != CLOSE:
            left.append(letter)
    assert depth == 0, "a bracket is open"
    return "".join(left)


def unlooked(text: str) -> list[str]:
    """Words in no bracket that are no unit; names in these jobs are single letters."""
    left = " ".join(outside(text).split())
    return re.findall(r"[^\W\d_]{2,}[\w-]*", re.sub(rf"(?<=[\d ])(?:{UNITS})\b", "", left))


@pytest.mark.parametrize("name", ["box", "photos", "whole-lengths", "l_floor", "whole-questions"])
def test_survey_and_plan_say_nothing_that_was_not_looked_up(name, bracketed):
    tree = json.loads((JOBS / f"{name}.json").read_text())
    job = parse_job({**tree, "title": "", "plan": None, "day": []})
    with read_by(bracketed):
        survey = survey_job(job, {})
        said = say_survey(survey, job)
        if job.flooring.board is not None:
            said += say_plan(plan_job(job, survey, effort="preview"), job, survey_doubts(survey))
    assert len(re.findall(OPEN, said)) > 10
    assert unlooked(said) == []


@pytest.mark.parametrize("name", ["box", "l_floor"])
def test_the_pack_says_nothing_that_was_not_looked_up(name, bracketed):
    """On paper, its templates among it, and on the phone."""
    job = parse_job({**json.loads((JOBS / f"{name}.json").read_text()), "title": "7", "plan": None, "day": []})
    with read_by(bracketed):
        survey = survey_job(job, {})
        pack = printable(job, survey, plan_job(job, survey, effort="preview"), date=datetime.date(2026, 3, 5))
        templates = find_templates(pack.plan, show=pack.show)
        names = names_by_piece(templates)
        sheets = (*booklet_sheets(pack, A4, names), *template_sheets(pack, templates, A4), *target_sheets(A4))
        page, day = phone_page(pack, names), pack.day
    shown = re.sub(r"<style>.*?</style>|<script>.*?</script>|<[^>]*>", "\n", page, flags=re.DOTALL)
    paper = "\n".join(item.text for sheet in sheets for item in sheet.items if isinstance(item, Text))
    for said in (paper, html.unescape(shown)):
        assert len(re.findall(OPEN, said)) > 100
        assert unlooked(said.replace(day, "")) == []


def test_figures_take_the_decimal_mark_of_the_language(bracketed):
    """German writes a comma (CLDR)."""
    with read_by(bracketed):
        assert Lengths("metric").mm(12.7) == "12,7 mm"
        assert Lengths("metric").metres(4250.0, 2) == "4,25 m"
    assert Lengths("metric").mm(12.7) == "12.7 mm"


def test_a_check_says_nothing_that_was_not_looked_up(bracketed):
    with read_by(bracketed):
        assert unlooked(say_check(())) == []


def test_what_the_judge_finds_is_refused_in_the_readers_language(bracketed):
    """A plan with planted faults, as a folder from elsewhere may hold one."""
    job = parse_job({**json.loads((JOBS / "box.json").read_text()), "title": "7", "plan": None, "day": []})
    survey = survey_job(job, {})
    plan = plan_job(job, survey, effort="preview")
    spoilt = replace(plan, packs=99, bound=0, waste_percent=50.0, rows=plan.rows[1:], shopping=(), bars=None)
    faults = find_faults(spoilt, to_room(job, survey))
    assert len({fault.slug for fault in faults}) > 4
    with read_by(bracketed):
        assert {word for fault in faults for word in unlooked(str(fault.says))} == set()
        assert all(str(fault.says).startswith(OPEN) for fault in faults)
