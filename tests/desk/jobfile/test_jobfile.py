"""Reading and writing job files: round trips, versions, broken and hostile files."""
from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from desk.jobfile.job import OffsetEntry, TapeEntry
from desk.jobfile.files import parse_job, parse_tree, read_job, with_keys, write_job
from desk.problem import JobFileError

JOBS = sorted((Path(__file__).parents[2] / "data" / "jobs").glob("v*/*.json"))


def slugs(tree) -> list[tuple[str, str]]:
    return [(p.slug, p.where) for p in parse_tree(tree)[1]]


@pytest.mark.parametrize("path", JOBS, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_every_stored_job_of_every_format_is_read_and_written_back_the_same(path, tmp_path):
    (tmp_path / "job.json").write_bytes(path.read_bytes())
    job = read_job(tmp_path)
    write_job(tmp_path / "copy", job)
    assert read_job(tmp_path / "copy") == job
    assert json.loads((tmp_path / "copy" / "job.json").read_text()) == json.loads(path.read_text())


def test_stored_jobs_stay_as_they_were():
    """A job of an earlier day must be readable as it was written: files are added, never edited."""
    lines = (Path(__file__).parents[2] / "data" / "jobs" / "SHA256SUMS").read_text().splitlines()
    kept = {name: digest for digest, _, name in (line.partition("  ") for line in lines)}
    now = {f"{path.parent.name}/{path.name}": hashlib.sha256(path.read_bytes()).hexdigest() for path in JOBS}
    assert kept == now, ("a stored job was edited: restore it; or one was added: add its line to SHA256SUMS (sha256sum "
                         "v*/*.json)")


def test_keys_this_version_does_not_know_survive_a_save(box, tmp_path):
    box["weather"] = {"sunny": True}
    box["tape"][0]["who"] = "Kim"
    box["tape"].append({"between": ["A", "C"], "mm": 5000, "sketch": [1, 2]})
    write_job(tmp_path, parse_job(box))
    again = json.loads((tmp_path / "job.json").read_text())
    assert again == box


def test_fields_come_through_with_their_units(box):
    job = parse_job(box)
    assert job.outline == ("A", "B", "C", "D")
    assert job.tapes[0] == TapeEntry(between=("A", "B"), length_mm=4000.0, typed="4.00 m", where="tape[0]")
    assert job.offsets[1] == OffsetEntry(point="P1", wall=("D", "A"), length_mm=900.0, where="tape[7]")
    assert (job.doors[0].casing_mm, job.doors[0].reveal_mm) == ((57.0, 15.0), 110.0)
    assert job.flooring.board.pack == 8 and job.date.isoformat() == "2026-03-05"


def test_a_job_that_names_no_format_is_taken_as_the_first():
    assert parse_job({"outline": ["A", "B", "C"]}).outline == ("A", "B", "C")


@pytest.mark.parametrize("change, slug", [
    ({"format": "other"}, "wrong-format"), ({"version": 2}, "newer-format"), ({"version": 0}, "wrong-format"),
    ({"version": True}, "wrong-format"), ({"version": "1"}, "wrong-format")])
def test_other_formats_and_versions_are_named(box, change, slug):
    with pytest.raises(JobFileError) as caught:
        parse_job(box | change)
    assert caught.value.slug == slug


def test_a_newer_version_says_to_update(box):
    with pytest.raises(JobFileError, match="newer version of the tool.*update"):
        parse_job(box | {"version": 7})


@pytest.mark.parametrize("data, slug, words", [
    (b'{"outline": ["A", "B",\n "C', "unreadable-job", "stops in the middle.*line 2"),
    (b'{"outline": ["A",\n', "unreadable-job", "stops in the middle.*line"),
    (b'{"outline": ["A"]\n "title": 1}', "unreadable-job", "not valid JSON.*line 2"),
    (b"", "unreadable-job", "stops in the middle"),
    (b'{"title": "\xff"}', "unreadable-job", "UTF-8"),
    (b'{"tape": [{"between": ["A", "B"], "mm": NaN}]}', "not-finite", "NaN"),
    (b'{"tape": [{"between": ["A", "B"], "mm": -Infinity}]}', "not-finite", "Infinity"),
    (b'{"other": 1e999}', "not-finite", "1e999"),
    (b'{"outline": [], "outline": []}', "double-key", "outline.*twice"),
    (b"[" * 100_000, "unreadable-job", "too large"),
    (b'{"a": ' + b"9" * 5000 + b"}", "unreadable-job", "too large"),
    (b"[1, 2]", "unreadable-job", "not a job"),
    (b'{"title": "\\ud800"}', "unreadable-job", "text"),
])
def test_broken_files_get_one_sentence(on_disk, data, slug, words):
    with pytest.raises(JobFileError, match=words) as caught:
        read_job(on_disk(data))
    assert caught.value.slug == slug and len(caught.value.problems) == 1


def test_a_byte_order_mark_is_no_fault(on_disk, box):
    assert read_job(on_disk(b"\xef\xbb\xbf" + json.dumps(box).encode())) == parse_job(box)


def test_a_job_may_be_named_by_its_file(on_disk, box):
    assert read_job(on_disk(box) / "job.json") == parse_job(box)


@pytest.mark.parametrize("make, words", [
    (lambda p: p / "nowhere", "no folder"), (lambda p: p, "holds no job.json"), (lambda p: p / "a.zip", "unpack")])
def test_a_missing_job_says_what_to_name(tmp_path, make, words):
    with pytest.raises(JobFileError, match=words):
        read_job(make(tmp_path))


@pytest.mark.parametrize("file", ["../secret.jpg", "photos/../../x.jpg", "/etc/passwd", "C:/x.jpg", "..\\x.jpg", "",
                                  ".", "a\0b"])
def test_a_photo_path_cannot_leave_the_folder(file):
    assert slugs({"photos": [{"file": file}], "closeups": [{"file": file}]}) == [
        ("path-outside", "photos[0].file"), ("path-outside", "closeups[0].file")]


@pytest.mark.parametrize("tape, length", [({"mm": 4312}, 4312.0), ({"typed": "4.312 m"}, 4312.0),
                                          ({"typed": "14' 1 3/4\""}, 4311.65),
                                          ({"mm": 4312, "typed": "4.312 m"}, 4312.0),
                                          ({"mm": 4312, "typed": "431.2"}, 4312.0),
                                          ({"mm": 3420, "typed": "3.420"}, 3420.0),
                                          ({"mm": 4312.4, "typed": "4312"}, 4312.4)])
def test_a_length_may_come_as_number_or_text(tape, length):
    job = parse_job({"tape": [{"between": ["A", "B"]} | tape]})
    assert job.tapes[0].length_mm == pytest.approx(length, abs=1e-9)


@pytest.mark.parametrize("tape, slug, where",
                         [({"mm": 4312, "typed": "4.212 m"}, "lengths-disagree", "tape[0]"),
                          ({"mm": 4312, "typed": "4313"}, "lengths-disagree", "tape[0]"),
                          ({"typed": "four"}, "unreadable-length", "tape[0].typed"),
                          ({"typed": "3.420"}, "ambiguous-length", "tape[0].typed"), ({}, "missing-field", "tape[0]"),
                          ({"mm": "4312"}, "wrong-field", "tape[0].mm"), ({"mm": True}, "wrong-field", "tape[0].mm"),
                          ({"mm": 0}, "zero-length", "tape[0]"), ({"mm": -5}, "wrong-field", "tape[0].mm"),
                          ({"mm": 1e30}, "wrong-field", "tape[0].mm"),
                          ({"mm": 1, "sd": 0}, "wrong-field", "tape[0].sd")])
def test_a_length_that_cannot_be_meant_is_refused_at_its_place(tape, slug, where):
    assert slugs({"tape": [{"between": ["A", "B"]} | tape]}) == [(slug, where)]


@pytest.mark.parametrize("tree, where",
                         [({"photos": [{"file": "a.jpg"}, {"file": "b.jpg",
                                                           "marks": [{"point": "A", "x": 1, "y": 2},
                                                                     {"point": "B", "x": None, "y": 2}]}]},
                           "photos[1].marks[1]"),
                          ({"photos": [{"file": "a.jpg", "edges": [{"wall": ["A", "B"], "points": [[1, 2], [3]]}]}]},
                           "photos[0].edges[0].points[1]"),
                          ({"photos": [{"file": "a.jpg", "size": [0, 5]}]}, "photos[0].size[0]"),
                          ({"cameras": {"c1": {"focal_px": "long"}}}, "cameras.c1.focal_px"),
                          ({"cameras": {"c1": {"k1": 9}}}, "cameras.c1.k1"), ({"outline": ["A", " B"]}, "outline[1]"),
                          ({"outline": "ABC"}, "outline"), ({"show": "both"}, "show"),
                          ({"floor": {"outline": [[0, 0], [1, "x"]]}}, "floor.outline[1][1]"), ({"floor": 4}, "floor"),
                          ({"flooring": {"board": {"length": 1285}}}, "flooring.board"),
                          ({"flooring": {"board": {"length": 1285, "width": 192, "pack": 7.5}}}, "flooring.board.pack"),
                          ({"flooring": {"rules": {"stagger": -1}}}, "flooring.rules.stagger"),
                          ({"flooring": {"direction": ["A"]}}, "flooring.direction"),
                          ({"flooring": {"pattern": "random"}}, "flooring.pattern"),
                          ({"flooring": {"first_row": "wide"}}, "flooring.first_row"),
                          ({"pipes": [{"name": "P1"}]}, "pipes[0]"),
                          ({"doors": [{"name": "D", "wall": ["A", "B"], "from": 3}]}, "doors[0]"),
                          ({"doors": [{"name": "D", "wall": ["A", "B"], "from": 3, "width": 800, "next_floor": "up"}]},
                           "doors[0].next_floor"),
                          ({"islands": [{"corners": ["A"]}]}, "islands[0]"), ({"date": "yesterday"}, "date"),
                          ({"square_sd": 0}, "square_sd")])
def test_every_field_is_checked_and_its_place_named(tree, where):
    (problem,) = parse_tree(tree)[1]
    assert problem.where == where
    assert where in problem.says and problem.says.endswith(".") and "\n" not in problem.says


def test_one_reading_finds_every_fault_and_keeps_what_is_sound(box):
    box["tape"][1]["mm"] = "long"
    box["tape"][3]["between"] = ["A", "A"]
    box["outline"][2] = 7
    job, problems = parse_tree(box)
    assert [p.where for p in problems] == ["outline[2]", "tape[1].mm", "tape[3].between"]
    assert len(job.tapes) == 4 and job.outline == ("A", "B", "D")


def test_keys_can_be_set_and_taken_out(box):
    job = with_keys(parse_job(box), title="New", doors=None, plan={"kept": 1})
    assert (job.title, job.doors, job.tree()["plan"]) == ("New", (), {"kept": 1})


def test_the_file_lists_readings_one_to_a_line(box):
    lines = parse_job(box).text.splitlines()
    assert sum('"between"' in line for line in lines) == 6


def test_a_mailed_job_cannot_steer_the_terminal():
    tree = {"title": "a\x1b[2Jb\nc", "tape": [{"between": ["A", "B"], "typed": "\x1b[31m4 m\u0085"}], "show": "\x9b2J"}
    job, problems = parse_tree(tree)
    assert job.title == "a\\x1b[2Jb\\nc" and job.tree() == tree
    assert len(problems) == 2 and all(problem.says.isprintable() for problem in problems)
