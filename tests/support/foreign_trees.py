"""What may come from elsewhere, as JSON trees that have every key between them: jobs, a kept plan, a day, a house.

All are invented, and small enough to be solved and planned in a moment.
"""
from __future__ import annotations

import copy
import datetime
import json
from pathlib import Path
from typing import Any

from desk.actions.day import tell
from desk.actions.kept_plan import with_plan
from desk.actions.pipeline import plan_job, plan_text, survey_job
from desk.commands.day_parser import read_words
from desk.jobfile.digests import with_digests
from desk.jobfile.files import parse_job

JOBS = Path(__file__).parents[1] / "data" / "jobs" / "v1"
DAY = datetime.date(2026, 3, 5)
_HEAD = {"format": "tapegroove-job", "version": 1}
_BOARDS = {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}, "kerf": 3, "gap": 10}


def stored(name: str) -> dict[str, Any]:
    """A stored job."""
    tree: dict[str, Any] = json.loads((JOBS / f"{name}.json").read_text())
    return tree


def small_job() -> dict[str, Any]:
    """A floor given as coordinates with all that can stand on it, planned in a moment."""
    return _HEAD | {"title": "Box room (invented)", "date": "2026-03-05", "show": "metric",
                    "floor": {"outline": [[0, 0], [2600, 0], [2600, 1900], [0, 1900]],
                              "holes": [[[900, 700], [1200, 700], [1200, 1000], [900, 1000]]]},
                    "pipes": [{"name": "P1", "diameter": 15, "at": [2300, 60]}],
                    "doors": [{"name": "D1", "wall": ["A", "B"], "from": 300, "width": 762, "reveal": 110}],
                    "language": "en-GB",
                    "flooring": _BOARDS | {"stock": [{"length": 640, "keeps": ["left"]}]}}


def floor_of_a_flat() -> dict[str, Any]:
    """A floor that takes an offcut of another floor of its flat."""
    tree = small_job()
    return tree | {"house": ["hall"], "flooring": tree["flooring"] | {"stock": [
        {"length": 640, "keeps": ["left"]}, {"length": 902.5, "keeps": ["right"], "label": "hall 3.1",
                                             "from": {"floor": "kitchen", "piece": "4.2"}}]}}


def kept_in_a_flat() -> dict[str, Any]:
    """The same with its plan kept, as `house --keep` writes it; its spare goes to a floor after it."""
    job = parse_job(floor_of_a_flat())
    survey = survey_job(job, {})
    told = {"name": "hall", "alone": 12, "floors": ["bath", "hall", "kitchen"], "bound": 20}
    tree: dict[str, Any] = json.loads(
        with_plan(job, survey, plan_job(job, survey, effort="preview"), on=DAY, flat=told).text)
    if not any("came_from" in piece for piece in tree["plan"]["owned"]):
        raise SystemExit("no piece of another floor is in the plan: what is told of one is no longer walked")
    return with_spare(tree, goes_to={"floor": "bath", "piece": "2.1"})


def with_spare(tree: dict[str, Any], **told: Any) -> dict[str, Any]:
    """A job with a kept plan in which more is told of an offcut that nothing is made of."""
    tree = copy.deepcopy(tree)
    next(offcut for offcut in tree["plan"]["offcuts"] if not offcut["used_by"]).update(told)
    return tree | {"plan": with_digests(tree["plan"])}


def slanted_job() -> dict[str, Any]:
    """A T laid at 45 degrees: a chalk line, mitred ends, rows that begin apart, pieces pushed in flat, beading."""
    return _HEAD | {"title": "Landing (invented)",
                    "floor": {"outline": [[0, 0], [2600, 0], [2600, 1200], [1700, 1200], [1700, 1900], [900, 1900],
                                          [900, 1200], [0, 1200]]},
                    "flooring": _BOARDS | {"direction": 45, "beading": {"bar": 2400, "width": 18}}}


