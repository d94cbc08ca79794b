"""One event of the day told by the command: the job is read once and written once, however much follows from it."""
from __future__ import annotations

import json

import pytest

from desk.actions.kept_plan import with_plan
from desk.actions.pipeline import plan_job, survey_job
from desk.cli import main
from desk.jobfile import job as job_module
from desk.jobfile import reader
from desk.jobfile.files import parse_job, read_job, write_job
from tests.support.foreign_trees import DAY, small_job


@pytest.fixture(scope="module")
def kept():
    job = parse_job(small_job())
    survey = survey_job(job, {})
    return with_plan(job, survey, plan_job(job, survey, effort="preview"), on=DAY)


@pytest.fixture
def counted(monkeypatch):
    """How often a job was read and put into text."""
    times = {"read": 0, "put into text": 0}

    def counting(what, work):
        def counts(*arguments, **more):
            times[what] += 1
            return work(*arguments, **more)
        return counts
    monkeypatch.setattr(reader, "read_as", counting("read", reader.read_as))
    monkeypatch.setattr(job_module, "job_text", counting("put into text", job_module.job_text))
    return times


@pytest.mark.parametrize("leads_on", [False, True], ids=["a row is down", "an offcut is lost, and a revision follows"])
def test_an_event_told_reads_the_job_once_and_writes_it_once(leads_on, kept, tmp_path, counted, capsys):
    write_job(tmp_path, kept)
    lost = next(offcut["label"] for offcut in kept.data["plan"]["offcuts"] if offcut["used_by"])
    assert main(["day", str(tmp_path), "row", "1", "done"]) == 0
    before = dict(counted)
    assert main(["day", str(tmp_path), *(["offcut", lost, "gone"] if leads_on else ["row", "2", "done"])]) == 0
    assert {what: times - before[what] for what, times in counted.items()} == {"read": 1, "put into text": 1}
    job = read_job(tmp_path)
    assert len(job.day) == 2 and (job.data["plan"].get("day") is not None) is leads_on
    # What was not read back when it was entered is what is read now.
    assert parse_job(json.loads(job.text)) == job
