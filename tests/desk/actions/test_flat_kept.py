"""A flat's plans kept in its floors' jobs: each is one of its own job, current, printed with what goes to and comes
from the others; who relies on an offcut that is gone is told."""
from __future__ import annotations

import datetime
import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from desk.actions.flat.keeping import keep_flat, kept_flat
from desk.actions.flat.leftovers import leaves_of
from desk.actions.flat.planning import flat_kept, flat_now, plan_house, settled
from desk.actions.flat.state import flat_state
from desk.actions.flat.ties import broken_ties, ties_around
from desk.actions.kept_plan import kept_plan, with_plan, without_plan
from desk.actions.pipeline import plan_job, solve_job
from desk.cli import main
from desk.convert import to_pack_job
from desk.jobfile.files import read_job, write_job
from desk.problem import JobProblems
from layout.judge.check import find_faults
from layout.judge.flat import find_flat_faults
from printpack.booklet.lists import offcut_rows
from printpack.words.row_words import special_lines
from printpack.words.tolerances import Fit
from tests.support.houses import drawn_flat

ON = datetime.date(2026, 3, 5)


@pytest.fixture(scope="module")
def kept_once(tmp_path_factory) -> Path:
    """A drawn flat in which offcuts travel, kept."""
    place = drawn_flat(1, tmp_path_factory.mktemp("kept") / "flat")
    flat_kept(place, "preview", on=ON)
    return place


@pytest.fixture
def kept(kept_once, tmp_path) -> Path:
    return Path(shutil.copytree(kept_once, tmp_path / "flat"))


def plans_of(house: Path) -> dict:
    return {floor.name: floor.kept.plan for floor in flat_state(house).jobs.floors}


def test_every_floor_keeps_its_part_of_the_flat_and_is_current(kept):
    state = flat_state(kept)
    job = kept_flat(state)
    assert all(floor.is_kept for floor in state.jobs.floors) and job.troubles == ()
    assert job.flat is not None and job.flat.travels and find_flat_faults(job.flat) == ()
    for floor in state.jobs.floors:
        assert find_faults(floor.kept.plan, to_pack_job(floor.job, floor.kept.survey, floor.kept.plan,
                                                        date=ON).room) == ()
    (kind,) = job.flat.kinds
    # What sharing saves is counted as it was planned, though a floor that leaves offcuts may take more than alone.
    told = {floor.name: floor.job.data["plan"]["flat"]["alone"] for floor in state.jobs.floors}
    assert {floor.name: floor.alone for floor in job.flat.floors} == told and kind.alone == sum(told.values())
    assert kind.bound <= kind.boards < kind.alone and kind.packs_to_buy * kind.board.pack - kind.boards == kind.spare
    now = flat_now(kept)
    assert {room["state"] for room in now["rooms"].values()} == {"kept"}
    assert now["together"]["boards"][0]["boards"] == kind.boards and all("plan" in floor for floor in now["floors"])


def test_reading_the_house_again_writes_nothing_and_an_edited_room_is_out_of_date(kept, capsys):
    before = {path: path.read_bytes() for path in kept.glob("floors/*/job.json")}
    assert main(["house", str(kept)]) == 0 and "These plans are kept" in capsys.readouterr().out
    assert {path: path.read_bytes() for path in kept.glob("floors/*/job.json")} == before
    hall = json.loads((kept / "hall" / "job.json").read_text())
    hall["flooring"]["gap"] = 14
    (kept / "hall" / "job.json").write_text(json.dumps(hall))
    now = flat_now(kept)
    assert now["rooms"]["hall"]["state"] == "out-of-date" and "changed since" in now["rooms"]["hall"]["says"]
    assert now["together"] is None


def test_paper_tells_what_goes_to_another_room_and_what_comes_from_one(kept):
    state = flat_state(kept)
    travels = kept_flat(state).flat.travels
    jobs = {floor.name: to_pack_job(floor.job, floor.kept.survey, floor.kept.plan, date=ON)
            for floor in state.jobs.floors}
    for travel in travels:
        giver, taker = jobs[travel.from_floor], jobs[travel.to_floor]
        row = travel.used_by.partition(".")[0]
        told = [line for line in offcut_rows(giver) if line[0] == travel.label]
        assert len(told) == 1 and told[0][5] == f"keep for {travel.to_floor}, row {row}"
        said = " ".join(line for each in giver.plan.rows for line in special_lines(giver, each, Fit(giver)))
        assert f"pencil {travel.label} on it, keep for {travel.to_floor}, row {row}" in said
        said = " ".join(special_lines(taker, taker.plan.rows[int(row) - 1], Fit(taker)))
        assert f"For {travel.used_by} take the offcut {travel.label} from {travel.from_floor}." in said


def test_a_room_planned_alone_afterwards_tells_those_that_counted_on_it(kept, capsys):
    giver, taker = next((one.from_floor, one.to_floor) for one in kept_flat(flat_state(kept)).flat.travels)
    assert ties_around(kept / "floors" / taker, read_job(kept / "floors" / taker)) == ()
    assert main(["plan", str(kept / "floors" / giver), "--afresh", "--keep"]) == 0
    told = capsys.readouterr().err
    assert f"The plan of {taker} counts on" in told and f"of {giver} that" in told
    told = ties_around(kept / "floors" / taker, read_job(kept / "floors" / taker))
    assert any(problem.where == taker for problem in told)
    assert any(f"The plan of {taker.title()}" in problem["says"] for problem in flat_now(kept)["problems"])
    assert main(["house", str(kept), "--keep", "--effort", "preview"]) == 0  # which puts it right
    assert ties_around(kept / "floors" / taker, read_job(kept / "floors" / taker)) == ()


