"""Printed floor targets in a job: found in its pictures, once a picture, and joined into the survey."""
from __future__ import annotations

import io
import json
import pickle
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from PIL import Image

import capture.image.targets
from demo_photos import __file__ as demo_home
from desk.checks.check import find_problems
from desk.cli import main
from desk.convert import to_network
from desk.server.decoding import Decoding
from desk.jobfile.files import parse_job, read_job
from desk.store.photos import look_at_photos, photo_facts
from desk.actions.pipeline import survey_job
from desk.server.previews import Previews
from desk.problem import JobFileError
from tests.support import target_scene as scene


@pytest.fixture(scope="module")
def pictures() -> dict[str, bytes]:
    rng, floor = np.random.default_rng(31), scene.floor_picture(list(scene.TARGETS.items()))
    return {name: _jpeg(scene.photograph(floor, seen_from, rng)) for name, seen_from in (("north", scene.NORTH),
                                                                                         ("south", scene.SOUTH))}


def _jpeg(pixels) -> bytes:
    target = io.BytesIO()
    Image.fromarray(pixels).save(target, "JPEG", quality=90)
    return target.getvalue()


@pytest.fixture
def job(tmp_path, pictures) -> dict:
    (tmp_path / "photos").mkdir()
    for name, data in pictures.items():
        (tmp_path / "photos" / f"{name}.jpg").write_bytes(data)
    rng = np.random.default_rng(32)
    photos = [{"file": f"photos/{name}.jpg", "camera": "c", "marks": [
        {"point": corner, "x": float(x), "y": float(y), "sd": 1.0} for corner, (x, y) in scene.marked(v, rng).items()]}
        for name, v in (("north", scene.NORTH), ("south", scene.SOUTH))]
    return {"outline": list("ABCD"), "photos": photos, "targets": {"size": 150.0},
            "cameras": {"c": {"focal_px": 1020.0, "focal_sd": 0.03}},
            "tape": [{"between": ["A", "B"], "mm": round(scene.true_length("A", "B"), 1)}]}


def test_a_job_with_targets_is_solved_from_photos_that_share_no_corner(tmp_path, job):
    parsed = parse_job(job)
    survey = survey_job(parsed, look_at_photos(tmp_path, parsed))
    assert survey.floor.names == ("A", "B", "C", "D") and not survey.suspects
    assert all(abs(w.length_mm - scene.true_length(w.a, w.b)) < w.pm95_mm < 60.0 for w in survey.floor.walls())


class DecodedHere(Decoding):
    """Facts told in this process, where a test can count how often."""

    def __init__(self, folder):
        self.folder = folder

    def facts(self, file, *, targets=False):
        return photo_facts(self.folder, file, targets=targets)


def test_targets_are_looked_for_once_a_picture_and_only_when_the_job_has_them(tmp_path, job, monkeypatch):
    found = []
    looked = capture.image.targets.find_targets
    monkeypatch.setattr("desk.store.photos._found_targets", {})
    monkeypatch.setattr(capture.image.targets, "find_targets", lambda pixels: found.append(1) or looked(pixels))
    plain, previews = (
        parse_job({k: v for k, v in job.items() if k != "targets"}),
        Previews(tmp_path, DecodedHere(tmp_path)),
    )
    assert not any(f.targets for f in (*look_at_photos(tmp_path, plain).values(),
                                       *previews.all_facts(plain).values())) and not found
    parsed = parse_job(job)
    first, again, shown = look_at_photos(tmp_path, parsed), look_at_photos(tmp_path, parsed), previews.all_facts(parsed)
    assert first == again == shown and len(found) == 2
    assert [[s.number for s in f.targets] for f in first.values()] == [[0, 1, 2], [0, 1, 2]]
    assert to_network(plain, first).target_marks == ()


def test_where_a_plan_is_kept_targets_are_looked_for_when_somebody_asks(tmp_path, job, monkeypatch):
    """That some target is seen is told from the first photo that shows one; the others wait for a survey."""
    found = []
    looked = capture.image.targets.find_targets
    monkeypatch.setattr("desk.store.photos._found_targets", {})
    monkeypatch.setattr(capture.image.targets, "find_targets", lambda pixels: found.append(1) or looked(pixels))
    kept = parse_job(job | {"plan": {}})
    facts = look_at_photos(tmp_path, kept)
    assert kept.has_plan and not found
    find_problems(kept, facts)
    assert len(found) == 1
    assert facts == look_at_photos(tmp_path, parse_job(job)) and len(found) == 2
    sent = pickle.loads(pickle.dumps(facts["photos/north.jpg"]))
    assert sent == facts["photos/north.jpg"] and type(sent.targets) is tuple


