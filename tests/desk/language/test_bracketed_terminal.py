"""What every command says in a made-up language whose every sentence is bracketed: nothing stands outside brackets but
names, figures and what argparse shows of the command line itself."""
from __future__ import annotations

import json
import re
import shutil
from importlib import resources
from pathlib import Path

import pytest

from capture.language.messages import ENGLISH
from desk.cli import RUNNERS, main
from desk.language import catalogues
from tests.desk.conftest import JOBS
from tests.desk.language.conftest import OPEN
from tests.desk.language.test_bracketed import outside, unlooked

#: Names: of files and folders, options, and what a terminal writes of a command line.
NAMES = re.compile(r"\S*/\S*|\b[\w-]+\.(?:json|pdf|csv|svg|dxf|html|jpg|png|txt|zip)\b|--?[a-z][\w-]*|"
                   r"\btapegroove( \w+)?|\{[\w,]+\}|\b[A-Z]{2,}(?:\.\w+)?\b")


@pytest.fixture(autouse=True)
def spoken(monkeypatch, tmp_path, bracketed, own_record):
    """The made-up language is offered as German; this machine has kept nothing."""
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "settings.json"))
    monkeypatch.setattr(catalogues, "OFFERED", ("en", "de"))
    monkeypatch.setattr(catalogues, "language", lambda tag: ENGLISH if tag == "en" else bracketed)
    yield
    assert bracketed.catalogue.lacked == set(), "looked up, but not found by the extractor"


@pytest.fixture
def say(capsys):
    """Runs a command in the made-up language; (status, what it said)."""
    def run(*arguments: object) -> tuple[int, str]:
        status = main(["--language", "de-DE", *map(str, arguments)])
        out, err = capsys.readouterr()
        return status, f"{out}\n{err}"
    return run


def bare(said: str, *names: str) -> list[str]:
    """Words in no bracket that are no names."""
    left = NAMES.sub(" ", outside(said))
    return [word for word in unlooked(left) if word not in names]


def put(folder: Path, tree: dict) -> Path:
    folder.mkdir(parents=True)
    (folder / "job.json").write_text(json.dumps({**tree, "title": "7"}))
    return folder


def stored(name: str) -> dict:
    return json.loads((JOBS / f"{name}.json").read_text())


@pytest.mark.parametrize("command", [(), *((name,) for name in RUNNERS)])
def test_help(say, command):
    status, said = say(*command, "--help")
    assert status == 0 and len(re.findall(OPEN, said)) > 3
    # Names of commands stand at the beginning of a line of their own.
    assert bare(re.sub(r"(?m)^ {4}[a-z]+(?= |$)", "", said), *(() if command else RUNNERS)) == []


@pytest.mark.parametrize("name", ["box", "l_floor", "photos", "whole-questions"])
@pytest.mark.parametrize("command", ["check", "survey"])
def test_check_and_survey(say, tmp_path, name, command):
    _, said = say(command, put(tmp_path / "job", {**stored(name), "plan": None, "day": []}))
    assert OPEN in said and bare(said) == []


def test_plan_pack_and_day(say, tmp_path):
    """The whole way of one floor, to a day on which everything happens."""
    job = put(tmp_path / "job", stored("box"))
    for arguments in (("plan", job, "--keep"), ("pack", job, "--rulers", "180,5", "240.5"), ("day", job)):
        status, said = say(*arguments)
        assert status == 0 and OPEN in said and bare(said) == [], arguments
    for words in ("Startwand zur Wand links 3196 mm", "Reihe 1 fertig", "Reihe 2 begonnen", "Stück 2.1 ist 700 mm lang",
                  "row 2 done", "Diele kaputt", "2 boards spoiled", "640 mm gefunden links", "first row 120 mm",
                  "Rohr 22 mm links 1204 mm Reihe 2 voraus 356 mm", "4 mm zur Startwand geschoben", "noch 3 Dielen",
                  "undo", "undo 99", "hallo", "Reihe 99 fertig", "Reststück 99.9 weg", "der Platz ist 1,285 mm",
                  "Rest weg", "out of boards"):
        _, said = say("day", job, *words.split())
        quoted = re.sub(r"[“„][^“”„]*”", "", said)
        assert OPEN in said and bare(quoted) == [], words


