"""Rules that gave way, and expansion profiles, in sentences."""
from __future__ import annotations

from collections.abc import Callable, Mapping

from layout.plan import Plan, Profile, Relaxed
from layout.words.lengths import Lengths


def relaxed_words(gave: Relaxed, show: str) -> str:
    """A rule that had to give way: where, what was asked and what was had. Raises KeyError for a rule there is not."""
    return _GAVE[gave.rule](gave, Lengths(show))


def _stagger(gave: Relaxed, units: Lengths) -> str:
    return (f"Joints of rows {gave.row - 1} and {gave.row} are {units.whole(gave.had_mm)} apart instead of "
            f"{units.mm(gave.asked_mm)}: with these boards and this width no place keeps every rule.")


def _shortest(gave: Relaxed, units: Lengths) -> str:
    why = ": it stands alone in its stretch of the row, which is no longer." if gave.alone else "."
    return (f"Piece {gave.where} is {units.whole(gave.had_mm)} long instead of at least {units.mm(gave.asked_mm)}{why}")


def _narrowest(gave: Relaxed, units: Lengths) -> str:
    if gave.had_mm < 1.0:
        return f"Row {gave.row} runs out to a point where a wall crosses it at a flat angle."
    return (f"Row {gave.row} is only {units.whole(gave.had_mm)} wide at its narrowest instead of at least "
            f"{units.mm(gave.asked_mm)}.")


def _pipe_joint(gave: Relaxed, units: Lengths) -> str:
    return (f"An end joint of row {gave.row} lies {units.whole(gave.had_mm)} from a pipe's hole instead of on its "
            f"middle or {units.mm(gave.asked_mm)} clear: glue it.")


def _notch_joint(gave: Relaxed, units: Lengths) -> str:
    return (f"An end joint of row {gave.row} lies {units.whole(gave.had_mm)} from the inner corner of a cut-out "
            f"instead of {units.mm(gave.asked_mm)}: no better place was found that keeps the boards as few. Handle the "
            "thin tongue with care.")


def _sliver(gave: Relaxed, units: Lengths) -> str:
    return (f"Only {units.whole(gave.had_mm)} comes off piece {gave.where} along one side, which a saw can hardly "
            "hold: clamp a batten beside the line, or plane it down.")


_GAVE: Mapping[str, Callable[[Relaxed, Lengths], str]] = {
    "stagger": _stagger, "shortest": _shortest, "narrowest": _narrowest, "pipe-joint": _pipe_joint,
    "notch-joint": _notch_joint, "sliver": _sliver,
}


def profile_words(plan: Plan, profile: Profile, show: str) -> str:
    """Where an expansion profile goes, as seen by a fitter who faces the start wall."""
    units = Lengths(show)
    (s0, t0), (s1, t1) = (plan.to_row_frame(end) for end in profile.ends)
    long_mm = ((s1 - s0) ** 2 + (t1 - t0) ** 2) ** 0.5
    way = (f"across the rows, {units.metres((s0 + s1) / 2, 2)} from their left end" if abs(s1 - s0) < abs(t1 - t0)
           else "along the rows")
    return (f"An expansion profile {units.metres(long_mm, 2)} long goes {way}: the boards stop "
            f"{units.mm(profile.clear_mm)} short of its middle on both sides.")
