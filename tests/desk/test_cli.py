"""The command line from outside: exit status, which stream says what, and nothing half done."""
from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from desk import cli
from desk.cli import main
from desk.jobfile.save import names_in


@pytest.fixture
def run(capsys):
    """Runs a command in this process; returns (status, stdout, lines of stderr)."""
    def call(*arguments) -> tuple[int, str, list[str]]:
        status = main([str(a) for a in arguments])
        out, err = capsys.readouterr()
        return status, out, err.splitlines()
    return call


def outside(*arguments, **options) -> subprocess.CompletedProcess:
    """Runs the command in a process of its own."""
    return subprocess.run([sys.executable, "-m", "desk.cli", *map(str, arguments)], capture_output=True, text=True,
                          check=False, **options)


def test_a_sound_job_is_surveyed_for_people_and_programs(run, on_disk, box):
    folder = on_disk(box)
    status, out, err = run("survey", folder)
    assert (status, err) == (0, []) and "wall A-B" in out and "± " in out
    status, out, err = run("survey", folder, "--json")
    assert (status, err) == (0, []) and json.loads(out)["format"] == "tapegroove-survey" and out.count("\n") == 1


def test_a_given_floor_is_planned_for_people_and_programs(run, on_disk, l_floor):
    folder = on_disk(l_floor)
    status, out, err = run("plan", folder, "--json")
    answer = json.loads(out)
    assert (status, err, answer["format"]) == (0, [], "tapegroove-plan")
    status, out, err = run("plan", folder)
    assert (status, err) == (0, []) and f"{answer['boards']}, each" in out and "Row by row" in out


@pytest.mark.parametrize("arguments, words", [
    ([], "COMMAND"), (["paint"], "invalid choice"), (["survey"], "JOB"), (["desk", "--port", "99999"], "99999"),
    (["pack", "x", "--nonsense"], "nonsense")])
def test_wrong_use_is_one_sentence_and_status_2(run, arguments, words):
    status, out, err = run(*arguments)
    assert (status, out, len(err)) == (2, "", 1) and words in err[0] and "--help" in err[0]


@pytest.mark.parametrize("command", ["survey", "plan", "check", "pack"])
@pytest.mark.parametrize("content, words", [(b'{"outline": ["A", "B"', "stops in the middle"),
                                            (b'{"tape": [{}, {"between": ["A", "A"], "mm": 3}]}', "tape")])
def test_unreadable_input_is_status_2(run, on_disk, command, content, words):
    status, _out, err = run(command, on_disk(content))
    assert status == 2 and any(words in line for line in err) and all(line.endswith(".") for line in err)


def test_a_missing_folder_is_status_2(run, tmp_path):
    status, out, err = run("survey", tmp_path / "nowhere", "--json")
    assert status == 2 and "nowhere" in err[0] and json.loads(out)["problems"][0]["slug"] == "no-job"


@pytest.mark.parametrize("change, command, words",
                         [({"outline": ["A", "B"]}, "survey", "at least 3"),
                          ({"outline": ["A", "B", "C", "D", "E"]}, "survey", "measured corner E"),
                          ({"flooring": {}}, "plan", '"board": {"length": 1285'),
                          ({"flooring": {"board": {"length": 0, "width": 0}}}, "plan", "board's length is 0 mm"),
                          ({"tape": [{"between": ["A", "B"], "mm": 4000}, {"between": ["C", "D"], "mm": 4000}]},
                           "survey", "measure")])
def test_a_job_that_cannot_be_solved_as_it_stands_is_status_1(run, on_disk, box, change, command, words):
    for key in ("pipes", "doors"):
        box.pop(key)
    status, out, err = run(command, on_disk(box | change))
    assert (status, out) == (1, "") and any(words in line for line in err)


def test_walls_that_cannot_meet_are_named(run, on_disk):
    tapes = [{"between": ["A", "B"], "mm": 4000}, {"between": ["B", "C"], "mm": 1000},
             {"between": ["A", "C"], "mm": 9000}]
    status, out, err = run("survey", on_disk({"outline": ["A", "B", "C"], "tape": tapes}))
    assert (status, out, len(err)) == (1, "",
                                       1) and "A-C is typed as 9000 mm, but the way A-B-C is only 5000 mm" in err[0]


