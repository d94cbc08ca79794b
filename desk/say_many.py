"""What `tapegroove many` prints for people."""
from __future__ import annotations

from collections.abc import Sequence

from desk.many import Outcome
from desk.say import paragraph, section, table


def say_progress(outcome: Outcome, done: int, count: int) -> str:
    """One line as a job ends."""
    what = f"{outcome.boards} boards, {_packs(outcome.packs)}" if outcome.planned else "no plan"
    return f"{done:>{len(str(count))}} of {count}  {outcome.name}: {what}, {outcome.seconds:.1f} s"


def say_many(outcomes: Sequence[Outcome]) -> str:
    """The jobs in a table, what they need together, and why some have no plan."""
    planned = [outcome for outcome in outcomes if outcome.planned]
    figures = [("job", "floor", "rows", "boards", "packs", "waste")] + [
        (o.name, f"{o.area_m2:.2f} m2", str(o.rows), str(o.boards), str(o.packs), f"{o.waste_percent:.1f} %") for o in planned]
    lines = [f"{line}  {remark}".rstrip() for line, remark in zip(table(figures), ["", *map(_remark, planned)])] if planned else []
    lines += ["", f"{len(planned)} of {len(outcomes)} jobs planned: {sum(o.area_m2 for o in planned):.2f} m2, "
                  f"{sum(o.boards for o in planned)} boards, {_packs(sum(o.packs for o in planned))} bought room by room."]
    if len(planned) > 1:
        lines += paragraph("Rooms laid with one kind of board may need a pack less together than one by one: add up the boards.")
    lines += section("No plan", (f"{o.name}: {' '.join(o.says)}" for o in outcomes if not o.planned))
    return "\n".join(lines) + "\n"


def _packs(count: int) -> str:
    return f"{count} pack{'s' * (count != 1)}"


def _remark(outcome: Outcome) -> str:
    """What is not plain in the figures."""
    remarks = ["the plan it keeps"] if outcome.kept else []
    remarks += ["fewest, proven"] if outcome.proven else [f"at least {outcome.bound}"]
    remarks += [f"{outcome.relaxed} rule{'s' * (outcome.relaxed != 1)} gave way"] if outcome.relaxed else []
    return ", ".join(remarks)
