"""The pack of a flat: by the plans its floors keep, or planned for it; one booklet, or one a room."""
from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from pathlib import Path

from capture.language.messages import gettext, worded
from desk.actions.answers import to_json
from desk.actions.flat.planning import flat_planned, house_answer
from desk.actions.flat.state import FlatJob, FlatState
from desk.actions.flat.titles import titled_flat, titled_order, titled_passage, titled_plan
from desk.actions.pack import PACK_NAME
from desk.actions.pipeline import printable, solve_job
from desk.checks.unseen import refuse_unseen
from desk.jobfile.job import Job
from desk.jobfile.save import refuse_foreign, write_folder
from desk.problem import JobProblems
from layout.flat_plan import FlatPlan, FloorPlan
from layout.plan import Ring
from layout.planfile.codec import to_answer
from layout.words.flat import LEAFLET, kind_words, kinds_words, order_reason, passage_words
from layout.words.purchases import item_words
from printpack.flat.flat_job import FlatFloor, FlatPack
from printpack.outputs.flat_pack import make_flat_pack
from printpack.paper import paper_named

#: The flat's own answer beside its booklet; it tells a folder that holds a flat's pack.
ANSWER_NAME = "flat.json"


def make_flat_folder(house: Path, folder: Path, *, paper_of: Callable[[Job], str], each: bool = False,
                     date: datetime.date, floors: Path | None = None,
                     tuned: Callable[[Job], Job] = lambda job: job) -> tuple[FlatJob, dict[str, bytes]]:
    """Write the pack of a house into `folder`; returns the flat and the files by name. each: a booklet a room;
    paper_of: the sheet a job is printed on; tuned: what this machine's printer asks of a job.

    Raises JobFileError, JobProblems and what the rooms raise; the folder is then as it was.
    """
    refuse_foreign(folder, foreign_to_flat_pack)
    flat = flat_planned(house, "usual", floors=floors)
    sheet = paper_named(paper_of(flat.state.jobs.floors[0].job))
    for room in flat.state.joined.rooms:
        refuse_unseen(flat.state.joined.own_jobs[room])
    if flat.flat is None:
        raise JobProblems(flat.troubles)
    files = make_flat_pack(flat_pack(flat, flat.flat, date, tuned), sheet, each=each)
    files |= {f"{floor.name}/plan.json": to_json(to_answer(floor.plan, flat.state.show)).encode()
              for floor in flat.flat.floors}
    files[ANSWER_NAME] = to_json(house_answer(flat, str(flat.state.jobs.folder))).encode()
    write_folder(folder, files, foreign=foreign_to_flat_pack)
    return flat, files


def flat_pack(job: FlatJob, flat: FlatPlan, date: datetime.date, tuned: Callable[[Job], Job]) -> FlatPack:
    """The flat as it is printed: rooms by their titles."""
    joined, show = job.state.joined, job.state.show
    said = titled_flat(flat, joined.floor_titles)
    boards = [*(kind_words(kind, show) for kind in said.kinds), kinds_words(said)]
    doorways = [passage_words(titled_passage(one, joined.titles), show) for one in joined.doorways]
    doorways += [worded(LEAFLET)] * any(one.through for one in joined.doorways)
    order = order_reason(titled_order(joined.order, joined.titles)) if len(flat.floors) > 1 else ""
    return FlatPack(title=joined.title or gettext("The flat"), show=show, date=date, order=order,
                    floors=tuple(_floor(job, floor, date, tuned) for floor in flat.floors), groups=_groups(job.state),
                    boards=tuple(filter(None, boards)), doorways=tuple(doorways),
                    shopping=tuple(item_words(item, show) for item in said.shopping), travels=said.travels,
                    bars=flat.bars)


def foreign_to_flat_pack(names: set[str]) -> set[str]:
    """Those of a folder's files that are no part of an earlier flat's pack; all of them if there never was one."""
    own = re.compile(rf"{re.escape(ANSWER_NAME)}|booklet\.pdf|[^/]+/({PACK_NAME.pattern})")
    told = {name for name in names if not own.fullmatch(name)}
    return told if ANSWER_NAME in names else names


def _floor(job: FlatJob, planned: FloorPlan, date: datetime.date, tuned: Callable[[Job], Job]) -> FlatFloor:
    joined, name = job.state.joined, planned.name
    floor = next(one for one in job.state.jobs.floors if one.name == name)
    survey = floor.kept.survey if floor.kept is not None and floor.is_kept else None
    others = tuple(joined.floor_titles[one.name] for one in job.flat.floors
                   if one.name != name) if job.flat is not None else ()
    pack = printable(tuned(floor.job), survey or solve_job(floor.job, {}),
                     titled_plan(planned.plan, joined.floor_titles), date=date, shared_with=others)
    return FlatFloor(folder=name, title=joined.floor_titles[name], job=pack,
                     rooms={joined.numbers[room]: joined.titles[room] for room in joined.groups[name]})


def _groups(state: FlatState) -> tuple[tuple[tuple[int, str, Ring], ...], ...]:
    """The rooms' numbers, titles and outlines."""
    joined = state.joined

    def ring(name: str) -> Ring:
        return tuple((float(x), float(y)) for x, y in joined.house.placings[name].place(joined.rooms[name].outline_mm))
    return tuple(tuple((joined.numbers[name], joined.titles[name], ring(name)) for name in part)
                 for part in joined.parts)