def test_what_cannot_be_done_is_one_json_object_too(run, on_disk, box):
    status, out, err = run("survey", on_disk(box | {"outline": ["A"]}), "--json")
    answer = json.loads(out)
    assert status == 1 and not answer["ok"] and [p["says"] for p in answer["problems"]] == err


def test_a_mark_outside_and_a_lost_picture(run, on_disk, in_photos):
    in_photos["photos"][1]["marks"][0]["x"] = 2500
    status, _, err = run("survey", on_disk(in_photos))
    assert status == 1 and "outside the picture (2000 x 1500 px)" in err[0]
    in_photos["photos"][0].pop("size")
    status, _, err = run("survey", on_disk(in_photos))
    assert status == 2 and "photos/1.jpg is not in the job's folder" in err[0]


def test_check_says_everything_and_solves_nothing(run, on_disk, box, monkeypatch):
    monkeypatch.setitem(sys.modules, "capture.solve", None)
    folder = on_disk(box)
    assert run("check", folder) == (0, "Nothing wrong was found.\n", [])
    box["tape"][0]["mm"], box["square"] = "x", ["Q"]
    status, out, err = run("check", on_disk(box))
    assert status == 2 and len(err) == 2 and out.startswith("2 things must be put right first.")
    box["tape"].pop(0)
    assert run("check", on_disk(box))[0] == 1


@pytest.mark.parametrize("options, width_pt", [([], 612), (["--paper", "a4"], 595.28), (["--paper", "Letter"], 612)])
def test_a_pack_is_written_whole(run, on_disk, closet, tmp_path, options, width_pt):
    """Page widths: A4 is 210 mm (ISO 216), Letter 8.5 in (ANSI Y14.1); a point is 1/72 in. The job is in inches:
    Letter by default."""
    import pypdfium2
    status, _out, err = run("pack", on_disk(closet), "-o", tmp_path / "pack", *options)
    assert (status, err) == (0, [])
    names = names_in(tmp_path / "pack")
    assert names >= {"booklet.pdf", "templates.pdf", "plan.svg", "plan.dxf", "cuts.csv", "plan.json"}
    assert any(name.startswith("templates/") and name.endswith(".svg") for name in names)
    document = pypdfium2.PdfDocument(tmp_path / "pack" / "booklet.pdf")
    try:
        assert document[0].get_width() == pytest.approx(width_pt, abs=0.1)
    finally:
        document.close()
    assert json.loads((tmp_path / "pack" / "plan.json").read_text())["format"] == "tapegroove-plan"


def test_a_pack_replaces_an_earlier_pack_but_nothing_else(run, on_disk, closet, tmp_path):
    folder, pack = on_disk(closet), tmp_path / "pack"
    assert run("pack", folder, "-o", pack, "--json")[0] == 0
    first = {name: (pack / name).read_bytes() for name in names_in(pack)}
    (pack / "templates").joinpath("old.svg").write_text("old")
    assert run("pack", folder, "-o", pack)[0] == 0
    assert {name: (pack / name).read_bytes() for name in names_in(pack)} == first, "the same job gives the same pack"
    (pack / "notes.txt").write_text("mine")
    status, _out, err = run("pack", folder, "-o", pack)
    assert status == 2 and "notes.txt" in err[0] and (pack / "notes.txt").read_text() == "mine"
    assert run("pack", folder, "-o", folder)[0] == 2 and (folder / "job.json").exists()


def test_an_unknown_paper_is_wrong_use_and_writes_nothing(run, on_disk, closet, tmp_path):
    status, _, err = run("pack", on_disk(closet), "-o", tmp_path / "pack", "--paper", "napkin")
    assert status == 2 and "napkin" in err[0] and not (tmp_path / "pack").exists()


def longest_lines(pdf):
    """Longest line across and down on a PDF's first page, mm, read with pdfplumber."""
    import pdfplumber
    with pdfplumber.open(pdf) as document:
        boxes = [*document.pages[0].rects, *document.pages[0].curves, *document.pages[0].lines]
        return tuple(max(float(box[side]) for box in boxes) * 25.4 / 72 for side in ("width", "height"))


