"""The command look: proposals from photos as JSON and in words; nothing in the job changes. Shape: the contract of
the commands."""

from __future__ import annotations

import json
import pickle
import shutil
import re
from pathlib import Path

import cv2
import numpy as np
import pytest

from capture.seeing.contradictions import Contradiction
from capture.seeing.proposals import Proposals
from desk.actions.look import letters_of, look_in_bytes, marks_against
from desk.cli import main
from desk.jobfile.job import Job
from desk.jobfile.parse import parse_job
from desk.store.photos import photo_facts
from desk.text.say_look import say_contradiction

DEMO = Path(__file__).parents[3] / "demo_photos"
TRUTH = json.loads((DEMO / "truth.json").read_text())


def job_with(folder: Path, files: list[str], **more) -> Path:
    (folder / "photos").mkdir(parents=True)
    for file in files:
        shutil.copy(DEMO / file, folder / file)
    tree = {"format": "tapegroove-job", "version": 1, "outline": list("ABCDEFGH"),
            "photos": [{"file": file} for file in files], **more}
    (folder / "job.json").write_text(json.dumps(tree))
    return folder


def test_look_answers_as_the_contract_has_it(tmp_path, capsys):
    folder = job_with(tmp_path / "job", ["photos/room-1.jpg", "photos/room-2.jpg"])
    before = (folder / "job.json").read_bytes()
    assert main(["look", str(folder), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (folder / "job.json").read_bytes() == before
    assert answer["format"] == "tapegroove-look" and answer["version"] == 1
    assert [p["file"] for p in answer["photos"]] == ["photos/room-1.jpg", "photos/room-2.jpg"]
    for photo, view in zip(answer["photos"], TRUTH["photos"]):
        assert photo["tilt"] == pytest.approx(np.degrees(np.arcsin(-view["rotation"][2][2])), abs=1.5)
        assert photo["seconds"] > 0 and photo["says"] == "" and len(photo["corners"]) >= 3
        for corner in photo["corners"]:
            assert set(corner) >= {"x", "y", "sd", "kind", "sure", "point"}
            assert corner["kind"] in ("join", "near", "far") and 0 <= corner["sure"] <= 1 and corner["sd"] > 0
        for line in photo["lines"]:
            assert len(line["points"]) == 2 and 0 <= line["sure"] <= 1
            assert line["wall"] is None or len(line["wall"]) == 2
    assert answer["outline"] is None


def test_a_photo_that_cannot_be_read_is_told_of_and_the_others_are_looked_at(tmp_path, capsys):
    folder = job_with(tmp_path / "job", ["photos/room-1.jpg"])
    (folder / "photos" / "torn.jpg").write_bytes((folder / "photos" / "room-1.jpg").read_bytes()[:4000])
    tree = json.loads((folder / "job.json").read_text())
    tree["photos"].append({"file": "photos/torn.jpg"})
    (folder / "job.json").write_text(json.dumps(tree))
    assert main(["look", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "photos/torn.jpg: photos/torn.jpg: this is not a whole" not in said and "torn.jpg" in said
    assert re.search(r"photos/room-1\.jpg: [2-6] floor corners and", said)


def test_a_photo_of_no_floor_gets_one_sentence(tmp_path, capsys):
    folder = job_with(tmp_path / "job", [])
    cv2.imwrite(str(folder / "photos" / "night.jpg"), np.full((900, 1200, 3), 6, np.uint8))
    tree = json.loads((folder / "job.json").read_text())
    tree["photos"] = [{"file": "photos/night.jpg"}]
    (folder / "job.json").write_text(json.dumps(tree))
    assert main(["look", str(folder)]) == 0
    assert (
        capsys.readouterr().out
        == ("photos/night.jpg: The photo is too dark to see where the floor ends; take it by daylight or with the "
            "lamps on.\n")
    )


def test_a_picture_of_200_megapixels_is_refused_in_a_sentence(tmp_path, capsys):
    folder = job_with(tmp_path / "job", [])
    cv2.imwrite(str(folder / "photos" / "huge.png"), np.zeros((10000, 20000), np.uint8))
    tree = json.loads((folder / "job.json").read_text())
    tree["photos"] = [{"file": "photos/huge.png"}]
    (folder / "job.json").write_text(json.dumps(tree))
    assert main(["look", str(folder)]) == 0
    assert "megapixels" in capsys.readouterr().out


def test_proposals_can_come_from_another_process():
    """They go through pickle whole, as a process pool sends them."""
    found = look_in_bytes((DEMO / "photos" / "room-4.jpg").read_bytes(), "room-4.jpg")
    assert found.focal_px == pytest.approx(26 * 2000 / 43.267)
    assert pickle.loads(pickle.dumps(found)) == found


def marked_job(letters: dict[str, dict[str, str]], **more) -> Job:
    """The demo's true corners in photos, under other letters. letters: true letter to given one, by file."""
    views = {view["file"]: view["points"] for view in TRUTH["photos"]}
    photos = [{"file": file, "marks": [{"point": given, "x": views[file][true][0], "y": views[file][true][1]}
                                       for true, given in names.items()]} for file, names in letters.items()]
    return parse_job({"format": "tapegroove-job", "version": 1, "photos": photos, **more})


@pytest.fixture(scope="module")
def seen() -> dict[str, Proposals]:
    files = ("photos/room-1.jpg", "photos/room-2.jpg")
    return {file: look_in_bytes((DEMO / file).read_bytes(), file) for file in files}


def test_only_letters_that_the_job_has_are_offered(seen):
    """Truth: the renderer's own corners; letters stay with their corners, in a photo without marks too."""
    one, other = seen
    true = TRUTH["photos"][0]["points"]
    names = {name: name for name in true if name in TRUTH["corners"]}
    job = marked_job({one: names, other: {}}, outline=list(names))
    facts = {file: photo_facts(DEMO, file, targets=True) for file in seen}
    letters = letters_of(job, seen, facts)
    for view, file in zip(TRUTH["photos"], seen):
        for corner, letter in zip(seen[file].corners, letters[file]):
            if letter is not None:
                assert np.hypot(corner.x_px - view["points"][letter][0], corner.y_px - view["points"][letter][1]) < 12
    assert any(letters[one])
    assert set(letters[one]) | set(letters[other]) <= set(names) | {None}


def test_marks_that_contradict_are_told_in_a_sentence(seen):
    one, _ = seen
    names = [name for name in TRUTH["photos"][0]["points"] if name in TRUTH["corners"]]
    twice = marked_job({one: {names[0]: names[0], names[1]: names[1]}}, outline=names)
    assert marks_against(twice, seen) == []
    entry = twice.tree()
    entry["photos"][0]["marks"].append({**entry["photos"][0]["marks"][0], "point": "Z"})
    (found,) = marks_against(parse_job(entry), seen)
    assert say_contradiction(found) == f"In photo 1 {names[0]} and Z lie on one spot; take one of them off."


@pytest.mark.parametrize(("found", "says"), [
    (Contradiction(what="mirrored", points=("A", "B", "C"), photos=(0, 2)), "A, B and C run the other way round in "
     "photo 3 than in photo 1"),
    (Contradiction(what="crossing", points=("A", "B", "C", "D"), photos=(1,)), "In photo 2 wall A to B crosses wall C"),
    (Contradiction(what="unseen-wall", points=("A", "B")), "Wall A to B was taped, but no photo shows it"),
])
def test_every_contradiction_has_its_sentence(found, says):
    assert say_contradiction(found).startswith(says) and say_contradiction(found).endswith(".")
