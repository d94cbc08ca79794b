"""Many jobs at once: the figures are those of each job alone, and one that fails stops no other."""
from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from desk.cli import main
from desk.batch.many import find_jobs
from desk.batch.outcome import Outcome, many_csv
from desk.batch.parcel import plan_one
from desk.problem import JobFileError

pytestmark = pytest.mark.usefixtures("own_record")


def write_room(place: Path, width: float, **more) -> None:
    place.mkdir(parents=True)
    job = {"format": "tapegroove-job", "version": 1, "title": "=Invented",
           "floor": {"outline": [[0, 0], [width, 0], [width, 2600], [0, 2600]]},
           "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}}
    (place / "job.json").write_text(json.dumps(job | more), "utf-8")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_room(tmp_path / "house" / "kitchen", 3100)
    write_room(tmp_path / "house" / "up" / "bedroom", 2900)
    write_room(tmp_path / "house" / "cellar", 2900, floor={"outline": [[0, 0], [1, 0]]})
    (tmp_path / "house" / "notes").mkdir()
    return tmp_path / "house"


def test_every_job_is_planned_as_if_alone_and_a_bad_one_says_why(folder, capsys):
    status = main(["many", str(folder), "--json", "--effort", "preview", "--processes", "2", "-o",
                   str(folder / "sum.csv")])
    told, progress = capsys.readouterr()
    answer = json.loads(told)
    jobs = {job["name"]: job for job in answer["jobs"]}
    assert status == 1 and answer["planned"] == 2 and list(jobs) == ["cellar", "kitchen", "up/bedroom"]
    assert not jobs["cellar"]["planned"] and "corner" in jobs["cellar"]["says"][0]
    assert [line.split()[0] for line in progress.splitlines()] == ["1", "2", "3"]
    for name in ("kitchen", "up/bedroom"):
        alone = plan_one(folder / name, folder, "preview")
        passing = {"seconds": 0, "says": (), "doubts": ()}
        assert jobs[name] | passing == {field: getattr(alone, field) for field in jobs[name]} | passing
        assert jobs[name]["doubts"] == list(alone.doubts) == []
    assert answer["boards"] == jobs["kitchen"]["boards"] + jobs["up/bedroom"]["boards"]
    lines = list(csv.DictReader(io.StringIO((folder / "sum.csv").read_text("utf-8-sig"))))
    assert [line["name"] for line in lines] == list(jobs) and int(lines[1]["boards"]) == jobs["kitchen"]["boards"]


def test_a_title_is_no_formula_to_a_spreadsheet(folder):
    line = list(csv.reader(io.StringIO(many_csv([plan_one(folder / "kitchen", folder,
                                                          "preview")]).decode("utf-8-sig"))))[1]
    assert line[1] == "'=Invented"


def test_the_table_is_utf_8_to_a_spreadsheet_and_splits_nowhere_else():
    """The mark: Unicode standard, 23.8. Quotes round every text, and quotes within doubled: RFC 4180, and OWASP's
    page on CSV injection."""
    data = many_csv([Outcome(name="Küche", title='a";=2+5', says=("=1;=2", "+3"))])
    assert data.startswith(b"\xef\xbb\xbf\"name\",") and '"Küche","a"";\'=2+5",'.encode() in data
    assert list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))[1][-1] == "'=1;'=2 +3"


def test_a_folder_that_is_a_job_is_that_job_and_what_lies_in_it_is_not_searched(folder):
    write_room(folder / "kitchen" / "old", 2000)
    assert find_jobs(folder / "kitchen") == (folder / "kitchen",)
    assert len(find_jobs(folder)) == 3


def test_what_a_survey_leaves_in_doubt_is_told_with_its_job(folder, capsys):
    lengths = {
        "AB": 3100,
        "BC": 2600,
        "CD": 3100,
        "DA": 2600,
        "AC": (3100**2 + 2600**2) ** 0.5,
        "BD": 4146,
    }  # one diagonal 100 mm too long
    tape = [{"between": [a, b], "mm": mm} for (a, b), mm in lengths.items()]
    write_room(folder / "taped", 3100, floor=None, outline=list("ABCD"), tape=tape)
    assert main(["many", str(folder / "taped"), "--effort", "preview", "-o", str(folder / "sum.csv")]) == 0
    told = capsys.readouterr().out
    assert ", in doubt" in told and "B-D" in told.split("What the surveys leave in doubt")[1]
    (line,) = csv.DictReader(io.StringIO((folder / "sum.csv").read_text("utf-8-sig")))
    assert "B-D" in line["doubts"] and line["says"] == ""


@pytest.mark.parametrize("name", ["notes", "nowhere"])
def test_no_job_at_all_is_one_sentence(folder, name, capsys):
    with pytest.raises(JobFileError):
        find_jobs(folder / "nowhere")
    assert main(["many", str(folder / name)]) == 2
    told, complaint = capsys.readouterr()
    assert told == "" and complaint.count("\n") == 1 and "name the folder" in complaint