def test_a_photo_with_targets_counts_without_a_mark_and_the_size_is_the_job_s(tmp_path, job):
    job["photos"][1]["marks"] = []
    job["targets"]["size"] = 141.0
    parsed = parse_job(job)
    network = to_network(parsed, look_at_photos(tmp_path, parsed))
    assert [p.name for p in network.photos] == ["photos/north.jpg",
                                                "photos/south.jpg"] and network.target_size_mm == 141.0
    assert {(m.photo, m.seen.number) for m in network.target_marks} == {(f"photos/{n}.jpg", k)
                                                                        for n in ("north", "south") for k in range(3)}


@pytest.fixture(scope="module")
def demo_truth() -> dict:
    """Where the targets in the demo's pictures lie and are seen, by geometry alone (`demo_photos/render/truth.py`)."""
    return json.loads((Path(demo_home).parent / "truth.json").read_text())


@pytest.fixture(scope="module")
def demo_seen() -> dict:
    folder = Path(demo_home).parent
    return {file: facts.targets for file, facts in look_at_photos(folder, read_job(folder)).items()}


def test_the_demo_s_truth_is_that_of_opencv(demo_truth):
    """px of the targets' corners by cv2.projectPoints; squares of the printed size, clockwise from above."""
    laid = {str(t["number"]): np.array(t["corners"]) for t in demo_truth["targets"]["laid"]}
    for corners in laid.values():
        x, y = (np.roll(corners, -1, axis=0) - corners).T
        assert np.hypot(x, y) == pytest.approx(demo_truth["targets"]["size"], abs=0.01)
        assert x * np.roll(y, -1) - y * np.roll(x, -1) == pytest.approx(-demo_truth["targets"]["size"] ** 2, abs=5.0)
    for photo in demo_truth["photos"]:
        cx, cy = photo["centre_px"]
        matrix = np.array([[photo["focal_px"], 0, cx], [0, photo["focal_px"], cy], [0, 0, 1]])
        for number, told in photo["targets"].items():
            space = np.column_stack([laid[number], np.full(4, demo_truth["targets"]["z"])])
            px, _ = cv2.projectPoints(space, cv2.Rodrigues(np.array(photo["rotation"]))[0], np.array(photo["shift"]),
                                      matrix, np.array([photo["k1"], 0.0, 0.0, 0.0]))
            assert px.reshape(4, 2) == pytest.approx(np.array(told), abs=0.01)


def test_every_whole_target_in_the_demo_s_photos_is_found_where_it_lies(demo_truth, demo_seen):
    for photo in demo_truth["photos"]:
        seen = {str(s.number): np.array(s.corners_px) for s in demo_seen[photo["file"]]}
        assert set(seen) == set(photo["targets"]) and len(seen) >= 3
        off = np.concatenate([seen[n] - told for n, told in photo["targets"].items()])
        assert np.sqrt(np.mean(np.sum(off ** 2, axis=1))) < 1.0


def test_the_demo_s_photos_share_their_targets(demo_truth):
    """Every target is in two photos at least, or it joins nothing."""
    times = [number for photo in demo_truth["photos"] for number in photo["targets"]]
    assert all(times.count(str(t["number"])) >= 2 for t in demo_truth["targets"]["laid"])


def test_targets_that_nobody_sees_are_told(in_photos):
    found = find_problems(parse_job(in_photos | {"targets": {}}), {})
    assert [p.severity for p in found if p.slug == "no-targets"] == ["note"]
    assert "no-targets" not in {p.slug for p in find_problems(parse_job(in_photos), {})}


@pytest.mark.parametrize("targets", [[], {"size": "150"}, {"size": 3}, {"size": -150.0}])
def test_a_size_that_is_none_is_refused(box, targets):
    with pytest.raises(JobFileError, match="targets"):
        parse_job(box | {"targets": targets})


def test_the_command_writes_the_sheets(tmp_path, capsys):
    file = tmp_path / "new" / "targets.pdf"
    assert main(["targets", "-o", str(file), "--paper", "letter", "--count", "4"]) == 0
    assert (
        str(file) in capsys.readouterr().out
        and [round(v) for v in _page_sizes(file)[0]] == [612, 792]
        and len(_page_sizes(file)) == 5
    )
    assert main(["targets", "-o", str(file), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [answer[key] for key in ("format", "count", "size", "paper")] == ["tapegroove-targets", 6, 150.0, "A4"]
    assert len(_page_sizes(file)) == 7


@pytest.mark.parametrize("arguments, words",
                         [(["--count", "200"], "200 targets"), (["--count", "1"], "1 target cannot"),
                          (["--count", "six"], "six"), (["--paper", "napkin"], "napkin")])
def test_what_cannot_be_printed_is_one_sentence_and_no_file(tmp_path, capsys, arguments, words):
    file = tmp_path / "targets.pdf"
    assert main(["targets", "-o", str(file), *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == "" and words in err and err.count("\n") == 1 and not file.exists()


def _page_sizes(file) -> list[tuple[float, float]]:
    return [page.get_size() for page in pypdfium2.PdfDocument(file.read_bytes())]
