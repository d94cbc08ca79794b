"""Rules that gave way, expansion profiles and the chalk line, in sentences."""
from __future__ import annotations

from collections.abc import Sequence

from capture.language.messages import gettext, ngettext, worded
from layout.plan import ChalkLine, Plan, Profile, Relaxed
from layout.rules import GIVES
from layout.words.lengths import Lengths
from layout.words.reasons import wall_words


def relaxed_words(gave: Relaxed, show: str) -> str:
    """A rule that had to give way: where, what was asked and what was had. Raises KeyError for a rule there is not."""
    rule, units = GIVES[gave.rule], Lengths(show)
    said = rule.alone if gave.alone and rule.alone else rule.gave
    least_mm, little = rule.little
    said = little if gave.had_mm < least_mm else said
    said = rule.nothing if gave.had_mm < 1.0 and rule.nothing else said
    return worded(said, row=gave.row, before=gave.row - 1, second=gave.row - 2, where=gave.where,
                  had=units.short_of(gave.had_mm, gave.asked_mm), asked=units.mm(gave.asked_mm))


def alike_words(gave: Sequence[Relaxed], show: str) -> str:
    """Rows whose joints lie like those two rows before, all in one sentence."""
    return ngettext(
        "Joints of row {rows} lie within {asked} of those two rows before: no better place was found that keeps the "
        "boards as few.",
        "Joints of rows {rows} lie within {asked} of those two rows before: no better place was found that keeps the "
        "boards as few.", len(gave), rows=", ".join(str(one.row) for one in gave),
        asked=Lengths(show).mm(gave[0].asked_mm))


def chalk_words(line: ChalkLine, show: str) -> str:
    """How the first rows are held to a chalk line."""
    units = Lengths(show)
    left, right = (gettext("{length} from {corner} on wall {wall}", length=units.whole(end.from_mm),
                           corner=end.wall[0], wall=wall_words(end.wall)) for end in line.ends)
    return gettext(
        "Rows run along no wall: snap a chalk line from {left} to {right}. It is the far edge of row {row}: lay "
        "rows 1 to {row} loosely, slide them until its edge lies on the line all along, then wedge them.", left=left,
        right=right, row=line.row)


def profile_words(plan: Plan, profile: Profile, show: str) -> str:
    """Where an expansion profile goes, as seen by a fitter who faces the start wall."""
    units = Lengths(show)
    (s0, t0), (s1, t1) = (plan.to_row_frame(end) for end in profile.ends)
    long_mm = ((s1 - s0) ** 2 + (t1 - t0) ** 2) ** 0.5
    long, clear = units.metres(long_mm, 2), units.mm(profile.clear_mm)
    if abs(s1 - s0) < abs(t1 - t0):
        return gettext(
            "An expansion profile {long} long goes across the rows, {place} from their left end: the boards stop "
            "{clear} short of its middle on both sides.", long=long, place=units.metres((s0 + s1) / 2, 2), clear=clear)
    return gettext(
        "An expansion profile {long} long goes along the rows: the boards stop {clear} short of its middle on both "
        "sides.", long=long, clear=clear)
