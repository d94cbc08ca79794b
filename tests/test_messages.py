"""The rooms' README.md keep up with the code: every slug has its line, no line outlives its slug.

A slug is whatever reaches a parameter or field called `slug`, a variable of that name, or the key "slug" of an answer.
It must be written out at the place where it is given, so that this test (and a person with a text search) can find it.
"""
from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import pytest

from layout.room import Rules

HOUSE = Path(__file__).parent.parent
ROOMS = ("capture", "layout", "printpack", "desk")
MODULES = sorted(path for room in ROOMS for path in (HOUSE / room).rglob("*.py"))

#: Variables that carry a slug on: nothing new comes into being where they stand.
PASSED_ON = {"slug", "_slug"}
#: The judge names a broken rule by the rule.
KNOWN_VARIABLES = {"rule": {field.name.removesuffix("_mm") for field in fields(Rules)}}

Takers = dict[tuple[str, str], set[int]]


def takers_in(tree: ast.Module) -> Iterator[tuple[str, str, int]]:
    """(how it is called, name, position of the slug) of every function, method and class that takes a slug."""
    owned = {item: node for node in ast.walk(tree) if isinstance(node, ast.ClassDef) for item in node.body}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            owner = owned.get(node)
            kind, name = ("name", node.name) if owner is None else ("name",
                                                                    owner.name) if node.name == "__init__" else (
                "method", node.name)
            yield from ((kind, name, place) for place in _slug_place(node, 0 if owner is None else 1))


def _slug_place(function: ast.FunctionDef, skipped: int) -> list[int]:
    names = [argument.arg for argument in (*function.args.posonlyargs, *function.args.args)][skipped:]
    return [names.index("slug")] if "slug" in names else []


def slug_expressions(tree: ast.Module, takers: Takers) -> Iterator[ast.expr]:
    """Every expression that is given as a slug."""
    for node in ast.walk(tree):
        match node:
            case ast.Call():
                yield from _given(node, takers)
            case ast.Dict():
                yield from (value for key, value in zip(node.keys, node.values) if isinstance(key, ast.Constant)
                            and key.value == "slug")
            case ast.FunctionDef():
                yield from _defaults(node)
            case ast.Assign():
                yield from (value for target in node.targets for value in _assigned(target, node.value))


def _given(call: ast.Call, takers: Takers) -> Iterator[ast.expr]:
    yield from (keyword.value for keyword in call.keywords if keyword.arg == "slug")
    match call.func:
        case ast.Name(id=name):
            places = takers.get(("name", name), set())
        case ast.Attribute(attr=name):
            places = takers.get(("method", name), set()) | takers.get(("name", name), set())
        case _:
            places = set()
    yield from (call.args[place] for place in places if place < len(call.args))


def _defaults(function: ast.FunctionDef) -> Iterator[ast.expr]:
    with_default = function.args.args[len(function.args.args) - len(function.args.defaults):]
    yield from (value for argument, value in zip(with_default, function.args.defaults) if argument.arg == "slug")


def _assigned(target: ast.expr, value: ast.expr) -> Iterator[ast.expr]:
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for one, other in zip(target.elts, value.elts):
            yield from _assigned(one, other)
    elif isinstance(target, ast.Name) and target.id == "slug":
        yield value


def slugs_of(expression: ast.expr) -> set[str]:
    """The slugs an expression can be; none for one that only carries a slug on. Raises AssertionError if it cannot
    be told."""
    match expression:
        case ast.Constant(value=str(slug)):
            return {slug} - {""}
        case ast.IfExp():
            return slugs_of(expression.body) | slugs_of(expression.orelse)
        case ast.Name(id=name) | ast.Attribute(attr=name) if name in PASSED_ON:
            return set()
        case ast.Name(id=name) if name in KNOWN_VARIABLES:
            return KNOWN_VARIABLES[name]
        case ast.Call(func=ast.Name(id="getattr"), args=[_, ast.Constant(value="slug"), *_]):
            return set()
    raise AssertionError(
        f"line {expression.lineno}: write the slug out where it is given, not {ast.unparse(expression)}")


def slugs_in(trees: list[ast.Module]) -> set[str]:
    takers: Takers = {}
    for tree in trees:
        for kind, name, place in takers_in(tree):
            takers.setdefault((kind, name), set()).add(place)
    return set().union(*(slugs_of(expression) for tree in trees for expression in slug_expressions(tree, takers)))


def messages(room: str) -> str:
    """The chapter about messages in a room's README.md."""
    _, heading, chapter = (HOUSE / room / "README.md").read_text(encoding="utf-8").partition("\n## Messages\n")
    assert heading, f"{room}/README.md has no chapter about messages"
    return chapter


SLUGS = slugs_in([ast.parse(path.read_text(encoding="utf-8")) for path in MODULES])
LINES = [line for room in ROOMS for line in re.findall(r"^\| `([^`]+)` \| (.*) \|$", messages(room), re.MULTILINE)]


def test_every_slug_has_its_line_and_no_line_outlives_its_slug():
    explained = [slug for slug, _ in LINES]
    assert sorted(SLUGS - set(explained)) == [], "slugs without a line in a room's README.md"
    assert sorted(set(explained) - SLUGS) == [], "lines for slugs the code does not have"
    assert len(explained) == len(set(explained)), "one line to a slug"


def test_every_line_says_what_it_means_and_what_to_do():
    assert [slug for slug, says in LINES if len([cell for cell in says.split(" | ") if len(cell) > 8]) != 2] == []


@pytest.mark.parametrize("slug", sorted(SLUGS))
def test_slugs_are_short_words_with_hyphens(slug):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", slug)


@pytest.mark.parametrize(
    ("code", "slugs"),
    [
        ("class E(Exception):\n def __init__(self, slug, says): pass\nraise E('no-scale', 'x')", {"no-scale"}),
        ("def stop(where, slug): pass\nstop('here', 'a-b' if x else 'c')", {"a-b", "c"}),
        ("def outer():\n def stop(slug): pass\n stop('inner-slug')", {"inner-slug"}),
        (
            "class N:\n def fault(self, says, slug='wrong-field'): pass\nn.fault('x')\nn.fault('x', 'same-point')",
            {"wrong-field", "same-point"},
        ),
        ("Fault(slug='overlap', where='1.1')", {"overlap"}),
        ("Fault(slug=rule)", {"stagger", "shortest", "narrowest"}),
        ("status, slug = 409, 'overtaken'", {"overtaken"}),
        ("answer = {'slug': 'refused', 'where': ''}", {"refused"}),
        ("Problem(slug=error.slug)\nslug = getattr(error, 'slug', '')", set()),
    ],
)
def test_slugs_are_found_however_they_are_given(code, slugs):
    assert slugs_in([ast.parse(code)]) == slugs


def test_a_slug_put_together_at_run_time_is_refused():
    with pytest.raises(AssertionError, match="write the slug out"):
        slugs_in([ast.parse("Fault(slug='bad-' + what)")])
