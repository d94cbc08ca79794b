"""A job that hangs, eats memory or dies ends alone, is tried once more and told of; a run that was stopped goes on
where it was."""
from __future__ import annotations

import csv
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

import desk.batch.parcel
from desk.limited_pool import MEMORY_IS_LIMITED, LimitedPool, Death, Limits
from desk.batch.engine import Asked
from desk.batch.many import Ended, TriedAgain, plan_many
from desk.batch.outcome import Outcome
from desk.batch.parcel import PACKAGES, Parcel, Reply, code_digest, read_parcel
from desk.problem import JobFileError
from desk.batch.record import Record, open_record, record_folder
from tests.support.bad_jobs import begun, pretend, write_job

pytestmark = pytest.mark.usefixtures("own_record")
HOUSE = Path(__file__).parents[3]
#: Short enough to wait for twice, long enough for a made-up plan on a busy machine; loading does not count.
LIMITS = Limits(seconds=5.0, memory_mb=1200.0)


@pytest.fixture
def folder(three_jobs: Path) -> Path:
    return three_jobs


def run(folder: Path, record: Record | None = None, planner=pretend) -> tuple[dict[str, Outcome], list[TriedAgain]]:
    asked = Asked(folder=folder, effort="preview", limits=LIMITS, planner=planner)
    events = list(plan_many(asked, processes=2, record=record))
    return ({event.outcome.name: event.outcome for event in events if isinstance(event, Ended)},
            [event for event in events if isinstance(event, TriedAgain)])


def test_a_job_whose_process_is_killed_dies_alone_and_is_tried_once_more(folder):
    write_job(folder / "dies", "die")
    write_job(folder / "lives", "die once")
    ended, again = run(folder)
    assert {name for name, outcome in ended.items() if not outcome.planned} == {"dies"}
    assert (ended["dies"].tries, ended["lives"].tries, len(begun(folder / "dies"))) == (2, 2, 2)
    assert sorted((each.name, each.death) for each in again) == [("dies", Death.ENDED), ("lives", Death.ENDED)]
    assert "ended from outside" in ended["dies"].says[0]


def test_a_job_that_hangs_is_ended_when_its_time_is_over_and_told_of(folder):
    write_job(folder / "hangs", "hang")
    ended, again = run(folder)
    assert {name for name, outcome in ended.items() if not outcome.planned} == {"hangs"}
    assert "more than 5 s" in ended["hangs"].says[0] and "--seconds" in ended["hangs"].says[0]
    assert [(each.name, each.death) for each in again if each.name == "hangs"] == [("hangs", Death.TIME)]


def test_a_job_that_takes_all_memory_is_refused_it_and_told_of(folder):
    if not MEMORY_IS_LIMITED:
        assert sys.platform in ("win32", "darwin")
        return
    write_job(folder / "eats", "gulp")
    ended, again = run(folder)
    assert {name for name, outcome in ended.items() if not outcome.planned} == {"eats"}
    assert "1200 MB" in ended["eats"].says[0] and "--memory" in ended["eats"].says[0]
    assert [each.death for each in again if each.name == "eats"] == [Death.MEMORY]


def test_processes_that_do_not_answer_are_replaced():
    apart = LimitedPool(1, Limits(seconds=1e6, memory_mb=4000.0))
    try:
        stuck = apart.submit(_wait_for_ever)
        apart.renew()
        assert stuck.result() == Death.ENDED
        assert apart.submit(os.path.basename, "a/b").result() == "b"
    finally:
        apart.close()


def _wait_for_ever() -> None:
    threading.Event().wait()


def test_an_error_nobody_foresaw_is_that_job_s_alone(folder):
    ended, again = run(folder, planner=_fail_in_the_bath)
    assert not again and {name for name, outcome in ended.items() if not outcome.planned} == {"bath"}
    assert "fault of ours" in ended["bath"].says[0]


def _fail_in_the_bath(parcel: Parcel, effort: str) -> Outcome:
    if parcel.name == "bath":
        raise ZeroDivisionError("invented")
    return pretend(parcel, effort)


def start(*words: str) -> subprocess.Popen:
    """The command with the made-up planner, in a group of processes of its own, as a terminal starts it."""
    command = [sys.executable, "-m", "tests.support.bad_jobs", "pretend", "many", *words]
    return subprocess.Popen(command, cwd=HOUSE, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            start_new_session=True)


