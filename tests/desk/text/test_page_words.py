"""What the page is told in words: lengths with their plus-minus, notes on readings, expected places in photos."""
from __future__ import annotations

import json

import cv2
import numpy as np
import pytest

from capture.floor import Floor
from capture.adjustment.survey import PhotoFit, Reading, Survey
from desk.checks.check import find_problems
from desk.jobfile.files import parse_job
from desk.server.session import page_words
from desk.text.page_view import show_survey

SQUARE = Floor(names=("A", "B", "C", "D"),
               points_mm=np.array([[0.0, 0.0], [3000.0, 0.0], [3000.0, 2000.0], [0.0, 2000.0]]), cov_mm2=np.eye(8),
               outline=("A", "B", "C", "D"))


def reading(residual: float, redundancy: float) -> Reading:
    return Reading(kind="tape", names=("A", "B"), photo="", value=3000.0, residual=residual, sd=1.5, w=0.0,
                   redundancy=redundancy, suspect=False, says="", where="tape[0]")


def test_every_wall_has_its_length_and_spread():
    shown = show_survey(Survey(floor=SQUARE), "metric")
    assert [wall["length"] for wall in shown["walls"]] == ["3000", "2000", "3000", "2000"]
    # Two ends of 1 mm each way: sqrt(2) times 1.96, rounded up to a tenth.
    assert {wall["pm"].replace("\xa0", " ") for wall in shown["walls"]} == {"± 2.8 mm"}


def test_feet_and_inches_when_the_job_is_shown_so():
    assert (
        show_survey(Survey(floor=SQUARE), "imperial")["walls"][0]["length"].replace("\xa0", " ") == "9' 10 1/8\""
    )  # 3000 / 25.4 = 118.11 in


@pytest.mark.parametrize(("residual", "redundancy", "words"),
                         [(3.2, 0.5, "3.2 mm longer than the rest says"),
                          (-3.0, 0.5, "3 mm shorter than the rest says"), (0.2, 0.5, "agrees with the rest"),
                          (0.0, 0.0, "no other reading checks this one")])
def test_a_taped_length_is_compared_with_the_rest(residual, redundancy, words):
    note = show_survey(Survey(floor=SQUARE, readings=(reading(residual, redundancy),)), "metric")["tape"]["tape[0]"]
    assert note.replace("\xa0", " ") == words


def test_expected_places_agree_with_another_projector_and_stay_inside_the_frame():
    """cv2.projectPoints as the second opinion; a camera 2 m up that sees two of the four corners."""
    turn = np.array([1.9, 0.2, -0.1])
    rotation, _ = cv2.Rodrigues(turn)
    shift = -rotation @ np.array([1500.0, -1500.0, 2000.0])
    fit = PhotoFit(photo="photos/1.jpg", rotation=rotation, shift_mm=shift, focal_px=1400.0, k1=-0.03, k2=0.01,
                   centre_px=(799.5, 599.5), size_px=(1600, 1200), rms_px=1.0)
    expected = show_survey(Survey(floor=SQUARE, photos=(fit,)), "metric")["expected"]["photos/1.jpg"]
    solid = np.column_stack([SQUARE.points_mm, np.zeros(4)])
    lens = np.array([[1400.0, 0.0, 799.5], [0.0, 1400.0, 599.5], [0.0, 0.0, 1.0]])
    places, _ = cv2.projectPoints(solid, turn, shift, lens, np.array([-0.03, 0.01, 0.0, 0.0]))
    inside = {name: place for name, place in zip(SQUARE.names, places.reshape(-1, 2)) if (0 <= place).all()
              and (place <= (1599, 1199)).all()}
    assert 0 < len(inside) < 4 and expected.keys() == inside.keys()
    for name, place in inside.items():
        assert expected[name] == pytest.approx(place, abs=0.06)


def test_a_line_along_no_wall_is_told_in_words_of_the_page(in_photos):
    """Two corners put in another order since: the problem names its place in the file, the page the photo."""
    tree = json.loads(json.dumps(in_photos))
    one, _, three, *_ = tree["outline"]
    tree["photos"][1]["edges"] = [{"wall": [one, three], "points": [[100, 900], [300, 900]]}]
    problem, = (p for p in find_problems(parse_job(tree), {}) if p.slug == "unknown-wall")
    said = page_words(problem)
    assert said.startswith(f"The line drawn in photo 2 is along {one}-{three}, ") and "photos[" not in said
    door = {"name": "D1", "wall": [one, three], "from": 0, "width": 800}
    tree = json.loads(json.dumps(in_photos)) | {"doors": [door]}
    problem, = (p for p in find_problems(parse_job(tree), {}) if p.slug == "unknown-wall")
    assert page_words(problem).startswith(f"A door is along {one}-{three}, ")
