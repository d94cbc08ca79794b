"""The demo from its own pictures to the plan, against the truth its pictures were rendered from (invented room)."""
import json
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Polygon

from capture.floor import Z95
from demo_photos import __file__ as demo_home
from desk.demo import demo_files
from desk.jobfile import read_job
from desk.parse import parse_job
from desk.photos import look_at_photos
from desk.pipeline import plan_job, survey_job
from tests_bench.simulate import aligned_rms_mm


@pytest.fixture(scope="module")
def truth():
    return json.loads((Path(demo_home).parent / "truth.json").read_text())


@pytest.fixture(scope="module")
def survey():
    folder = Path(demo_home).parent
    job = read_job(folder)
    return survey_job(job, look_at_photos(folder, job))


def test_corners_agree_with_the_truth_as_well_as_the_survey_claims(truth, survey):
    names = tuple(truth["corners"])
    rms = aligned_rms_mm(survey.floor.ring(names), np.array([truth["corners"][n] for n in names]))
    assert rms < 6.0
    for wall in survey.floor.walls():
        true = float(np.hypot(*np.subtract(truth["corners"][wall.a], truth["corners"][wall.b])))
        assert abs(wall.length_mm - true) <= 1.5 * wall.pm95_mm
    area, pm95 = survey.floor.area()
    assert abs(area - Polygon([truth["corners"][n] for n in survey.floor.outline]).area) <= 1.5 * pm95
    assert not survey.suspects and survey.redundancy > 10


def test_pipes_and_the_casing_are_where_they_stand(truth, survey):
    for name in ("P1", "P2", "J1"):
        gap = survey.floor.at(name) - np.array(truth["points"][name])
        sd = np.sqrt(np.diag(survey.floor.covariance((name,))).sum())
        assert np.hypot(*gap) <= Z95 * sd + 3.0


def test_the_lens_is_found(truth, survey):
    true = truth["photos"][0]["camera"] if "camera" in truth["photos"][0] else truth["photos"][0]
    assert all(fit.focal_px == pytest.approx(true["focal_px"], rel=0.03) for fit in survey.photos)
    assert len({fit.focal_px for fit in survey.photos}) == 1


def test_all_pieces_together_are_the_covered_floor(survey):
    """Outline areas by shapely, to 1 cm2."""
    folder = Path(demo_home).parent
    plan = plan_job(read_job(folder), survey)
    laid = sum(Polygon(p.outline_mm, p.holes_mm).area for p in plan.pieces)
    cover = sum(Polygon(part.outline, part.holes).area for part in plan.cover)
    assert laid == pytest.approx(cover, abs=100.0)
    assert plan.proven and plan.boards == plan.bound


def test_a_photo_with_three_points_on_one_line_is_not_trusted_blindly(truth):
    """Without its wall clicks room-4 has four marks, three of them on one wall: its pose has more than one solution. The
    survey must either find the right place of J1 or say that another floor fits as well."""
    tree = json.loads(demo_files()["job.json"])
    for photo in tree["photos"]:
        if photo["file"].endswith("room-4.jpg"):
            photo.pop("edges", None)
    tree["tape"] = [t for t in tree["tape"] if "J1" not in t.get("between", [])]
    survey = survey_job(parse_job(tree), look_at_photos(Path(demo_home).parent, parse_job(tree)))
    gap = float(np.hypot(*(survey.floor.at("J1") - np.array(truth["points"]["J1"]))))
    assert gap < 60.0 or any("another floor" in w for w in survey.warnings)
