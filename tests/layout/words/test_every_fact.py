"""Every kind of fact has words in both units and goes through JSON unharmed: properties over drawn values, so that a
kind added later is tested by being there.

Outside the project: Python's json, and inches of 25.4 mm (international yard and pound agreement of 1959).
"""
from __future__ import annotations

import json
import re
import typing

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.errors import LayoutError
from layout.facts.notes import GapNarrow, Note
from layout.facts.purchases import Purchase
from layout.facts.reasons import Reason
from layout.plan import ChalkLine, Item, OnWall, Relaxed
from layout.planfile.codec import _CODEC
from layout.planfile.declared import kinds_of
from layout.rules import GIVES, RULES, Rules
from layout.words.notes import note_words
from layout.words.purchases import item_words
from layout.words.reasons import reason_words
from layout.words.rules import alike_words, chalk_words, relaxed_words

FACTS = [(base, kind) for base in (Reason, Note, Purchase) for kind in kinds_of(base).values()]
NAMES = st.sampled_from(["A", "by door", "C-D", "P1"])
LENGTHS = st.floats(min_value=2.0, max_value=9000.0).map(lambda mm: round(mm, 3))
#: Told in mm in either unit: film by its thickness, a rule as its source tells it.
OF_THEIR_OWN = r"0\.2 mm|1\.5 mm (?:for each|a) metre|0\.05 mm a metre"


def values(hint):
    """Values of a field's type."""
    plain = {float: LENGTHS, int: st.integers(1, 60), str: NAMES, bool: st.booleans()}
    if hint in plain:
        return plain[hint]
    inside = typing.get_args(hint)
    if typing.get_origin(hint) is typing.Literal:
        return st.sampled_from(inside)
    if inside[-1] is Ellipsis:
        return st.lists(values(inside[0]), min_size=1, max_size=3).map(tuple)
    return st.tuples(*map(values, inside))


def drawn(kind):
    return st.builds(kind, **{name: values(hint) for name, hint in typing.get_type_hints(kind).items()
                              if typing.get_origin(hint) is not typing.ClassVar})


def said(base, fact, show):
    if base is Purchase:
        line = item_words(Item(purchase=fact, quantity=3), show)
        return f"{line.what}: {line.quantity:g} {line.unit}. {line.why}"
    return (reason_words if base is Reason else note_words)(fact, show)


@pytest.mark.parametrize("base, kind", FACTS, ids=lambda part: getattr(part, "slug", ""))
@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_every_fact_is_worded_in_the_unit_asked_for_and_in_no_other(base, kind, data):
    fact = data.draw(drawn(kind))
    metric, imperial = (re.sub(OF_THEIR_OWN, "", said(base, fact, show).replace("\u00a0", " "))
                        for show in ("metric", "imperial"))
    assert metric.strip().endswith(".") and imperial.strip().endswith(".") and "{" not in metric
    assert '"' not in metric and " ft" not in metric
    assert not re.search(r"\d (?:mm|cm2|m2|m)\b", imperial)


@pytest.mark.parametrize("base, kind", FACTS, ids=lambda part: getattr(part, "slug", ""))
@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_every_fact_goes_through_json_unharmed(base, kind, data):
    fact, form = data.draw(drawn(kind)), _CODEC.form(base)
    told = json.loads(json.dumps(form.write(fact)))
    assert told["slug"] == kind.slug and form.read(told, "plan.x") == fact
    for key in told:
        with pytest.raises(LayoutError, match=r"plan\.x"):
            form.read({other: value for other, value in told.items() if other != key}, "plan.x")


@pytest.mark.parametrize("name", GIVES)
@given(had=st.floats(0.0, 500.0), asked=st.floats(2.0, 600.0), alone=st.booleans())
def test_every_rule_that_gives_way_is_said_with_its_numbers(name, had, asked, alone):
    gave = Relaxed(rule=name, where="row 4" if "{row}" in GIVES[name].gave else "4.2", asked_mm=asked, had_mm=had,
                   alone=alone)
    text = relaxed_words(gave, "metric")
    assert text.endswith(".") and "{" not in text and ("4.2" in text or "row 4" in text.lower() or "and 4" in text)
    assert f"{had:.0f} mm" in text or (had < 1.0 and GIVES[name].nothing)


ROWS_ALIKE = tuple(Relaxed(rule="alike", where=f"row {row}", asked_mm=100.0, had_mm=40.0) for row in (5, 9))


@pytest.mark.parametrize("gave, metric, imperial", [
    (ROWS_ALIKE[:1], "Joints of row 5 lie within 100 mm of those", 'within 3 7/8" of'),
    (ROWS_ALIKE, "Joints of rows 5, 9 lie within 100 mm of those", 'within 3 7/8" of')])
def test_rows_that_are_alike_are_told_in_one_sentence(gave, metric, imperial):
    """100 mm are 3.937 inches: 3 7/8 to the nearest eighth, half up."""
    assert alike_words(gave, "metric").startswith(metric)
    assert imperial in alike_words(gave, "imperial").replace("\u00a0", " ")


def test_a_chalk_line_is_told_by_its_two_places():
    line = ChalkLine(row=3, ends=(OnWall(wall=("A", "B"), from_mm=250.0), OnWall(wall=("C", "D"), from_mm=1000.4)))
    assert "from 250 mm from A on wall A-B to 1000 mm from C on wall C-D" in chalk_words(line, "metric")
    assert "39\u00a03/8" in chalk_words(line, "imperial") and "mm" not in chalk_words(line, "imperial")


@pytest.mark.parametrize("had, part", [(45.0, "instead of at least"), (12.0, "too little to click"),
                                       (0.4, "runs out to a point")])
def test_a_narrow_row_is_told_by_what_can_be_done_with_it(had, part):
    """A piece must be some 30 mm wide to be sawn and clicked (common practice, no source)."""
    assert part in relaxed_words(Relaxed(rule="narrowest", where="row 7", asked_mm=60.0, had_mm=had), "metric")


@pytest.mark.parametrize(("show", "had", "told"), [
    ("metric", 299.8, "just under 300 mm"), ("imperial", 299.8, 'just under 11\u00a03/4"'), ("metric", 288.0, "288 mm"),
    ("imperial", 288.0, '11\u00a03/8"')])
def test_no_two_figures_that_read_alike_are_told_as_different(show, had, told):
    """11 3/4 in are 298.45 mm: 299.8 and 300 mm round to the same eighth."""
    text = relaxed_words(Relaxed(rule="shortest", where="3.1", asked_mm=300.0, had_mm=had), show)
    assert f"is {told} long instead of at least" in text


def test_a_gap_and_the_rule_it_falls_short_of_never_read_alike():
    """9 and 10 mm are both 3/8 in to the nearest sixteenth."""
    note = GapNarrow(gap_mm=9.0, run_mm=6600.0, asked_mm=9.9)
    assert 'asks for just over 3/8"' in note_words(note, "imperial") and "asks for 10 mm" in note_words(note, "metric")


def test_every_rule_a_reader_sets_has_all_that_is_said_of_it():
    """A field of the rules without an entry, or an entry without a name, would be a rule nobody can set."""
    assert [name for name, _, _ in Rules().each()] == list(RULES)
    for rule in RULES.values():
        assert rule.label and rule.help.endswith(".") and rule.most[1] and 0.0 < rule.most_mm(1285.0, 192.0) <= 1285.0
