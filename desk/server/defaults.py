"""What holds where a job says nothing, as numbers and in words."""
from __future__ import annotations

from capture.tape import format_length


def usual_values() -> dict[str, float]:
    """What holds where the job says nothing, mm; from the types that use them, so the page cannot drift from the
    planner."""
    from desk.convert import PACK, THICKNESS_MM
    from layout.room import USUAL_GAP_MM, Rules, Wishes
    rules, wishes = Rules(), Wishes()
    return {"gap": USUAL_GAP_MM, "kerf": wishes.kerf_mm, "stagger": rules.stagger_mm, "shortest": rules.shortest_mm,
            "narrowest": rules.narrowest_mm, "thickness": THICKNESS_MM, "pack": PACK}


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
