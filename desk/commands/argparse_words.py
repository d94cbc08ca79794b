"""argparse's own words, usage and refusals, in the reader's language.

argparse looks its sentences up by the standard library's gettext, which knows one language a process by files of its
own. Here the two functions it has imported for that are exchanged for ours while it works; the sentences are argparse's
of Python 3.11 to 3.13, and one it words otherwise stays English.
"""
from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager

from capture.language.messages import lazy_ngettext, marked, spoken

_KNOWN = frozenset((
    marked("usage: "), marked("positional arguments"), marked("options"), marked("show this help message and exit"),
    marked("argument %(argument_name)s: %(message)s"), marked("the following arguments are required: %s"),
    marked("expected one argument"), marked("expected at most one argument"), marked("expected at least one argument"),
    marked("invalid choice: %(value)r (choose from %(choices)s)"), marked("invalid %(type)s value: %(value)r"),
    marked("ambiguous option: %(option)s could match %(matches)s"), marked("ignored explicit argument %r"),
    marked("unrecognized arguments: %s"), marked("not allowed with argument %s")))
_COUNTED = lazy_ngettext("expected %s argument", "expected %s arguments", 2)


@contextmanager
def worded_argparse() -> Iterator[None]:
    """Within, argparse speaks the reader's language."""
    before = {name: getattr(argparse, name) for name in ("_", "ngettext")}
    _exchange({"_": _looked_up, "ngettext": _counted})
    try:
        yield
    finally:
        _exchange(before)


def _exchange(functions: dict[str, object]) -> None:
    for name, function in functions.items():
        setattr(argparse, name, function)


def _looked_up(text: str) -> str:
    return spoken().catalogue.gettext(text) if text in _KNOWN else text


def _counted(one: str, many: str, count: int) -> str:
    if one == _COUNTED.text:
        return spoken().catalogue.ngettext(one, many, count)
    return one if count == 1 else many
