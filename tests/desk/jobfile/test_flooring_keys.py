"""The flooring keys beyond sizes: read, refused in a sentence, and handed to the planner."""
from __future__ import annotations

import json

import pytest

from desk.actions.answers import to_json
from desk.checks.check import find_problems
from desk.convert import to_board, to_wishes
from desk.jobfile.files import parse_job
from desk.actions.pipeline import plan_job, survey_job
from desk.problem import JobFileError
from layout.errors import LayoutError
from layout.planfile.codec import from_answer, to_answer
from layout.room import Beading, Climate, OwnPiece

FULL = {"gap": "auto", "climate": {"low": 35, "high": 62, "laid": 45}, "longest": 13000, "subfloor": "mineral",
        "beading": {"bar": 2600, "width": 20}, "stock": [{"length": 640, "keeps": ["left", "near", "far"]},
                                                         {"length": 1285, "keeps": ["left", "right"], "count": 2}]}


def with_keys(tree: dict, **keys) -> dict:
    return tree | {"flooring": tree["flooring"] | keys}


def test_all_keys_reach_the_planner(closet):
    wishes = to_wishes(parse_job(with_keys(closet, **FULL)))
    assert wishes.gap_mm is None and wishes.longest_mm == 13000.0 and wishes.subfloor == "mineral"
    assert wishes.climate == Climate(low=35.0, high=62.0, laid=45.0) and wishes.beading == Beading(
        bar_mm=2600.0, width_mm=20.0
    )
    assert wishes.stock == (OwnPiece(length_mm=640.0, keeps=("left",)),
                            *(OwnPiece(length_mm=1285.0, keeps=("left", "right")),) * 2)


def test_what_the_job_leaves_out_is_usual(closet):
    wishes = to_wishes(parse_job(closet))
    assert (wishes.gap_mm, wishes.longest_mm, wishes.subfloor, wishes.stock, wishes.climate) == (
        10.0,
        10000.0,
        "",
        (),
        None,
    )
    assert to_wishes(parse_job(with_keys(closet, beading={"width": 15}))).beading == Beading(width_mm=15.0)
    assert to_wishes(parse_job(with_keys(closet, gap=12))).gap_mm == 12.0


@pytest.mark.parametrize(("keys", "where"),
                         [({"gap": "wide"}, "flooring.gap"), ({"gap": -1}, "flooring.gap"),
                          ({"climate": {"low": 30}}, "flooring.climate"),
                          ({"climate": {"low": "dry", "high": 60}}, "flooring.climate.low"),
                          ({"longest": "10 m"}, "flooring.longest"), ({"subfloor": "sand"}, "flooring.subfloor"),
                          ({"beading": []}, "flooring.beading"), ({"stock": {}}, "flooring.stock"),
                          ({"stock": [{"length": 640}]}, "flooring.stock[0]"),
                          ({"stock": [{"length": 640, "keeps": ["top"]}]}, "flooring.stock[0].keeps[0]"),
                          ({"stock": [{"length": 640, "keeps": "left"}]}, "flooring.stock[0].keeps"),
                          ({"stock": [{"length": 640, "keeps": ["left"], "count": 0}]}, "flooring.stock[0].count"),])
def test_what_cannot_be_read_is_named(keys, where, closet):
    with pytest.raises(JobFileError) as refusal:
        parse_job(with_keys(closet, **keys))
    assert [problem.where for problem in refusal.value.problems] == [where]
    assert all(problem.says.endswith(".") for problem in refusal.value.problems)


@pytest.mark.parametrize(("keys", "slug"),
                         [({"climate": {"low": 70, "high": 40}}, "bad-climate"),
                          ({"stock": [{"length": 2000, "keeps": ["left"]}]}, "bad-stock"),
                          ({"stock": [{"length": 640, "keeps": ["far"]}]}, "bad-stock"),
                          ({"longest": 100}, "bad-wish")])
def test_a_check_tells_what_cannot_be_planned(keys, slug, closet):
    job = parse_job(with_keys(closet, **keys))
    assert [problem.slug for problem in find_problems(job, {}) if problem.severity == "stop"] == [slug]


