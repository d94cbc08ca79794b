"""What terminal and paper say of a flat in a made-up language whose every sentence is bracketed: nothing stands outside
brackets but names and figures."""
from __future__ import annotations

import datetime
import json
import re
import shutil
from pathlib import Path

import pytest

from capture.language.messages import read_by
from desk.actions.flat.planning import flat_kept, flat_planned
from desk.actions.flat.printing import flat_pack
from desk.cli import main
from printpack.booklet.booklet import booklet_foot
from printpack.flat.flat_pages import bar_pages, carried_pages, first_pages, shopping_pages
from printpack.drawing.page_layout import bound
from printpack.drawing.sheet import Text
from printpack.paper import A4
from tests.desk.language.conftest import OPEN
from tests.desk.language.test_bracketed import unlooked
from tests.desk.language.test_bracketed_terminal import bare, spoken
from tests.support.houses import drawn_flat, invented_flat

ON = datetime.date(2026, 3, 5)
__all__ = ["spoken"]  # the fixture


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> tuple[Path, tuple[str, ...]]:
    """A drawn flat in which offcuts travel, kept, its rooms in German; what is called how in it."""
    place = drawn_flat(1, tmp_path_factory.mktemp("kept") / "flat")
    for job in place.glob("*/job.json"):
        job.write_text(json.dumps(json.loads(job.read_text()) | {"language": "de"}))
    flat = flat_kept(place, "preview", on=ON).flat
    assert flat is not None and flat.travels
    return place, tuple({"Invented", "flat", "floors", "pack", *(part for floor in flat.floors for part in re.findall(
        r"\w+", f"{floor.name} {floor.name.title()}"))})


def names_of(words: tuple[str, ...]) -> list[str]:
    """As the patterns of `unlooked` find them."""
    return [*words, *(f"{a}+{b}" for a in words for b in words)]


@pytest.mark.parametrize("arguments", [("house",), ("house", "--keep"), ("pack",), ("pack", "--each")],
                         ids=" ".join)
def test_the_terminal_tells_of_a_flat_in_the_language_of_its_rooms(kept, tmp_path, capsys, arguments):
    place = shutil.copytree(kept[0], tmp_path / "flat")
    command, *options = arguments
    assert main([command, str(place), *options]) == 0
    said = "".join(capsys.readouterr())
    assert OPEN in said and bare(said, *kept[1]) == []


def test_a_room_that_cannot_be_read_is_told_in_the_language_of_the_others(tmp_path, capsys):
    place = invented_flat(tmp_path / "flat")
    (place / "kitchen" / "job.json").write_text("[1]")
    hall = place / "hall" / "job.json"
    hall.write_text(json.dumps(json.loads(hall.read_text()) | {"language": "de"}))
    assert main(["house", str(place), "--effort", "preview"]) != 0
    said = "".join(capsys.readouterr())
    assert OPEN in said and bare(said, "kitchen", "hall", "bath", "Invented", "flat", "floors") == []


def test_the_booklet_of_a_flat(kept, bracketed):
    """The pages before its rooms' own, which `test_bracketed` looks at."""
    place, names = kept
    with read_by(bracketed):
        planned = flat_planned(place, "preview", floors=None)
        assert planned.flat is not None
        flat = flat_pack(planned, planned.flat, ON, lambda job: job)
        pages = [page for part in (first_pages, shopping_pages, bar_pages, carried_pages) for page in part(flat, A4)]
        sheets = bound(pages, A4, title="7", foot=booklet_foot("7"))
    paper = "\n".join(item.text for sheet in sheets for item in sheet.items if isinstance(item, Text))
    assert len(re.findall(OPEN, paper)) > 30
    left = {word for word in unlooked(re.sub(r"5\. März 2026", "", paper)) if word not in names_of(names)}
    assert left == set()


@pytest.mark.parametrize("words", ["Reihe 1 fertig", "undo"])
def test_the_day_of_a_floor_whose_offcuts_go_to_others(kept, tmp_path, capsys, words):
    place = shutil.copytree(kept[0], tmp_path / "flat")
    for floor in sorted(place.glob("floors/*")):
        for said in ("Reihe 1 fertig", words):
            main(["day", str(floor), *said.split()])
            told = re.sub(r"[“„][^“”„]*”", "", "".join(capsys.readouterr()))
            assert OPEN in told and bare(told, *kept[1]) == [], (floor, said)
