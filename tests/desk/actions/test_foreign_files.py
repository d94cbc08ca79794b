"""Odd files and figures in a job's folder: a sentence each, nothing written elsewhere. No outside source but
arithmetic and common practice."""
from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from desk.checks.check import MOST_SURVEYED, find_problems
from desk.cli import main
from desk.actions.house import _folder_of
from desk.jobfile.files import parse_job
from desk.store.job_store import JobKeeper
from desk.problem import JobFileError
from desk.actions.error_report import refusal_of

HOUSE = Path(__file__).parents[3]


def test_photos_that_are_a_link_outside_are_not_written_through(on_disk, box, tmp_path, jpeg):
    folder, outside = on_disk(box), tmp_path / "outside"
    outside.mkdir()
    (folder / "photos").symlink_to(outside, target_is_directory=True)
    with pytest.raises(JobFileError, match="leads out of the job's folder"):
        JobKeeper(folder).add_photo(jpeg(), name="a.jpg")
    assert not list(outside.iterdir())


def test_links_in_a_circle_are_told_of_and_the_rest_goes_on(on_disk, in_photos, capsys):
    folder = on_disk(in_photos)
    (folder / "photos").mkdir()
    (folder / in_photos["photos"][0]["file"]).symlink_to(folder / in_photos["photos"][0]["file"])
    assert main(["check", str(folder)]) == 0
    assert "cannot be opened" in " ".join(capsys.readouterr().out.split())
    (folder / in_photos["photos"][0]["file"]).unlink()
    (folder / "photos").rmdir()
    (folder / "photos").symlink_to(folder / "photos")
    with pytest.raises(JobFileError, match="leads out of"):
        JobKeeper(folder).add_photo(b"", name="a.jpg")


@pytest.mark.parametrize("error", [PermissionError(13, "Permission denied", "/somewhere/house.json"),
                                   OSError(40, "Too many links", "/somewhere/job")])
def test_a_file_that_cannot_be_opened_is_no_fault_of_ours(error):
    (problem,), status = refusal_of(error)
    assert (
        problem.slug == "unreadable-file"
        and error.filename in problem.says
        and error.strerror in problem.says
        and status == 2
    )


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no device that is always full")
def test_an_answer_that_does_not_fit_is_told_of(on_disk, closet):
    folder = on_disk(closet)
    with open("/dev/full", "w") as full:
        ran = subprocess.run([sys.executable, "-m", "desk.cli", "check", str(folder), "--json"], stdout=full,
                             stderr=subprocess.PIPE, text=True, cwd=HOUSE, check=False)
    assert ran.returncode == 2 and "Traceback" not in ran.stderr and "could not be written" in ran.stderr and len(
        ran.stderr.splitlines()) == 1


def slugs(tree) -> set[tuple[str, str]]:
    return {(problem.slug, problem.where) for problem in find_problems(parse_job(tree), {})
            if problem.severity == "stop"}


def test_figures_no_saw_lens_or_tape_has_are_refused(box, in_photos):
    for kerf in (1e-9, 0.2, 10.5):
        assert ("bad-kerf", "flooring.kerf") in slugs(box | {"flooring": box["flooring"] | {"kerf": kerf}})
    assert not slugs(box | {"flooring": box["flooring"] | {"kerf": 0}})
    camera = next(iter(in_photos["cameras"]))
    for key, value, slug in (("focal_sd", 1e7, "absurd-spread"), ("k1_sd", 100, "absurd-spread"),
                             ("focal_px", 1e7, "absurd-focal")):
        cameras = {camera: in_photos["cameras"][camera] | {key: value}}
        assert (slug, f"cameras.{camera}.{key}") in slugs(in_photos | {"cameras": cameras})
    photo = in_photos["photos"][0] | {"size": [10**7, 10**7]}
    assert ("photo-too-large", "photos[0].size") in slugs(in_photos | {"photos": [photo]})
    assert ("absurd-spread", "tape[0].sd") in slugs(box | {"tape": [box["tape"][0] | {"sd": 1e6}, *box["tape"][1:]]})


def test_thousands_of_readings_of_unknown_points_are_counted_not_listed(in_photos):
    marks = [{"point": f"Q{i}", "x": i % 400, "y": i // 400} for i in range(3000)]
    tree = json.loads(json.dumps(in_photos))
    tree["photos"][0]["marks"] += marks
    found = [problem for problem in find_problems(parse_job(tree), {}) if problem.slug == "unknown-point"]
    assert 1 < len(found) < 100 and f"{3000 - len(found) + 1} more readings" in found[-1].says


def test_more_than_can_be_surveyed_or_planned_at_once_is_refused_with_the_limit(box, closet):
    names = [f"K{i}" for i in range(MOST_SURVEYED + 1)]
    assert ("too-many", "outline") in slugs(box | {"outline": names})
    holes = [[[x, 100], [x + 5, 100], [x + 5, 105]] for x in range(100, 1300, 10)]
    assert ("too-many", "floor.holes") in slugs(closet | {"floor": closet["floor"] | {"holes": holes}})


def test_floors_of_a_house_have_folders_of_their_own():
    assert _folder_of(("booklet.pdf",), set()) == "floor 1", "that is the booklet's own name beside it"
    assert _folder_of(("x" * 90, "y" * 90), {"floor 2"}) == "floor 3", "a room may be called floor 2"
    assert _folder_of(("kitchen", "hall"), set()) == "kitchen+hall"
    assert _folder_of(("kitchen", "hall"), {"Kitchen+Hall"}) == "floor 2" and _folder_of(("x" * 90, "y" * 90),
                                                                                         set()) == "floor 1"


@pytest.mark.parametrize("name", ["CON", "a:b", "a|b", "b.", "..", "a\\b"])
def test_a_house_lists_no_folder_that_some_system_cannot_hold(tmp_path, name, capsys):
    (tmp_path / "house.json").write_text(json.dumps({"rooms": [name, "hall"], "doorways": []}))
    assert main(["house", str(tmp_path)]) == 2
    assert "rooms[0]" in capsys.readouterr().err