def test_a_plan_with_every_key_goes_out_and_comes_back(closet):
    job = parse_job(with_keys(closet, **FULL))
    plan = plan_job(job, survey_job(job, {}))
    assert to_board(job).length_mm == 1285.0 and plan.gap_mm == 8.0
    answer = json.loads(to_json(to_answer(plan)))
    assert answer["owned"][0] == {"label": "S1", "length": 640.0, "keeps": ["left"], "board": plan.owned[0].board}
    assert answer["beading"]["bars"]["length"] == 2600.0 and answer["longest"] == 13000.0
    assert from_answer(answer) == plan


def test_a_preview_is_a_whole_plan_and_a_longer_search_never_needs_more_boards(closet):
    job = parse_job(closet)
    survey = survey_job(job, {})
    preview, usual = (plan_job(job, survey, effort=effort) for effort in ("preview", "usual"))
    assert preview.packs >= 1 and preview.bound <= usual.boards <= preview.boards


def test_a_plan_from_before_these_keys_is_still_read(closet):
    job = parse_job(closet)
    plan = plan_job(job, survey_job(job, {}))
    answer = json.loads(to_json(to_answer(plan)))
    for key in ("longest", "doorways", "profiles", "left_out", "owned"):
        del answer[key]
    del answer["beading"]["bars"]
    old = from_answer(answer)
    assert old.pieces == plan.pieces and (old.owned, old.profiles, old.bars) == ((), (), None)


def test_millions_of_pieces_at_hand_are_refused_before_they_are_made_one_by_one(closet):
    """10,000,000 is the largest count that passes as a number: made one by one it took a gigabyte."""
    with pytest.raises(JobFileError, match="9999999 pieces at hand are listed, but at most 200") as refused:
        parse_job(with_keys(closet, stock=[{"length": 640, "keeps": ["left"], "count": 9_999_999}]))
    assert [problem.where for problem in refused.value.problems] == ["flooring.stock"]
    read = parse_job(with_keys(closet, stock=[{"length": 640, "keeps": ["left"], "count": 201}]))
    with pytest.raises(LayoutError, match="201 pieces at hand are listed"):
        plan_job(read, survey_job(read, {}), effort="preview")


@pytest.mark.parametrize(("told", "where"), [
    ({"label": "x" * 131}, "label"), ({"label": "a\x00\x1b[2J"}, "label"), ({"label": " "}, "label"),
    ({"from": {"floor": "", "piece": "4.2"}}, "from.floor"), ({"from": {"floor": "y" * 121}}, "from.floor"),
    ({"from": {"floor": "hall\n", "piece": "4.2"}}, "from.floor"),
    ({"from": {"floor": "hall", "piece": "nan"}}, "from.piece"),
    ({"from": {"floor": "hall", "piece": "../../x"}}, "from.piece")])
def test_what_is_pencilled_on_a_piece_is_short_and_its_maker_is_a_piece(closet, told, where):
    with pytest.raises(JobFileError) as refused:
        parse_job(with_keys(closet, stock=[{"length": 640, "keeps": ["left"]} | told]))
    assert [problem.where for problem in refused.value.problems] == [f"flooring.stock[0].{where}"]


@pytest.mark.parametrize("stock", [
    [{"length": 640, "keeps": ["left"], "label": "a", "count": 2}],
    [{"length": 640, "keeps": ["left"], "label": "a"}, {"length": 500, "keeps": ["right"], "label": "a"}],
    [{"length": 640, "keeps": ["left"], "label": "1.1"}], [{"length": 640, "keeps": ["left"], "label": "12L"}]])
def test_two_pieces_of_one_label_or_one_the_plan_gives_are_refused_before_planning(closet, stock):
    """It said that the plan had a fault and that this was our mistake."""
    job = parse_job(with_keys(closet, stock=stock))
    (told,) = [problem for problem in find_problems(job, {}) if problem.severity == "stop"]
    assert told.slug == "bad-stock" and stock[0]["label"] in told.says and "give it another" in told.says


def test_a_piece_that_bears_the_label_others_are_given_keeps_it(closet):
    stock = [{"length": 700, "keeps": ["left"], "label": "S2"}, {"length": 640, "keeps": ["left"]},
             {"length": 620, "keeps": ["right"]}]
    read = parse_job(with_keys(closet, stock=stock))
    plan = plan_job(read, survey_job(read, {}), effort="preview")
    assert [piece.label for piece in plan.owned] == ["S2", "S3", "S4"]
