"""Rules that had to give way in a finished plan: found on the pieces as they lie, each with a sentence for the reader."""
from __future__ import annotations

from layout.model import SAME_MM, Task, joints_of
from layout.plan import Relaxed, Row
from layout.room import Rules
from layout.rows import RunShape
from layout.state import seam_distance


def relaxed_rules(task: Task, firsts: list[float], runs: list[RunShape], rows: tuple[Row, ...], rules: Rules) -> tuple[Relaxed, ...]:
    """Every place where a rule is not kept: stagger and narrowest by row, shortest by piece."""
    return (*_staggers(task, firsts, rules), *_shortest(rows, rules), *_narrowest(runs, rules))


def _staggers(task: Task, firsts: list[float], rules: Rules) -> list[Relaxed]:
    joints = [joints_of(span, first, task.board_mm) for span, first in zip(task.spans, firsts)]
    least: dict[int, float] = {}
    for seam in task.seams:
        row = task.spans[seam.lower].row + 1
        least[row] = min(least.get(row, float("inf")), seam_distance(seam, joints))
    return [Relaxed(rule="stagger", where=f"row {row}", asked_mm=rules.stagger_mm, had_mm=had,
                    says=f"Joints of rows {row - 1} and {row} are {had:.0f} mm apart instead of {rules.stagger_mm:g}: with these boards and "
                         "this width no place keeps every rule.")
            for row, had in sorted(least.items()) if had < rules.stagger_mm - SAME_MM]


def _shortest(rows: tuple[Row, ...], rules: Rules) -> list[Relaxed]:
    found = []
    for piece in (piece for row in rows for run in row.runs if len(run.pieces) > 1 for piece in run.pieces):
        had = piece.to_mm - piece.from_mm
        if had < rules.shortest_mm - SAME_MM:
            found.append(Relaxed(rule="shortest", where=piece.id, asked_mm=rules.shortest_mm, had_mm=had,
                                 says=f"Piece {piece.id} is {had:.0f} mm long instead of at least {rules.shortest_mm:g}."))
    return found


def _narrowest(runs: list[RunShape], rules: Rules) -> list[Relaxed]:
    least: dict[int, float] = {}
    for run in runs:
        least[run.row + 1] = min(least.get(run.row + 1, float("inf")), run.narrow_mm)
    found = []
    for row, had in sorted(least.items()):
        if had < rules.narrowest_mm - SAME_MM:
            says = (f"Row {row} is only {had:.0f} mm wide at its narrowest instead of at least {rules.narrowest_mm:g}." if had >= 1.0 else
                    f"Row {row} runs out to a point where a wall crosses it at a flat angle.")
            found.append(Relaxed(rule="narrowest", where=f"row {row}", asked_mm=rules.narrowest_mm, had_mm=had, says=says))
    return found