def drawn_job() -> dict[str, Any]:
    """A taped room that was drawn roughly first, with a pipe put on the plan by hand and a wall said to be straight."""
    tree = stored("whole-drawn")
    questions, hand = stored("whole-questions"), stored("whole-by-hand")
    tree["tape"] = tree["tape"] + hand["tape"][5:]
    return tree | {"pipes": hand["pipes"], "straight": questions["straight"], "doors": questions["doors"],
                   "flooring": _BOARDS}


def closeup_job() -> dict[str, Any]:
    """A taped room with close-ups of a door frame and a pipe, whose pictures are not there."""
    tree, whole = drawn_job(), stored("whole-feet")
    return {key: tree[key] for key in (*_HEAD, "outline", "tape", "pipes", "flooring")} | {
        key: whole[key] for key in ("title", "cameras", "doors", "closeups")}


def keep(job: dict[str, Any]) -> dict[str, Any]:
    """A job with its plan kept in it."""
    read = parse_job(job)
    survey = survey_job(read, {})
    made: dict[str, Any] = json.loads(
        with_plan(read, survey, plan_job(read, survey, effort="preview"), on=DAY).text)
    return made


def told_job(job: dict[str, Any]) -> dict[str, Any]:
    """A job that holds the whole answer of `plan --json` as its plan, sentences and all, as of another program."""
    read = parse_job(job)
    survey = survey_job(read, {})
    return job | {"plan": json.loads(plan_text(plan_job(read, survey, effort="preview"), survey, read))}


def day_job() -> dict[str, Any]:
    """Rows down, an offcut lost, a place measured, a reading to the far wall: a revision is in force."""
    job = parse_job(keep(small_job()))
    plan = job.data["plan"]
    lost = next(offcut["label"] for offcut in plan["offcuts"] if offcut["used_by"])
    last = plan["rows"][2]["runs"][-1]["pieces"][-1]
    for said in ("row 1 done", f"offcut {lost} gone", "2 boards spoiled", "row 1 to wall left 1690 mm right 1690 mm",
                 "row 2 done", f"place {last['id']} is {last['to'] - last['from'] + 14:.0f} mm"):
        job = tell(job, read_words(said.split(), show="metric"), said, on=DAY).job
    tree: dict[str, Any] = json.loads(job.text)
    if "day" not in tree["plan"]:
        raise SystemExit("no revision is in force: the log of the day is no longer walked as it should be")
    return tree


def house() -> dict[str, Any]:
    """A house of three rooms with every key a house file has."""
    return {"format": "tapegroove-house", "version": 1, "title": "House (invented)",
            "rooms": ["kitchen", "hall", "bath"],
            "doorways": [{"rooms": ["kitchen", "hall"], "doors": ["D1", "D2"], "laid": "through", "thickness": 120},
                         {"rooms": ["hall", "bath"], "doors": ["D1", "D2"], "laid": "auto"}],
            "direction": "auto", "flooring": _BOARDS, "entrance": "hall", "order": ["kitchen", "bath", "hall"]}


def house_along() -> dict[str, Any]:
    """The same with rows along a wall, and doorways as the rule has them."""
    tree = house()
    return {key: value for key, value in tree.items() if key != "order"} | {
        "direction": {"room": "kitchen", "wall": ["A", "B"]},
        "doorways": [one | {"laid": "auto"} for one in tree["doorways"]]}


def house_rooms() -> dict[str, dict[str, Any]]:
    """The jobs of its rooms, by folder."""
    return {"kitchen": _room(("D1", ["A", "B"])), "hall": _room(("D2", ["C", "D"]), ("D1", ["A", "B"])),
            "bath": _room(("D2", ["C", "D"]))}


def _room(*doors: tuple[str, list[str]]) -> dict[str, Any]:
    tree = small_job()
    return {key: tree[key] for key in (*_HEAD, "floor", "flooring")} | {
        "doors": [{"name": door, "wall": wall, "from": 300, "width": 762, "reveal": 60} for door, wall in doors]}


def without_digests(tree: dict[str, Any]) -> dict[str, Any]:
    """A job whose kept plan tells nothing to know it again by."""
    tree = copy.deepcopy(tree)
    del tree["plan"]["digests"], tree["plan"]["kept"]["digest"]
    return tree
