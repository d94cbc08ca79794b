"""The pack of a flat: one booklet with a part a room and one shopping list, or a booklet a room; what else lies in the
folder stays."""
from __future__ import annotations

import json

import pytest
import pypdfium2

from desk.actions.flat.planning import flat_kept
from desk.cli import main
from tests.desk.actions.test_flat_kept import ON
from tests.support.houses import drawn_flat, invented_flat, write_house


@pytest.fixture(scope="module")
def flat(tmp_path_factory):
    place = drawn_flat(1, tmp_path_factory.mktemp("pack") / "flat")
    return place, flat_kept(place, "preview", on=ON).flat


def pages_of(path) -> list[str]:
    with pypdfium2.PdfDocument(path) as book:
        return [page.get_textpage().get_text_range() for page in book]


def test_one_booklet_holds_every_room_once_and_buys_once(flat, tmp_path, capsys):
    place, plan = flat
    assert main(["pack", str(place), "-o", str(tmp_path / "pack"), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    (kind,) = plan.kinds
    assert (answer["boards"], answer["packs"]) == (kind.boards, kind.packs_to_buy)
    assert not any(name.endswith("/booklet.pdf") for name in answer["files"])
    pages = pages_of(tmp_path / "pack" / "booklet.pdf")
    assert f"{kind.packs_to_buy} packs" in pages[1] and "Order of work" in pages[0]
    for floor in plan.floors:
        own = [page for page in pages if f"{floor.name.title()} · " in page]
        rows = [page for page in own if page.lstrip().startswith("Row ")]
        assert len(rows) >= len(floor.plan.rows)
        assert any("“Shopping list” on page 2" in " ".join(page.split()) for page in own)
    carried = next(page for page in pages if "Offcuts carried" in page and "keep for" in page)
    assert all(travel.label in carried for travel in plan.travels)


def test_the_first_page_tells_order_and_doorways_as_they_are_laid_and_names_no_file(tmp_path):
    """Boards run through between kitchen and hall, so these are one floor; rooms are numbered as they are laid."""
    place = invented_flat(tmp_path / "flat")
    write_house(place, title="")
    assert main(["pack", str(place), "-o", str(tmp_path / "pack")]) == 0
    first = pages_of(tmp_path / "pack" / "booklet.pdf")[0]
    assert first.startswith("The flat") and "house.json" not in first and "Lay kitchen" not in first
    assert first.index("1 bath") < first.index("2 kitchen and 3 hall") and "From the farthest room to hall" in first
    assert "corner A of room 2" in first and "+" not in first
    assert "boards run through: you chose it." in first and "their leaflet decides" in first
    order = json.loads((tmp_path / "pack" / "flat.json").read_text())["order"]
    assert order["rooms"] == ["bath", "kitchen", "hall"] and "Lay bath, then kitchen and hall:" in order["says"]


def test_a_booklet_a_room_where_that_is_asked_for_and_the_folder_is_written_again(flat, tmp_path, capsys):
    place, plan = flat
    for extra in ([], ["--each"]):
        assert main(["pack", str(place), "-o", str(tmp_path / "pack"), *extra]) == 0
    for floor in plan.floors:
        assert (tmp_path / "pack" / floor.name / "booklet.pdf").is_file()
    said = capsys.readouterr().out
    assert "not kept" not in said
    (tmp_path / "pack" / "mine.txt").write_text("mine")
    assert main(["pack", str(place), "-o", str(tmp_path / "pack")]) == 2
    assert (tmp_path / "pack" / "mine.txt").read_text() == "mine"


def test_one_room_of_a_kept_flat_says_that_boards_are_bought_together(flat, tmp_path):
    place, plan = flat
    name = plan.floors[0].name
    assert main(["pack", str(place / "floors" / name), "-o", str(tmp_path / "one")]) == 0
    text = " ".join(pages_of(tmp_path / "one" / "booklet.pdf"))
    assert "Buy by the list of the whole flat" in text and plan.floors[-1].name in text
    assert "How to lay" in text and "When a check fails" in text  # all that the flat's booklet tells once


def test_plans_that_are_not_kept_are_printed_and_that_is_said(tmp_path, capsys):
    place = drawn_flat(0, tmp_path / "flat")
    assert main(["pack", str(place), "-o", str(tmp_path / "pack")]) == 0
    assert "not kept" in capsys.readouterr().out


def test_each_is_refused_for_one_room(flat, tmp_path, capsys):
    place, plan = flat
    assert main(["pack", str(place / "floors" / plan.floors[0].name), "--each"]) == 2
    assert "is one room" in capsys.readouterr().err