def test_an_offcut_that_came_out_shorter_is_missed(kept):
    plans = plans_of(kept)
    giver = next(name for name, plan in plans.items() if any(offcut.goes_to for offcut in plan.offcuts))
    short = tuple(replace(offcut, to_mm=offcut.to_mm - 5.0) if offcut.goes_to else offcut
                  for offcut in plans[giver].offcuts)
    assert broken_ties(plans, {}) == () and broken_ties(plans | {giver: replace(plans[giver], offcuts=short)}, {})


def test_a_floor_with_offcuts_of_others_can_be_planned_alone_with_them(kept):
    taker = kept_flat(flat_state(kept)).flat.travels[0].to_floor
    job = without_plan(read_job(kept / "floors" / taker))
    survey = solve_job(job, {})
    plan = plan_job(job, survey, effort="preview")
    came = [own for own in plan.owned if own.came_from is not None]
    assert came and all(own.label.startswith(f"{taker} ") for own in came)
    write_job(kept / "floors" / taker, with_plan(job, survey, plan, on=ON))
    again = kept_plan(read_job(kept / "floors" / taker))
    assert again is not None and again.is_current and again.plan == plan


def test_a_floor_that_is_being_laid_is_not_planned_over(kept):
    name = flat_state(kept).jobs.floors[0].name
    assert main(["day", str(kept / "floors" / name), "row", "1", "done"]) == 0
    before = (kept / "floors" / name / "job.json").read_bytes()
    flat_kept(kept, "preview", on=ON)
    assert (kept / "floors" / name / "job.json").read_bytes() == before
    now = flat_now(kept)
    assert "begun" in {room["state"] for room in now["rooms"].values()} and now["problems"] == []
    for floor in flat_state(kept).jobs.floors[1:]:
        assert main(["day", str(kept / "floors" / floor.name), "row", "1", "done"]) == 0
    with pytest.raises(JobProblems) as refused:
        flat_kept(kept, "preview", on=ON)
    assert refused.value.slug == "floor-begun"


def test_a_plan_made_before_a_floor_was_begun_does_not_take_its_place(kept):
    """As the page has it that planned the flat some time ago."""
    state = flat_state(kept)
    before = plan_house(state, "preview")
    name = state.jobs.floors[0].name
    assert main(["day", str(kept / "floors" / name), "row", "1", "done"]) == 0
    begun = (kept / "floors" / name / "job.json").read_bytes()
    keep_flat(replace(before, state=flat_state(kept)), on=ON)
    assert (kept / "floors" / name / "job.json").read_bytes() == begun


def test_plans_stay_while_what_they_count_on_is_there(kept):
    """What is pencilled on the offcuts of a begun floor names pieces of the plans that were kept with it."""
    travel = kept_flat(flat_state(kept)).flat.travels[0]
    before = plans_of(kept)
    assert main(["day", str(kept / "floors" / travel.from_floor), "row", "1", "done"]) == 0
    assert travel.to_floor in settled(flat_state(kept))
    flat_kept(kept, "usual", on=ON)
    after = plans_of(kept)
    assert after[travel.to_floor] == before[travel.to_floor] and flat_now(kept)["problems"] == []


def test_the_next_room_goes_by_what_the_first_really_left(kept, capsys):
    travel = kept_flat(flat_state(kept)).flat.travels[0]
    giver, taker = kept / "floors" / travel.from_floor, kept / "floors" / travel.to_floor
    cut = next(piece for piece in kept_plan(read_job(giver)).plan.pieces if piece.id == travel.cut_by)
    assert main(["day", str(giver), "row", str(int(cut.id.partition(".")[0]) - 1), "done"]) == 0
    assert ties_around(taker, read_job(taker)) == ()
    assert main(["day", str(giver), "piece", cut.id, "came", "out",
                 f"{cut.to_mm - cut.from_mm + 6.0:.0f}", "mm"]) == 0
    said = capsys.readouterr().err
    assert f"The plan of {travel.to_floor} counts on" in said and travel.label in said
    assert main(["house", str(kept), "--keep", "--effort", "preview"]) == 0
    assert ties_around(taker, read_job(taker)) == () and flat_now(kept)["problems"] == []
    left = leaves_of(travel.from_floor, read_job(giver))
    for name, plan in plans_of(kept).items():
        for own in plan.owned:
            if own.came_from is not None and own.came_from.floor == travel.from_floor and own.board:
                assert own.length_mm == pytest.approx(left.offcuts[own.label].length_mm) and name != travel.from_floor


def test_a_doorway_laid_otherwise_leaves_the_plan_of_a_floor_that_is_no_more(kept):
    tree = json.loads((kept / "house.json").read_text())
    tree["doorways"][0] |= {"laid": "through"}
    (kept / "house.json").write_text(json.dumps(tree))
    room = next(name for name in tree["doorways"][0]["rooms"] if name != "hall")
    assert main(["house", str(kept), "--effort", "preview"]) == 0
    assert (kept / "floors" / room / "job.json").is_file()
    assert any(problem["slug"] == "floor-left" and problem["where"] == room for problem in flat_now(kept)["problems"])
