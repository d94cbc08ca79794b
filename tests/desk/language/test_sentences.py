"""Sentences in the source: written out, found by the extractor, every gap filled and nothing filled in twice."""
from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from desk.language.extraction import KEYWORDS, ROOMS, template
from desk.language.missing import gaps_of

HOUSE = Path(__file__).parent.parent.parent.parent
#: Passes sentences on.
OWN = HOUSE / "capture" / "language" / "messages.py"
#: Values that the calls themselves give.
GIVEN = {"ngettext": {"count"}, "lazy_ngettext": {"count"}}


def sentences_in(path: Path) -> Iterator[tuple[str, ast.Call, list[str | None]]]:
    """(place, call, sentences) of every call that words one; None for what is not written out."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in KEYWORDS:
            forms = node.args[:2] if "ngettext" in node.func.id else node.args[:1]
            said = [form.value if isinstance(form, ast.Constant) and isinstance(form.value, str) else None
                    for form in forms]
            yield f"{path.relative_to(HOUSE)}:{node.lineno}", node, said


CALLS = [one for room in ROOMS for path in sorted((HOUSE / room).rglob("*.py")) for one in sentences_in(path)
         if path != OWN or None not in one[2]]


def test_every_sentence_is_written_out():
    assert [place for place, _, said in CALLS if None in said or not all(said)] == []


def test_every_gap_is_filled_and_every_value_has_its_gap():
    wrong = []
    for place, call, said in CALLS:
        values = {keyword.arg for keyword in call.keywords}
        if None in values or None in said:
            continue
        given = GIVEN.get(call.func.id, set())
        wanted = {gap.partition(":")[0] for form in said for gap in gaps_of(form)} if values or given else set()
        # A sentence in a table is filled where it is taken from it (`Message.filled`).
        lazily = call.func.id.startswith("lazy") and values < wanted
        if not (wanted - given == values or lazily):
            wrong.append((place, sorted(wanted), sorted(values)))
    assert wrong == []


def test_the_extractor_finds_the_same_sentences_as_python_does():
    by_python = {said[0] for _, _, said in CALLS}
    by_babel = {message.id if isinstance(message.id, str) else message.id[0] for message in template() if message.id
                and any(place.endswith(".py") for place, _ in message.locations)}
    assert by_python == by_babel


@pytest.mark.parametrize(("text", "gaps"), [("a {b} and {c:.1f}", {"b", "c:.1f"}), ("none", set()), ("{{}}", set())])
def test_gaps_are_told_with_the_form_of_their_figure(text, gaps):
    assert gaps_of(text) == gaps
