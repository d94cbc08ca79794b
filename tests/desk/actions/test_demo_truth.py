"""The demo from its own pictures to the plan, against the truth its pictures were rendered from (invented room)."""
import json
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Polygon

from capture.errors import CaptureError
from capture.floor import Floor, Z95
from demo_photos import __file__ as demo_home
from desk.actions.demo import demo_files
from desk.jobfile.files import read_job
from desk.jobfile.parse import parse_job
from desk.store.photos import look_at_photos
from desk.actions.pipeline import plan_job, survey_job
from tests.support.simulate import aligned_rms_mm


@pytest.fixture(scope="module")
def truth():
    return json.loads((Path(demo_home).parent / "truth.json").read_text())


@pytest.fixture(scope="module")
def survey():
    folder = Path(demo_home).parent
    job = read_job(folder)
    return survey_job(job, look_at_photos(folder, job))


@pytest.fixture
def tree() -> dict:
    return json.loads(demo_files()["job.json"])


def solved(tree):
    job = parse_job(tree)
    return survey_job(job, look_at_photos(Path(demo_home).parent, job))


def corner_rms_mm(floor: Floor, truth) -> float:
    names = tuple(truth["corners"])
    return aligned_rms_mm(floor.ring(names), np.array([truth["corners"][n] for n in names]))


def claimed_rms_mm(floor: Floor, truth) -> float:
    """What the covariance says the corner error will be after the best turn and shift: those three directions
    projected out."""
    names = tuple(truth["corners"])
    x, y = (floor.ring(names) - floor.ring(names).mean(axis=0)).T
    still = np.stack([np.stack([np.ones_like(x), 0 * x], 1), np.stack([0 * x, np.ones_like(x)], 1),
                      np.stack([-y, x], 1)]).reshape(3, -1)
    still /= np.linalg.norm(still, axis=1, keepdims=True)
    keep = np.eye(2 * len(names)) - still.T @ still
    return float(np.sqrt(np.trace(keep @ floor.covariance(names) @ keep) / len(names)))


def without_every_other_mark(tree: dict, first: int) -> dict:
    """Half of the clicked marks deleted, counted through all photos."""
    number = 0
    for photo in tree["photos"]:
        marks, number = photo["marks"], number + len(photo["marks"])
        photo["marks"] = [mark for k, mark in enumerate(marks, number - len(marks)) if k % 2 != first]
    return tree


def test_corners_agree_with_the_truth_as_well_as_the_survey_claims(truth, survey):
    assert corner_rms_mm(survey.floor, truth) < 4.0
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


def test_the_floor_is_as_good_without_targets(tree, truth):
    """What a person gets who printed none: the readings of marks and tape alone."""
    del tree["targets"]
    survey = solved(tree)
    assert corner_rms_mm(survey.floor, truth) < 4.0 and not survey.suspects


@pytest.mark.parametrize("first", [0, 1])
def test_targets_carry_a_survey_that_has_lost_half_of_its_marks(tree, truth, first):
    survey = solved(without_every_other_mark(tree, first))
    assert corner_rms_mm(survey.floor, truth) < min(8.0,
                                                    2.0 * claimed_rms_mm(survey.floor, truth)) and not survey.suspects


def test_what_they_carried_is_refused_without_them(tree):
    del tree["targets"]
    with pytest.raises(CaptureError) as refused:
        solved(without_every_other_mark(tree, 1))
    assert refused.value.slug == "loose-floor"


def test_targets_carry_the_shape_when_one_wall_alone_is_taped(tree, truth):
    """The tape gives the size, the targets the shape; photos from inside a room can hardly tell it by themselves."""
    tree["tape"] = [t for t in tree["tape"] if t.get("between") == ["A", "B"] or "point" in t]
    with_targets = solved(tree).floor
    del tree["targets"]
    without = solved(tree).floor
    assert corner_rms_mm(with_targets, truth) < min(20.0, 2.0 * claimed_rms_mm(with_targets, truth))
    assert claimed_rms_mm(with_targets, truth) < claimed_rms_mm(without, truth) / 3.0
    assert corner_rms_mm(without, truth) < 2.0 * claimed_rms_mm(without, truth)


def test_a_photo_with_three_points_on_one_line_is_not_trusted_blindly(tree, truth):
    """Without its wall clicks and its targets room-4 has four marks, three of them on one wall: its pose has more than
    one solution. The survey must either find the right place of J1 or say that another floor fits as well."""
    del tree["targets"]
    for photo in tree["photos"]:
        if photo["file"].endswith("room-4.jpg"):
            photo.pop("edges", None)
    tree["tape"] = [t for t in tree["tape"] if "J1" not in t.get("between", [])]
    survey = solved(tree)
    gap = float(np.hypot(*(survey.floor.at("J1") - np.array(truth["points"]["J1"]))))
    assert gap < 60.0 or any("another floor" in w for w in survey.warnings)