def test_what_the_rulers_show_rescales_each_way(run, on_disk, closet, tmp_path):
    """Rulers of 6 3/4 and 9 inches come out 1.0 % short across and 0.5 % long down; typed in the job or in the
    command, the same pack."""
    folder = on_disk(closet)
    status, _, err = run("pack", folder, "-o", tmp_path / "one", "--rulers", "169.7 mm", "229.7 mm")
    assert (status, err) == (0, [])
    assert longest_lines(tmp_path / "one" / "templates.pdf") == pytest.approx((171.45 ** 2 / 169.7, 228.6 ** 2 / 229.7),
                                                                              abs=0.03)
    closet["rulers"] = {"across": {"mm": 169.7, "typed": "169.7 mm"}, "down": {"typed": "229.7 mm"}}
    assert run("check", on_disk(closet))[0] == 0
    run("pack", on_disk(closet), "-o", tmp_path / "two")
    assert (tmp_path / "one" / "templates.pdf").read_bytes() == (tmp_path / "two" / "templates.pdf").read_bytes()


@pytest.mark.parametrize("typed, status, says", [(("6 1/4", "9"), 1, "more than 3 %"), (("6 3/4", "ten"), 2, "ten"),
                                                 (("6 3/4", " "), 1, "both rulers")])
def test_a_ruler_that_cannot_be_is_refused_before_the_work(run, on_disk, closet, tmp_path, typed, status, says,
                                                           monkeypatch):
    monkeypatch.setattr("desk.actions.pipeline.survey_job", lambda *_: 1 / 0)
    told, _, err = run("pack", on_disk(closet), "-o", tmp_path / "pack", "--rulers", *typed)
    assert told == status and len(err) == 1 and says in err[0] and not (tmp_path / "pack").exists()


def test_a_ruler_far_off_in_the_job_is_told_by_check(run, on_disk, closet):
    closet["rulers"] = {"across": {"mm": 160}, "down": {"mm": 228}}
    status, out, _ = run("check", on_disk(closet))
    assert status == 0 and "more than 3 %" in " ".join(out.split())


def test_what_we_did_not_foresee_is_our_fault_in_one_sentence(run, on_disk, box, monkeypatch):
    monkeypatch.setattr("desk.actions.pipeline.survey_job", lambda *_: 1 / 0)
    status, out, err = run("survey", on_disk(box), "--json")
    assert status == 1 and len(err) == 1 and "fault of ours" in err[0] and json.loads(out)["problems"][0][
        "slug"] == "our-fault"
    monkeypatch.setenv("TAPEGROOVE_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(["survey", str(on_disk(box))])


def test_stopping_by_hand_is_quiet(run, on_disk, box, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt
    monkeypatch.setattr("desk.actions.pipeline.survey_job", stop)
    assert run("survey", on_disk(box)) == (cli.INTERRUPTED, "", ["Stopped."])


def test_a_reader_that_goes_away_is_no_fault(on_disk, box):
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as gone:
        done = subprocess.run([sys.executable, "-m", "desk.cli", "survey", str(on_disk(box))], stdout=gone,
                              stderr=subprocess.PIPE, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_terminal_without_the_sign_gets_a_stand_in(on_disk, box):
    done = outside("survey", on_disk(box), env={**os.environ, "PYTHONIOENCODING": "ascii"})
    # "+/-" is how ISO/IEC 646 (ASCII), which has no such sign, is commonly used for it (common practice, no source).
    assert done.returncode == 0 and "+/- 2." in done.stdout and "?" not in done.stdout and done.stderr == ""


def test_letters_a_terminal_has_not_are_written_as_near_as_they_come(on_disk, box):
    done = outside("survey", on_disk(box | {"title": "Küche, Łódź"}), env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert done.returncode == 0 and done.stdout.startswith("Kuche, Lodz\n")


def test_the_page_is_served_with_what_was_asked(run, monkeypatch, tmp_path):
    import types
    calls = []
    monkeypatch.setitem(sys.modules, "desk.server.home.site", types.SimpleNamespace(
        serve_any=lambda *a, **more: calls.append((*a, more["flat"]))))
    assert run("desk", tmp_path, "--port", 8123, "--no-browser")[0] == 0 and run("desk", "--flat")[0] == 0
    assert calls == [(tmp_path, 8123, False, None, False), (None, 0, True, None, True)]


@pytest.mark.parametrize("subject", ["job", "survey", "plan"])
def test_schemas_are_written_as_they_are_stored(run, subject):
    status, out, err = run("schema", subject)
    assert (status, err) == (0, []) and json.loads(out)["$id"] == f"urn:tapegroove:{subject}:1"
