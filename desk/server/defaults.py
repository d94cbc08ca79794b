"""What holds where a job says nothing, as numbers and in words."""
from __future__ import annotations

from typing import Any

from capture.tape import format_length


def usual_values() -> dict[str, float]:
    """What holds where the job says nothing, mm; from the types that use them, so the page cannot drift from the
    planner."""
    from desk.convert import PACK, THICKNESS_MM
    from layout.room import USUAL_GAP_MM, Rules, Wishes
    rules = {name: asked for name, _, asked in Rules().each()}
    return {"gap": USUAL_GAP_MM, "kerf": Wishes().kerf_mm, **rules, "thickness": THICKNESS_MM, "pack": PACK}


def choices() -> dict[str, Any]:
    """What the page offers: the rules of laying with their names and what they are for, the sheets a printer may hold
    with the units they are usual in, the languages it speaks; and the words it has for people who measure in inches."""
    from capture.language.messages import worded
    from layout.rules import RULES
    from layout.words.terms import american_words
    from printpack.paper import PAPERS
    return {"rules": [{"key": key, "label": worded(rule.label), "help": worded(rule.help)}
                      for key, rule in RULES.items()],
            "papers": [{"key": paper.name.lower(), "label": paper.name, "usual": paper.usual_in} for paper in PAPERS],
            "languages": _languages(), "american": american_words()}


def _languages() -> list[dict[str, str]]:
    """The languages to choose from, each by its own name; none where there is but one."""
    from desk.language import catalogues
    from desk.language.page import language_fact
    if len(catalogues.OFFERED) == 1:
        return []
    names = {tag: language_fact(catalogues.language(tag), "name", "English") for tag in catalogues.OFFERED}
    return [{"key": tag, "label": name[:1].upper() + name[1:]} for tag, name in names.items()]


def usual_words() -> dict[str, dict[str, str]]:
    """The usual lengths, and what the check sheet's rulers should measure, as a person reads them, by the units
    shown."""
    from printpack.words.printer_scale import rulers_of
    usual = {key: value for key, value in usual_values().items() if key != "pack"}
    said = {}
    for show in ("metric", "imperial"):
        lengths = usual | {"ruler_across": rulers_of(show).across_mm, "ruler_down": rulers_of(show).down_mm}
        said[show] = {key: format_length(value, show=show) for key, value in lengths.items()}
    return said