def test_ctrl_c_leaves_the_summary_so_far_and_the_next_run_goes_on(folder, tmp_path):
    write_job(folder / "drawing", "hang")
    table = tmp_path / "sum.csv"
    process = start(str(folder), "--processes", "2", "-o", str(table))
    told = []
    while sum(" of 4 " in line for line in told) < 3:
        told.append(process.stderr.readline())
        assert told[-1], "it ended by itself"
    os.killpg(process.pid, signal.SIGINT)
    out, more = process.communicate()
    assert process.returncode == 130
    assert "3 of 3 jobs planned" in out
    assert more.strip() == "Stopped. 3 of 4 jobs are done; the same command goes on from there."
    assert len(list(csv.reader(io.StringIO(table.read_text("utf-8-sig"))))) == 4
    job = json.loads((folder / "drawing" / "job.json").read_text()) | {"title": "mended"}
    (folder / "drawing" / "job.json").write_text(json.dumps(job))
    again = start(str(folder), "--json")
    out, progress = again.communicate()
    answer = json.loads(out)
    assert again.returncode == 0 and (answer["planned"], answer["left"]) == (4, 0)
    assert progress.count("as planned before") == 3
    assert [job["name"] for job in answer["jobs"] if not job["earlier"]] == ["drawing"]
    assert [len(begun(folder / name)) for name in ("attic", "bath", "cellar")] == [1, 1, 1]


def test_processes_end_with_a_command_that_is_killed(folder):
    write_job(folder / "attica", "hang")
    process = start(str(folder), "--processes", "1")
    while not begun(folder / "attica"):
        assert process.poll() is None
        time.sleep(0.05)
    # The pipe of what they say closes when the last one that holds it has gone.
    process.kill()
    process.communicate()


def keep(folder: Path) -> Record:
    """The record as the command keeps it."""
    return open_record(record_folder(folder), [path.name for path in folder.iterdir()])


def test_what_is_unchanged_is_not_planned_again_and_what_changed_is(folder):
    run(folder, keep(folder))
    job = json.loads((folder / "bath" / "job.json").read_text()) | {"title": "larger bath"}
    (folder / "bath" / "job.json").write_text(json.dumps(job))
    ended, _ = run(folder, keep(folder))
    assert {name: outcome.earlier for name, outcome in ended.items()} == {"attic": True, "bath": False, "cellar": True}
    assert ended["bath"].title == "larger bath"
    assert [len(begun(folder / name)) for name in ("attic", "bath", "cellar")] == [1, 2, 1]
    afresh = open_record(record_folder(folder), ["attic", "bath", "cellar"], afresh=True)
    assert not keep(folder).done
    assert not any(outcome.earlier for outcome in run(folder, afresh)[0].values())


def test_a_job_without_a_plan_is_tried_again_by_the_next_run(folder):
    write_job(folder / "dies", "die")
    run(folder, keep(folder))
    run(folder, keep(folder))
    assert len(begun(folder / "dies")) == 4 and len(begun(folder / "attic")) == 1


def test_another_version_effort_or_picture_plans_again(folder, tmp_path, monkeypatch, jpeg):
    place = write_job(folder / "seen", "seen", floor=None, outline=list("ABCD"),
                      photos=[{"file": "photos/1.jpg", "marks": []}])
    (place / "photos").mkdir()
    (place / "photos" / "1.jpg").write_bytes(jpeg())
    known = read_parcel(place, folder, "preview").digest
    assert read_parcel(place, folder, "preview", known) == Reply(outcome=None, digest=known)
    assert isinstance(read_parcel(place, folder, "long", known), Parcel)
    (place / "photos" / "1.jpg").write_bytes(jpeg(width=81))
    assert isinstance(read_parcel(place, folder, "preview", known), Parcel)
    (place / "photos" / "1.jpg").write_bytes(jpeg())
    monkeypatch.setattr(desk.batch.parcel, "tool_digest", lambda: "another version")
    assert isinstance(read_parcel(place, folder, "preview", known), Parcel)


