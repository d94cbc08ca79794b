"""What `tapegroove many` and `tapegroove house` print for people."""
from __future__ import annotations

from collections.abc import Sequence

from capture.language.messages import figure, gettext, led, listed, marked, ngettext, worded
from desk.actions.flat.doorway_answer import doorway_lines
from desk.actions.flat.state import FlatJob
from desk.actions.flat.titles import titled_flat, titled_groups, titled_order, titled_passage
from desk.limited_pool import Death
from desk.batch.many import Ended, TriedAgain
from desk.batch.outcome import Outcome
from desk.text.reports import paragraph, section, table
from layout.flat_plan import FlatPlan
from layout.words.flat import LEAFLET, kind_words, kinds_words, order_words, passage_words, travel_words
from layout.words.purchases import item_words
from printpack.units import NO_BREAK, how_many


_DEATHS = {Death.TIME: marked("it took more than its time"), Death.MEMORY: marked("it wanted more than its memory"),
           Death.ENDED: marked("its process was ended from outside")}


def say_progress(event: Ended | TriedAgain) -> str:
    """One line as a job ends, or dies and is begun once more."""
    if isinstance(event, TriedAgain):
        return gettext("{name}: {why}; it will be tried once more", name=event.name, why=worded(_DEATHS[event.death]))
    outcome = event.outcome
    what = (gettext("{boards} boards, {packs}", boards=outcome.boards, packs=_packs(outcome.packs)) if outcome.planned
            else gettext("no plan"))
    when = gettext("as planned before") if outcome.earlier else f"{figure(outcome.seconds, '.1f')} s"
    done = f"{event.done:>{len(str(event.count))}}"
    return gettext("{done} of {count}  {name}: {what}, {when}", done=done, count=event.count, name=outcome.name,
                   what=what, when=when)


def say_stopped(why: str, done: int, count: int) -> str:
    """What became of a run that did not come to its end. why: a sentence, "" for Ctrl+C."""
    return gettext("{why} {done} of {count} jobs are done; the same command goes on from there.",
                   why=why or gettext("Stopped."), done=done, count=count)


def say_many(outcomes: Sequence[Outcome]) -> str:
    """The jobs in a table, what they need together, and why some have no plan."""
    planned = [outcome for outcome in outcomes if outcome.planned]
    heads = (gettext("job"), gettext("floor"), gettext("rows"), gettext("boards"), gettext("packs"), gettext("waste"))
    figures = [heads, *((o.name, f"{figure(o.area_m2, '.2f')} m2", str(o.rows), str(o.boards), str(o.packs),
                         f"{figure(o.waste_percent, '.1f')} %") for o in planned)]
    lines = [f"{line}  {remark}".rstrip() for line, remark in zip(table(figures),
                                                                  ["", *map(_remark, planned)])] if planned else []
    lines += ["", gettext(
        "{done} of {count} jobs planned: {area:.2f} m2, {boards} boards, {packs} bought room by room.",
        done=len(planned), count=len(outcomes), area=float(sum(o.area_m2 for o in planned)),
        boards=sum(o.boards for o in planned), packs=_packs(sum(o.packs for o in planned)))]
    if len(planned) > 1:
        lines += paragraph(
            gettext(
            "Rooms laid with one kind of board may need a pack less together than one by one: add up the boards."))
    earlier = sum(outcome.earlier for outcome in planned)
    if earlier:
        lines += paragraph(ngettext(
            "{count} of them was planned by an earlier run and is unchanged since; --afresh plans every job again.",
            "{count} of them were planned by an earlier run and are unchanged since; --afresh plans every job again.",
            earlier))
    lines += section(gettext("What the surveys leave in doubt"),
                     (led(o.name, " ".join(o.doubts)) for o in planned if o.doubts))
    lines += section(gettext("No plan"), (led(o.name, " ".join(o.says)) for o in outcomes if not o.planned))
    return "\n".join(lines) + "\n"


