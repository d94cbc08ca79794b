"""What is kept beside a job is drawn for that job only, and a file that somebody changed is left alone."""
from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from desk.actions.last_worked import last_tree, last_worked
from desk.actions.pipeline import survey_job
from desk.jobfile.files import parse_job, with_keys

PLACES = {"A": (0, 0), "B": (4000, 0), "C": (4000, 3000), "D": (0, 3000)}


def taped_job(**more):
    tape = [{"between": [a, b], "mm": float(np.hypot(*np.subtract(PLACES[a], PLACES[b])))}
            for i, a in enumerate(PLACES) for b in list(PLACES)[i + 1:]]
    return parse_job({"format": "tapegroove-job", "version": 1, "outline": list(PLACES), "tape": tape, **more})


@pytest.fixture(scope="module")
def kept():
    job = taped_job()
    survey = survey_job(job, {})
    return job, survey, json.loads(json.dumps(last_tree(job, survey, None)))


def test_the_same_job_gets_its_survey_back(kept):
    job, survey, tree = kept
    found = last_worked(job, tree)
    assert found.plan is None
    assert np.allclose(found.survey.floor.points_mm, survey.floor.points_mm)
    assert [replace(r, says="") for r in survey.readings] == list(found.survey.readings)


def test_a_job_that_says_something_else_gets_none(kept):
    job, _, tree = kept
    assert last_worked(with_keys(job, tape=job.data["tape"][:-1]), tree) is None
    assert last_worked(with_keys(job, title="Another title"), tree) is not None


@pytest.mark.parametrize("spoil", [
    lambda tree: tree.update(version=2), lambda tree: tree.pop("survey"), lambda tree: tree.update(made_of=3),
    lambda tree: tree["survey"]["floor"]["points"][0].__setitem__(0, "x"),
    lambda tree: tree["survey"]["floor"]["points"][0].__setitem__(0, 1e300),
    lambda tree: tree["survey"]["floor"].update(outline=["A", "B", "X"]),
    lambda tree: tree["survey"].update(readings=[{"kind": "tape"}]),
    lambda tree: tree.update(plan={"format": "tapegroove-plan", "version": 1}),
])
def test_a_file_that_somebody_changed_is_left_alone(kept, spoil):
    job, _, tree = kept
    spoilt = json.loads(json.dumps(tree))
    spoil(spoilt)
    assert last_worked(job, spoilt) is None
