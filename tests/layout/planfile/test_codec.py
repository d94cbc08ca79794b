"""Plans as JSON and back."""
from __future__ import annotations

import copy
import json

import pytest

from layout.planfile.codec import from_answer, to_answer
from layout.errors import LayoutError
from layout.planning.planner import plan_floor
from layout.room import Wishes


@pytest.fixture(scope="module")
def answer(chimney, board):
    plan = plan_floor(chimney, board, Wishes(), moves=300)
    return plan, to_answer(plan)


def test_the_round_trip_through_json_is_exact(answer):
    plan, data = answer
    assert from_answer(json.loads(json.dumps(data))) == plan


def test_the_answer_has_the_keys_of_the_contract(answer):
    _, data = answer
    assert {"format", "version", "floor", "cover", "board", "kerf", "rules", "u", "v", "boards", "bound", "proven",
            "packs", "waste_percent", "rows", "shopping", "beading", "cautions", "warnings", "relaxed"} <= set(data)
    assert {"id", "board", "outline", "holes", "from", "to", "near", "far", "keeps",
            "cuts"} <= set(data["rows"][0]["runs"][0]["pieces"][0])
    assert set(data["cover"]["polygons"][0]) == {"outline", "holes"}
    assert set(data["board"]) == {"length", "width", "thickness", "pack"} and set(data["rules"]) == {
        "stagger",
        "shortest",
        "narrowest",
    }


def test_no_number_of_the_answer_is_infinite_or_missing(answer):
    json.dumps(answer[1], allow_nan=False)


@pytest.mark.parametrize(("path", "value", "where"),
                         [(("format",), "tapegroove-job", "plan.format"), (("version",), 99, "plan.version"),
                          (("boards",), "many", "plan.boards"), (("rows", 0, "runs"), None, "plan.rows[0].runs"),
                          (("rows", 0, "runs", 0, "pieces", 0, "from"), "x", "plan.rows[0].runs[0].pieces[0].from"),
                          (("cover", "polygons", 0, "outline", 1), [1.0], "plan.cover.polygons[0].outline[1]"),
                          (("u",), [1.0, float("nan")], "plan.u[1]"), (("proven",), 1, "plan.proven"),
                          (("board",), [], "plan.board"), (("notes",), [3], "plan.notes[0]"),
                          (("notes", 0, "slug"), "a-wish", "plan.notes[0].slug"),])
def test_damage_is_named_in_one_sentence(path, value, where, answer):
    data = copy.deepcopy(answer[1])
    inner = data
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    with pytest.raises(LayoutError) as refusal:
        from_answer(data)
    assert refusal.value.where == where
    assert str(refusal.value).endswith(".") and "\n" not in str(refusal.value)


def test_a_missing_key_is_named(answer):
    data = copy.deepcopy(answer[1])
    del data["rows"][1]["runs"][0]["pieces"][0]["keeps"]
    with pytest.raises(LayoutError, match=r"rows\[1\].runs\[0\].pieces\[0\].keeps is missing"):
        from_answer(data)


def test_anything_else_is_not_a_plan():
    for data in (None, [], "plan", {}):
        with pytest.raises(LayoutError, match="not a plan"):
            from_answer(data)
