"""What became of each job of a folder: as a table for spreadsheets and as the answer of `tapegroove many --json`."""
from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from printpack.outputs.spreadsheet import safe_cell, table_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one job: its plan's figures, or why there is none.

    name: its folder, seen from the folder of them all. planned: whether there is a plan. area_m2: floor wall to wall.
    bound: fewest boards any plan of these rows needs; proven: the plan needs no more. kept: the plan was kept in the
    job, not made now. tries: how often it was begun. earlier: planned by an earlier run, and unchanged since. doubts:
    what is in doubt in the survey it rests on. says: why there is none.
    """

    name: str
    title: str = ""
    planned: bool = False
    area_m2: float = 0.0
    rows: int = 0
    boards: int = 0
    bound: int = 0
    proven: bool = False
    packs: int = 0
    waste_percent: float = 0.0
    relaxed: int = 0
    kept: bool = False
    seconds: float = 0.0
    tries: int = 1
    earlier: bool = False
    doubts: tuple[str, ...] = ()
    says: tuple[str, ...] = ()


def many_csv(outcomes: Sequence[Outcome]) -> bytes:
    """The outcomes as a table for a spreadsheet, one line a job, "doubts" and "says" last: UTF-8 with its mark, every
    cell in quotes.
    """
    lines: list[list[object]] = [[field.name for field in dataclasses.fields(Outcome)]]
    for outcome in outcomes:
        *figures, doubts, says = dataclasses.astuple(outcome)
        lines.append([_cell(value) for value in (*figures, " ".join(doubts), " ".join(says))])
    return table_text(lines).encode("utf-8-sig")


def many_answer(outcomes: Sequence[Outcome], *, left: int = 0) -> dict[str, Any]:
    """The `many --json` object. left: how many jobs a run that was stopped did not come to."""
    planned = [outcome for outcome in outcomes if outcome.planned]
    return {"format": "tapegroove-many", "version": 1, "jobs": [dataclasses.asdict(outcome) for outcome in outcomes],
            "planned": len(planned), "boards": sum(outcome.boards for outcome in planned),
            "packs": sum(outcome.packs for outcome in planned), "area_m2": sum(outcome.area_m2 for outcome in planned),
            "left": left}


def _cell(value: object) -> object:
    """A value as a spreadsheet should see it."""
    return round(value, 3) if isinstance(value, float) else safe_cell(value)
