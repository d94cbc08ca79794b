"""Surveys that went wrong, as people get them wrong, told through the command: one plain sentence that names the
thing and the way out."""
from __future__ import annotations

import copy
import json

import pytest

from desk.cli import main


@pytest.fixture
def told(capsys, on_disk):
    """What `check` and `survey` answer to a job: (status of each, all that `survey --json` says, its object)."""
    def call(tree: dict) -> tuple[int, int, list[str], dict]:
        folder = str(on_disk(tree))
        checked = main(["check", folder])
        capsys.readouterr()
        surveyed = main(["survey", folder, "--json"])
        out, err = capsys.readouterr()
        answer = json.loads(out)
        says = err.splitlines() if surveyed else [*answer["warnings"],
                                                  *(r["says"] for r in answer["readings"] if r["suspect"])]
        return checked, surveyed, says, answer
    return call


def marked(tree: dict, *corners: str) -> dict:
    """The job with these corners' marks alone, photo by photo; the rest of each photo is as it was."""
    tree = copy.deepcopy(tree)
    for photo, kept in zip(tree["photos"], corners, strict=True):
        photo["marks"] = [mark for mark in photo["marks"] if mark["point"] in kept]
    return tree


def refused(answer: tuple[int, int, list[str], dict]) -> str:
    """The one sentence of a survey that cannot be had."""
    _, surveyed, says, _ = answer
    assert surveyed in (1, 2) and len(says) == 1 and says[0].endswith((".", "?")) and len(says[0]) < 250, says
    return says[0]


def test_corners_nobody_measured_are_told_in_one_sentence(told, in_photos):
    one_wall = marked(in_photos | {"square": []}, "AB", "AB", "AB") | {"tape": in_photos["tape"][:1]}
    assert refused(told(one_wall)) == ("Nobody has measured the corners C and D; mark each in a photo, or tape each "
                                       "from two other corners.")
    one_more = marked(in_photos, "ABC", "AB", "AB")
    assert refused(
        told(one_more)) == "Nobody has measured corner D; mark it in a photo, or tape it from two other corners."


def test_photos_without_a_corner_in_common(told, in_photos):
    apart = marked(in_photos | {"square": []}, "AB", "CD", "CD") | {"tape": in_photos["tape"][:1]}
    assert told(apart)[0] == 0, "each corner has a mark, so only the survey can tell"
    assert "can still move; measure" in refused(told(apart)) or "give no floor" in refused(told(apart))


def test_no_length_at_all_is_told_without_solving(told, in_photos):
    checked, *_ = answer = told(in_photos | {"tape": []})
    assert checked == 1 and "size of the room; type at least one tape length" in refused(answer)


def test_a_lens_so_unknown_that_nothing_follows_asks_for_readings(told, in_photos):
    alone = in_photos | {"photos": in_photos["photos"][:1], "tape": in_photos["tape"][:1], "square": [],
                         "cameras": {"c1": {}}}
    assert refused(told(alone)) == ("The readings do not fix C: it can still move; measure A to C, or mark C in one "
                                    "more photo; after that one more "
                                    "such reading is needed.")


def test_walls_alone_say_how_many_lengths_are_missing(told):
    walls = {"outline": list("ABCDEF"), "tape": [{"between": list(pair), "mm": mm} for pair, mm in (
        ("AB", 5000), ("BC", 2000), ("CD", 2000), ("DE", 2000), ("EF", 3000), ("FA", 4000))]}
    says = refused(told(walls))
    assert "measure" in says and "in a photo; after that up to 2 more such readings are needed" in says


def test_one_pair_taped_twice_names_the_length_that_the_others_refute(told, in_photos):
    twice = in_photos | {"tape": [*in_photos["tape"], {"between": ["C", "B"], "mm": 3719}]}
    checked, surveyed, says, _ = told(twice)
    assert (checked, surveyed) == (0, 0) and len(says) == 1 and "tape C-B: 3719 mm looks 320 mm too long" in says[0]


def test_one_pair_taped_twice_that_nothing_else_checks_is_told_with_both_values(told):
    pairs = (("AB", 4000), ("BC", 3000), ("CD", 4000), ("DA", 3000), ("AC", 5000), ("AC", 5100))
    _, surveyed, says, _ = told({"outline": list("ABCD"),
                                 "tape": [{"between": list(pair), "mm": mm} for pair, mm in pairs]})
    assert surveyed == 0
    (value,) = {sentence for sentence in says if "A-C" in sentence}
    assert "A-C was taped as 5" in value and "5000 mm" in value and "5100 mm" in value and "measure it again" in value


def test_a_photo_held_upside_down_changes_nothing(told, in_photos):
    turned = copy.deepcopy(in_photos)
    for mark in turned["photos"][0]["marks"]:
        mark["x"], mark["y"] = 1999 - mark["x"], 1499 - mark["y"]
    (*_, says, upright), (*_, others, over) = told(in_photos), told(turned)
    assert says == others == []
    for one, other in zip(upright["walls"], over["walls"], strict=True):
        assert other["length"] == pytest.approx(one["length"], abs=0.05)


def test_two_corners_on_one_spot_of_a_photo(told, in_photos):
    first, second = in_photos["photos"][0]["marks"][:2]
    second["x"], second["y"] = first["x"], first["y"]
    assert "corners A and B are marked at the same place in photos/1.jpg" in refused(told(in_photos))


def test_two_marks_swapped_are_named(told, in_photos):
    first, second = in_photos["photos"][0]["marks"][:2]
    first["point"], second["point"] = second["point"], first["point"]
    _, surveyed, says, _ = told(in_photos)
    assert surveyed == 0 and set(says) == {
        "photos/1.jpg: B and A have each other's letter; with the two swapped all readings agree"}


def test_a_photo_of_another_room_is_named(told, in_photos):
    for mark, (x, y) in zip(in_photos["photos"][2]["marks"], ((300, 1400), (1900, 1300), (1100, 900), (800, 950))):
        mark["x"], mark["y"] = float(x), float(y)
    _, surveyed, says, _ = told(in_photos)
    assert surveyed == 0 and any("marks in photos/3.jpg" in one and "another room, take it out" in one for one in says)


@pytest.mark.parametrize("typed, why", [("14' 37 3/0\"", "'3/0' is not a fraction of an inch"),
                                        ("14 feet and a bit", "is not a length"),
                                        ("14' 13 1/2\"", "inches must be less than 12"), ("43.1", "has no unit"),
                                        ("4.31.2 m", "is not a length"), ("", "is not a length")])
def test_texts_that_are_no_length_are_asked_back(told, box, typed, why):
    box["tape"][0] = {"between": ["A", "B"], "typed": typed}
    says = refused(told(box))
    assert says.startswith("tape[0].typed: ") and why in says and "write" in says


def test_a_decimal_mark_one_place_off_is_found_where_the_others_check_it(told, box):
    box["tape"][0] = {"between": ["A", "B"], "typed": "40.0 m"}
    assert any("40000 mm looks 36000 mm too long" in one
               and "the decimal mark is probably one place off: 4000 mm?" in one for one in told(box)[2])


def test_a_decimal_mark_one_place_off_is_asked_about_where_they_do_not(told):
    lengths = {"AB": 40000, "BC": 3000, "CD": 4000, "DA": 3000, "AC": 5000}
    tree = {"outline": list("ABCD"), "tape": [{"between": list(pair), "mm": mm} for pair, mm in lengths.items()]}
    assert "A-B is typed as 40000 mm" in refused(told(tree)) and "did you mean 4000 mm?" in refused(told(tree))
