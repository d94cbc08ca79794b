"""One run of `tapegroove house`, and of `tapegroove pack` for a flat."""
from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from desk.actions.flat.floor_jobs import FLOORS_DIR
from desk.actions.flat.planning import flat_kept, flat_planned, house_answer
from desk.actions.flat.printing import make_flat_folder
from desk.actions.flat.state import FlatJob
from desk.actions.pack import usual_paper, with_own_printer, with_rulers
from desk.jobfile.job import Job
from desk.store.settings import read_settings
from desk.text.say_many import say_flat_pack, say_house

#: What is said to people on standard error.
Tell = Callable[[str], None]


def planned_house(house: Path, output: Path | None, effort: str, *, keep: bool, afresh: bool,
                  tell: Tell) -> tuple[bool, Callable[[], dict[str, Any]], Callable[[], str]]:
    """(whether every room was planned, the answer for programs, the one for people). Raises as `flat_planned` does."""
    floors = output or house / FLOORS_DIR
    flat = (flat_kept(house, effort, on=datetime.date.today(), floors=floors, afresh=afresh) if keep else
            flat_planned(house, effort, floors=floors, afresh=afresh))
    return _all_told(flat, tell), lambda: house_answer(flat, str(floors)), lambda: say_house(flat, str(floors))


def packed_house(house: Path, output: Path | None, *, each: bool, paper: str | None, rulers: Sequence[str] | None,
                 tell: Tell) -> tuple[bool, Callable[[], dict[str, Any]], Callable[[], str]]:
    """The same for its pack, which is written. Raises as `make_flat_folder` does."""
    settings, note = read_settings()
    if note:
        tell(note)
    measured, folder = dict(zip(("across", "down"), rulers or ())), output or house / "pack"

    def tuned(job: Job) -> Job:
        return with_own_printer(with_rulers(job, measured), settings)
    flat, files = make_flat_folder(house, folder, each=each, date=datetime.date.today(), tuned=tuned,
                                   paper_of=lambda job: paper or usual_paper(job, settings))
    answer = {"format": "tapegroove-pack", "version": 1, "folder": str(folder), "files": sorted(files),
              "boards": sum(kind.boards for kind in flat.kinds), "packs": sum(kind.packs_to_buy for kind in flat.kinds)}
    return _all_told(flat, tell), lambda: answer, lambda: say_flat_pack(flat, str(folder), sorted(files))


def _all_told(flat: FlatJob, tell: Tell) -> bool:
    for problem in flat.troubles:
        tell(problem.says)
    return not any(problem.severity == "stop" for problem in flat.troubles)
