"""The `survey --json` object, held against the contract, and against the floor computed another way."""
from __future__ import annotations

import dataclasses
import json
import math

import pytest
import shapely

from capture.adjustment.survey import Reading
from desk.actions.answers import problems_answer, survey_answer, to_json
from desk.jobfile.files import parse_job
from desk.actions.pipeline import survey_job
from desk.problem import Problem


@pytest.fixture(params=["box", "l_floor", "in_photos"])
def answered(request):
    job = parse_job(request.getfixturevalue(request.param))
    survey = survey_job(job, {})
    return survey, json.loads(to_json(survey_answer(survey, job)))


def test_it_has_every_key_of_the_contract(answered):
    _, answer = answered
    assert (answer["format"], answer["version"]) == ("tapegroove-survey", 1)
    assert answer.keys() >= {"points", "walls", "outline", "area_m2", "area_pm95", "readings", "suspects", "next",
                             "sigma0", "redundancy", "photos"}
    assert all(point.keys() >= {"x", "y", "cov"} and len(point["cov"]) == len(point["cov"][0]) == 2
               for point in answer["points"].values())
    for reading in answer["readings"]:
        assert reading.keys() >= {"kind", "between", "value", "residual", "w", "redundancy", "suspect", "says"}


def test_a_warning_that_one_change_puts_right_says_which(box):
    job = parse_job(box)
    answer = json.loads(to_json(survey_answer(survey_job(job, {}), job)))
    asked, = answer["mendable"]
    assert asked["says"] in answer["warnings"]
    first, *rest = box["outline"]
    assert asked["mends"] == [{"do": "flip", "says": "Flip the plan", "where": "outline",
                               "outline": [first, *reversed(rest)]}]


def test_walls_and_area_are_those_of_the_points(answered):
    _, answer = answered
    ring = [(answer["points"][name]["x"], answer["points"][name]["y"]) for name in answer["outline"]]
    polygon = shapely.Polygon(ring)
    assert polygon.exterior.is_ccw
    assert answer["area_m2"] == pytest.approx(polygon.area / 1e6, rel=1e-9)
    assert [w["from"] for w in answer["walls"]] == answer["outline"]
    for wall in answer["walls"]:
        a, b = (answer["points"][wall[end]] for end in ("from", "to"))
        assert wall["length"] == pytest.approx(math.dist((a["x"], a["y"]), (b["x"], b["y"])), rel=1e-9)


def test_a_solved_floor_starts_at_the_first_corner_and_runs_along_x(box):
    job = parse_job(box)
    answer = survey_answer(survey_job(job, {}), job)
    assert (answer["points"]["A"]["x"], answer["points"]["A"]["y"]) == pytest.approx((0, 0), abs=1e-6)
    assert answer["points"]["B"]["y"] == pytest.approx(0, abs=1e-6) and answer["points"]["B"]["x"] > 0
    tapes = [r for r in answer["readings"] if r["kind"] == "tape"]
    assert [t["between"] for t in tapes] == [t["between"] for t in box["tape"][:6]]
    assert [t["value"] for t in tapes] == [t["mm"] for t in box["tape"][:6]]


def test_the_box_in_photos_is_the_one_they_were_made_of(in_photos):
    """4300 x 3400 mm; the 95 % claims of the tool's own must hold the truth of all four walls (seeded noise, 1 px,
    typed lengths 1 mm off)."""
    job = parse_job(in_photos)
    answer = survey_answer(survey_job(job, {}), job)
    for wall, truth in zip(answer["walls"], (4300, 3400, 4300, 3400)):
        assert abs(wall["length"] - truth) <= wall["pm95"]
    assert [photo["file"] for photo in answer["photos"]] == ["photos/1.jpg", "photos/2.jpg", "photos/3.jpg"]


def test_angles_leave_in_degrees(box):
    job = parse_job(box)
    survey = survey_job(job, {})
    square = Reading(kind="square", names=("B",), photo="", value=math.radians(90), residual=math.radians(0.25),
                     sd=math.radians(0.5), w=0.5, redundancy=0.5, suspect=False, says="", where="square[0]")
    (answer,) = survey_answer(dataclasses.replace(survey, readings=(square,)), job)["readings"]
    assert (answer["unit"], answer["value"], answer["residual"], answer["sd"]) == ("deg", pytest.approx(90),
                                                                                   pytest.approx(0.25),
                                                                                   pytest.approx(0.5))


def test_a_number_that_is_not_finite_never_leaves():
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_json({"sigma0": float("nan")})


def test_problems_as_data():
    stop = Problem(slug="zero-length", where="tape[0]", says="No.")
    note = Problem(slug="narrow-gap", where="flooring.gap", says="Hm.", severity="note", stage="plan")
    assert problems_answer([note])["ok"] and not problems_answer([note, stop])["ok"]
    assert problems_answer([stop])["problems"] == [{"severity": "stop", "stage": "read", "slug": "zero-length",
                                                    "where": "tape[0]", "says": "No."}]
