"""What to do when a check fails: a part of the day's page, named on the rows' pages, on paper and on the phone.

Tolerances are the plan's own: its gap and the window between which a gap may lie. The rest is common practice, no
source.
"""
from __future__ import annotations

from capture.language.messages import gettext
from printpack.job import PackJob


def check_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(what is found, what to do), one after the other."""
    plan, units = job.plan, job.units
    least, most = units.length(plan.gap_least_mm), units.length(plan.gap_most_mm)
    return (
        (gettext("Outside its range"),
         gettext("Look for an open joint, measure again. Still outside: saw what the tape says.")),
        (gettext("Place longer than the wood"), gettext(
            "Up to {gap}: lay it unsawn, slide the row until both gaps are alike (with a pipe or cut-out in it half of "
            "that, no sliding). More: a new board.", gap=units.length(plan.gap_mm))),
        (gettext("Your edge is off"), gettext(
            "All along alike: type it in “Day”, print the changed pages. At one end: the rows run askew; string along "
            "row 1, lift rows.")),
        (gettext("Cut-out or pipe is off"),
         gettext("Do not saw. Lay the board beside the place, spacers in, and mark it from there.")),
        (gettext("Joint stays open"),
         gettext("Unclick, brush it clean, tap again with the block. A broken lip: another board.")),
        (gettext("Gap is wrong"), gettext(
            "From {least} to {most} is good. Less: saw again, the floor touches nothing. More: another piece, or a "
            "wider {beading}.", least=least, most=most, beading=units.terms.beading)),
        (gettext("Board or offcut spoilt"),
         gettext("Take a spare; type it in “Day”, so that the offcuts still fit.")),
    )
