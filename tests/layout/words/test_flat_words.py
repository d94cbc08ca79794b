"""What is said of a flat: every rule of a doorway and of the order in a sentence of its own, in both units."""
from __future__ import annotations

import pytest

from layout.flat_plan import BoardKind, LayingOrder, PassageChoice, Travel
from layout.room import Board
from layout.words.flat import kind_words, order_reason, order_words, passage_words, travel_words

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)


def choice(rule: str, through: bool, extent: float = 0.0) -> PassageChoice:
    return PassageChoice(rooms=("kitchen", "hall"), doors=("D1", "D1"), through=through, rule=rule, extent_mm=extent,
                         longest_mm=10_000.0 if extent else 0.0)


def test_every_way_a_doorway_is_settled_has_a_sentence_of_its_own():
    choices = [choice("asked", True), choice("asked", False), choice("other-boards", False),
               choice("second-opening", False), choice("longest-run", True, 9100.0), choice("longest-run", False, 11e3)]
    said = [passage_words(one, "metric") for one in choices]
    assert len(set(said)) == len(said) and all("kitchen and hall" in one for one in said)
    assert [("boards run through" in one) for one in said] == [one.through for one in choices]
    assert "9.1 m, no more than the 10.0 m" in said[4] and "11.0 m, more than the 10.0 m" in said[5]
    # 9100 mm are 29.9 ft (1 ft is 304.8 mm).
    assert "29.9" in passage_words(choices[4], "imperial")


@pytest.mark.parametrize(("rule", "words"), [("named", "says you leave by"), ("outer-door", "none of the others"),
                                             ("most-doorways", "most doorways")])
def test_the_order_says_where_it_ends_and_how_that_is_known(rule, words):
    order = LayingOrder(rooms=("bath", "hall"), entrance="hall", rule=rule)
    said = order_words(order, [["bath"], ["hall"]])
    assert words in said and "bath, then hall" in said and ("Write" in said) == (rule != "named")
    assert "hall" in order_reason(order) and ".json" not in order_reason(order)  # no file can be written on paper


def test_an_order_that_was_asked_for_and_one_of_a_single_room():
    asked = LayingOrder(rooms=("a", "b"), entrance="b", rule="named", named=True)
    assert "asks for" in order_words(asked, [["a"], ["b"]]) and "You put" in order_reason(asked)
    assert order_words(LayingOrder(rooms=("a",), entrance="a", rule="outer-door"), [["a"]]) == ""


def test_rooms_that_boards_run_through_are_laid_as_one_whatever_lies_between_them():
    order = LayingOrder(rooms=("kitchen", "bath", "hall"), entrance="hall", rule="named", named=True)
    assert "Lay bath, then kitchen and hall:" in order_words(order, [["bath"], ["hall", "kitchen"]])


def test_boards_of_a_kind_are_bought_as_the_floors_plans_take_them_and_what_is_saved_is_told():
    kind = BoardKind(board=BOARD, floors=("a", "b"), boards=60, alone=62, bound=58, packs=8, packs_alone=9)
    said = kind_words(kind, "metric")
    # 8 packs of 8 hold 64: 4 to spare beyond the 60 that the floors' plans take.
    assert "60 boards, 8 packs of 8, 4 to spare" in said and "save 2 boards" in said and "9 packs" in said
    assert "takes fewer" not in said


def test_boards_that_meet_their_bound_are_called_the_fewest():
    kind = BoardKind(board=BOARD, floors=("a", "b"), boards=60, alone=60, bound=60, packs=8, packs_alone=8)
    said = kind_words(kind, "metric")
    assert "takes fewer boards" in said and "would do" not in said and "room by room" not in said


def test_an_offcut_is_told_by_where_it_comes_from_and_what_it_becomes():
    travel = Travel(label="hall 2.1", from_floor="bath", cut_by="4.3", to_floor="hall", used_by="2.1", length_mm=612.0)
    assert travel_words(travel, "metric") == ('From bath, sawn from piece 4.3: 612 mm. Pencil "hall 2.1" on it; it '
                                              'becomes piece 2.1 of hall.')
    assert "612" not in travel_words(travel, "imperial")
