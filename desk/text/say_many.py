"""What `tapegroove many` and `tapegroove house` print for people."""
from __future__ import annotations

from collections.abc import Sequence

from desk.actions.flat.planning import FlatJob
from desk.limited_pool import Death
from desk.batch.many import Ended, TriedAgain
from desk.batch.outcome import Outcome
from desk.text.reports import paragraph, section, table
from layout.flat_plan import FlatPlan
from layout.words.flat import LEAFLET, kind_words, kinds_words, order_words, passage_words, travel_words
from layout.words.purchases import item_words
from printpack.units import NO_BREAK, how_many


_DEATHS = {Death.TIME: "it took more than its time", Death.MEMORY: "it wanted more than its memory",
           Death.ENDED: "its process was ended from outside"}


def say_progress(event: Ended | TriedAgain) -> str:
    """One line as a job ends, or dies and is begun once more."""
    if isinstance(event, TriedAgain):
        return f"{event.name}: {_DEATHS[event.death]}; it will be tried once more"
    outcome = event.outcome
    what = f"{outcome.boards} boards, {_packs(outcome.packs)}" if outcome.planned else "no plan"
    return f"{event.done:>{len(str(event.count))}} of {event.count}  {outcome.name}: {what}, " + (
        "as planned before" if outcome.earlier else f"{outcome.seconds:.1f} s")


def say_stopped(why: str, done: int, count: int) -> str:
    """What became of a run that did not come to its end. why: a sentence, "" for Ctrl+C."""
    return f"{why or 'Stopped.'} {done} of {count} jobs are done; the same command goes on from there."


def say_many(outcomes: Sequence[Outcome]) -> str:
    """The jobs in a table, what they need together, and why some have no plan."""
    planned = [outcome for outcome in outcomes if outcome.planned]
    figures = [("job", "floor", "rows", "boards", "packs", "waste")] + [(o.name, f"{o.area_m2:.2f} m2", str(o.rows),
                                                                         str(o.boards), str(o.packs),
                                                                         f"{o.waste_percent:.1f} %") for o in planned]
    lines = [f"{line}  {remark}".rstrip() for line, remark in zip(table(figures),
                                                                  ["", *map(_remark, planned)])] if planned else []
    lines += ["", f"{len(planned)} of {len(outcomes)} jobs planned: {sum(o.area_m2 for o in planned):.2f} m2, "
              f"{sum(o.boards for o in planned)} boards, {_packs(sum(o.packs for o in planned))} bought room by room."]
    if len(planned) > 1:
        lines += paragraph(
            "Rooms laid with one kind of board may need a pack less together than one by one: add up the boards.")
    earlier = sum(outcome.earlier for outcome in planned)
    if earlier:
        are, were = ("is", "was") if earlier == 1 else ("are", "were")
        lines += paragraph(
            f"{earlier} of them {were} planned by an earlier run and {are} unchanged since; --afresh plans "
            "every job again.")
    lines += section("What the surveys leave in doubt",
                     (f"{o.name}: {' '.join(o.doubts)}" for o in planned if o.doubts))
    lines += section("No plan", (f"{o.name}: {' '.join(o.says)}" for o in outcomes if not o.planned))
    return "\n".join(lines) + "\n"


def say_house(job: FlatJob, folder: str) -> str:
    """Which rooms became one floor, what their corners are called there, how doorways are laid and in which order, what
    the flat takes together, and what to do next."""
    joined, flat = job.joined, job.flat
    lines = [f"{joined.entry.title or 'The house'}: {len(joined.house.placings)} rooms, {len(joined.jobs)} "
             f"floor{'s' * (len(joined.jobs) != 1)} laid as one, in {folder}:"]
    lines += table([(f"{name}/", "boards run through" if len(joined.groups[name]) > 1 else "by itself",
                     *_taken(job, name)) for name in joined.jobs])
    numbers = ", ".join(f"{number} = {name}" for number, name in enumerate(joined.house.placings, start=1))
    lines += [""] + paragraph(f"Corners, pipes and doors there begin with their room's number ({numbers}): 2A is "
                              "corner A of room 2. J1, J2, ... are jambs of openings that boards run through. Rows run "
                              "in one direction wherever doorways join the rooms.")
    lines += section("Doorways", [passage_words(one, job.show) for one in joined.doorways]
                     + [LEAFLET] * any(one.through for one in joined.doorways))
    lines += section("Rings of rooms", (
        f"Going round, the two sides of the doorway {p.rooms[0]} {p.doors[0]} / {p.rooms[1]} {p.doors[1]} come to lie "
        f"{off:.0f} mm apart."
        for p, off in joined.house.misfits))
    lines += section("In which order", [order_words(joined.order)])
    lines += _bought(flat, job.show) if flat is not None else []
    lines += [""] + paragraph(f"Next: tapegroove pack for one of them, or tapegroove many {folder}. Both plan each "
                              "floor by itself, without what the others leave.")
    return "\n".join(lines) + "\n"


def _taken(job: FlatJob, name: str) -> tuple[str, ...]:
    """What a floor takes, for the table; nothing where no floor is planned."""
    floor = next((one for one in job.flat.floors if one.name == name), None) if job.flat is not None else None
    if floor is None:
        return ("not planned",)
    return (f"{floor.plan.boards} boards ({floor.alone} alone)",)


def _bought(flat: FlatPlan, show: str) -> list[str]:
    """What the flat takes together."""
    lines = section("Boards for all rooms", [*(kind_words(kind, show) for kind in flat.kinds), kinds_words(flat)])
    lines += section("Offcuts that go to another room", (travel_words(travel, show) for travel in flat.travels))
    bought = (item_words(item, show) for item in flat.shopping)
    return lines + section("To buy, for all rooms", (
        f"{line.what}: {how_many(line.quantity, line.unit)}. {line.why}".rstrip().replace(NO_BREAK, " ")
        for line in bought))


def _packs(count: int) -> str:
    return f"{count} pack{'s' * (count != 1)}"


def _remark(outcome: Outcome) -> str:
    """What is not plain in the figures."""
    remarks = ["the plan it keeps"] if outcome.kept else []
    remarks += ["fewest, proven"] if outcome.proven else [f"at least {outcome.bound}"]
    remarks += ["in doubt"] if outcome.doubts else []
    remarks += [f"{outcome.relaxed} rule{'s' * (outcome.relaxed != 1)} gave way"] if outcome.relaxed else []
    return ", ".join(remarks)