def test_any_change_of_the_code_is_another_version(tmp_path):
    for package in PACKAGES:
        (tmp_path / package).mkdir()
        for path in (HOUSE / package).glob("*.py"):
            shutil.copy(path, tmp_path / package)
    before = code_digest(tmp_path)
    (tmp_path / "desk" / "notes.txt").write_text("no code")
    assert code_digest(tmp_path) == before == code_digest(tmp_path)
    (tmp_path / "layout" / "planner.py").write_text("# another planner\n")
    assert code_digest(tmp_path) != before


#: A record as it is written: what a reader must take, and what it must not once a leaf is another.
WRONG = [None, "", "x\x1b[2J", -1, 0.5, 1e9, True, [], {}, ["x"], [1], "=2+5"]


def test_a_record_that_is_not_as_it_was_written_is_laid_aside(folder):
    run(folder, keep(folder))
    place = record_folder(folder)
    assert len(keep(folder).done) == 3 == len(list(place.iterdir()))
    assert open_record(place, ["attic"]).done.keys() == {"attic"}
    path = next(path for path in place.iterdir() if json.loads(path.read_bytes())["job"]["name"] == "attic")
    good = path.read_bytes()
    taken = 0
    for key, value in json.loads(good)["job"].items():
        for wrong in WRONG:
            bent = json.loads(good)
            bent["job"][key] = wrong
            path.write_text(json.dumps(bent))
            record = open_record(place, ["attic"])
            if record.done:
                # Whatever is taken is of the kind that stood there, and fit to be shown.
                taken += 1
                assert type(wrong) is type(value) or (type(value), type(wrong)) == (float, int), (key, wrong)
                assert not isinstance(wrong, str) or wrong.isprintable()
            else:
                assert record.note.startswith("What was planned before cannot be used") and record.note.isprintable()
    assert 0 < taken < 40
    for bad in (good[:-9], b"", b"[]", b'{"format": "tapegroove-many-record", "version": 2}', b"\xff\xfe",
                good.replace(b'"rows"', b'"row"'), good.replace(b'"job"', b'"more": 1, "job"'), b"[" * 100_000,
                good.replace(b'"attic"', b'"bath"')):
        path.write_bytes(bad)
        record = keep(folder)
        assert not record.done and record.note.count("\n") == 0 and "every job is planned." in record.note.lower()
        assert not path.exists(), "it is told of once"
    path.write_bytes(b"[]")
    ended, _ = run(folder, keep(folder))
    assert all(outcome.planned for outcome in ended.values()) and len(keep(folder).done) == 3


def test_a_job_that_is_done_and_not_told_of_yet_when_the_stop_comes_is_not_planned_again(folder):
    """Whoever plans a job notes it, before anybody hears of it."""
    asked = Asked(folder=folder, effort="preview", limits=LIMITS, planner=pretend)
    record = keep(folder)
    events = plan_many(asked, processes=2, record=record)
    assert isinstance(next(events), Ended)  # the other two are under way
    while len(keep(folder).done) < 3:
        time.sleep(0.02)
    events.close()  # as Ctrl+C does
    ended, _ = run(folder, keep(folder))
    assert [outcome.earlier for outcome in ended.values()] == [True] * 3 and len(record.done) == 1
    assert [len(begun(folder / name)) for name in ("attic", "bath", "cellar")] == [1, 1, 1]


def test_a_record_that_cannot_be_written_stops_no_run(folder, tmp_path):
    (tmp_path / "file").write_text("in the way")
    record = Record(folder=tmp_path / "file" / "many")
    ended, _ = run(folder, record)
    assert all(outcome.planned for outcome in ended.values()) and "begin anew" in record.note


@pytest.mark.parametrize(("words", "says"), [(["--seconds", "0"], "'0' is not a whole number from 1"),
                                             (["--memory", "12"], "from 500"), (["--seconds", "1e3"], "whole number")])
def test_a_limit_that_cannot_be_is_wrong_use(folder, words, says, capsys):
    from desk.cli import main
    assert main(["many", str(folder), *words]) == 2
    assert says in capsys.readouterr().err


def test_a_table_that_cannot_be_written_is_one_sentence(folder, tmp_path):
    from desk.commands.many_command import run_many
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(JobFileError, match="could not be written"):
        run_many(Asked(folder=folder, limits=LIMITS, planner=pretend), processes=1, scheduler="", afresh=True,
                 output=tmp_path / "file" / "sum.csv", tell=lambda line: None)
    assert len(keep(folder).done) == 3