def test_house_and_many(say, tmp_path):
    room = {"floor": {"outline": [[0, 0], [1400, 0], [1400, 1200], [0, 1200]]},
            "doors": [{"name": "D1", "wall": ["A", "B"], "from": 300, "width": 800, "reveal": 50}],
            "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}}
    for name in ("one", "two", "three"):
        put(tmp_path / "h" / name, room)
    (tmp_path / "h" / "three" / "job.json").write_text("{")
    (tmp_path / "h" / "house.json").write_text(json.dumps({
        "rooms": ["one", "two", "three"], "doorways": [{"rooms": ["one", "two"], "doors": ["D1", "D1"]}]}))
    for arguments in (("house", tmp_path / "h", "--effort", "preview"),
                      ("many", tmp_path / "h", "--effort", "preview", "--processes", "1")):
        _, said = say(*arguments)
        assert OPEN in said and bare(said, "one", "two", "three", "floor", "h") == [], arguments


def test_demo_look_closeups_and_targets(say, tmp_path):
    photos = resources.files("demo_photos")
    job = put(tmp_path / "job", stored("box") | {"photos": [{"file": "photos/a.jpg"}, {"file": "photos/b.jpg"}],
                                                 "closeups": [{"file": "photos/a.jpg", "of": "D1", "beside": "a4"}]})
    (job / "photos").mkdir()
    shutil.copy(next(Path(str(photos)).rglob("*.jpg")), job / "photos" / "a.jpg")
    (job / "photos" / "b.jpg").write_bytes(b"no picture")
    for arguments in (("look", job), ("closeups", job), ("check", job), ("survey", job),
                      ("targets", "-o", tmp_path / "t.pdf"), ("demo", job)):
        _, said = say(*arguments)
        assert OPEN in said and bare(said) == [], arguments


BROKEN = {
    "cut short": b'{"outline": ["A"', "no JSON": b"hello", "no text": b"\xff\xfe\x00", "a list": b"[1]",
    "another format": b'{"format": "x"}', "a newer version": b'{"version": 99}', "not finite": b'{"a": NaN}',
    "doubles": b'{"a": 1, "a": 2}', "wrong kinds": b'{"outline": 5, "tape": [{"between": ["A", "A"], "mm": "x"}], '
    b'"show": "x", "doors": [{"name": "", "wall": ["A"], "from": -3, "width": 1e30}], "photos": [{"file": "../x"}]}',
    "lengths that disagree": b'{"tape": [{"between": ["A", "B"], "typed": "3 m", "mm": 5}, '
    b'{"between": ["A", "B"], "typed": "3.420"}, {"between": ["A", "B"], "mm": 0}, {"between": ["A", "B"]}]}',
    "day": b'{"day": [{"what": "x"}, {"what": "to-far-wall", "row": 1, "distances": [{"mm": 3}]}, '
    b'{"what": "obstacle", "name": "N1", "row": 0, "left": 1, "ahead": 1}]}', "papers": b'{"paper": [{"corners": '
    b'["A", "A", "B", "C"], "size": "a9"}], "date": 5, "title": "a", "rulers": {"across": {"mm": -1}}}', "empty": b"{}"}


@pytest.mark.parametrize("content", BROKEN.values(), ids=BROKEN)
@pytest.mark.parametrize("command", ["check", "plan"])
def test_a_job_that_cannot_be_read(say, tmp_path, content, command):
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "job.json").write_bytes(content)
    status, said = say(command, tmp_path / "job")
    assert status != 0 and OPEN in said and bare(said) == []


@pytest.mark.parametrize("arguments", [
    (), ("nonsense",), ("survey",), ("plan", "job", "--wrong"), ("desk", "--port", "x"),
    ("many", "x", "--seconds", "0"),
    ("targets", "-o", "t.pdf", "--count", "x"), ("targets", "-o", "t.pdf", "--paper", "b9"), ("survey", "nowhere"),
    ("survey", "a.zip"), ("house", "nowhere"), ("many", "nowhere"), ("pack", "job", "--rulers", "1"),
    ("house", "x", "--effort", "z"), ("plan", "job", "--keep=1"), ("schema", "x")])
def test_wrong_use(say, tmp_path, monkeypatch, arguments):
    monkeypatch.chdir(tmp_path)
    status, said = say(*arguments)
    assert status == 2 and OPEN in said and bare(said) == []
