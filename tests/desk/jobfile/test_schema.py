"""The JSON schemas against the parser, the writers and jobs that were drawn; jsonschema is the judge of what a
schema says."""
from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.actions.answers import survey_answer, to_json
from desk.jobfile.files import parse_job, parse_tree
from desk.jobfile.parse import unknown_keys
from desk.actions.pipeline import plan_job, plan_text, survey_job
from desk.problem import JobFileError
from desk.jobfile.schema import SUBJECTS, make_schema, schema_text, stored_schema
from layout.planfile.codec import from_answer
from layout.errors import LayoutError

ROOT = Path(__file__).parents[3]
JOBS = [*sorted((ROOT / "tests/data/jobs").glob("v*/*.json")), ROOT / "demo_photos/job.json"]
#: Jobs that between them have every key there is.
WHOLE = [json.loads(path.read_text()) for path in JOBS if path.stem.startswith("whole")]
#: What the parser alone can know: names against one another, two spellings of one length, paths, words.
MEANING = {"same-point", "lengths-disagree", "path-outside", "unreadable-length", "ambiguous-length"}


@cache
def validator(subject: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(make_schema(subject), format_checker=jsonschema.FormatChecker(["date"]))


def faults(tree) -> set[str]:
    """Slugs of what the parser says against a tree."""
    try:
        return {problem.slug for problem in parse_tree(tree)[1]}
    except JobFileError as error:
        return {problem.slug for problem in error.problems}


@pytest.mark.parametrize("subject", SUBJECTS)
def test_the_stored_schema_is_the_one_of_the_code(subject):
    assert stored_schema(subject) == schema_text(subject), "run: python -m desk.jobfile.schema"


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_schema_is_one(subject):
    jsonschema.Draft202012Validator.check_schema(make_schema(subject))


@pytest.mark.parametrize("path", JOBS, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_every_stored_job_fits_its_schema(path):
    tree = json.loads(path.read_text())
    parse_job(tree)
    validator("job").validate(tree)


def objects_of(schema, defs, place=""):
    """(place, keys) of every object a schema describes, places as the parser writes them, with [] for any number and
    {} for any name."""
    if "$ref" in schema:
        schema = defs[schema["$ref"].rpartition("/")[2]]
    for option in schema.get("anyOf", ()):
        yield from objects_of(option, defs, place)
    if "items" in schema:
        yield from objects_of(schema["items"], defs, f"{place}[]")
    if isinstance(schema.get("additionalProperties"), dict):
        yield from objects_of(schema["additionalProperties"], defs, f"{place}.{{}}")
    if "properties" in schema:
        yield place, set(schema["properties"])
        for key, part in schema["properties"].items():
            yield from objects_of(part, defs, f"{place}.{key}".lstrip("."))


def keys_in(value, place=""):
    """(place, key) of every key of a tree, places as in `objects_of`."""
    for key, inner in value.items() if isinstance(value, dict) else ():
        yield place, key
        yield from keys_in(inner, f"{place}.{key}".lstrip("."))
    for inner in value if isinstance(value, list) else ():
        yield from keys_in(inner, f"{place}[]")


def test_the_stored_jobs_have_every_key_there_is_and_no_other():
    """So whatever can be told of a job is read back from a stored one, and bent below."""
    schema = make_schema("job")
    known = {(place, key) for place, keys in objects_of(schema, schema["$defs"]) for key in keys}
    there = {(place.replace("cameras.c1", "cameras.{}"), key) for tree in WHOLE for place, key in keys_in(tree)}
    # Names of cameras and points are keys, and a kept plan is read elsewhere.
    assert {(place, key) for place, key in there if place not in ("cameras", "floor.points", "plan", "sketch")} == known
    assert [unknown_keys(tree) for tree in WHOLE] == [()] * len(WHOLE)


def places_in(value, way=()):
    yield way
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from places_in(inner, (*way, key))


TREES = [json.loads(path.read_text()) for path in JOBS if path.stem != "job"]
OTHERS = (None, True, 0, 1, 3, -3, 0.5, -0.5, 2.5, 20.0, 1e8, 2.0, "", "A", "auto", " A", "5 mm", [], ["A"], ["A", "B"],
          ["A", "A"], [1, 2], [0.5, -3], {}, {"file": "a.jpg"}, {"mm": 5}, {"typed": "5 mm"})


def agree(judge, tree) -> bool:
    """Whether schema and parser judge a tree alike, but for what the parser alone can know."""
    found = faults(tree)
    return not found - MEANING if judge.is_valid(tree) else bool(found)


def bent(tree, others=OTHERS):
    """(tree with one value changed or taken out, what was done), for every place of it; the tree is the same one
    each time."""
    for *way, last in list(places_in(tree))[1:]:
        inside = tree
        for key in way:
            inside = inside[key]
        was = copy.copy(inside)
        for other in others:
            inside[last] = copy.deepcopy(other)
            yield tree, (way, last, other)
        del inside[last]
        yield tree, (way, last, "taken out")
        inside.clear()
        (inside.update if isinstance(inside, dict) else inside.extend)(was)


def parts_of(trees):
    """{name: a job of one key} for every key of some jobs and, where it lists objects, for each of these: what else is
    listed is no part of the judgement of one, but takes most of its time. What stands in two jobs is taken once."""
    parts = {}
    for top, value in (pair for tree in trees for pair in tree.items()):
        lists_objects = isinstance(value, list) and any(isinstance(member, dict) for member in value)
        for part in [[member] for member in value] if lists_objects else [value]:
            parts.setdefault(json.dumps({top: part}), (top, part))
    return {f"{top}-{number}": {top: part} for number, (top, part) in enumerate(parts.values())}


PARTS = parts_of(WHOLE)


@pytest.mark.parametrize("name", PARTS)
def test_schema_and_parser_agree_when_any_one_value_is_another_or_missing(name):
    judge = validator("job")
    assert not [done for tree, done in bent(copy.deepcopy(PARTS[name])) if not agree(judge, tree)]


@st.composite
def bent_jobs(draw):
    """A stored job with one to three places changed, taken out or given something more."""
    tree = copy.deepcopy(draw(st.sampled_from(TREES)))
    for _ in range(draw(st.integers(1, 3))):
        *way, last = draw(st.sampled_from(list(places_in(tree))[1:] or [("title",)]))
        inside = tree
        for key in way:
            inside = inside[key]
        if draw(st.booleans()) and (isinstance(inside, dict)):
            inside.pop(last)
        else:
            inside[last] = copy.deepcopy(draw(st.sampled_from(OTHERS)))
    return tree


@settings(max_examples=150, deadline=None)
@given(bent_jobs())
def test_the_schema_accepts_what_the_parser_accepts(tree):
    assert agree(validator("job"), tree), list(validator("job").iter_errors(tree))


@pytest.fixture(scope="module")
def answers():
    """(survey, plan) as the commands answer them: a slanted wall, a doorway, a pipe, pieces at hand, a floor long
    enough for a profile."""
    job = parse_job({"floor": {"outline": [[0, 0], [4400, 0], [4300, 2600], [0, 2600]]},
                     "pipes": [{"name": "P1", "diameter": 15, "at": [700, 60]}],
                     "doors": [{"name": "D1", "wall": ["A", "B"], "from": 1640, "width": 762, "reveal": 110,
                                "casing": {"width": 57, "thickness": 15}}],
                     "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}, "longest": 3000,
                                  "stock": [{"length": 640, "keeps": ["left"]}]}})
    survey = survey_job(job, {})
    plan = plan_job(job, survey, effort="preview")
    return json.loads(to_json(survey_answer(survey, job))), json.loads(plan_text(plan, survey, job))


def test_answers_fit_their_schemas(answers, box, in_photos):
    survey, plan = answers
    validator("plan").validate(plan)
    for tree in (box, in_photos):
        job = parse_job(tree)
        validator("survey").validate(json.loads(to_json(survey_answer(survey_job(job, {}), job))))
    validator("survey").validate(survey)
    assert {key for key in plan if plan[key] in ([], {})} == {"left_out", "unseen"}


#: Keys of an answer that are worded from its facts, and never read.
SENTENCES = {"says", "bound_says", "cautions", "warnings", "what", "unit", "why"}


def first_of_each(value):
    """The same data with one member to a list, but for places and the kinds of cut."""
    if isinstance(value, dict):
        return {key: first_of_each(inner) for key, inner in value.items()}
    if isinstance(value, list) and value and isinstance(value[0], dict):
        kinds = {tuple(sorted(member)): member for member in sorted(value, key=lambda member: len(json.dumps(member)))}
        return [first_of_each(member) for member in kinds.values()]
    return value[:2] if isinstance(value, list) else value


def reads(tree) -> bool:
    try:
        from_answer(tree)
    except LayoutError:
        return False
    return True


def keeps_to(schema, tree, key) -> bool:
    """Whether a tree keeps to an object's schema, told that all its values but the one of a key do."""
    return set(schema["required"]) <= {*tree} and (key not in tree or schema["properties"][key].is_valid(tree[key]))


def test_schema_and_reader_agree_when_any_one_value_of_a_plan_is_another_or_missing(answers):
    strip, gave = {"outline": [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]], "width": 4.0}, {"rule": "stagger", "where": "2.1",
                                                                                    "asked": 300, "had": 250,
                                                                                    "says": ""}
    judge, plan = validator("plan"), first_of_each(answers[1] | {"left_out": [strip], "relaxed": [gave]})
    assert judge.is_valid(plan) and reads(plan)
    # What a plan rests on is for other programs; a reader of version 1 reads earlier ones too, of which there are none.
    del plan["survey"], plan["unseen"], plan["version"]
    head, schema = {"version": 1}, judge.schema["$defs"]["Plan"]
    schema = schema | {"properties": {key: judge.evolve(schema={"$defs": judge.schema["$defs"], **part})
                                      for key, part in schema["properties"].items()}}
    differ = [done for tree, done in bent(plan, (None, True, 3, 2.5, "A", [], [1, 2], {}))
              if not SENTENCES & set(done[0] + [done[1]])
              and keeps_to(schema, head | tree, (*done[0], done[1])[0]) != reads(head | tree)]
    assert not differ
