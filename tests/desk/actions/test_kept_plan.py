"""The plan a person called theirs: printed without solver or planner, told apart from a plan that no longer fits, never
lost to an edit.

No outside source: what is checked is that a kept plan gives the very files a new one would, and that each part of a job
counts.
"""
from __future__ import annotations

import datetime
import json

import pytest

import capture.solve
import layout.planning.planner
from desk.cli import main
from desk.jobfile.files import parse_job, read_job
from desk.store.job_store import JobKeeper
from desk.actions.kept_plan import kept_plan, with_plan, without_plan
from desk.actions.pipeline import pack_job, plan_job, planned_job, survey_job
from desk.problem import JobFileError
from layout.errors import LayoutError

DAY = datetime.date(2026, 3, 5)


@pytest.fixture
def kept(box):
    """The room known by tape, with its plan kept: (job with the plan, survey, plan)."""
    job = parse_job(box | {"flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}})
    survey = survey_job(job, {})
    plan = plan_job(job, survey)
    return with_plan(job, survey, plan, on=DAY), survey, plan


@pytest.fixture
def no_solver(monkeypatch):
    """Neither the solver nor the planner may run."""
    def refuse(*_, **__):
        raise AssertionError("solved or planned although a plan is kept")
    monkeypatch.setattr(capture.solve, "solve_floor", refuse)
    monkeypatch.setattr(layout.planning.planner, "plan_floor", refuse)


def test_a_pack_from_the_kept_plan_is_the_same_to_the_byte_and_solves_nothing(kept, no_solver):
    job, survey, plan = kept
    found_survey, found_plan, found = planned_job(parse_job(json.loads(job.text)), {})
    assert found.is_current and found.day == "5 March 2026" and found.says == ""
    assert pack_job(job, found_survey, found_plan, date=DAY, paper="a4") == pack_job(job, survey, plan, date=DAY,
                                                                                     paper="a4")


@pytest.mark.parametrize("change, part", [(lambda t: t["tape"][0].update(mm=t["tape"][0]["mm"] + 1),
                                           "the tape lengths"), (lambda t: t["flooring"].update(gap=12),
                                                                 "the boards and how they are laid"),
                                          (lambda t: t["doors"][0].update(width=700), "the doors"),
                                          (lambda t: t["pipes"][0].update(diameter=22), "the pipes"),
                                          (lambda t: t.update(square=["A"]), "the corners"),
                                          (lambda t: t.update(photos=[{"file": "photos/1.jpg", "size": [400, 300],
                                                                       "marks": [{"point": "A", "x": 1, "y": 2}]}]),
                                           "the marks in the photos"),])
def test_every_part_a_plan_rests_on_makes_it_out_of_date_and_is_named(kept, change, part):
    tree = kept[0].tree()
    tree["tape"] = [{key: value for key, value in entry.items() if key != "typed"} for entry in tree["tape"]]
    change(tree)
    found = kept_plan(parse_job(tree))
    assert found.changed == (part,) and part in found.says and "5 March 2026" in found.says


def test_the_floor_next_door_is_printed_and_never_planned_with(kept):
    tree = json.loads(kept[0].text)
    tree["doors"][0]["next_floor"] = -3.5
    job = parse_job(tree)
    assert job.doors[0].next_floor_mm == -3.5 and kept_plan(job).is_current


def test_what_means_the_same_keeps_the_plan_current(kept):
    tree = kept[0].tree()
    tree |= {"title": "Another name", "show": "imperial", "photos": [{"file": "photos/new.jpg", "marks": []}],
             "islands": [], "closeups": [{"file": "photos/pipe.jpg"}], "future": 1}
    tree["flooring"] |= {"direction": "auto", "pattern": "fewest", "first_row": "auto"}
    tree["tape"][0]["mm"] = float(tree["tape"][0]["mm"])
    assert kept_plan(parse_job(tree)).is_current


def test_a_plan_by_another_program_is_used_while_floor_and_boards_are_the_same(kept):
    tree = kept[0].tree()
    del tree["plan"]["kept"]
    _, plan, found = planned_job(parse_job(tree), {})
    assert plan == kept[2] and found.is_current
    tree["tape"][0]["mm"] = tree["tape"][2]["mm"] = tree["tape"][0]["mm"] + 40
    for entry in tree["tape"]:
        entry.pop("typed", None)
    _, plan, found = planned_job(parse_job(tree), {})
    assert plan != kept[2] and found.changed == ("the floor",)


@pytest.mark.parametrize("damage", [lambda p: p.pop("rows"), lambda p: p["kept"].pop("floor"),
                                    lambda p: p["kept"]["floor"]["points"].pop(), lambda p: p["kept"].update(on="soon"),
                                    lambda p: p["kept"].update(made_of={})])
def test_a_damaged_plan_is_named_and_can_be_replaced(kept, damage):
    tree = kept[0].tree()
    damage(tree["plan"])
    job = parse_job(tree)
    with pytest.raises(LayoutError) as refused:
        planned_job(job, {})
    assert refused.value.slug == "damaged-plan"
    assert kept_plan(without_plan(job)) is None


def test_a_window_that_saves_neither_loses_nor_brings_back_a_plan(kept, tmp_path, on_disk):
    job = kept[0]
    keeper = JobKeeper(on_disk(without_plan(job).tree()))
    before, revision = keeper.load()
    revision = keeper.keep(job, instead_of=parse_job(before))
    revision = keeper.save(before | {"title": "Renamed"}, revision=revision)
    assert kept_plan(read_job(keeper.folder)).is_current and read_job(keeper.folder).title == "Renamed"
    with pytest.raises(JobFileError, match="changed while its plan was made"):
        keeper.keep(job, instead_of=parse_job(before))


def test_the_command_keeps_a_plan_and_prints_from_it(on_disk, kept, capsys, monkeypatch):
    folder = on_disk(without_plan(kept[0]).tree())
    assert main(["plan", str(folder), "--keep"]) == 0
    assert "now kept" in capsys.readouterr().out
    with monkeypatch.context() as patch:
        patch.setattr(capture.solve, "solve_floor", None)
        assert main(["pack", str(folder)]) == 0 and main(["plan", str(folder)]) == 0
    assert "nothing was planned anew" in capsys.readouterr().out
    tree = json.loads((folder / "job.json").read_text())
    (folder / "job.json").write_text(json.dumps(tree | {"doors": []}))
    assert main(["pack", str(folder)]) == 0
    assert "out of date: the doors changed" in capsys.readouterr().err
