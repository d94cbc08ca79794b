"""The planner's sentences in the reader's units and words.

The planner writes every length in its sentences as a figure with its unit behind it ("10 mm", "1285 x 192 x 8 mm", "2
to 3 mm", "16.7 m", "14.09 m2"): that is the mark this module goes by, and the only place where such a sentence is
turned into inches. A rule told as a rate ("1.5 mm for each metre") is quoted as it stands, and so is what is
finer than 1/16 inch.
"""
from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from math import ceil

from layout.plan import Item, Plan
from printpack.terms import NO_BREAK, in_terms
from printpack.units import Units

_FIGURE = r"\d+(?:\.\d+)?"
_MEASURE = re.compile(
    rf"(?<![\w.])({_FIGURE}(?:(?: x | to | or | \+ ){_FIGURE})*|(?<=\(){_FIGURE}, {_FIGURE}|(?<=near ){_FIGURE}, {_FIGURE})"
    r" (mm|cm2|m2|m)\b(?! (?:a|for each) met(?:re|er))"
)
_METRE_MM, _FOOT_MM, _INCH_MM = 1000.0, 304.8, 25.4
_INCHES = Units("imperial")


def in_units(text: str, show: str) -> str:
    """The sentence with its lengths and areas in inches, and in the words that go with them, where `show` is
    "imperial"; else as it is."""
    return _MEASURE.sub(_converted, in_terms(text, show)) if show == "imperial" else text


def _converted(match: re.Match[str]) -> str:
    way = _size_from_mm if " x " in match[1] and match[2] == "mm" else _WAYS[match[2]]
    return re.sub(_FIGURE, lambda figure: way(figure[0]), match[1])


def _from_mm(figure: str) -> str:
    return _unless_nought(figure, _INCHES.length(float(figure)))


def _size_from_mm(figure: str) -> str:
    """A size of something bought, "1285 x 192 x 8 mm"."""
    return _unless_nought(figure, _INCHES.fine(float(figure)))


def _unless_nought(figure: str, inches: str) -> str:
    return f"{figure}{NO_BREAK}mm" if inches == '0"' and float(figure) else inches


def _from_m(figure: str) -> str:
    return f"{float(figure) * _METRE_MM / _FOOT_MM:.{1 if '.' in figure else 0}f}{NO_BREAK}ft"


def _from_m2(figure: str) -> str:
    return f"{float(figure) * (_METRE_MM / _FOOT_MM) ** 2:.{1 if '.' in figure else 0}f}{NO_BREAK}sq{NO_BREAK}ft"


def _from_cm2(figure: str) -> str:
    return f"{float(figure) * 100.0 / _INCH_MM ** 2:.1f}{NO_BREAK}sq{NO_BREAK}in"


_WAYS: dict[str, Callable[[str], str]] = {"mm": _from_mm, "m": _from_m, "m2": _from_m2, "cm2": _from_cm2}


def plan_in_units(plan: Plan, show: str) -> Plan:
    """The plan with all its sentences, and what is bought by length or area, in the reader's units."""
    if show != "imperial":
        return plan

    def said(texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(in_units(text, show) for text in texts)

    return replace(plan, says=said(plan.says), warnings=said(plan.warnings), cautions=said(plan.cautions),
                   bound_says=in_units(plan.bound_says, show),
                   relaxed=tuple(replace(rule, says=in_units(rule.says, show)) for rule in plan.relaxed),
                   profiles=tuple(replace(profile, says=in_units(profile.says, show)) for profile in plan.profiles),
                   shopping=tuple(_item(item, show) for item in plan.shopping))


def _item(item: Item, show: str) -> Item:
    """What is bought by metres is counted in feet, rounded up."""
    size, unit = {"m": (_METRE_MM / _FOOT_MM, "ft"), "m2": ((_METRE_MM / _FOOT_MM) ** 2, "sq ft")}.get(
        item.unit, (0.0, item.unit)
    )
    return replace(item, what=in_units(item.what, show), why=in_units(item.why, show), unit=unit,
                   quantity=ceil(item.quantity * size) if size else item.quantity)
