"""Random jobs and random rubbish: round trips hold, and nothing but the two errors of the desk ever comes out."""
from __future__ import annotations

import contextlib
import io
import json
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from desk.cli import main
from desk.jobfile.files import parse_job, read_job, write_job
from desk.problem import JobFileError

names = st.text(alphabet="ABCDEFGHP123é", min_size=1, max_size=3)
numbers = st.one_of(st.integers(1, 9000), st.floats(0.5, 9000, allow_nan=False))
pairs = st.lists(names, min_size=2, max_size=2, unique=True)
leaves = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False),
                   st.text(max_size=6), names)
anything = st.recursive(leaves, lambda inner: st.one_of(st.lists(inner, max_size=4),
                                                        st.dictionaries(st.text(max_size=4), inner, max_size=4)),
                        max_leaves=12)
tapes = st.fixed_dictionaries({"between": pairs, "mm": numbers}, optional={"sd": st.floats(0.1, 9), "note": anything})
marks = st.fixed_dictionaries({"point": names, "x": numbers, "y": numbers})
photos = st.fixed_dictionaries({"file": st.sampled_from(["photos/1.jpg", "photos/2.jpg"]),
                                "size": st.just([4000, 3000])},
                               optional={"marks": st.lists(marks, max_size=4), "camera": names})
jobs = st.fixed_dictionaries({"format": st.just("tapegroove-job"), "version": st.just(1)},
                             optional={"outline": st.lists(names, max_size=6), "tape": st.lists(tapes, max_size=5),
                                       "photos": st.lists(photos, max_size=3),
                                       "title": st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=12),
                                       "square": st.lists(names, max_size=2), "later": anything})

#: Keys of a job with anything at all behind them.
KEYS = ("format", "version", "title", "show", "date", "outline", "islands", "cameras", "photos", "tape", "square",
        "square_sd", "on_wall", "pipes", "doors", "floor", "flooring", "closeups", "targets", "plan", "day")
INNER = ("point", "x", "y", "between", "mm", "typed", "wall", "file", "size", "marks", "edges", "points", "name",
         "corners", "diameter", "at", "board", "length", "width", "thickness", "pack", "roll", "outline", "holes",
         "rules", "stagger", "direction", "first_row", "focal_px")
entries = st.dictionaries(st.sampled_from(INNER), st.one_of(anything, pairs, numbers), max_size=6)
rubbish = st.dictionaries(st.sampled_from(KEYS),
                          st.one_of(anything, entries, st.lists(entries, max_size=3), st.lists(names, max_size=5)),
                          max_size=8)


@settings(max_examples=60, deadline=None)
@given(jobs)
def test_a_job_written_and_read_is_the_same_job(tree):
    job = parse_job(tree)
    with tempfile.TemporaryDirectory() as place:
        write_job(Path(place), job)
        assert read_job(Path(place)) == job
    assert job.tree() == tree


@settings(max_examples=80, deadline=None)
@given(rubbish)
def test_rubbish_is_read_or_refused_in_sentences(tree):
    try:
        assert parse_job(tree).tree() == tree
    except JobFileError as error:
        assert all(problem.says.endswith(".") and "\n" not in problem.says for problem in error.problems)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.one_of(rubbish.map(lambda tree: json.dumps(tree).encode()), jobs.map(lambda tree: json.dumps(tree).encode()),
                 st.binary(max_size=60)))
def test_check_answers_any_file_with_sentences_and_a_status(data):
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "job.json").write_bytes(data)
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = main(["check", place, "--json"])
    answer = json.loads(out.getvalue())
    stops = [p["says"] for p in answer["problems"] if p["severity"] == "stop"]
    assert err.getvalue().splitlines() == stops
    assert status == (0 if not stops else 2 if any(p["stage"] == "read" for p in answer["problems"]
                                                   if p["severity"] == "stop") else 1)
    assert not any(p["slug"] == "our-fault" for p in answer["problems"])


JOBS = Path(__file__).parent.parent / "data" / "jobs" / "v1"
SOUND = {path.stem: path.read_text() for path in sorted(JOBS.glob("*.json"))}


def spots(tree, path=()):
    """The path of every value inside a tree."""
    for key in (tree if isinstance(tree, dict) else range(len(tree)) if isinstance(tree, list) else ()):
        yield (*path, key)
        yield from spots(tree[key], (*path, key))


@st.composite
def slips(draw) -> dict:
    """A sound job with one to three slips: a key left out, a number ten times too large, a wrong corner, a list in
    another order."""
    tree = json.loads(SOUND[draw(st.sampled_from(sorted(SOUND)))])
    for _ in range(draw(st.integers(1, 3))):
        *parents, last = draw(st.sampled_from(list(spots(tree))))
        node = tree
        for key in parents:
            node = node[key]
        value = node[last]
        if draw(st.booleans()) and isinstance(value, (int, float)):
            node[last] = value * draw(st.sampled_from([0, -1, 0.1, 0.9, 1.01, 1.1, 10, 1000]))
        elif isinstance(value, str):
            node[last] = draw(st.sampled_from("ABCDEFP"))
        elif isinstance(value, list):
            node[last] = draw(st.permutations(value))
        else:
            del node[last]
    return tree


@settings(max_examples=16, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(slips(), st.sampled_from(["survey", "survey", "plan"]))
def test_a_job_with_slips_is_solved_or_refused_but_never_a_fault_of_ours(tree, command):
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "job.json").write_text(json.dumps(tree))
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = main([command, place, "--json"])
    answer = json.loads(out.getvalue())
    assert "fault of ours" not in err.getvalue()
    assert (status == 0) == (answer["format"] == f"tapegroove-{command}")
    assert (status == 0) == (err.getvalue() == "")