def say_house(job: FlatJob, folder: str) -> str:
    """Which rooms became one floor, what their corners are called there, how doorways are laid and in which order, what
    the flat takes together, and what to do next."""
    joined, flat, show = job.state.joined, job.flat, job.state.show
    titles = joined.titles
    lines = [ngettext("{title}: {rooms} rooms make {count} floor, in the folder {folder}:",
                      "{title}: {rooms} rooms make {count} floors, in the folder {folder}:", len(joined.jobs),
                      title=joined.title or gettext("The house"), rooms=len(joined.house.placings),
                      folder=folder)]
    through, alone = gettext("boards run through"), gettext("by itself")
    lines += table([(f"{name}/", through if len(joined.groups[name]) > 1 else alone, *_taken(job, name))
                    for name in joined.jobs])
    numbers = ", ".join(f"{joined.numbers[name]} = {titles[name]}" for name in joined.order.rooms)
    lines += [""] + paragraph(gettext(
        "Corners, pipes and doors there begin with their room's number ({numbers}): 2A is corner A of room 2. J1, "
        "J2, ... are jambs of openings that boards run through. Rows run in one direction wherever doorways join the "
        "rooms.", numbers=numbers))
    lines += section(gettext("Doorways"), [passage_words(titled_passage(one, titles), show) for one in joined.doorways]
                     + [worded(LEAFLET)] * any(one.through for one in joined.doorways))
    rings, measured = doorway_lines(joined.fitted, show, titles)
    lines += section(gettext("Rings of rooms"), rings)
    lines += section(gettext("What both sides of each doorway say"), measured)
    lines += section(gettext("In which order"), [
        order_words(titled_order(joined.order, titles), titled_groups(joined.groups, titles))])
    lines += _bought(titled_flat(flat, joined.floor_titles), show) if flat is not None else []
    kept = bool(job.state.jobs.floors) and all(floor.is_kept for floor in job.state.jobs.floors)
    lines += [""] + paragraph(gettext(
        "These plans are kept: tapegroove pack prints each floor by them, in {folder}.", folder=folder) if kept else
        gettext("Next: tapegroove house with --keep keeps these plans, so that tapegroove pack prints each floor in "
                "{folder} by them. Planned alone, a floor knows nothing of what the others leave.", folder=folder))
    return "\n".join(lines) + "\n"


def say_flat_pack(job: FlatJob, folder: str, files: Sequence[str]) -> str:
    """What was printed of a flat, what is bought, and whether its plans are kept."""
    show, titles = job.state.show, job.state.joined.floor_titles
    names = [titles[floor.name] for floor in job.flat.floors] if job.flat is not None else []
    kinds = () if job.flat is None else titled_flat(job.flat, titles).kinds
    each = any(file.endswith("/booklet.pdf") for file in files)
    lines = paragraph(gettext(
        "{folder} holds the flat's booklet.pdf (order of work, one shopping list) and a folder with a booklet and "
        "templates for each of {rooms}.", folder=folder, rooms=listed(names)) if each else gettext(
        "{folder} holds booklet.pdf, with a part for each of {rooms} and one shopping list, and a folder with the "
        "templates and drawings of each.", folder=folder, rooms=listed(names)))
    lines += section(gettext("Boards for all rooms"), (kind_words(kind, show) for kind in kinds))
    if not all(floor.is_kept for floor in job.state.jobs.floors):
        lines += [""] + paragraph(gettext("These plans are not kept: tapegroove house with --keep keeps them, and "
                                          "packs and days then go by them."))
    return "\n".join(lines) + "\n"


def _taken(job: FlatJob, name: str) -> tuple[str, ...]:
    """What a floor takes, for the table; nothing where no floor is planned."""
    floor = next((one for one in job.flat.floors if one.name == name), None) if job.flat is not None else None
    if floor is None:
        return (gettext("not planned"), "")
    came = sum(own.came_from is not None for own in floor.plan.owned)
    boards = ngettext("{count} board", "{count} boards", floor.plan.boards)
    return (boards, ngettext("{count} offcut of other floors", "{count} offcuts of other floors", came)) if came else (
        boards, "")


def _bought(flat: FlatPlan, show: str) -> list[str]:
    """What is bought for all floors, and what goes from one to another."""
    lines = section(gettext("Boards for all rooms"),
                    [*(kind_words(kind, show) for kind in flat.kinds), kinds_words(flat)])
    lines += section(gettext("Offcuts carried from room to room"), [travel_words(one, show) for one in flat.travels])
    bought = (item_words(item, show) for item in flat.shopping)
    return lines + section(gettext("To buy, for all rooms"), (
        f"{led(line.what, how_many(line.quantity, line.unit))}. {line.why}".rstrip().replace(NO_BREAK, " ")
        for line in bought))


def _packs(count: int) -> str:
    return ngettext("{count} pack", "{count} packs", count)


def _remark(outcome: Outcome) -> str:
    """What is not plain in the figures."""
    remarks = [gettext("the plan it keeps")] if outcome.kept else []
    remarks += [gettext("fewest, proven")] if outcome.proven else [gettext("at least {bound}", bound=outcome.bound)]
    remarks += [gettext("in doubt")] if outcome.doubts else []
    remarks += [ngettext("{count} rule gave way", "{count} rules gave way", outcome.relaxed)] if outcome.relaxed else []
    return ", ".join(remarks)
