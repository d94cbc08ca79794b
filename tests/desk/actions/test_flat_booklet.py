"""The booklet of a flat as it is read: one numbering, rooms by their titles, what all share told once and named by its
page, what a room has of its own in its part, and one list of what each bar of beading is sawn into."""
from __future__ import annotations

import json
import re
from collections import Counter

import pypdfium2
import pytest

from desk.cli import main
from tests.support.houses import titled_flat, write_house

ONCE = ("Before you start", "Doors, before the first row", "How to lay", "When a check fails", "Notes")


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    place = titled_flat(tmp_path_factory.mktemp("booklet") / "flat")
    assert main(["pack", str(place), "-o", str(place / "pack")]) == 0
    return place / "pack"


def pages_of(path) -> list[str]:
    with pypdfium2.PdfDocument(path) as book:
        return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in book]


@pytest.fixture(scope="module")
def pages(pack) -> list[str]:
    return pages_of(pack / "booklet.pdf")


def test_rooms_bear_one_number_in_drawing_order_and_corners(pack, pages):
    answer = json.loads((pack / "flat.json").read_text())
    numbers = {name: room["number"] for name, room in answer["rooms"].items()}
    assert numbers == {name: k for k, name in enumerate(answer["order"]["rooms"], start=1)}
    titles = {"kitchen": "Big kitchen", "hall": "Entrance hall", "bath": "Washroom"}
    for name, number in numbers.items():
        assert pages[0].count(f"{number} {titles[name]}") == 2  # in the drawing and in the order of work
        floor = json.loads((pack / name / "plan.json").read_text())
        assert all(f"{number}{corner}" in json.dumps(floor) for corner in "ABCD")
    assert not re.search(r"\b[123]\. [A-Z]", pages[0].partition("Order of work")[2])


def test_folders_stand_on_paper_only_where_wood_bears_them(pack, pages):
    """What is pencilled begins with the folder of the floor that takes it: "hall 3.1"."""
    labels = {one["label"] for one in json.loads((pack / "flat.json").read_text())["together"]["offcuts"]}
    for page in pages:
        for label in sorted(labels, key=len, reverse=True):
            page = page.replace(label, "")
        assert not re.search(r"\b(kitchen|hall|bath)\b", page.replace("Big kitchen", "").replace("Entrance hall", ""))


def test_what_all_rooms_share_is_told_once_and_every_part_names_its_page(pages):
    """But for the doors of the kitchen, which has another underlay than the two others."""
    for title in ONCE:
        starts = [page for page in pages if page.startswith(title) and not page.startswith(f"{title} (continued)")]
        assert len(starts) == (2 if title.startswith("Doors") else 1), title
    named = [re.findall(r"“([^”]+)” on page ([0-9]+)", page) for page in pages if "Told once for all rooms" in page]
    assert len(named) == 3
    assert sum(ONCE[1] in dict(links) for links in named) == 2
    for links in named:
        assert {title for title, _ in links} >= {"Shopping list", "Bars of beading for all rooms", ONCE[0], *ONCE[2:4]}
        assert all(pages[int(number) - 1].startswith(title) for title, number in links)


def test_what_a_room_has_of_its_own_stays_in_its_part(pages):
    own = [page for page in pages if "For this room alone" in page]
    assert len(own) == 3 and sum("5 mm, one layer" in page for page in own) == 1  # every room's underlay, by its size
    assert all("5 mm, one layer" not in page for page in pages if page.startswith("Before you start"))
    # The pipe is the bath's, and how it is cut round is told with all else, whichever room comes first.
    assert "A pipe" in next(page for page in pages if page.startswith("How to lay (continued)"))


def test_every_length_of_beading_is_on_the_list_of_bars_once_with_its_room_and_wall(pack, pages):
    """Counted against what the floors' own plans ask for, and each bar against its length."""
    (told,) = json.loads((pack / "flat.json").read_text())["together"]["beading"]
    page = next(page for page in pages if page.startswith("Bars of beading for all rooms"))
    listed = Counter(re.findall(r"(Big kitchen|Entrance hall|Washroom), wall ([0-9][A-Z]-[0-9][A-Z])", page))
    titles = {"kitchen": "Big kitchen", "hall": "Entrance hall", "bath": "Washroom"}
    assert listed == Counter((titles[one["floor"]], one["where"]) for bar in told["cut"] for one in bar)
    assert all(sum(one["length"] for one in bar) + 3.0 * (len(bar) - 1) <= told["length"] + 1e-6
               for bar in told["cut"])  # a saw cut of 3 mm between pieces
    assert f"{told['bars']} bars" in pages[1] and f"{told['bars']} bars of 2400 mm" in page
    assert not any("saw, in this order" in page for page in pages if page.startswith("Finishing"))


def test_booklets_of_one_room_each_stay_whole(pack, tmp_path):
    assert main(["pack", str(pack.parent), "-o", str(tmp_path / "each"), "--each"]) == 0
    for name in ("kitchen", "hall", "bath"):
        text = " ".join(pages_of(tmp_path / "each" / name / "booklet.pdf"))
        assert all(title in text for title in ONCE if title != "Notes") and "saw, in this order" in text
    first = pages_of(tmp_path / "each" / "booklet.pdf")
    assert any(page.startswith("Bars of beading for all rooms") for page in first)
    assert not any(page.startswith("How to lay") for page in first)


def test_a_title_of_three_thousand_letters_is_cut_short_on_paper_and_in_the_terminal(tmp_path, capsys):
    place = titled_flat(tmp_path / "flat")
    write_house(place, title="Very long " * 300)
    job = json.loads((place / "bath" / "job.json").read_text())
    (place / "bath" / "job.json").write_text(json.dumps(job | {"title": "Wash " * 600}))
    assert main(["pack", str(place), "-o", str(tmp_path / "pack")]) == 0
    assert main(["house", str(place), "--effort", "preview"]) == 0
    assert max(map(len, pages_of(tmp_path / "pack" / "booklet.pdf"))) < 6000
    assert capsys.readouterr().out.count("Very long") < 20
