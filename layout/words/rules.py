"""Rules that gave way, and expansion profiles, in sentences."""
from __future__ import annotations

from layout.plan import Plan, Profile, Relaxed
from layout.rules import GIVES
from layout.words.lengths import Lengths


def relaxed_words(gave: Relaxed, show: str) -> str:
    """A rule that had to give way: where, what was asked and what was had. Raises KeyError for a rule there is not."""
    rule, units = GIVES[gave.rule], Lengths(show)
    said = rule.alone if gave.alone and rule.alone else rule.gave
    said = rule.nothing if gave.had_mm < 1.0 and rule.nothing else said
    return said.format(row=gave.row, before=gave.row - 1, where=gave.where, had=units.whole(gave.had_mm),
                       asked=units.mm(gave.asked_mm))


def profile_words(plan: Plan, profile: Profile, show: str) -> str:
    """Where an expansion profile goes, as seen by a fitter who faces the start wall."""
    units = Lengths(show)
    (s0, t0), (s1, t1) = (plan.to_row_frame(end) for end in profile.ends)
    long_mm = ((s1 - s0) ** 2 + (t1 - t0) ** 2) ** 0.5
    way = (f"across the rows, {units.metres((s0 + s1) / 2, 2)} from their left end" if abs(s1 - s0) < abs(t1 - t0)
           else "along the rows")
    return (f"An expansion profile {units.metres(long_mm, 2)} long goes {way}: the boards stop "
            f"{units.mm(profile.clear_mm)} short of its middle on both sides.")
