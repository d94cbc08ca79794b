"""What to do when a check fails: said once, on the paper's day page and on the phone.

Tolerances are the plan's own: the window in which a gap may lie, its shortest piece. The rest is common practice, no
source.
"""
from __future__ import annotations

from printpack.job import PackJob

#: Where it is said, as the rows' pages name it.
FAILED_TITLE = "When a check fails"


def failed_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(what is found, what to do) one after the other."""
    plan, units = job.plan, job.units
    least, most = units.length(plan.gap_least_mm), units.length(plan.gap_most_mm)
    return (
        ("The tape is outside what the page expects", "Mostly a joint stands open: tap it closed, measure again. Still "
         f"outside: saw what the tape says, if {units.length(plan.rules.shortest_mm)} or more is left, and type it in "
         "“Day”."),
        ("Its place is longer than the wood", f"A gap up to {most} is fine. More: slide the row, both gaps share it, "
         "but not with a pipe or a cut-out in the row. Still more: a new board."),
        ("Your edge is off the far wall's figure", "Off alike everywhere: type it in “Day”; the last row is planned "
         "anew. Off at one end: unclick back to the last straight row. Never force the next one."),
        ("A cut-out or a pipe is not where the figures say", "Do not saw. Lay the board beside the place, spacers in, "
         "and mark it from there."),
        ("A joint stays open", "Unclick, clear the groove, tap again with the block. Still open: another board."),
        ("A gap is too narrow", f"Under {least}: saw the end again. The floor must touch nothing."),
        ("A board is spoilt or lost", "Take a spare; type it in “Day”, so that the offcuts still fit."),
    )
